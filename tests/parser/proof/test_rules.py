"""Every rule has a manual whose bad example fires it and whose good one does not, and a table of further cases."""

from __future__ import annotations

from dataclasses import replace
from math import hypot

import pytest

from parser.findings import Severity
from parser.machine import Axis, Box, Interval, Limit, Origin, Setup
from parser.pipeline import examine
from parser.proof.contact import Body, keep_out
from parser.proof.passages import passages
from parser.proof.rules import FAMILIES, RULES
from parser.proof.seeking import hit
from parser.question import Question
from tests.parser.scene import MILL, VISE, controller, mill

GANTRY = mill(
    axes=tuple(replace(axis, carried_by="head") for axis in MILL.axes),
    enclosures=(Box("Duct", (90.0, 0.0, -80.0), (160.0, 150.0, -70.0)),),
    setups=(Setup("", ()),),
)
FAST = mill(axes=tuple(replace(axis, rapid=4 * axis.rapid) for axis in MILL.axes))
MACHINES = {"enters-enclosure": GANTRY, "long-run-on": FAST}

SEVERITIES = {
    "refuse": """unreadable-line line-too-long repeated-word same-group-twice too-many-m-words missing-word
        word-out-of-range unknown-word arc-does-not-close axis-words-twice no-motion-mode bad-arithmetic
        feed-before-units word-not-supported home-word-differs ends-the-caller mode-assumed feed-not-set
        mode-left-changed beyond-travel crosses-keep-out enters-enclosure slot-clash line-too-long-for-pendant
        table-too-big sequence-breaks-proof over-limit blind-sending number-taken
        second-opinion-differs faster-than-hand-rate""",
    "caution": """ending-missing lines-after-end offset-left-changed left-if-interrupted crossing-not-raised
        work-zero-unknown not-referenced path-not-known moves-with-spindle-on
        relies-on-operator release-does-not-stop long-run-on slot-beside-axis figures-invented
         held-after-stop""",
    "note": "moves-towards-operator long-hold",
}


def examined(text, rule=None, machine=MILL, **changes):
    cls = RULES[rule] if rule else None
    return examine(
        text + "\n",
        MACHINES.get(rule, machine),
        controller(**({"percent": False, **(dict(cls.setting) if cls else {}), **changes})),
        Question(assume=cls.assume if cls else "", seek_start=False),
    )


def fired(report):
    return {finding.rule for finding in report.findings}


@pytest.mark.parametrize(("severity", "ids"), SEVERITIES.items())
def test_the_severities_are_those_that_were_agreed(severity, ids):
    assert {rule.id for rule in RULES.values() if rule.severity.value == severity} == set(ids.split())


@pytest.mark.parametrize("rule", RULES)
def test_a_manual_is_complete(rule):
    manual = RULES[rule].manual()
    assert manual.title
    assert manual.what
    assert manual.why
    assert manual.remedy
    assert RULES[rule].family in FAMILIES


OF_SHEETS = ("pendant", "sheets")
WITH_EXAMPLES = [rule for rule in RULES if RULES[rule].manual().bad and RULES[rule].family not in OF_SHEETS]


def test_only_rules_about_slots_conditions_and_a_second_opinion_have_no_example():
    without = set(RULES) - set(WITH_EXAMPLES)
    of_slots = {id for id, rule in RULES.items() if rule.family in OF_SHEETS}
    assert without == of_slots | {"relies-on-operator", "second-opinion-differs", "faster-than-hand-rate"}


@pytest.mark.parametrize("rule", WITH_EXAMPLES)
def test_the_bad_example_fires_the_rule(rule):
    assert rule in fired(examined(RULES[rule].manual().bad, rule))


@pytest.mark.parametrize("rule", WITH_EXAMPLES)
def test_the_good_example_does_not_fire_the_rule(rule):
    assert rule not in fired(examined(RULES[rule].manual().good, rule))


