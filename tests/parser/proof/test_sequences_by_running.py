"""What is said of a sequence, held against running it: the lines of the first, then the second, as one text."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, assume, example, given, settings
from hypothesis import strategies as st

from parser.findings import Severity
from parser.machine import Interval, Origin, Setup
from parser.motion.places import bounds
from parser.pipeline import examine
from parser.proof.sequences import breaches, runner
from parser.question import Question
from tests.bulk import examples
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


def examined(text, machine=SHOP, **more):
    return examine(text + "\n", machine, SHEET, Question(seek_start=False, **more))


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


@pytest.mark.long
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.filter_too_much])
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


@pytest.mark.long
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.filter_too_much])
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


AT_ZERO = Origin({axis: Interval(0.0, 0.0) for axis in "xyz"})
BESIDE = Origin({"x": Interval(5.0, 5.0), "y": Interval(5.0, 5.0), "z": Interval(-3.0, -3.0)})
PROBED = mill(
    setups=(Setup("", (VISE,), {"G54": AT_ZERO, "G55": BESIDE}),),
    nose_radius=6.0,
    keep_out_margin=0.0,
    travel_margin=0.0,
    stored={"G28": {"x": 100.0, "y": 70.0, "z": -2.0}},
)
"""Work zero is machine zero, at the upper end of travel; the longest tool meets the vise below Z-40."""

KNOWN = "G17 G21 G40 G49 G54 G80 G90 G94 G98"
PROBE = "G91 G38.2 Z-5 F100\nG90"
LEAVES = [
    *["G92 Z-50", "G92 Z55", "G10 L2 P1 Z50", "G10 L2 P1 Z-60"] * 3,
    *["G92 X194", "G92 Z-50\nG92.2", "G92.1", "G92.3", "/G10 L2 P1 Z-60", "G10 L2 P2 Z-60", "G10 L2 P3 Z-60"],
    *["#5163=-60", "#100=-60", PROBE, "G43 H0", "G20", "G55"],
]
MEASURES = [
    *[PROBE, f"{PROBE}\n#100=#5063", "G92 X0"] * 2,
    *[f"G55\n{PROBE}\nG54", "G92 Z0", "#100=#5223", "#100=#5213", "#100=#5163", "G20\n#100=#5223\nG21", "#100=0"],
]
COVERS = [
    *["G92.1", "G10 L2 P1 Z0", "G92.2\nG92.3"] * 2,
    *["G92 Z0", "G92.2", "G92.3", "G10 L2 P2 Z0", "G55", "#5163=0", "#100=[#100-#5223]", "#100=[#5063+#100]"],
]
USES = [
    *["G0 Z0", "G55 G0 Z0", "G28", "G0 Z[#5063]", "G53 G0 Z[#5063-2]", "G0 Z#100", "G91 G0 Z#100\nG90", "G0 Z#5213"],
    *["G10 L2 P2 Z#100\nG55 G0 Z0", "G10 L2 P1 Z[#5063]\nG0 Z0", "G10 L2 P2 Z[#5063+#5223]\nG55 G0 Z0"],
    *["G92 Z#5063\nG0 Z0", "#5163=#100\nG28", "#5163=#5063\nG28", "G18 G2 X102 Z[#5063] R10 F100"],
    *["G53 G0 Z-10\n#100=[#5061-110]\nG81 X100 Y70 Z-20 R#100 F100\nG80", "G10 L2 P3 Z[#5063+#5223]\nG56 G0 Z0"],
]
ENDED = "G92.2\nG54 G17 G90 G94 G40\nM48 M5 M9"
"""What M2 does besides ending (NISTIR 6556, 3.6.1), for a text that goes on."""
ACCEPTED = dict.fromkeys(("mode-assumed", "feed-not-set"), "so far it was so")


def some(values, least, most):
    return st.lists(st.sampled_from(values), min_size=least, max_size=most)


def taking(*lines):
    return "\n".join([KNOWN, "G53 G0 Z0", "G53 G0 X100 Y70", *lines, "G53 G0 Z0"])


TAKES = st.builds(
    lambda measures, covers, uses: taking(*measures, *covers, *uses),
    some(MEASURES, 1, 2),
    some(COVERS, 0, 2),
    some(USES, 1, 2),
)


@pytest.mark.long
@settings(max_examples=examples(120), deadline=None, suppress_health_check=[HealthCheck.filter_too_much])
@given(some(LEAVES, 1, 3), st.sampled_from(["G4 P1", KNOWN, "M2"]), TAKES, st.sampled_from([{}, ACCEPTED]))
@example(["G92 Z-50"], KNOWN, taking(PROBE, "G92.1", "G0 Z[#5063]"), {})
@example(["G10 L2 P1 Z50"], KNOWN, taking(PROBE, "G10 L2 P1 Z0", "G0 Z[#5063]"), {})
@example(["G92 Z55"], KNOWN, taking("G92 X0", "G92.2\nG92.3", "G0 Z0", "G92.1"), {})
def test_nor_does_one_whose_values_come_from_what_was_set_before(leaves, end, second, accepted):
    alone = examined(second, PROBED, accepted=accepted)
    assume(not alone.refused)
    lines = "\n".join([KNOWN, "G53 G0 Z0", *leaves, end]).split("\n")
    first = examined("\n".join(lines), PROBED, accepted=accepted)
    assume(not first.refused)
    findings = told(runner("First", first), runner("Second", alone))
    if any("lets go" not in each.message for each in findings):
        return
    carried_out = {move.line for move in alone.trace.moves}
    for done in [len(lines)] if findings else range(1, len(lines) + 1):
        before = "\n".join(lines[:done]).replace("M2", ENDED).split("\n")
        together = examined("\n".join([*before, second]), PROBED, accepted=accepted)
        refused = [each for each in together.findings if each.severity is Severity.REFUSE]
        found = [each.message for each in refused if (each.line or 0) - len(before) in carried_out]
        assert not found, lines[:done]


GOES = st.lists(
    st.one_of(
        st.builds("{}G53 G0 Z{}".format, st.sampled_from(["", "/"]), st.sampled_from(["-2", "-20", "-30", "-60"])),
        st.sampled_from(["G4 P1", "(MSG, HOME AT THE PANEL)\nM0", "(only a comment)", "/G28", "G91 G0 Z-1\nG90"]),
    ),
    max_size=5,
)
UNDER = {"start": {"z": Interval(-20.0, 0.0)}, "condition": "z >= -20 mm"}


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.filter_too_much])
@given(lines=GOES)
def test_a_start_condition_is_unmet_just_where_the_first_so_many_lines_leave_it_so(lines):
    empty = mill(setups=(Setup("", ()),), stored=SHOP.stored)
    lines = "\n".join(["G21 G90", "G53 G0 Z-2", *lines]).split("\n")
    first = examine("\n".join(lines) + "\n", empty, SHEET)
    assume(not first.refused)
    second = examine("M5\nG21 G90\nG53 G0 Z-2\nG53 G0 X10 Y10\n", empty, SHEET, Question(**UNDER))
    findings = told(runner("First", first), runner("Second", second))
    outside = []
    for done in range(1, len(lines) + 1):
        for switch in (False, True):
            kept = [line for line in lines[:done] if not (switch and line.startswith("/"))]
            at = bounds(examine("\n".join(kept) + "\n", empty, SHEET, Question(seek_start=False)).trace.end["z"])
            if at.low < -20.0 and done > 1:
                outside.append(done)
    assert bool(outside) is bool(findings)
    whole = any("lets go" not in each.message for each in findings)
    assert whole is (len(lines) in outside)
