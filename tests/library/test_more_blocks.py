"""Blocks for measuring, setting up and running in: what they write, and what is proved of it."""

from __future__ import annotations

import pytest

from library import proving
from library.blocks import REGISTRY
from library.build import build
from library.errors import BlockError
from parser.motion.assumptions import origin_of
from tests.library.benches import INCH_RESTING, MILL, ONE_ZERO, ROUTER, bench, controller, macro, step

RAISE = step("raise")
PROBE = step("probe-down", depth="20 mm")


def lines(block, on=None, **values):
    return list(REGISTRY[block].lines(values, on or bench()))


def text_of(*steps, on=None):
    built = build(macro(*steps), on or bench())
    assert built.problems == ()
    return list(built.lines)


def proved(*steps, on=None, **header):
    return proving.prove_macro(macro(*steps, **header), on or bench()).report


def refused(report):
    return {finding.rule for finding in report.findings if finding.severity == "refuse"}


def test_a_nudge_is_relative_and_leaves_absolute_mode_behind():
    assert lines("nudge", axis="y", by="-5 mm") == ["G21 G91", "G0 Y-5", "G90"]
    assert lines("nudge", axis="z", by="1 in", feed="254 mm/min") == ["G21 G91 G94", "G1 Z25.4 F254", "G90"]


def test_a_nudge_from_anywhere_asks_for_a_start_condition():
    report = proved(step("nudge", axis="z", by="5 mm"))
    assert refused(report) == {"beyond-travel"}
    assert report.safe_start.condition == "z <= -5.5 mm"
    assert proved(step("nudge", axis="z", by="5 mm"), start="z <= -5.5 mm").verdict == "conditional"


def test_a_nudge_of_nothing_is_refused():
    with pytest.raises(BlockError, match="goes nowhere"):
        lines("nudge", by="0 mm")


def test_points_are_visited_in_order_with_a_pause_at_each():
    assert lines("visit", points="10 mm, 20 mm\n min(30 mm, 40 mm), 5") == [
        "G21 G90",
        "G53 G0 Z-2",
        "G53 G0 X10 Y20",
        "(MSG, POINT 1 OF 2, THEN RESUME)",
        "M0",
        "G53 G0 Z-2",
        "G53 G0 X30 Y5",
        "(MSG, POINT 2 OF 2, THEN RESUME)",
        "M0",
    ]


def test_points_may_be_visited_with_a_dwell_at_each():
    assert lines("visit", points="10, 20", wait="dwell", time="2 s")[1:] == ["G53 G0 Z-2", "G53 G0 X10 Y20", "G4 P2"]


@pytest.mark.parametrize(
    ("points", "message"),
    [
        ("10 mm", "row 1 of points is '10 mm'; it needs a length and a length"),
        ("1, 2\n3, 4 s", "row 2 of points"),
        ("1, 2\n" * 13, "the most there may be is 12"),
    ],
)
def test_a_row_that_cannot_be_read_is_named(points, message):
    with pytest.raises(BlockError, match=message) as error:
        lines("visit", points=points)
    assert error.value.parameter == "points"


def test_a_sweep_goes_there_and_back_at_its_feed():
    assert lines("sweep", begin="80 mm", finish="180 mm", times=2) == [
        "G21 G90",
        "G53 G0 X80",
        "G94",
        *["G53 G1 X180 F300", "G53 G1 X80 F300"] * 2,
    ]


def test_the_ways_are_run_from_end_to_end_one_axis_after_the_other():
    assert lines("exercise-ways", strokes=1) == [
        "G21 G90",
        "G53 G0 X5",
        "G53 G0 X255",
        "G53 G0 Y5",
        "G53 G0 Y145",
    ]


@pytest.mark.parametrize(
    ("block", "values", "parameter"),
    [
        ("exercise-ways", {"strokes": "1.5"}, "strokes"),
        ("exercise-ways", {"margin": "75 mm"}, "margin"),
        ("sweep", {"times": "1.5"}, "times"),
        ("sweep", {"begin": "5 mm", "finish": "5 mm"}, "finish"),
        ("warm-up", {"stages": "20000, 60 s"}, "stages"),
        ("warm-up", {"stages": "1000, 0 s"}, "stages"),
        ("set-work-zero", {"source": "probe"}, ""),
        ("set-work-zero", {}, ""),
        ("set-work-zero", {"source": "probe", "z": "1 mm"}, "z"),
    ],
)
def test_values_that_make_no_sense_are_named(block, values, parameter):
    machine = MILL.replace("nose_radius", "maximum_rpm = 10000\nnose_radius")
    with pytest.raises(BlockError) as error:
        lines(block, bench(machine), **values)
    assert error.value.parameter == parameter


