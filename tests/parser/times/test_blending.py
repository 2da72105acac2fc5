"""Rounded corners in a whole program: where it stops, what it saves, and what must hold for any path."""

from dataclasses import replace
from itertools import pairwise
from math import hypot, pi

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from parser.machine import Axis, Controller, Interval, Machine
from parser.times.double_s import DoubleS
from parser.times.planner import plan
from parser.times.sampling import sample_at
from parser.times.timed_path import timed_path
from parser.times.timing import NOTHING, Spread
from tests.parser.motion.moving import MILL, anywhere, between, circle, dwell, feed, pause, place, rapid, trace_of

PUBLISHED = Controller()
BLENDING = replace(MILL, corner="blend", tolerance=0.05)
SMOOTH = replace(BLENDING, axes=tuple(replace(axis, jerk=2000.0) for axis in BLENDING.axes))
SQUARE = ((0.0, 0.0), (50.0, 0.0), (50.0, 50.0), (0.0, 50.0))


def along(points, rate=900.0, **more):
    """Feed moves from point to point, given by X, Y and Z."""
    places = [place(*point) for point in points]
    return [feed(start, end, rate, line=i + 1, **more) for i, (start, end) in enumerate(pairwise(places))]


def seconds(moves, machine=BLENDING, events=()):
    return plan(trace_of(*moves, events=events), machine, PUBLISHED).totals.seconds


def near(spread):
    """The spread, equal to any other but for rounding."""
    return Spread(*(pytest.approx(value, rel=1e-9, abs=1e-9) for value in (spread.least, spread.most, spread.typical)))


def stopping(moves):
    return plan(trace_of(*moves), replace(BLENDING, corner="stop"), PUBLISHED).totals.seconds


# Where it stops


def test_a_rounded_square_is_quicker_and_a_little_shorter_than_one_with_stops():
    moves = along(SQUARE)
    rounded = plan(trace_of(*moves), BLENDING, PUBLISHED)
    sharp = plan(trace_of(*moves), replace(BLENDING, corner="stop"), PUBLISHED)
    assert rounded.totals.seconds.typical < sharp.totals.seconds.typical
    radius = 0.05 / (2**0.5 - 1)
    saved = 2 * (2 * radius - radius * pi / 2)
    assert rounded.totals.feed_mm.typical == pytest.approx(150.0 - saved)
    assert rounded.totals.seconds.least == rounded.totals.seconds.most == rounded.totals.seconds.typical


@pytest.mark.parametrize("machine", [BLENDING, SMOOTH])
def test_a_line_in_pieces_takes_as_long_as_a_line_in_one(machine):
    whole = along([(0.0, 0.0, 0.0), (60.0, 80.0, 0.0)])
    pieces = along([(0.6 * s, 0.8 * s, 0.0) for s in (0.0, 1.0, 2.5, 40.0, 99.0, 100.0)])
    assert seconds(pieces, machine).typical == pytest.approx(seconds(whole, machine).typical, rel=1e-9)


def test_the_pieces_of_a_line_share_its_time_by_where_it_passes_their_ends():
    moves = along([(0.0, 0.0), (10.0, 0.0), (90.0, 0.0), (100.0, 0.0)])
    timings = plan(trace_of(*moves), BLENDING, PUBLISHED).timings
    profile = DoubleS(100.0, 15.0, 220.0)
    assert timings[0].seconds.typical == pytest.approx(profile.when(10.0))
    assert timings[1].seconds.typical == pytest.approx(80.0 / 15.0)
    assert timings[2].seconds.typical == pytest.approx(timings[0].seconds.typical)


def test_a_corner_takes_no_more_than_half_of_the_piece_beside_it():
    short = along([(0.0, 0.0), (50.0, 0.0), (50.0, 0.02), (50.0, 50.0)])
    run = timed_path(trace_of(*short), BLENDING, PUBLISHED, {})
    assert run.paced.corners.tangent == pytest.approx([0.01])


