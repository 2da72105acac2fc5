"""Prove the file of RS-274 lines that is named, on a machine with a vise; exit status 1 if it is refused."""

import sys
from pathlib import Path

from parser import Axis, Box, Controller, Interval, Machine, Setup, Severity, examine

MILL = Machine(
    name="Workshop mill",
    axes=(
        Axis("x", Interval(0.0, 260.0), rapid=2400.0, acceleration=220.0, carried_by="table"),
        Axis("y", Interval(0.0, 150.0), rapid=2400.0, acceleration=220.0, carried_by="table"),
        Axis("z", Interval(-90.0, 0.0), rapid=1200.0, acceleration=120.0, carried_by="head"),
    ),
    setups=(Setup("Vise", (Box("Vise", (80.0, 35.0, -130.0), (170.0, 105.0, -80.0)),)),),
    tool_stick_out=40.0,
    tool_radius=6.0,
)

report = examine(Path(sys.argv[1]).read_text(), MILL, Controller())

print(report.sentence)
for finding in report.findings:
    if finding.severity is Severity.REFUSE:
        print(f"line {finding.line}: {finding.message}")
        print(f"  {finding.remedy}")

sys.exit(1 if report.verdict == "refused" else 0)
