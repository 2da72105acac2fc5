"""The hand rate: in the lines, in the proof, in the time, and on what is printed."""

from __future__ import annotations

import pytest

import parser
from library import documents, heading, proving, verdicts
from library.blocks import REGISTRY
from library.build import build
from library.share.needs import needed
from library.sheets import preset_text
from tests.library.benches import (
    FILLED,
    INCH_RESTING,
    MILL,
    ONE_ZERO,
    PENDANT,
    ROUTER,
    TURNING,
    able,
    bench,
    macro,
    step,
)

AT_HAND = "2000 mm/min"
"""Set-up modes cap axis speed at about 2 m/min (memory)."""

SLOW = PENDANT + "hand_rate = 900.0\n[jog]\nrate = 600.0\n"


def written(*steps, on=None, **header):
    built = build(macro(*steps, **header), on or bench())
    assert built.problems == ()
    return [line for line in built.lines if line not in ("%", "(Trial)")]


def proved(*steps, on=None, **header):
    return proving.prove_macro(macro(*steps, **header), on or bench()).report


def refused(report):
    return [(finding.rule, finding.line) for finding in report.findings if finding.severity == "refuse"]


# In the lines --------------------------------------------------------------------------------------------------------


def test_rapids_of_an_axis_that_is_faster_become_feeds_and_those_of_a_slower_one_stay():
    # X and Y of the mill run at 2400 mm/min, Z at 1200
    lines = written(step("raise"), step("centre-table"), step("raise"), hand_rate=AT_HAND)
    assert lines == ["G21 G90", "G53 G0 Z-2", "G94", "G53 G1 X130 Y75 F2000", "G53 G0 Z-2"]


def test_feeds_above_it_are_held_and_those_below_stay():
    fast, slow = (written(step("raise", feed=feed), hand_rate="600") for feed in ("900", "300"))
    assert (fast[-1], slow[-1]) == ("G53 G1 Z-2 F600", "G53 G1 Z-2 F300")


def test_it_is_a_formula_in_the_units_of_the_macro():
    assert written(step("raise"), hand_rate="rapid.z / 2")[-1] == "G53 G1 Z-2 F600"
    assert written(step("raise"), hand_rate="20", units="inch")[-1] == "G53 G1 Z-2 F508"


def test_in_inches_it_is_never_rounded_up():
    # 1000 mm/min is 39.37007... in/min
    assert written(step("raise"), on=bench(MILL, INCH_RESTING), hand_rate="1000 mm/min")[-1] == "G53 G1 Z-0.0787 F39.37"
    report = proved(step("raise"), on=bench(MILL, INCH_RESTING), hand_rate="1000.03 mm/min")
    assert refused(report) == []


def test_the_pendant_has_one_for_all_and_the_lower_of_two_holds():
    on = bench(pendant=SLOW)
    assert written(step("raise"), on=on)[-1] == "G53 G1 Z-2 F900"
    assert written(step("raise"), on=on, hand_rate="500")[-1] == "G53 G1 Z-2 F500"
    assert written(step("raise"), on=on, hand_rate=AT_HAND)[-1] == "G53 G1 Z-2 F900"


def test_a_macro_that_is_run_keeps_its_own_for_its_steps():
    lift = macro(step("raise"), id="lift", hand_rate="400")
    plain = bench()
    on = documents.bench(MILL, preset_text("as-published"), PENDANT, {"lift": lift})
    lines = written(step("run-macro", macro="lift"), step("raise"), on=on, hand_rate="800")
    assert [line for line in lines if "Z-2" in line] == ["G53 G1 Z-2 F400", "G53 G1 Z-2 F800"]
    assert plain.shelf["lift"].hand_rate == ""


def test_degrees_a_minute_are_no_inches():
    on = able(MILL, "as-published")
    inch = bench(MILL + TURNING, INCH_RESTING)
    assert "G1 A90 F2000" in written(step("index"), on=on, hand_rate=AT_HAND)
    assert "G1 A90 F2000" in written(step("index"), on=inch, hand_rate=AT_HAND)