CASES = [
    ("G21 G90\nG53 G0 Z-2\nM30\n\nG0 Z-500", MILL, "lines-after-end", 5),
    ("G21 G90\nG53 G0 Z-2\nM30\n\n", MILL, "lines-after-end", None),
    ("%\nG21 G90\nG53 G0 Z-2\n%\nG0 Z-500\nhello", MILL, "lines-after-end", 5),
    ("%\nG21 G90\nG53 G0 Z-2\nM2\n%", MILL, "lines-after-end", None),
    # text, machine, rule, line it is on (None: not fired)
    ("G21 G90\nG53 G0 Z-2\nG53 G0 X259.5", MILL, "beyond-travel", None),
    ("G21 G90\nG53 G0 Z-2\nG53 G0 X259.6", MILL, "beyond-travel", 3),
    ("G21 G90\nG53 G0 Z-0.4", MILL, "beyond-travel", 2),
    ("G21 G91\nG0 Z5\nG90", MILL, "beyond-travel", 2),
    ("G21 G90\nG53 G0 Z-38\nG53 G0 X120 Y70", MILL, "crosses-keep-out", 2),
    ("G21 G90\nG53 G0 Z-2\nG53 G0 X120 Y70", MILL, "crosses-keep-out", None),
    ("G21 G90\nG53 G0 Z-2\nG53 G0 X120 Y70\nG53 G0 Z-34", MILL, "crosses-keep-out", None),
    ("G21 G90\nG53 G0 Z-2\nG53 G0 X120 Y70\nG53 G0 Z-34.001", MILL, "crosses-keep-out", 4),
    ("G21 G90\nG53 G0 Z-2\nG53 G0 X30 Y20\nG53 G0 Z-80", MILL, "crosses-keep-out", None),
    ("G20 G90\nG53 G0 Z-0.1\nG21", MILL, "mode-left-changed", None),
    ("G20 G90\nG53 G0 Z-0.1", MILL, "mode-left-changed", None.__class__),
    ("G21 G90\nG53 G0 Z-2\nG18", MILL, "mode-left-changed", None.__class__),
    ("G21 G90 G54\nG53 G0 Z-2\nG0 X0 Y0", MILL, "offset-left-changed", 1),
    ("G21 G90\nG53 G0 Z-2", MILL, "not-referenced", 2),
    ("M3 S500\nM5", MILL, "left-if-interrupted", 1),
    ("M5\nG21 G90\nG53 G0 Z-2\nG53 G0 Y145", MILL, "moves-towards-operator", 4),
    ("M5\nG21 G90\nG53 G0 Z-2\nG53 G0 Y145", MILL, "moves-with-spindle-on", None),
]


@pytest.mark.parametrize(("text", "machine", "rule", "line"), CASES)
def test_a_rule_fires_on_its_line_and_only_then(text, machine, rule, line):
    lines = [finding.line for finding in examined(text, machine=machine).findings if finding.rule == rule]
    if line is None:
        assert lines == []
    elif line is type(None):
        assert lines == [None]
    else:
        assert lines[0] == line


def test_one_relative_step_from_an_unknown_work_zero_is_known_exactly():
    machine = mill(setups=(Setup("", (VISE,), {}),))
    report = examined("G21 G90 G54\nG53 G0 Z-2\nG0 X0\nG0 X10", machine=machine)
    assert report.plan.timings[-1].length.least == pytest.approx(10.0, abs=1e-12)
    assert report.plan.timings[-1].length.most == pytest.approx(10.0, abs=1e-12)
    assert "work-zero-unknown" in fired(report)


def test_a_zero_that_is_not_on_the_sheet_was_put_where_the_margins_let_it_be_reached():
    report = examined("M5\nG21 G90 G55\nG53 G0 Z-2\nG0 X0 Y0")
    assert not report.refused
    assert "work-zero-unknown" in fired(report)


