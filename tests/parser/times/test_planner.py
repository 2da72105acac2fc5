"""Times of moves: per-axis limits, feeds, arcs, doglegs, dwells, and what an unknown start makes of them."""

from dataclasses import replace
from math import hypot, pi, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from parser.machine import Controller
from parser.pipeline import examine
from parser.times.double_s import DoubleS
from parser.times.planner import plan, timing
from parser.times.timing import NOTHING, Spread
from tests.parser import scene
from tests.parser.motion.moving import (
    MILL,
    anywhere,
    between,
    circle,
    dwell,
    feed,
    pause,
    place,
    rapid,
    trace_of,
)

PUBLISHED = Controller()


def timed(move, machine=MILL):
    return timing(move, machine, PUBLISHED)


def same(value):
    return Spread(value, value, value)


def near(spread):
    return Spread(*(pytest.approx(value, rel=1e-9, abs=1e-12) for value in (spread.least, spread.most, spread.typical)))


# Straight moves


def test_a_rapid_along_one_axis_runs_at_its_rate_and_acceleration():
    result = timed(rapid(place(), place(x=100.0)))
    assert result.seconds == near(same(100.0 / 40.0 + 40.0 / 220.0))
    assert result.length == same(100.0)
    assert result.speed == near(same(40.0))
    assert result.axis_speed == {"x": pytest.approx(40.0)}
    assert result.ramp == pytest.approx(40.0 / 220.0)


def test_a_diagonal_rapid_is_held_back_by_the_axis_that_is_slowest_for_its_share():
    result = timed(rapid(place(), place(x=100.0, y=100.0)))
    expected = DoubleS(100.0 * sqrt(2), 30.0 * sqrt(2), 150.0 * sqrt(2))
    assert result.seconds == near(same(expected.seconds))
    assert result.axis_speed == {"x": pytest.approx(30.0), "y": pytest.approx(30.0)}


def test_one_axis_may_limit_the_speed_and_another_the_acceleration():
    quick_but_soft = replace(MILL.axes[0], rapid=6000.0, acceleration=50.0)
    machine = replace(MILL, axes=(quick_but_soft, *MILL.axes[1:]))
    result = timed(rapid(place(), place(x=80.0, y=80.0)), machine)
    assert result.seconds == near(same(DoubleS(80.0, 30.0, 50.0).seconds))


def test_a_feed_caps_the_speed_along_the_path():
    result = timed(feed(place(), place(x=30.0, y=40.0), 600.0))
    acceleration = min(220.0 / 0.6, 150.0 / 0.8)
    assert result.seconds == near(same(50.0 / 10.0 + 10.0 / acceleration))
    assert result.speed == near(same(10.0))


def test_a_feed_beyond_an_axis_rate_does_not_lift_the_axis_limit():
    assert timed(feed(place(), place(z=-50.0), 99999.0)).speed == near(same(20.0))


def test_a_feed_that_was_never_set_is_estimated_at_the_rate_of_the_first_run():
    slow = timing(feed(place(), place(x=100.0), None), MILL, Controller(first_run_rate=300.0))
    assert slow.speed == near(same(5.0))


def test_inverse_time_runs_at_the_speed_that_takes_the_minutes():
    result = timed(feed(place(), place(x=60.0), None, minutes=0.1))
    assert result.speed == near(same(10.0))
    assert result.seconds == near(same(6.0 + 10.0 / 220.0))


def test_a_rotary_axis_alone_is_fed_in_degrees():
    result = timed(feed(place(), place(a=90.0), 600.0))
    assert result.length == same(90.0)
    assert result.path_mm == NOTHING
    assert result.seconds == near(same(9.0 + 10.0 / 360.0))


def test_a_rotary_axis_beside_a_linear_one_is_fed_along_the_linear_path():
    result = timed(feed(place(), place(x=100.0, a=90.0), 600.0))
    assert result.length == same(100.0)
    assert result.seconds == near(same(10.0 + 10.0 / 220.0))
    assert result.axis_speed["a"] == pytest.approx(9.0)


def test_a_linear_axis_that_may_stand_still_brackets_the_feed_of_a_rotary_one():
    result = timed(feed(place(x=anywhere("x")), place(x=0.0, a=90.0), 60.0))
    assert result.seconds.least == pytest.approx(DoubleS(90.0, 60.0, 360.0).seconds)
    assert result.seconds.most == pytest.approx(DoubleS(260.0, 1.0, 220.0).seconds)
    stubby = timed(feed(place(x=between("x", 0.0, 1.0)), place(x=0.0, a=90.0), 60.0))
    assert stubby.seconds.most == pytest.approx(DoubleS(90.0, 1.0, 360.0).seconds)