@pytest.mark.parametrize("rate", ["0", "-5 mm/min", "5 mm", "soon"])
def test_a_hand_rate_that_makes_no_sense_is_told_once(rate):
    built = build(macro(step("raise"), hand_rate=rate), bench())
    assert [(problem.step, problem.parameter) for problem in built.problems] == [(None, "hand_rate")]
    assert proving.prove_macro(macro(step("raise"), hand_rate=rate), bench()).exportable is False


def test_the_wheel_does_not_jog_faster_either():
    with pytest.raises(
        documents.DocumentError, match="jog gives a rate of jogging of 1000, faster than the hand rate of 900; lower it"
    ):
        bench(pendant=PENDANT + "hand_rate = 900.0\n")


def test_a_landmark_of_the_hand_rate_is_needed_where_the_macro_goes():
    assert "rapid.z" in needed(macro(step("dwell"), hand_rate="rapid.z / 2"), bench()).needs.landmarks


# In the proof --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("machine", [ONE_ZERO, ROUTER], ids=["mm", "inch"])
@pytest.mark.parametrize("block", [block for block in REGISTRY if block != "own-lines"])
def test_no_step_writes_a_move_that_the_rule_refuses(block, machine):
    report = proved(
        step("raise"),
        step(block, **FILLED.get(block, {})),
        on=able(machine),
        hand_rate="700 mm/min",
        start="z >= -20 mm",
    )
    assert [rule for rule, _ in refused(report) if rule == "faster-than-hand-rate"] == []
    for move in report.trace.moves:
        rapids = {axis.name: axis.rapid for axis in report.machine.axes}
        assert move.kind in ("dwell",) or (move.feed or max(rapids[name] for name in move.moving)) <= 700.001


def test_lines_of_ones_own_that_are_faster_are_refused_with_what_to_do():
    lines = "G21 G90 G94\nG53 G0 Z-2\nG53 G0 X100\nG53 G1 X120 F2400\nG53 G1 X130 F1999"
    report = proved(step("own-lines", lines=lines), hand_rate=AT_HAND)
    assert refused(report) == [("faster-than-hand-rate", 5), ("faster-than-hand-rate", 6)]
    told = next(finding for finding in report.findings if finding.rule == "faster-than-hand-rate")
    assert told.message == "X may go at 2400 mm/min, faster than the hand rate of 2000 mm/min."
    assert told.remedy == "Write it as G1 with an F of at most 2000 mm/min, or raise the hand rate."
    assert told.figures == {"mm_min": 2400.0, "hand_rate": 2000.0}


def test_inverse_time_is_held_to_what_it_comes_to():
    lines = "G21 G90 G94\nG53 G0 Z-2\nG53 G1 X100 F500\nG93\nG53 G1 X130 F100\nG94"
    assert ("faster-than-hand-rate", 7) in refused(proved(step("own-lines", lines=lines), hand_rate=AT_HAND))


def test_without_one_nothing_is_refused():
    assert refused(proved(step("own-lines", lines="G21 G90\nG53 G0 Z-2\nG53 G0 X100"))) == []


# What is told --------------------------------------------------------------------------------------------------------


def test_the_time_is_longer_and_says_so():
    steps = (step("raise"), step("present-table"))
    fast, slow = proved(*steps), proved(*steps, hand_rate="1000 mm/min")
    # 15 mm at most along Y and more along X: seconds at 1000 mm/min are more than at 2400
    assert slow.plan.totals.seconds.typical > fast.plan.totals.seconds.typical
    assert verdicts.held_to(slow, bench().figures) == ", no axis faster than 1000 mm/min"
    assert verdicts.held_to(fast, bench().figures) == ""


def test_what_the_controller_does_itself_is_left_out_of_what_is_said():
    report = proved(step("home"), on=bench(ONE_ZERO, "g28-homes"), hand_rate=AT_HAND)
    assert verdicts.held_to(report, bench().figures).endswith("but in what the controller does itself")


def test_the_report_has_it_in_mm_a_minute_for_scripts():
    assert parser.as_json(proved(step("raise"), hand_rate="20 in/min"))["hand_rate"] == 508.0
    assert parser.as_json(proved(step("raise")))["hand_rate"] is None


def test_the_head_of_the_file_says_so():
    made = macro(step("raise"), hand_rate=AT_HAND)
    report = proving.prove_macro(made, bench()).report
    assert "(Hand rate: no axis faster than 2000 mm/min)" in heading.heading(made, report, bench(), {})