def test_a_place_that_hangs_on_a_missing_origin_is_fixed_on_the_sheet():
    report = examined("M5\nG21 G90 G55\nG53 G0 Z-2\nG0 X0\nG0 X1\nG53 G0 X300")
    remedies = [f.remedy for f in report.findings if f.rule == "beyond-travel"]
    assert [remedy.split(",")[0] for remedy in remedies] == [
        "Put the X origin of G55 on the machine sheet",
        "Keep X between 0.5 and 259.5 mm.",
    ]


def test_every_setup_is_proved_and_the_finding_names_the_one_it_belongs_to():
    low = Origin({"x": Interval(125, 125), "y": Interval(70, 70), "z": Interval(-60.0, -60.0)})
    high = Origin({"x": Interval(125, 125), "y": Interval(70, 70), "z": Interval(-20.0, -20.0)})
    machine = mill(setups=(Setup("Low", (VISE,), {"G54": low}), Setup("High", (VISE,), {"G54": high})))
    report = examined("G21 G90 G54 G49\nG53 G0 Z-2\nG0 X0 Y0\nG0 Z5\nG53 G0 Z-2", machine=machine)
    refused = [finding for finding in report.findings if finding.severity is Severity.REFUSE]
    assert {finding.case for finding in refused} == {"setup Low"}


def test_an_accepted_refusal_is_lowered_and_the_verdict_says_why():
    machine = MILL
    text = "G21 G90\nG53 G0 X120 Y70\n"
    report = examine(
        text, machine, controller(percent=False), Question(accepted={"crosses-keep-out": "the vise is off"})
    )
    assert report.verdict == "accepted"
    assert report.sentence.startswith("Not proved: accepted because the vise is off")


def test_only_the_reasons_for_what_was_lowered_stand_in_the_verdict():
    reasons = {"crosses-keep-out": "the vise is off", "mode-assumed": "never"}
    report = examine("G21 G90\nG53 G0 X120 Y70\n", MILL, controller(percent=False), Question(accepted=reasons))
    assert "never" not in report.sentence


@pytest.mark.parametrize("rule", ["beyond-travel", "unreadable-line"])
def test_language_and_travel_cannot_be_accepted(rule):
    text = {"beyond-travel": "G21 G90\nG53 G0 Y155\n", "unreadable-line": "G53 G0 Q?\n"}[rule]
    report = examine(text, MILL, controller(percent=False), Question(accepted={rule: "I like it"}))
    assert report.verdict == "refused"


def test_after_homing_the_machine_is_judged_from_where_it_then_stands():
    report = examined("M5\n(MSG, HOME AT THE PANEL)\nM0\nG4 P1\nG21 G90\nG53 G0 Z-2")
    assert fired(report) & {"beyond-travel", "crosses-keep-out"} == set()
    assert "path-not-known" in fired(report)


def test_one_cause_gives_one_finding_and_later_lines_are_named_in_it():
    report = examined("M5\nG21 G90\nG53 G0 X120 Y70\nG53 G0 X130 Y155\nG53 G0 Z-2\nG53 G0 X10")
    for rule, line in (("crosses-keep-out", 3), ("beyond-travel", 4)):
        lines = [finding.line for finding in report.findings if finding.rule == rule]
        assert set(lines) == {line}


COLUMN = Box("Column", (-200.0, 100.0, -300.0), (200.0, 160.0, 100.0))


def test_what_rides_on_the_table_is_kept_from_what_stands_on_the_frame():
    """The vise reaches back to 105 on the table; at Y 0 it stands at 105 behind the spindle, inside a column at 100."""
    machine = mill(setups=(Setup("", (VISE,)),), enclosures=(COLUMN,))
    text = "M5\nG21 G90\nG53 G0 Z0\nG53 G0 Y{}"
    assert "enters-enclosure" in fired(examined(text.format(2.0), machine=machine))
    # 105 + margin 2 - 100 = 7 by plain arithmetic
    assert "enters-enclosure" in fired(examined(text.format(6.99), machine=machine))
    assert "enters-enclosure" not in fired(examined(text.format(7.01), machine=machine))