def test_the_spindle_is_warmed_up_in_stages_and_stopped():
    assert lines("warm-up", stages="1000, 30 s\n3000, 60 s") == [
        "M3 S1000",
        "G4 P30",
        "M3 S3000",
        "G4 P60",
        "M5",
        "G4 P5",
    ]


def test_where_the_operator_switches_the_spindle_each_stage_is_asked_for():
    asked = lines("warm-up", bench(ROUTER), stages="1000, 30 s")
    assert asked[:3] == ["(MSG, SPINDLE TO 1000 RPM AND ON BY HAND, THEN RESUME)", "M0", "G4 P30"]


def test_a_tool_is_changed_up_with_the_spindle_off_over_a_clear_corner():
    assert lines("tool-change") == [
        "G21 G90",
        "G53 G0 Z-2",
        "M5",
        "G4 P5",
        "G53 G0 X5 Y145",
        "(MSG, Change the tool)",
        "M0",
    ]


def test_probing_goes_down_until_it_trips_twice_and_up_again():
    assert lines("probe-down") == [
        "M5",
        "G4 P5",
        "G21 G54 G49 G91 G94",
        "G38.2 Z-10 F50",
        "G0 Z1",
        "G38.2 Z-2 F20",
        "G90",
        "G53 G0 Z-2",
    ]


def test_a_probe_that_was_slow_before_there_was_a_second_touch_stays_as_slow():
    assert [line for line in lines("probe-down", feed="10 mm/min") if "F" in line] == [
        "G38.2 Z-10 F10",
        "G38.2 Z-2 F10",
    ]


def test_a_place_probed_downwards_is_lost_by_the_next_touch_sideways():
    # The parameters of the probe hold every axis where it tripped last (NISTIR 6556, 3.2.1).
    edge = step("probe-edge", towards="+x", diameter="10 mm")
    built = build(macro(RAISE, PROBE, edge, step("set-work-zero", source="probe")), bench(ONE_ZERO))
    assert [(problem.step, "nothing has been probed" in problem.message) for problem in built.problems] == [(4, True)]


def test_a_place_that_was_probed_is_lost_by_an_offset_that_holds_in_every_system():
    # G92 moves all nine (NISTIR 6556, 3.5.18), so what tripped reads something else afterwards.
    here = step("zero-here", axis="z", system="G54")
    steps = (RAISE, step("probe-down", system="G55"), here, step("set-work-zero", system="G55", source="probe"))
    built = build(macro(*steps), bench(ONE_ZERO))
    assert [(problem.step, "nothing has been probed" in problem.message) for problem in built.problems] == [(4, True)]


@pytest.mark.parametrize("machine", [MILL, ROUTER], ids=["mm", "inch"])
@pytest.mark.parametrize(
    "steps",
    [
        [RAISE, step("visit")],
        [RAISE, step("exercise-ways")],
        [RAISE, step("tool-change")],
        [step("warm-up")],
        [RAISE, step("go-to", x="travel.x.min + 10 mm", y="travel.y.min + 10 mm"), step("probe-down", depth="10 mm")],
    ],
    ids=lambda steps: steps[-1]["block"],
)
def test_what_they_write_is_proved_from_anywhere(steps, machine):
    report = proved(*steps, on=bench(machine))
    assert (report.verdict, refused(report)) == ("proved", set())


def test_probing_into_a_keep_out_is_refused_since_nobody_knows_where_it_trips():
    deep = [RAISE, step("centre-table"), step("probe-down", depth="80 mm")]
    assert refused(proved(*deep)) == {"crosses-keep-out"}


def test_a_fixed_work_zero_is_set_in_machine_coordinates():
    assert lines("set-work-zero", system="G55", x="10 mm", z="-40 mm") == ["G21", "G10 L2 P2 X10 Z-40"]


def test_a_work_zero_is_set_where_the_probe_tripped_less_the_plate():
    written = text_of(RAISE, PROBE, step("set-work-zero", system="G55", source="probe", above="12.5 mm"))
    assert written[-2] == "G10 L2 P2 Z[#5063+#5223-12.5]"