# Unknown starts


def test_an_unknown_start_gives_a_range_from_nothing_to_the_far_end():
    result = timed(rapid(place(z=anywhere("z")), place(z=-2.0)))
    assert result.length == Spread(0.0, 88.0, 43.0)
    assert result.seconds == near(Spread(0.0, 88.0 / 20.0 + 20.0 / 120.0, 43.0 / 20.0 + 20.0 / 120.0))


def test_a_start_that_is_all_to_one_side_has_a_least_way():
    result = timed(rapid(place(x=between("x", 10.0, 30.0)), place(x=100.0)))
    assert result.length == Spread(70.0, 90.0, 80.0)


def test_the_same_unknown_at_both_ends_cancels():
    at = anywhere("x")
    result = timed(rapid(place(x=at), place(x=replace(at, base=10.0))))
    assert result.length == same(10.0)


def test_an_axis_that_was_there_already_adds_nothing():
    assert timed(rapid(place(), place(x=1e-12))).length == NOTHING


ends = st.floats(-400.0, 400.0)
unknown = st.tuples(st.floats(-300.0, 300.0), st.floats(0.0, 200.0))
inside = st.floats(0.0, 1.0)


@given(ends, ends, unknown, unknown, inside, inside, st.booleans(), st.floats(10.0, 5000.0) | st.none())
def test_every_start_lies_between_least_and_most(x, y, spread_x, spread_y, at_x, at_y, dogleg, rate):
    boxes = {"x": (spread_x[0], sum(spread_x)), "y": (spread_y[0], sum(spread_y))}
    floating = place(**{axis: between(axis, *box) for axis, box in boxes.items()})
    fixed = place(x=spread_x[0] + at_x * spread_x[1], y=spread_y[0] + at_y * spread_y[1])
    end = place(x=x, y=y)
    whole, one = (
        timed(feed(start, end, rate) if rate else rapid(start, end, dogleg=dogleg)) for start in (floating, fixed)
    )
    for name in ("length", "seconds", "speed"):
        spread, value = getattr(whole, name), getattr(one, name).typical
        assert spread.least * (1 - 1e-9) - 1e-6 <= value <= spread.most * (1 + 1e-9) + 1e-6
    for axis, speed in one.axis_speed.items():
        assert speed <= whole.axis_speed[axis] * (1 + 1e-9)
    assert one.ramp <= whole.ramp * (1 + 1e-9)


@given(unknown, unknown, ends, ends)
def test_least_and_most_times_are_reached(spread_x, spread_y, x, y):
    boxes = {"x": (spread_x[0], sum(spread_x)), "y": (spread_y[0], sum(spread_y))}
    floating = place(**{axis: between(axis, *box) for axis, box in boxes.items()})
    whole = timed(rapid(floating, place(x=x, y=y)))
    target = {"x": x, "y": y}
    nearest = {axis: min(max(target[axis], low), high) for axis, (low, high) in boxes.items()}
    farthest = {axis: max(box, key=lambda end, axis=axis: abs(end - target[axis])) for axis, box in boxes.items()}
    assert whole.seconds.least == pytest.approx(timed(rapid(place(**nearest), place(x=x, y=y))).seconds.typical)
    assert whole.seconds.most == pytest.approx(timed(rapid(place(**farthest), place(x=x, y=y))).seconds.typical)


# Doglegs


def test_a_dogleg_ends_with_its_slowest_axis():
    result = timed(rapid(place(), place(x=200.0, y=20.0, z=-10.0), dogleg=True))
    assert result.seconds == near(same(200.0 / 40.0 + 40.0 / 220.0))
    assert result.axis_speed == {"x": pytest.approx(40.0), "y": pytest.approx(30.0), "z": pytest.approx(20.0)}


def test_a_dogleg_with_equal_axes_going_equally_far_is_straight():
    machine = replace(MILL, axes=(MILL.axes[0], replace(MILL.axes[0], name="y"), *MILL.axes[2:]))
    result = timed(rapid(place(), place(x=50.0, y=50.0), dogleg=True), machine)
    assert result.length.typical == pytest.approx(50.0 * sqrt(2))