def test_where_the_head_carries_an_axis_what_rides_on_the_table_does_not_move_along_it():
    machine = replace(mill(setups=(Setup("", (VISE,)),), enclosures=(COLUMN,)), axes=GANTRY.axes)
    assert "enters-enclosure" not in fired(examined("G21 G90\nG53 G0 Z0", machine=machine))


def test_a_table_that_carries_z_is_said_to_be_undecided_beside_an_enclosure():
    axes = tuple(replace(axis, carried_by="table") for axis in MILL.axes)
    report = examined("G21 G90\nG53 G0 Z-2", machine=mill(axes=axes, enclosures=(COLUMN,)))
    undecided = [finding for finding in report.findings if finding.undecided]
    assert [(finding.rule, finding.severity) for finding in undecided] == [("enters-enclosure", Severity.CAUTION)]
    assert report.verdict == "conditional"


@pytest.mark.parametrize(
    ("text", "changes"),
    [
        ("(MSG, HOME AT THE PANEL)\nM0", {}),
        ("G28", {"g28": "home", "homing": ("G28",)}),
        ("M98 P7", {"extra_words": {"M98": "call"}}),
    ],
)
def test_a_way_that_somebody_else_chooses_is_a_caution_and_the_verdict_has_a_condition(text, changes):
    report = examined(text, **changes)
    assert [finding.severity for finding in report.findings if finding.undecided] == [Severity.CAUTION]
    assert report.verdict == "conditional"


LIMITED = mill(limits=(Limit(("z", "<", -70.0), ("y", "<=", 140.0)),))


@pytest.mark.parametrize(
    ("text", "refused"),
    [
        ("G53 G0 Z-80", True),  # from a Y beyond 140
        ("G53 G0 Y100\nG53 G0 Z-80", False),
        ("G53 G0 Z-60\nG53 G0 Y145", False),
        ("G53 G0 Y145", True),  # from a Z below -70
        ("G53 G0 Z-2", False),
    ],
)
def test_a_limit_that_ties_two_axes_is_kept_from_any_start(text, refused):
    report = examined("M5\nG21 G90\n" + text, machine=replace(LIMITED, setups=(Setup("", ()),)))
    assert ("beyond-travel" in fired(report)) is refused


@pytest.mark.parametrize(
    "text", ["G53 G0 Z-80", "G53 G0 Y145", "G53 G0 X10 Y149 Z-89", "G53 G0 Z-60\nG53 G0 X10 Y145 Z-75"]
)
def test_the_witness_of_a_broken_limit_stands_where_the_sheet_does_not_want_it(text):
    """Design section 8, exact where straight: the witness is a start, and a point of the path that breaks the rule."""
    report = examined("M5\nG21 G90\n" + text, machine=replace(LIMITED, setups=(Setup("", ()),)))
    shown = [
        found.witness for found in report.findings if found.rule == "beyond-travel" and "asks for Y" in found.message
    ]
    assert shown
    for witness in shown:
        assert witness.at["z"] < -70.0
        assert witness.at["y"] > 140.0
        assert (witness.start["z"], witness.start["y"]) != (witness.at["z"], witness.at["y"])


def test_a_dogleg_keeps_a_limit_whichever_axis_arrives_first():
    """Design section 8: doglegs use all they may sweep. Straight on, Y is at 115 mm when Z passes -70 mm."""
    machine = replace(LIMITED, setups=(Setup("", ()),))
    start = {"x": Interval(10, 10), "y": Interval(145, 145), "z": Interval(-60, -60)}
    for rapid, refused in (("straight", False), ("dogleg", True)):
        report = examine(
            "M5\nG21 G90\nG53 G0 Y100 Z-75\n", machine, controller(percent=False, rapid=rapid), Question(start=start)
        )
        assert ("beyond-travel" in fired(report)) is refused


def test_a_travel_finding_marks_the_word_that_takes_the_axis_there():
    report = examined("M5\nG21 G90\nG53 G0 Z-2\nG53 G0 X10 Y999")
    assert [(f.line, f.column) for f in report.findings if f.rule == "beyond-travel"] == [(4, 12)]


