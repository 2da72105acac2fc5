"""Findings word for word, with their places, figures and witnesses, as a person reads them.

``findings.txt`` beside this file is what was read through and found right. After a change that is meant to alter it,
``python -m tests.parser.proof.test_in_full`` writes it anew, to be read through again.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from parser.machine import Box, Interval, Limit, Origin, Setup
from parser.pipeline import examine
from parser.proof.rules import RULES
from parser.quantities import figure
from parser.question import Question
from tests.parser.proof.test_rules import COLUMN, GANTRY, MACHINES, WITH_EXAMPLES
from tests.parser.scene import MILL, VISE, controller, mill

WRITTEN = Path(__file__).with_name("findings.txt")

LOW = Origin({"x": Interval(125, 125), "y": Interval(70, 75), "z": Interval(-60.0, -55.0)})
HIGH = Origin({"x": Interval(125, 125), "y": Interval(70, 70)})
TWO_SETUPS = mill(setups=(Setup("Low", (VISE,), {"G54": LOW}), Setup("High", (VISE,), {"G54": HIGH})), nose_radius=0.0)
TALL = Box("Post", (200.0, 10.0, -130.0), (220.0, 30.0, -20.0))
HOLDER = mill(setups=(Setup("", (TALL,)),), nose_radius=0.0, tool_stick_out=0.0, holder_radius=12.0, holder_length=15.0)
BARE = mill(setups=(Setup("", ()),), safe_z=None, unstated=("the sheet gives no table",))
STEEP = mill(limits=(Limit(("z", "<", -70.0), ("y", "<=", 140.0)),), setups=(Setup("", ()),))

SCENES = {
    "nothing to refuse": ("M5\nG21 G90\nG53 G0 Z-2\nG53 G0 X130 Y145\nG80", MILL, {}),
    "travel only": ("M5\nG21 G90\nG53 G0 Z-2", BARE, {}),
    "two setups, one origin in part missing": (
        "G21 G90 G54 G49\nG53 G0 Z-2\nG0 X0 Y0\nG0 Z5\nG53 G0 Z-2",
        TWO_SETUPS,
        {},
    ),
    "only a tool": ("G21 G90\nG53 G0 X120 Y70\nG53 G0 Z-60\nG53 G0 Z-2", mill(nose_radius=0.0), {}),
    "only a holder": ("G21 G90\nG53 G0 X210\nG53 G0 Z-40", HOLDER, {}),
    "the end of travel, outside and in the margin": ("G21 G90\nG53 G0 X261 Z-0.2\nG91 G0 Y-3\nG90", MILL, {}),
    "a limit that ties two axes": ("G21 G90\nG53 G0 Z-80", STEEP, {}),
    "a head that goes everywhere": ("G21 G90\nG53 G0 X120\nG53 G0 Y10", GANTRY, {}),
    "a box on the table and one on the frame": (
        "G21 G90\nG53 G0 Z-2\nG53 G0 Y2",
        mill(setups=(Setup("", (VISE,)),), enclosures=(COLUMN,)),
        {},
    ),
    "accepted": ("G21 G90\nG53 G0 X120 Y70", MILL, {"accepted": {"crosses-keep-out": "the vise is off the table"}}),
    "a start condition": (
        "G21 G90\nG53 G0 X120 Y70",
        MILL,
        {"start": {"z": Interval(-30.0, 0.0)}, "condition": "Z is at or above -30 mm"},
    ),
    "one start": (
        "G21 G90\nG53 G0 X120 Y70",
        MILL,
        {"start": {a: Interval(v, v) for a, v in (("x", 10.0), ("y", 20.0), ("z", -50.0))}},
    ),
    "both positions of the block delete switch": ("G21 G90\n/G53 G0 Z-2\nG53 G0 X120 Y70", MILL, {}),
    "modes, spindle and coolant left": ("G20 G91\nM3 S500\nM8\nG0 Z0\nM49", MILL, {}),
    "offsets left": ("G21 G90 G55\nG10 L2 P1 X10\nG92 X5\n#100=1", MILL, {}),
    "homing, then a move": ("M5\n(MSG, HOME AT THE PANEL)\nM0\nG21 G90\nG53 G0 Z-2", MILL, {}),
    "an arc from anywhere": ("M5\nG21 G91 G94 G17\nG3 X-40 I-20 F600\nG90", MILL, {}),
    "resting words that are M words": (
        "M3 S500\nM8\nM49",
        MILL,
        {"resting": ("G21", "G90", "M5", "M9", "M48")},
    ),
    "the spindle turning the other way and both coolants": (
        "G21 G90\nM4 S500\nM7\nM8\nM48\nG53 G0 Z-2\nG53 G0 X10",
        MILL,
        {"resting": ("G21", "G90", "M5", "M9", "M49")},
    ),
    "an arc whose shape depends on where it starts": (
        "M5\nG21 G90 G94 G17 G54 G49\nG53 G0 Z-2\nG2 X20 Y20 R400 F600",
        MILL,
        {},
    ),
    "two axes of an origin that is not on the sheet": ("G21 G90 G55\nG53 G0 Z-2\nG0 X0 Y0", MILL, {}),
    "a knee": (
        "G21 G90\nG53 G0 Z-2",
        mill(axes=tuple(replace(axis, carried_by="table") for axis in MILL.axes), enclosures=(COLUMN,)),
        {},
    ),
    "accepted, and a line of which nobody knows where it goes": (
        "M5\nG21 G90\nG53 G0 Z-2\nG53 G0 X#1\nG53 G0 X120 Y70",
        MILL,
        {"accepted": {"mode-assumed": "#1 is set at the panel"}},
    ),
}


def told(report) -> list[str]:
    """A report as lines of text."""
    lines = [f"  {report.verdict}: {report.sentence}"]
    for f in report.findings:
        figures = {name: figure(value, 2) for name, value in f.figures.items()}
        place = f"{f.line}:{f.column}-{f.end}" if f.line else "file"
        case = f" [{f.case}]" if f.case else ""
        lines.append(
            f"  {f.severity} {f.rule} {place}{case}{' undecided' if f.undecided else ''} {figures or ''}".rstrip()
        )
        lines += [f"      {f.message}", f"      -> {f.remedy}"]
        if f.witness:
            w = f.witness
            start, at = ({a: figure(v, 2) for a, v in place.items()} for place in (w.start, w.at))
            tool = f"{figure(w.tool.length, 2)} x {figure(w.tool.radius, 2)}" if w.tool else "no tool"
            lines.append(f"      witness {start} {at} {tool}, {w.body}, {w.obstacle}, {w.setup!r}")
    safe = report.safe_start
    box = {a: (figure(i.low), figure(i.high)) for a, i in safe.box.items()} if safe.box else None
    lines.append(f"  safe start {box} {safe.sentence!r} {safe.condition!r}")
    return lines


def everything() -> str:
    """Every bad example and every scene, told in full."""
    out = []
    for rule in WITH_EXAMPLES:
        cls = RULES[rule]
        setting = controller(**({"percent": False} | dict(cls.setting)))
        report = examine(f"{cls.manual().bad}\n", MACHINES.get(rule, MILL), setting, Question(assume=cls.assume))
        out += [f"rule {rule}", *told(report), ""]
    for name, (text, machine, changes) in SCENES.items():
        setting = controller(percent=False, **{k: v for k, v in changes.items() if k == "resting"})
        asked = {k: v for k, v in changes.items() if k != "resting"}
        out += [f"scene {name}", *told(examine(f"{text}\n", machine, setting, Question(**asked))), ""]
    return "\n".join(out)


def test_every_finding_reads_as_it_was_found_right():
    assert everything().split("\n") == WRITTEN.read_text(encoding="utf-8").split("\n")


if __name__ == "__main__":
    WRITTEN.write_text(everything(), encoding="utf-8")
