"""What is said of a sequence, held against running it: the lines of the first, then the second, as one text."""

from __future__ import annotations

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from parser.examining import examine
from parser.findings import Severity
from parser.machine import Interval, Origin, Setup
from parser.motion.places import bounds
from parser.proof.sequences import breaches, runner
from tests.parser.scene import BAR, TABLE, VISE, controller, mill

LOW = Origin({"x": Interval(60.0, 70.0), "y": Interval(40.0, 40.0), "z": Interval(-38.0, -38.0)})
G54 = Origin({"x": Interval(125.0, 125.0), "y": Interval(70.0, 70.0), "z": Interval(-38.0, -38.0)})
SHOP = mill(
    setups=(
        Setup("Bar", (TABLE, VISE, BAR), {"G54": G54, "G55": LOW}),
        Setup("Bare", (TABLE, VISE), {"G54": G54, "G55": LOW}),
    ),
    stored={"G28": {"x": 20.0, "y": 20.0, "z": -2.0}},
)
SHEET = controller(percent=False)
BEGIN, END = "G21 G90 G54 G17 G49 G94", "G21 G90 G54 G17 G49 G94"
NUMBERS = st.sampled_from(["10", "64", "125", "125.001", "200", "-38"])
FIRST = st.lists(
    st.one_of(
        st.builds("G10 L2 P{} {}{}".format, st.sampled_from("12"), st.sampled_from("XYZ"), NUMBERS),
        st.builds("G92 {}{}".format, st.sampled_from("XYZ"), NUMBERS),
        st.builds("#5161={}".format, NUMBERS),
        st.builds("/G10 L2 P1 X{}".format, NUMBERS),
        st.sampled_from(
            ["G92.1", "G92.2", "M3 S500", "M4 S100", "M5", "G20", "G91", "G18", "G55", "#100=5", "G4 P1", "G53 G0 Z-2"]
        ),
    ),
    min_size=1,
    max_size=6,
)
SECOND = (
    "M5\nG21 G90 G54 G49\nG53 G0 Z-2\nG0 X0 Y0",
    "M5\nG21 G90 G55 G49\nG53 G0 Z-2\nG0 X0\nG0 Z5\nG53 G0 Z-2\nG54",
    "M5\nG21 G90 G54 G49\nG92.1\nG53 G0 Z-2\nG0 Y0",
    "M5\nG21 G90\nG53 G0 Z-2\nG28",
    "G21 G90\nG53 G0 Z-2\nG53 G0 X10 Y10",
    "G21 G90\nG53 G0 Z-2",
)


def examined(text):
    return examine(text + "\n", SHOP, SHEET, seek_start=False)


def hurt(report, after):
    """What is refused, and crossed with the spindle known to turn, on the lines after one."""
    refused = [each for each in report.findings if each.severity is Severity.REFUSE and (each.line or 0) > after]
    turning = ("clockwise", "counter-clockwise")
    crossed = [
        move
        for move in report.trace.moves
        if move.line > after and move.kind == "rapid" and {"x", "y"} & set(move.moving) and move.spindle in turning
    ]
    return [each.message for each in refused] + [f"crosses with the spindle on, line {move.line}" for move in crossed]


def told(first, second):
    return [each for each in breaches([first, second]) if each.case == "First, then Second"]


@settings(max_examples=60, deadline=None)
@given(lines=FIRST, second=st.sampled_from(SECOND))
def test_a_sequence_of_which_nothing_is_said_hurts_nowhere(lines, second):
    lines = [BEGIN, *lines, END]
    first = examined("\n".join(lines))
    assume(not first.refused)
    findings = told(runner("First", first), runner("Second", examined(second)))
    whole = any("where the hand lets go" not in each.message for each in findings)
    for done in range(1, len(lines) + 1):
        together = examined("\n".join([*lines[:done], second]))
        if hurt(together, done):
            assert findings, (done, hurt(together, done))
            assert done < len(lines) or whole, hurt(together, done)


@settings(max_examples=60, deadline=None)
@given(lines=FIRST, second=st.sampled_from(SECOND))
def test_a_sequence_that_is_refused_really_goes_elsewhere(lines, second):
    lines = [BEGIN, *(line for line in lines if not line.startswith("/")), END]
    first, alone = examined("\n".join(lines)), examined(second)
    assume(not first.refused)
    findings = told(runner("First", first), runner("Second", alone))
    assume(any(each.severity is Severity.REFUSE for each in findings))
    together = examined("\n".join([*lines, second])).trace
    ends = [move.end for move in together.moves if move.line > len(lines)]
    assert ends != [move.end for move in alone.trace.moves]


GOES = st.lists(
    st.one_of(
        st.builds("{}G53 G0 Z{}".format, st.sampled_from(["", "/"]), st.sampled_from(["-2", "-20", "-30", "-60"])),
        st.sampled_from(["G4 P1", "(MSG, HOME AT THE PANEL)\nM0", "(only a comment)", "/G28", "G91 G0 Z-1\nG90"]),
    ),
    max_size=5,
)
UNDER = {"start": {"z": Interval(-20.0, 0.0)}, "condition": "z >= -20 mm"}


@settings(max_examples=60, deadline=None)
@given(lines=GOES)
def test_a_start_condition_is_unmet_just_where_the_first_so_many_lines_leave_it_so(lines):
    empty = mill(setups=(Setup("", ()),), stored=SHOP.stored)
    lines = "\n".join(["G21 G90", "G53 G0 Z-2", *lines]).split("\n")
    first = examine("\n".join(lines) + "\n", empty, SHEET)
    assume(not first.refused)
    second = examine("M5\nG21 G90\nG53 G0 Z-2\nG53 G0 X10 Y10\n", empty, SHEET, **UNDER)
    findings = told(runner("First", first), runner("Second", second))
    outside = []
    for done in range(1, len(lines) + 1):
        for switch in (False, True):
            kept = [line for line in lines[:done] if not (switch and line.startswith("/"))]
            at = bounds(examine("\n".join(kept) + "\n", empty, SHEET, seek_start=False).trace.end["z"])
            if at.low < -20.0 and done > 1:
                outside.append(done)
    assert bool(outside) is bool(findings)
    whole = any("lets go" not in each.message for each in findings)
    assert whole is (len(lines) in outside)