def test_the_witness_of_a_target_outside_travel_starts_where_a_machine_would_stand():
    """Every start does; one at the very end of travel would show a move of no length."""
    report = examined("M5\nG21 G90\nG53 G0 Z-2\nG53 G0 X260")
    assert [f.witness.start["x"] for f in report.findings if f.rule == "beyond-travel"] == [pytest.approx(130.0)]


def test_the_witness_of_a_narrow_case_really_meets_the_obstacle():
    """The nose fits beside the box only near X 0, Y 66, and rises out of its reach within 4 mm.

    Recomputed by plain arithmetic: outside the rounded box at the start, inside it and below its top at the point. A
    tool of no length and no thickness could be anywhere beside it, so what hangs on the spindle is all nose here.
    """
    low = Box("Block", (18.14, 3.22, -130.0), (60.19, 39.24, -87.57))
    machine = mill(setups=(Setup("", (low,)),), keep_out_margin=0.0, tool_stick_out=0.0, nose_radius=30.0)
    report = examined("M5\nG21 G90\nG53 G0 X119.35 Z-12.88", machine=machine)
    nose = Body("nose", 0.0, 30.0)
    passage = passages(report.trace, machine)[0]
    witness = hit(passage, keep_out(low, machine), nose, dict(report.start))

    def aside(place):
        return hypot(max(18.14 - place["x"], place["x"] - 60.19, 0), max(3.22 - place["y"], place["y"] - 39.24, 0))

    start, at = (dict(zip("xyz", place, strict=True)) for place in (witness.start, witness.point))
    assert (aside(start) >= 30.0 - 1e-9) or (start["z"] >= -87.57)
    assert aside(at) < 30.0
    assert at["z"] < -87.57


def test_a_remedy_never_sends_z_beyond_its_travel():
    """A vise up to Z -28 and a tool of 40 mm would ask for Z 14, and Z ends at 0."""
    tall = Box("Tall vise", (80.0, 35.0, -130.0), (170.0, 105.0, -28.0))
    report = examined("M5\nG21 G90\nG53 G0 Z-2\nG53 G0 X120 Y70", machine=mill(setups=(Setup("", (tall,)),)))
    remedies = [f.remedy for f in report.findings if f.rule == "crosses-keep-out"]
    assert remedies
    assert all("Go round it" in remedy for remedy in remedies)


@pytest.mark.parametrize(("word", "found"), [("G3", ["-12"]), ("G2", [])])
def test_an_arc_that_dips_crosses_the_table_as_low_as_its_bulge(word, found):
    """Half a circle of radius 10 in ZX that ends at the height it began at: anticlockwise its bulge is below."""
    text = f"M5\nG21 G90\nG53 G0 Z-2\nG53 G0 X100\nG18 G91 G94\n{word} X-20 I-10 K0 F600\nG17 G90"
    report = examined(text, machine=mill(setups=(Setup("", ()),)))
    low = [f.message.split(",")[0].split()[-1] for f in report.findings if f.rule == "crossing-not-raised"]
    assert low == found


@pytest.mark.parametrize(
    ("text", "remedy"),
    [
        ("G21 G91\nG0 Z-1\n", "Add a last line: G90."),
        ("G20\nM2\n", "Before the line that ends the program add a line: G21."),
        ("%\nG20\n%\n", "Before the line that ends the program add a line: G21."),
    ],
)
def test_resting_modes_are_put_back_where_the_line_is_still_read(text, remedy):
    """Nothing after M2, or after the closing %, is read (NISTIR 6556, 3.1 and 3.6.1)."""
    report = examined(text.removesuffix("\n"))
    assert [f.remedy for f in report.findings if f.rule == "mode-left-changed"] == [remedy]