def test_a_change_of_feed_on_a_straight_line_does_not_stop():
    moves = [feed(place(), place(x=50.0), 900.0), feed(place(x=50.0), place(x=100.0), 300.0)]
    slow_down = (15.0**2 - 5.0**2) / (2 * 220.0)
    expected = (50.0 - slow_down) / 15.0 + 15.0 / 440.0 + 10.0 / 220.0 + 50.0 / 5.0 + 5.0 / 440.0
    assert seconds(moves).typical == pytest.approx(expected)


def test_a_line_runs_through_into_a_tangent_arc():
    line = feed(place(x=-40.0, y=10.0), place(x=0.0, y=10.0), 300.0)
    arc = circle(10.0, 90.0, -90.0, 300.0, start=place(y=10.0), end=place(x=10.0))
    length = 40.0 + 5.0 * pi
    assert seconds([line, arc]).typical < length / 5.0 + 5.0 / 100.0
    assert seconds([line, arc]).typical < stopping([line, arc]).typical - 0.02


@pytest.mark.parametrize("word", ["G61", "G61.1"])
def test_exact_path_and_exact_stop_do_not_round(word):
    moves = along(SQUARE, path_control=word)
    assert seconds(moves) == near(stopping(moves))


def test_exact_path_runs_on_along_a_line_and_exact_stop_does_not():
    points = [(0.0, 0.0), (50.0, 0.0), (100.0, 0.0)]
    assert seconds(along(points, path_control="G61")) == near(seconds(along(points, path_control="G64")))
    assert seconds(along(points, path_control="G61.1")) == near(stopping(along(points)))


def test_the_sheet_decides_where_no_word_does_and_where_it_forbids_rounding():
    assert seconds(along(SQUARE, path_control="G64")) == near(seconds(along(SQUARE)))
    assert stopping(along(SQUARE, path_control="G64")) == near(stopping(along(SQUARE)))


def test_rapids_stop_at_their_corners():
    places = [place(*point) for point in SQUARE]
    moves = [rapid(a, b, line=i) for i, (a, b) in enumerate(pairwise(places))]
    assert seconds(moves) == near(stopping(moves))


@pytest.mark.parametrize("kind", ["pause", "tool-change", "homing", "call"])
def test_a_wait_between_two_moves_is_a_stop(kind):
    moves = along(SQUARE[:3])
    assert seconds(moves, events=[pause(1, 2, kind)]) == near(stopping(moves))


def test_a_message_is_not():
    moves = along(SQUARE[:3])
    assert seconds(moves, events=[pause(1, 2, "message")]) == near(seconds(moves))


def test_a_dwell_and_a_change_of_the_spindle_are_stops():
    one, other = along(SQUARE[:3])
    rested = seconds([one, dwell(2.0, one.end), other]).typical
    assert rested == pytest.approx(stopping([one, other]).typical + 2.0)
    turned = [replace(one, spindle="stopped"), replace(other, spindle="clockwise")]
    assert seconds(turned) == near(stopping(turned))


def test_a_rotary_axis_is_not_rounded():
    moves = [feed(place(), place(x=50.0), 900.0), feed(place(x=50.0), place(x=50.0, y=50.0, a=30.0), 900.0)]
    assert seconds(moves) == near(stopping(moves))


def test_a_move_that_goes_nowhere_is_passed_over():
    one, other = along(SQUARE[:3])
    assert seconds([one, feed(one.end, one.end, 900.0), other]) == near(seconds([one, other]))
    assert plan(trace_of(feed(place(), place(), 900.0)), BLENDING, PUBLISHED).totals.seconds == NOTHING


# What must hold for any path

points = st.lists(
    st.tuples(st.floats(-50.0, 50.0), st.floats(-50.0, 50.0), st.floats(-20.0, 20.0)), min_size=3, max_size=7
)
limits = st.tuples(st.floats(5.0, 80.0), st.floats(50.0, 500.0), st.floats(0.0, 5e4))
tolerances = st.floats(1e-4, 1.0)
rates = st.floats(60.0, 6000.0)


