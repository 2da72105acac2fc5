"""Put one macro to two machines: the verdict on each, how long it takes there and how far it goes."""

from dataclasses import replace

from parser import Axis, Controller, Interval, Machine, Question, examine

SMALL = Machine(
    name="Bench mill",
    axes=(
        Axis("x", Interval(0.0, 260.0), rapid=2400.0, acceleration=220.0),
        Axis("y", Interval(0.0, 150.0), rapid=2400.0, acceleration=220.0),
        Axis("z", Interval(-90.0, 0.0), rapid=1200.0, acceleration=120.0, carried_by="head"),
    ),
)
LARGE = replace(
    SMALL,
    name="Knee mill",
    axes=(
        Axis("x", Interval(0.0, 700.0), rapid=5000.0, acceleration=400.0),
        Axis("y", Interval(0.0, 300.0), rapid=5000.0, acceleration=400.0),
        Axis("z", Interval(-400.0, 0.0), rapid=3000.0, acceleration=300.0, carried_by="head"),
    ),
)
TO_THE_RIGHT = "%\nG17 G21 G40 G80 G90 G94\nM5\nG53 G0 Z-2\nG53 G0 X500 Y20\n%\n"

for machine in (SMALL, LARGE):
    report = examine(TO_THE_RIGHT, machine, Controller(), Question(seek_start=False))
    totals = report.plan.totals
    print(
        f"{machine.name}: {report.verdict}, {totals.seconds.least:.1f} to {totals.seconds.most:.1f} s, "
        f"{totals.rapid_mm.most:.0f} mm at most"
    )