@pytest.mark.parametrize("start", [None, {"x": Interval(130, 130), "y": Interval(75, 75), "z": Interval(-2, -2)}])
def test_an_arc_comes_forward_as_far_as_its_bulge(start):
    """Half a circle of radius 20 in XY that ends at the Y it began at: from anywhere its bulge comes 20 mm forward."""
    text = "M5\nG21 G91 G94 G17\nG3 X-40 I-20 F600\nG90\n"
    report = examine(text, MILL, controller(percent=False), Question(start=start, seek_start=False))
    assert [f.figures["up_to_mm"] for f in report.findings if f.rule == "moves-towards-operator"] == [20.0]


@pytest.mark.parametrize(("carrier", "sign"), [("table", 1), ("head", -1)])
def test_what_comes_forward_depends_on_what_carries_the_axis(carrier, sign):
    """ISO 841:2001: machine Y up brings a table forward that carries Y, and takes a head back that does."""
    axes = tuple(replace(axis, carried_by=carrier) if axis.name == "y" else axis for axis in MILL.axes)
    machine = mill(axes=axes, setups=(Setup("", ()),))
    text = "M5\nG21 G91\nG0 Y{}\nG90"
    assert "moves-towards-operator" in fired(examined(text.format(5 * sign), machine=machine))
    assert "moves-towards-operator" not in fired(examined(text.format(-5 * sign), machine=machine))


def test_a_table_comes_forward_from_the_far_end_to_the_target_and_not_from_the_near_one():
    report = examined("M5\nG21 G90\nG53 G0 Z-2\nG53 G0 Y145")
    assert [f.figures["up_to_mm"] for f in report.findings if f.rule == "moves-towards-operator"] == [145.0]


@pytest.mark.parametrize(("x", "refused"), [(78.5, False), (78.7, True)])
def test_a_corner_that_may_be_cut_is_cut(x, refused):
    """Round the corner of the vise at X 80 Y 35 with a line of no thickness, and a tolerance of 2 mm.

    A right angle: the middle of the arc is 2 mm from the corner of the path (plane geometry), at 45 degrees. So that
    corner has to be at least sqrt 2 mm off either face for the arc to clear the corner of the vise.
    """
    off = 80.0 - x
    machine = mill(
        corner="blend",
        tolerance=2.0,
        setups=(Setup("", (VISE,)),),
        nose_radius=0.0,
        tool_radius=0.0,
        keep_out_margin=0.0,
    )
    y = 35.0 - off
    text = f"M5\nG21 G90 G94 G64\nG53 G0 Z-2\nG53 G0 X{x + 40} Y{y}\nG53 G0 Z-70\nG53 G1 X{x} F300\nG53 G1 Y{y + 40}"
    assert (off < 2**0.5) is refused
    assert ("crosses-keep-out" in fired(examined(text, machine=machine))) is refused


def remedies(rule, text, machine):
    return [found.remedy for found in examined(text, machine=machine).findings if found.rule == rule]


def test_where_the_head_comes_forward_hands_keep_away_from_the_head():
    head = mill(axes=tuple(replace(axis, carried_by="head") for axis in MILL.axes))
    assert remedies("moves-towards-operator", "G53 G0 Y0", head) == ["Stand aside, hands out of the way of the head."]
    assert remedies("moves-towards-operator", "G53 G0 Y0", MILL) == []


KNEE = mill(
    axes=(
        replace(MILL.axes[0], carried_by="head"),
        MILL.axes[1],
        replace(MILL.axes[2], carried_by="table", travel=Interval(0.0, 300.0)),
    ),
    enclosures=(Box("Duct", (200.0, 0.0, -20.0), (260.0, 150.0, 0.0)),),
    setups=(Setup("", ()),),
    safe_z=None,
)


def test_no_height_of_a_table_clears_an_enclosure_that_the_head_runs_into():
    report = examined("G21 G90\nG53 G0 Z200\nG53 G0 X240", machine=KNEE)
    assert ("enters-enclosure", 3) in [(each.rule, each.line) for each in report.findings if each.severity == "refuse"]