def machine_of(each, tolerance, **more):
    axes = tuple(
        Axis(name, Interval(-1e4, 1e4), 60.0 * top, acceleration, jerk if jerk > 100.0 else 0.0)
        for name, (top, acceleration, jerk) in zip("xyz", each, strict=True)
    )
    return Machine("", axes, corner="blend", tolerance=tolerance, **more)


def linear(points, rate):
    return [
        replace(move, start={k: move.start[k] for k in "xyz"}, end={k: move.end[k] for k in "xyz"})
        for move in along(points, rate)
    ]


@settings(max_examples=60, deadline=None)
@given(points, st.tuples(limits, limits, limits), tolerances, rates)
def test_no_axis_limit_and_no_feed_is_ever_exceeded(points, each, tolerance, rate):
    machine, trace = machine_of(each, tolerance), trace_of(*linear(points, rate))
    whole = timed_path(trace, machine, PUBLISHED, {}).total
    seen = sample_at(trace, machine, PUBLISHED, {}, np.linspace(0.0, whole, 4001))
    for axis in machine.axes:
        assert abs(seen.speeds[axis.name]).max() <= axis.rapid / 60.0 * (1 + 1e-6)
        assert abs(seen.accelerations[axis.name]).max() <= axis.acceleration * (1 + 1e-6)
    assert seen.path_speed.max() <= rate / 60.0 * (1 + 1e-6)