@given(st.floats(0.1, 300.0), st.floats(0.1, 300.0))
def test_a_dogleg_is_no_shorter_than_straight_and_no_longer_than_one_axis_at_a_time(x, y):
    result = timed(rapid(place(), place(x=x, y=y), dogleg=True))
    assert hypot(x, y) * (1 - 1e-5) <= result.length.typical <= (x + y) * (1 + 1e-5)


def test_the_path_of_a_dogleg_is_that_of_a_fine_walk_along_it():
    x, y = DoubleS(90.0, 40.0, 220.0), DoubleS(35.0, 30.0, 150.0)
    times = np.linspace(0.0, max(x.seconds, y.seconds), 20001)
    walked = np.hypot(*(np.diff(axis.at(times)[0]) for axis in (x, y))).sum()
    result = timed(rapid(place(), place(x=90.0, y=35.0), dogleg=True))
    assert result.length.typical == pytest.approx(walked, rel=1e-5)


# Arcs


def test_a_full_circle_shares_the_acceleration_between_turning_and_speeding_up():
    result = timed(circle(10.0, 0.0, 360.0, 99999.0))
    top = sqrt(150.0 * 10.0 / sqrt(2))
    assert top > 30.0
    assert result.speed == near(same(30.0))
    small = timed(circle(2.0, 0.0, 360.0, 99999.0))
    assert small.speed == near(same(sqrt(150.0 * 2.0 / sqrt(2))))
    assert small.seconds == near(same(DoubleS(4 * pi, small.speed.most, 150.0 / sqrt(2)).seconds))


def test_a_short_arc_is_limited_by_what_it_asks_of_each_axis():
    along_x = timed(circle(1000.0, 89.0, 2.0, 99999.0))
    assert along_x.axis_speed["x"] == pytest.approx(along_x.speed.most)
    assert along_x.axis_speed["y"] < 0.02 * along_x.speed.most


@given(st.floats(0.5, 200.0), st.floats(-360.0, 360.0), st.floats(-360.0, 360.0), st.floats(10.0, 9000.0))
def test_an_arc_keeps_within_every_limit(radius, begins, sweep, rate):
    result = timed(circle(radius, begins, sweep, rate))
    if result.length.most == 0.0:
        return
    assert result.speed.most <= rate / 60.0 * (1 + 1e-9)
    assert result.speed.most <= sqrt(150.0 * radius / sqrt(2)) * (1 + 1e-9)
    assert result.axis_speed["x"] <= 40.0 * (1 + 1e-9)
    assert result.axis_speed["y"] <= 30.0 * (1 + 1e-9)


def test_a_helix_is_as_long_as_its_unrolled_triangle():
    result = timed(circle(5.0, 0.0, 360.0, 300.0, start=place(), end=place(z=-4.0)))
    assert result.length == near(same(hypot(10 * pi, 4.0)))
    assert result.speed == near(same(5.0))
    assert result.axis_speed["z"] == pytest.approx(5.0 * 4.0 / hypot(10 * pi, 4.0))


def test_a_steep_helix_is_limited_by_its_third_axis():
    result = timed(circle(5.0, 0.0, 360.0, 99999.0, start=place(), end=place(z=-90.0)))
    assert result.axis_speed["z"] == pytest.approx(20.0)


def test_an_arc_in_another_plane_uses_the_limits_of_that_plane():
    result = timed(circle(500.0, 0.0, 360.0, 99999.0, axes=("z", "x"), normal="y"))
    assert result.speed == near(same(20.0))


def test_an_axis_of_an_arc_covers_its_way_to_and_fro():
    result = timed(circle(10.0, 0.0, 360.0, 600.0))
    assert result.travel == {"x": near(same(40.0)), "y": near(same(40.0))}


# Jerk


def with_jerk(jerk, machine=MILL):
    return replace(machine, axes=tuple(replace(axis, jerk=jerk) for axis in machine.axes))


def test_jerk_is_projected_over_the_moving_axes_that_have_a_limit():
    axes = (replace(MILL.axes[0], jerk=900.0), *MILL.axes[1:])
    result = timed(rapid(place(), place(x=60.0, y=80.0)), replace(MILL, axes=axes))
    expected = DoubleS(100.0, 30.0 / 0.8, 150.0 / 0.8, 900.0 / 0.6)
    assert result.seconds == near(same(expected.seconds))
    assert result.ramp == pytest.approx(sum(seconds for seconds, _, _ in expected.phases[4:]))
    unlimited = timed(rapid(place(), place(y=80.0)), replace(MILL, axes=axes))
    assert unlimited.seconds == near(same(DoubleS(80.0, 30.0, 150.0).seconds))