def test_what_a_rotary_axis_turns_is_said_not_to_be_followed():
    turning = mill(axes=(*MILL.axes, Axis("a", Interval(-360.0, 360.0), 3000.0, 500.0)))
    report = examined("G21 G90\nG53 G0 A90", machine=turning)
    (finding,) = [each for each in report.findings if each.rule == "crosses-keep-out"]
    assert (finding.severity, finding.undecided, finding.line) == (Severity.CAUTION, True, 2)
    assert report.verdict == "conditional"
    assert "crosses-keep-out" not in fired(examined("G21 G90\nG53 G0 Z-2", machine=turning))


def test_no_tool_that_is_shown_is_shorter_than_nothing():
    report = examined("G21 G91\nG0 Z-5\nG90", machine=mill(setups=(Setup("", (VISE,)),), nose_radius=0.0))
    shown = [each.witness.tool for each in report.findings if each.rule == "crosses-keep-out"]
    assert all(tool.length >= 0 for tool in shown)
    assert shown


def test_a_machine_of_one_axis_is_shown_a_case_that_is_one():
    upright = mill(axes=(MILL.axes[2],), setups=(Setup("", (VISE,)),), stored={})
    (finding,) = [each for each in examined("G21 G90\nG53 G0 Z-89", machine=upright).findings if each.witness]
    assert finding.figures["depth_mm"] > 0
    assert finding.witness.start["z"] > finding.witness.at["z"]


def test_raising_is_not_advised_where_the_macro_itself_comes_down():
    report = examined("G21 G90\nG53 G0 Z-2\nG53 G0 X125 Y70\nG53 G0 Z-60")
    remedies = {each.remedy for each in report.findings if each.rule == "crosses-keep-out"}
    assert remedies
    assert all(remedy.startswith("The macro comes down there by itself") for remedy in remedies)


def test_a_dogleg_is_shown_at_a_corner_of_what_it_sweeps_where_one_is_met():
    """From X 20 Y 70 to X 120 Y 20 the tool is in the vise once X has gone and Y has not."""
    start = {"x": Interval(20.0, 20.0), "y": Interval(70.0, 70.0), "z": Interval(-60.0, -60.0)}
    report = examine(
        "G21 G90\nG53 G0 X120 Y20\n",
        mill(setups=(Setup("", (VISE,)),), nose_radius=0.0),
        controller(percent=False, rapid="dogleg"),
        Question(start=start),
    )
    (finding,) = [each for each in report.findings if each.rule == "crosses-keep-out"]
    assert finding.witness.at == {"x": 120.0, "y": 70.0, "z": -60.0}


def test_the_corner_of_a_relative_dogleg_is_that_of_the_start_it_is_shown_from():
    """By X+100 Y-50: once X has gone and Y has not, or the other way round, and each as far as it goes."""
    report = examine(
        "G21 G91\nG0 X100 Y-50\nG90\n",
        mill(setups=(Setup("", (VISE,)),), nose_radius=0.0),
        controller(percent=False, rapid="dogleg"),
        Question(start={"x": Interval(20.0, 30.0), "y": Interval(100.0, 130.0), "z": Interval(-80.0, -60.0)}),
    )
    (finding,) = [each for each in report.findings if each.rule == "crosses-keep-out"]
    gone = {axis: finding.witness.at[axis] - finding.witness.start[axis] for axis in "xy"}
    assert (gone["x"], gone["y"]) in {(100.0, 0.0), (0.0, -50.0), (100.0, -50.0)}


def test_a_table_that_comes_against_the_frame_alike_in_two_setups_is_told_once():
    table = Box("Table", (-20.0, -15.0, -1000.0), (280.0, 165.0, -130.0))
    machine = mill(
        setups=(Setup("A", (table,)), Setup("B", (table,))),
        enclosures=(Box("Column", (0.0, 160.0, -200.0), (260.0, 260.0, 0.0)),),
    )
    found = [each for each in examined("G21 G90\nG53 G0 Z-2\nG53 G0 Y1", machine=machine).findings if each.witness]
    assert len({(each.rule, each.line, each.witness.body) for each in found}) == len(found)
    assert found


