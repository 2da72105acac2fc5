"""Refusals that a macro accepts with a reason: what is lowered, what is not, and that nothing else hides behind it."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from parser.findings import Severity
from parser.machine import Setup
from parser.pipeline import examine
from parser.quantities import Figures, Reading
from parser.question import Question
from tests.parser.scene import MILL, controller, mill

KNOWN = "G17 G21 G40 G49 G54 G90 G94"
LEFT = {"mode-assumed": "the program before sets it"}


def examined(text, accepted=(), known=KNOWN, **more):
    setting = controller(percent=False, **more)
    return examine(f"{text}\n", MILL, setting, Question(assume=known, accepted=dict(accepted), seek_start=False))


def refused(report):
    return [(finding.rule, finding.line) for finding in report.findings if finding.severity is Severity.REFUSE]


def undecided(report):
    return [finding.line for finding in report.findings if finding.undecided]


# Lines that are left undone because something is not known ----------------------------------------------------------


def test_a_move_whose_kind_is_not_known_is_not_taken_for_none():
    report = examined("G90 G21\nX9999", LEFT, known="")
    assert (report.verdict, undecided(report)) == ("accepted", [2])
    assert "line 2 could not be decided" in report.sentence
    (finding,) = [finding for finding in report.findings if finding.undecided]
    assert finding.rule == "path-not-known"
    assert finding.message.startswith("Where this line goes is not known")


def test_after_a_height_that_is_not_known_the_table_is_not_crossed_at_the_height_before_it():
    report = examined("G53 G0 Z-2\nG53 G1 Z#1 F100\nG53 G0 X120 Y70", LEFT)
    assert ("crosses-keep-out", 3) in refused(report)
    assert undecided(report) == [2]


@pytest.mark.parametrize(
    "lines",
    [
        "#1=#2\nG53 G0 Z#1",
        "#[#2]=1\nG53 G0 Z#1",
        "G53 G#1 Z-1",
        "G53 G0 Z-3 M#1",
        "G81 X30 Y10 Z#1 R-2 F100 G98",
        "G91 G81 X1 Z-1 R0 F100 G98\nZ#1\nX9\nG90",
        "G84 X30 Y10 Z-3 R-2 F100 G98",
        "G10 L2 P1 Z#1\nG0 Z0",
        "G10 L2 P#1 Z0\nG0 Z0",
        "G92 Z#1\nG0 Z0",
        "G92.3\nG0 Z0",
        "G43 H#1\nG0 Z0",
        "#5163=#1\nG28",
        "#5163=#1\n#6=#5163\nG53 G0 Z#6",
        "G28 Z#1",
        "G38.2 Z#1 F100",
        "G18 G2 X60 Z#1 R60 F100",
    ],
)
def test_nothing_that_a_height_may_hang_on_leaves_the_machine_where_it_was(lines):
    text = f"G53 G0 Z-2\nG53 G0 X10 Y10\n{lines}\nG53 G0 X120 Y70"
    report = examined(text, LEFT)
    assert ("crosses-keep-out", text.count("\n") + 1) in refused(report)
    assert undecided(report)


def test_only_the_axes_that_a_straight_line_names_are_lost():
    report = examined("G53 G0 Z-2\nG53 G0 X#1\nG53 G0 X120 Y70", LEFT)
    assert (report.verdict, undecided(report)) == ("accepted", [2])


def test_a_rate_that_is_not_set_loses_nothing():
    report = examined("G53 G0 Z-2\nG53 G1 Z-3\nG53 G0 X120 Y70", {"feed-not-set": "the rate is always set"})
    assert (report.verdict, undecided(report)) == ("accepted", [])


def test_what_is_taken_for_a_mode_that_is_not_set_is_what_a_reason_accepts():
    report = examined("G53 G0 Z-2\nG53 G0 X10", {"mode-assumed": "the mill is always in mm"}, known="")
    assert (report.verdict, undecided(report)) == ("accepted", [])


def test_mistakes_on_a_line_with_a_value_that_is_not_known_are_refused_all_the_same():
    assert ("same-group-twice", 1) in refused(examined("G53 G0 G1 Z#1 F100", LEFT))
    assert ("unknown-word", 1) in refused(examined("G53 G0 Z#1 G1.5", LEFT))


def test_every_line_of_which_nothing_is_known_is_named_once():
    report = examined("G90 G21\nX1\nY2\nX3", LEFT, known="")
    assert undecided(report) == [2, 3, 4]
    assert "lines 2, 3 and 4 could not be decided" in report.sentence


@pytest.mark.parametrize(
    ("text", "rules"),
    [
        ("G90 G21\nX9999", [("mode-assumed", 2)]),
        ("G21 G90 G94\nG53 G0 Z-2\nG53 G1 Z#1 F100\nG53 G0 X120 Y70", [("mode-assumed", 3)]),
        ("G53 G0 Z-2\nG53 G0 X10", [("mode-assumed", 1)]),
        ("G21\nG53 Z-2\nG53 X10\nG53 G0 Y70 X120", [("mode-assumed", 2), *[("crosses-keep-out", 4)] * 2]),
        ("G21 G90\nG53 G0 Z-2\nG0 X[1/0]\nG53 G0 X120 Y70", [("bad-arithmetic", 3)]),
    ],
)
def test_where_such_a_line_is_refused_the_lines_after_it_are_not_blamed_for_it(text, rules):
    for accepted in ({}, {"crosses-keep-out": " "}, {"mode-assumed": ""}):
        report = examined(text, accepted, known="")
        assert (refused(report), undecided(report)) == (rules, [])


TALLEST, WIDEST = 90, 150
PLAIN_LINES = ("G53 G0 Z-2", "G53 G0 Z-40", "G53 G0 X120 Y70", "G53 G0 X20", "G0 X10", "G0 Z-5", "G91 G0 X10 Z1", "G90")
LOOSE_LINES = (
    "G53 G0 X#1",
    "G53 G1 Y#1 F200",
    "G53 G0 Z#2",
    "#3=#2",
    "G53 G0 Z#3",
    "G10 L2 P1 X#1",
    "G92 Z#2",
    "G0 X5 Z#2",
    "G91 G0 Z-10 Y[#1/10]",
)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.sampled_from(PLAIN_LINES + LOOSE_LINES), min_size=2, max_size=7),
    st.integers(1, WIDEST - 1),
    st.integers(1 - TALLEST, -1),
)
def test_whatever_the_values_turn_out_to_be_it_was_refused_or_not_decided(lines, across, height):
    """The same lines with the parameters set have nothing refused in space but where that was said before."""
    whole = "\n".join([*lines, "G90"])
    open_ = examined(f"(not set)\n{whole}", {**LEFT, "mode-left-changed": "it is put back"})
    if refused(open_):
        return
    told = set(undecided(open_))
    for rule, line in refused(examined(f"#1={across} #2={height}\n{whole}")):
        assert rule not in ("beyond-travel", "crosses-keep-out") or line in told


# What a reason does not do ------------------------------------------------------------------------------------------


def test_a_reason_for_what_is_no_refusal_leaves_a_proof_a_proof():
    text = "G53 G0 Z-2\nG53 G0 X50"
    report = examined(text, {"moves-with-spindle-on": "the belt is off"})
    assert "moves-with-spindle-on" in {finding.rule for finding in report.findings}
    assert (report.verdict, report.sentence) == ("proved", examined(text).sentence)
    assert not any(finding.lowered for finding in report.findings)


def test_what_was_lowered_is_told_apart():
    report = examined("G53 G0 X120 Y70", {"crosses-keep-out": "the vise is off"})
    assert {finding.rule for finding in report.findings if finding.lowered} == {"crosses-keep-out"}
    assert all(finding.severity is Severity.CAUTION for finding in report.findings if finding.lowered)


@pytest.mark.parametrize(
    ("text", "rule", "reason", "why"),
    [
        ("G53 G0 Y155", "beyond-travel", "I like it", "beyond-travel cannot be accepted"),
        ("G1.5", "unknown-word", "I like it", "unknown-word cannot be accepted"),
        ("G53 G0 X120 Y70", "crosses-keep-out", "", "no reason is given"),
        ("G53 G0 X120 Y70", "crosses-keep-out", "  ", "no reason is given"),
    ],
)
def test_a_refusal_that_stands_although_it_is_accepted_says_why(text, rule, reason, why):
    report = examined(text, {rule: reason})
    (message, *_) = [finding.message for finding in report.findings if finding.rule == rule]
    assert report.verdict == "refused"
    assert message.endswith(f" That the macro accepts it has no effect: {why}.")


def test_a_rule_that_there_is_not_lowers_nothing():
    assert examined("G53 G0 Z-2", {"crosses-keepout": "the vise is off"}).verdict == "proved"


def test_every_mode_that_is_taken_for_set_is_among_the_assumptions():
    report = examine(
        "G53 G0 Z0\nG53 G0 X200\nG1 X70 Z10\n",
        mill(setups=(Setup("", (), MILL.setups[0].origins),), travel_margin=0.0),
        controller(percent=False),
        Question(accepted={"mode-assumed": "the panel is always left so", "feed-not-set": "so is the feed"}),
    )
    assert report.verdict == "accepted"
    for word in ("G21", "G90", "G54", "G49"):
        assert f"{word} is in force where the macro has not set it" in report.assumptions


def test_the_claim_of_a_verdict_leaves_out_what_it_assumes_and_what_is_not_checked():
    for report in (examined("G53 G0 Z-2"), examined("G18", {"mode-left-changed": "the next one sets it"})):
        assert report.sentence.endswith("not drawn.")
        assert report.claim == report.sentence.partition(", if: ")[0].partition(". Not checked")[0]


def test_a_claim_ends_in_where_it_holds_and_what_is_not_proved_holds_nowhere():
    proved, refused = examined("G53 G0 Z-2"), examined("G53 G0 X261")
    assert proved.claim == f"Proved {proved.scope}"
    assert proved.scope == "on this sheet from every homed start"
    assert (refused.verdict, refused.scope) == ("refused", "")


def test_a_finding_carries_its_facts_beside_its_words():
    (found,) = (each for each in examined("G53 G0 X261").findings if each.rule == "beyond-travel")
    assert (found.cause, found.axis) == ("outside", "x")
    assert found.quantities["gap"] == Reading("x", 1.0, with_unit=True)
    in_inches = found.worded(Figures("inch"))
    assert "0.0394 in outside its travel" in in_inches.message
    assert in_inches.quantities == found.quantities
    assert in_inches.worded(Figures()) == found