@settings(max_examples=60, deadline=None)
@given(points, st.tuples(limits, limits, limits), tolerances, rates)
def test_places_follow_the_speeds_and_speeds_never_jump(points, each, tolerance, rate):
    machine, trace = machine_of(each, tolerance), trace_of(*linear(points, rate))
    whole = timed_path(trace, machine, PUBLISHED, {}).total
    times = np.linspace(0.0, whole, 4001)
    seen = sample_at(trace, machine, PUBLISHED, {}, times)
    for axis in machine.axes:
        step, speed = times[1], seen.speeds[axis.name]
        assert (abs(np.diff(speed)) <= axis.acceleration * step * (1 + 1e-6) + 1e-5).all()
        slack = axis.acceleration * step**2 / 2 + 1e-7
        moved = np.diff(seen.positions[axis.name])
        assert (abs(moved - (speed[1:] + speed[:-1]) / 2 * step) <= slack).all()
        ends = seen.positions[axis.name][[0, -1]]
        assert ends == pytest.approx([trace.moves[0].start[axis.name], trace.moves[-1].end[axis.name]], abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(points, st.tuples(limits, limits, limits), tolerances, rates)
def test_the_path_stays_within_the_tolerance_of_every_corner(points, each, tolerance, rate):
    machine, trace = machine_of(each, tolerance), trace_of(*linear(points, rate))
    whole = timed_path(trace, machine, PUBLISHED, {}).total
    seen = sample_at(trace, machine, PUBLISHED, {}, np.linspace(0.0, whole, 2001))
    at = np.column_stack([seen.positions[name] for name in "xyz"])
    starts = np.array([[move.start[name] for name in "xyz"] for move in trace.moves])
    ways = np.array([[move.end[name] for name in "xyz"] for move in trace.moves]) - starts
    squares = np.maximum((ways**2).sum(axis=1), 1e-30)
    share = np.clip(((at[:, None] - starts) * ways).sum(axis=2) / squares, 0.0, 1.0)
    away = np.linalg.norm(at[:, None] - starts - share[:, :, None] * ways, axis=2).min(axis=1)
    assert away.max() <= tolerance * (1 + 1e-6) + 1e-9


@settings(max_examples=60, deadline=None)
@given(points, st.tuples(limits, limits, limits), tolerances, rates, st.floats(0.5, 4.0))
def test_slowing_every_limit_scales_the_time(points, each, tolerance, rate, scale):
    slowed = [(top / scale, acceleration / scale**2, jerk / scale**3) for top, acceleration, jerk in each]
    jerky = [(top, acceleration, jerk * (jerk > 6400.0)) for top, acceleration, jerk in each]
    slowed = [(top / scale, acceleration / scale**2, jerk / scale**3) for top, acceleration, jerk in jerky]
    normal = seconds(linear(points, rate), machine_of(jerky, tolerance)).typical
    slow = seconds(linear(points, rate / scale), machine_of(slowed, tolerance)).typical
    assert slow == pytest.approx(normal * scale, rel=1e-6)


@settings(max_examples=60, deadline=None)
@given(points, st.tuples(limits, limits, limits), tolerances, rates)
def test_moves_add_up_to_the_whole_run(points, each, tolerance, rate):
    machine, trace = machine_of(each, tolerance), trace_of(*linear(points, rate))
    planned = plan(trace, machine, PUBLISHED)
    assert planned.totals.seconds.typical == pytest.approx(timed_path(trace, machine, PUBLISHED, {}).total)
    assert planned.totals.feed_mm.most <= sum(
        hypot(*(move.end[k] - move.start[k] for k in "xyz")) for move in trace.moves
    ) * (1 + 1e-9)


# Unknown starts


def test_a_macro_of_rapids_keeps_its_exact_range():
    start = place(x=anywhere("x"), y=anywhere("y"), z=anywhere("z"))
    up = {**start, "z": -2.0}
    over = {**up, "x": 100.0, "y": 70.0}
    moves = [rapid(start, up, line=1), rapid(up, over, line=2), feed(over, {**over, "z": -12.0}, 600.0, line=3)]
    assert seconds(moves) == near(stopping(moves))


def test_what_comes_after_a_known_place_is_exact_again():
    start = place(x=anywhere("x"))
    moves = [rapid(start, place(), line=1), *along(SQUARE)]
    timings = plan(trace_of(*moves), BLENDING, PUBLISHED).timings
    assert timings[0].seconds.least == 0.0
    for move in timings[2:]:
        assert move.seconds.least == move.seconds.most


shares = st.floats(0.0, 1.0)


@settings(max_examples=150, deadline=None)
@given(
    points,
    st.tuples(limits, limits, limits),
    tolerances,
    rates,
    st.tuples(st.floats(0.0, 60.0), st.floats(0.0, 60.0)),
    st.lists(st.tuples(shares, shares), min_size=1, max_size=4),
    st.booleans(),
)
def test_every_start_lies_between_least_and_most(points, each, tolerance, rate, size, starts, fast):
    machine = machine_of(each, tolerance)
    moves = linear(points, rate)
    if fast:
        moves[0] = replace(moves[0], kind="rapid", feed=None)
    box = {k: (moves[0].start[k] - span / 2, moves[0].start[k] + span / 2) for k, span in zip("xy", size, strict=True)}
    floating = {**moves[0].start, **{k: between(k, *ends) for k, ends in box.items()}}
    whole = plan(trace_of(replace(moves[0], start=floating), *moves[1:]), machine, PUBLISHED)
    for at in starts:
        fixed = {k: low + share * (high - low) for (k, (low, high)), share in zip(box.items(), at, strict=True)}
        begun = replace(moves[0], start={**moves[0].start, **fixed})
        one = plan(trace_of(begun, *moves[1:]), machine, PUBLISHED)
        for bound, value in zip([*whole.timings, whole.totals], [*one.timings, one.totals], strict=True):
            least, most, now = bound.seconds.least, bound.seconds.most, value.seconds.typical
            assert least * (1 - 1e-9) - 1e-9 <= now <= most * (1 + 1e-9) + 1e-9
        for bound, value in zip(whole.timings, one.timings, strict=True):
            assert bound.length.least - 1e-6 <= value.length.typical <= bound.length.most + 1e-6
            assert value.speed.typical <= bound.speed.most * (1 + 1e-9) + 1e-9
            for axis, speed in value.axis_speed.items():
                assert speed <= bound.axis_speed.get(axis, 0.0) * (1 + 1e-9) + 1e-6
            assert value.ramp <= bound.ramp * (1 + 1e-9) + 1e-9