@pytest.mark.parametrize(("line", "height"), [("G91 G38.2 Z-20 F50", -18.0), ("G91 G1 Z-5 F50", -33.0)])
def test_the_height_to_raise_to_allows_for_what_the_line_goes_down(line, height):
    """Vise -80 with 2 mm and a tool of 40 mm: clear from -38, and 20 or 5 mm higher where it goes down by as much."""
    report = examined(f"G17 G21 G40 G49 G54 G90 G94\n{line}\nG90")
    (finding,) = [each for each in report.findings if "Vise" in each.message]
    assert f"from Z at or above {height:g} mm this line is clear" in finding.remedy
    for lower, met in ((0.0, False), (0.1, True)):
        start = {"z": Interval(height - lower, height - lower + 0.01)}
        again = examine(
            f"G17 G21 G40 G49 G54 G90 G94\n{line}\nG90\n", MILL, controller(percent=False), Question(start=start)
        )
        assert any("Vise" in each.message for each in again.findings if each.severity == "refuse") is met


def test_a_macro_that_goes_low_by_itself_is_not_told_to_raise_wherever_it_was_met_from():
    report = examined("G21 G90\nG53 G0 Z-70 X125 Y70\nG53 G0 Z-2")
    remedies = {each.remedy for each in report.findings if each.rule == "crosses-keep-out" and each.line == 2}
    assert remedies
    assert all(remedy.startswith("The macro comes down there by itself") for remedy in remedies)


def test_where_an_arc_goes_out_of_travel_is_a_point_of_the_arc():
    """A full turn about X+10 that sinks 3 mm: X is furthest after half of it, Y after a quarter."""
    report = examined(
        "G17 G21 G40 G49 G54 G90 G94\nG91\nG2 X0 I10 Z-3 F100\nG90", machine=mill(setups=(Setup("", ()),))
    )
    shown = {each.witness.body: each.witness for each in report.findings if each.rule == "beyond-travel"}
    by = {body: {axis: witness.at[axis] - witness.start[axis] for axis in "xyz"} for body, witness in shown.items()}
    assert by["x"] == pytest.approx({"x": 20.0, "y": 0.0, "z": -1.5})
    assert by["y"] == pytest.approx({"x": 10.0, "y": 10.0, "z": -0.75})
    assert by["z"] == pytest.approx({"x": 0.0, "y": 0.0, "z": -3.0})


def test_what_an_arc_of_unknown_shape_may_sweep_is_only_said_to_be_possible():
    start = {"x": Interval(100.0, 100.1), "y": Interval(80.0, 80.0)}
    text = "G17 G21 G40 G49 G54 G90 G94\nG2 X0 Y0 R90 F100\n"
    report = examine(text, MILL, controller(percent=False), Question(start=start))
    messages = [each.message for each in report.findings if each.rule in ("beyond-travel", "crosses-keep-out")]
    assert messages
    assert not any("would" in message for message in messages)


def test_a_box_on_the_frame_alone_is_something_to_be_clear_of():
    frame = mill(setups=(Setup("", ()),), enclosures=(Box("Column", (0.0, 160.0, -200.0), (260.0, 260.0, 0.0)),))
    raised = examined("G21 G90\nG53 G0 Z0", machine=replace(frame, travel_margin=0.0))
    assert raised.sentence.startswith("Proved on this sheet")
    assert examined("G21 G90\nG53 G0 Z-2", machine=mill(setups=(Setup("", ()),))).sentence.startswith(
        "Proved within travel only"
    )


def test_which_setup_it_is_in_is_told_only_where_there_are_several():
    one, two = mill(setups=(Setup("A", (VISE,)),)), mill(setups=(Setup("A", (VISE,)), Setup("B", ())))
    for machine, case in ((one, None), (two, "setup A")):
        found = [each for each in examined("G21 G90\nG53 G0 X120 Y70", machine=machine).findings if each.witness]
        assert {each.case for each in found} == {case}