def test_the_zero_that_was_probed_lies_where_the_probe_tripped():
    report = proved(RAISE, PROBE, step("set-work-zero", source="probe", above="12.5 mm"), on=bench(ONE_ZERO))
    assert refused(report) == set()
    z = origin_of("G54", "z")
    assert report.trace.final.changed.keys() == {z}
    at = report.trace.final.origins[z]
    _fast, probe = (move for move in report.trace.moves if move.kind == "probe")
    assert (at.unknown, at.base) == (probe.end["z"].unknown, probe.end["z"].base - 12.5)


def test_a_zero_may_be_probed_where_nobody_knew_it():
    text = ONE_ZERO.replace("z = -38.0\n", "").replace(", z = -38.0", "")
    report = proved(RAISE, PROBE, step("set-work-zero", source="probe"), on=bench(text))
    assert refused(report) == set()
    assert report.trace.origins_missing == {}


def test_a_zero_that_was_set_over_the_probed_one_needs_a_new_probe():
    twice = build(macro(RAISE, PROBE, *[step("set-work-zero", source="probe")] * 2), bench())
    assert [(problem.step, "nothing has been probed" in problem.message) for problem in twice.problems] == [(4, True)]


def test_without_g53_moves_count_from_the_zero_just_set():
    on = bench(ONE_ZERO, "no-machine-moves")
    written = text_of(step("set-work-zero", z="-50 mm"), RAISE, on=on)
    assert "G0 Z48" in written


def test_without_g53_nothing_can_be_reached_from_a_zero_just_probed():
    on = bench(ONE_ZERO, "no-machine-moves")
    built = build(macro(RAISE, PROBE, step("set-work-zero", source="probe"), RAISE), on)
    assert [(problem.step, "has just been probed, or moved" in problem.message) for problem in built.problems] == [
        (4, True)
    ]


@pytest.mark.parametrize("own", ["G21 G90\nG10 L2 P1 X50", "G21 G54\nG92 X50", "G92.1"])
def test_without_g53_nothing_can_be_reached_from_a_zero_that_own_lines_move(own):
    on = bench(ONE_ZERO, "no-machine-moves")
    built = build(macro(RAISE, step("own-lines", lines=own), step("go-to", x="200 mm")), on)
    assert [(problem.step, "moved by a step before" in problem.message) for problem in built.problems] == [(3, True)]


@pytest.mark.parametrize("own", ["G21 G90\nG10 L2 P2 X50", "G4 P1"])
def test_own_lines_that_leave_that_zero_alone_take_nothing_away(own):
    on = bench(ONE_ZERO, "no-machine-moves")
    assert "G0 X75" in text_of(step("own-lines", lines=own), step("go-to", x="200 mm"), on=on)


@pytest.mark.parametrize(
    "mover",
    [
        step("set-work-zero", z="-50 mm"),
        step("zero-here", axis="z", system="G55"),
        step("own-lines", lines="G21\nG10 L2 P1 Z-50"),
    ],
    ids=lambda mover: mover["block"],
)
def test_no_clearance_is_counted_from_a_zero_that_has_just_been_moved(mover):
    built = build(macro(RAISE, mover, step("above-work", descend=True)), bench(ONE_ZERO))
    assert [(problem.step, "moves the Z zero of G54" in problem.message) for problem in built.problems] == [(3, True)]
    other = step("set-work-zero", system="G55", z="-50 mm")
    assert build(macro(RAISE, other, step("above-work", descend=True)), bench(ONE_ZERO)).problems == ()


def test_the_system_kept_for_machine_coordinates_is_kept_where_g53_is_listed_as_lacking():
    on = bench(ONE_ZERO, controller(unsupported='["G53"]', machine_system='"G59"'))
    with pytest.raises(BlockError, match="kept at 0, 0, 0"):
        lines("zero-here", on, axis="x", system="G59")


def test_in_inches_the_new_blocks_write_inches():
    on = bench(MILL, INCH_RESTING)
    assert lines("nudge", on, axis="x", by="25.4 mm") == ["G20 G91", "G0 X1", "G90"]
    assert lines("probe-down", on, depth="25.4 mm", feed="254 mm/min")[3] == "G38.2 Z-1 F10"


def test_a_tool_change_on_a_controller_that_cannot_wait_says_so():
    with pytest.raises(BlockError, match="no line that waits"):
        lines("tool-change", bench(MILL, controller(pause='""')))