def test_each_axis_of_a_dogleg_keeps_its_own_jerk():
    result = timed(rapid(place(), place(x=200.0, y=20.0), dogleg=True), with_jerk(500.0))
    assert result.seconds == near(same(DoubleS(200.0, 40.0, 220.0, 500.0).seconds))


def test_the_path_of_a_dogleg_with_jerk_is_that_of_a_fine_walk_along_it():
    times = np.linspace(0.0, 4.0, 40001)
    x, y = DoubleS(90.0, 40.0, 220.0, 500.0).at(times)[0], DoubleS(35.0, 30.0, 150.0, 500.0).at(times)[0]
    result = timed(rapid(place(), place(x=90.0, y=35.0), dogleg=True), with_jerk(500.0))
    assert result.length.typical == pytest.approx(np.hypot(np.diff(x), np.diff(y)).sum(), rel=1e-5)


@given(unknown, unknown, inside, inside, st.floats(10.0, 1e5))
def test_every_start_lies_between_least_and_most_with_jerk(spread_x, spread_y, at_x, at_y, jerk):
    machine = with_jerk(jerk)
    floating = place(
        x=between("x", spread_x[0], sum(spread_x)),
        y=between("y", spread_y[0], sum(spread_y)),
    )
    fixed = place(x=spread_x[0] + at_x * spread_x[1], y=spread_y[0] + at_y * spread_y[1])
    whole, one = (timed(rapid(start, place(x=10.0, y=20.0)), machine) for start in (floating, fixed))
    assert whole.seconds.least * (1 - 1e-9) - 1e-6 <= one.seconds.typical <= whole.seconds.most * (1 + 1e-9) + 1e-6
    assert one.ramp <= whole.ramp * (1 + 1e-9)
    assert one.bend <= whole.ramp / 2.0 * (1 + 1e-9)


# The whole macro


def test_a_dwell_takes_what_is_written_and_goes_nowhere():
    result = timed(dwell(2.5))
    assert result.seconds == same(2.5)
    assert result.length == NOTHING


def test_totals_add_up_rapids_feeds_dwells_and_each_axis():
    start = place(z=anywhere("z"))
    up = place(z=-2.0)
    over = place(x=30.0, y=40.0, z=-2.0)
    moves = (
        rapid(start, up, line=1),
        rapid(up, over, line=2),
        dwell(1.0, over, line=3),
        feed(over, {**over, "z": -12.0}, 600.0, line=4),
    )
    planned = plan(trace_of(*moves), MILL, PUBLISHED)
    totals = planned.totals
    assert len(planned.timings) == 4
    assert totals.rapid_mm == near(Spread(50.0, 138.0, 93.0))
    assert totals.feed_mm == near(same(10.0))
    assert totals.by_axis_mm["x"] == same(30.0)
    assert totals.by_axis_mm["z"] == near(Spread(10.0, 98.0, 53.0))
    assert totals.by_axis_deg == {"a": NOTHING}
    assert totals.seconds.most == pytest.approx(sum(each.seconds.most for each in planned.timings))
    assert totals.seconds.least > 1.0


def test_degrees_are_not_added_to_millimetres():
    totals = plan(trace_of(rapid(place(), place(a=90.0))), MILL, PUBLISHED).totals
    assert totals.rapid_mm == NOTHING
    assert totals.by_axis_deg == {"a": same(90.0)}


def test_pauses_home_at_the_panel_and_tool_changes_wait_for_the_operator():
    kinds = ("pause", "home-at-panel", "tool-change", "message", "homing", "end")
    events = tuple(pause(0, i + 1, kind) for i, kind in enumerate(kinds))
    assert plan(trace_of(events=events), MILL, PUBLISHED).totals.operator_pauses == 3


def test_a_macro_without_motion_takes_no_time():
    planned = plan(trace_of(events=[pause(0)]), MILL, PUBLISHED)
    assert planned.timings == ()
    assert planned.totals.seconds == NOTHING


def test_a_dogleg_that_goes_nowhere_from_the_middle_of_its_starts_is_timed():
    """To the middle of the travel of both axes, each at its own rate: typically no way at all, at most half of each."""
    dogleg = scene.controller(rapid="dogleg", percent=False)
    report = examine("G21 G90\nG53 G0 Z-2\nG53 G0 X130 Y75\n", scene.MILL, dogleg)
    assert report.plan.timings[-1].length.typical == 0.0
    assert report.plan.timings[-1].seconds.typical == 0.0
    assert report.plan.timings[-1].seconds.most > 3.0
