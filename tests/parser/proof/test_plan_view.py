"""What is asked in plan view: round corners, tangents, faces that coincide, and what is no approach at all.

The outside check is sampling by plain arithmetic: what it finds may not be denied, and every case shown has to be one.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from parser.machine import Interval
from parser.proof.axis_motion import AxisMotion, at
from parser.proof.plan_sides import Closeness
from parser.proof.plan_view import seen
from tests.bulk import examples, in_turn

SIDES = (Interval(0.0, 100.0), Interval(0.0, 50.0))
CORNER = (Interval(103.0, 104.0), Interval(53.0, 54.0))
ROUNDING = 1e-5


def step(start, by, before=0.0):
    """An axis that goes on by a step, after another one."""
    return AxisMotion(start, (1.0, 1.0), (before, before + by), (before, before + by))


def going(start, end, before=0.0):
    """An axis that goes to a fixed place, after a step."""
    return AxisMotion(start, (1.0, 0.0), (before, end), (before, end))


def known(begin, end):
    """An axis that goes from a fixed place to another: the start says nothing."""
    return AxisMotion(Interval(-500.0, -500.0), (0.0, 0.0), (begin, end), (begin, end))


def first(x, y, asked, times=(0.0, 1.0), **how):
    return next(seen(x, y, SIDES, asked, times, **how), None)


def closer(box, by, radius=8.0, least=0.0):
    return first(step(box[0], by[0]), step(box[1], by[1]), Closeness(least, radius, 0.0, outside=True))


@pytest.mark.parametrize("by", [(5.0, -1.0), (5.0, 0.0), (0.0, 0.0), (3.0, 3.0), (-1.0, 5.0)])
def test_going_round_a_corner_and_away_is_no_approach(by):
    assert closer(CORNER, by) is None


@pytest.mark.parametrize("by", [(1.0, -5.0), (-5.0, 1.0), (-1.0, -1.0), (5.0, -4.0)])
def test_going_nearer_to_a_corner_is_an_approach(by):
    assert closer(CORNER, by) is not None


@pytest.mark.parametrize("x", [Interval(103.0, 104.0), Interval(100.0, 100.0), Interval(108.0, 108.0)])
def test_sliding_along_a_face_is_no_approach_however_near_it_is(x):
    assert closer((x, Interval(10.0, 40.0)), (0.0, 9.0)) is None


def test_an_approach_that_stays_further_off_than_the_radius_does_not_count():
    assert closer((Interval(120.0, 130.0), Interval(10.0, 40.0)), (-10.0, 0.0)) is None


@pytest.mark.parametrize(("end", "comes"), [(108.0, False), (108.0 - 2e-6, True)])
def test_touching_at_the_radius_is_no_approach_and_two_millionths_further_is(end, comes):
    found = first(going(Interval(150.0, 200.0), end), step(Interval(20.0, 20.0), 0.0), Closeness(0.0, 8.0, 0.0, True))
    assert (found is not None) is comes


def test_a_body_of_one_size_that_cannot_have_been_there_is_left_out():
    assert closer(CORNER, (-1.0, -1.0)) is not None
    assert closer(CORNER, (-1.0, -1.0), least=8.0) is None


@pytest.mark.parametrize(("x", "comes"), [(100.0, True), (99.0, False)])
def test_a_line_on_a_face_that_goes_in_has_come_closer_and_one_inside_has_not(x, comes):
    at_a_face = (Interval(x, x), Interval(20.0, 20.0))
    assert (closer(at_a_face, (-5.0, 0.0), radius=0.0) is not None) is comes


def test_a_line_without_a_margin_meets_what_it_passes_through():
    x, y = going(Interval(150.0, 200.0), 120.0), step(Interval(20.0, 20.0), 0.0)
    asked = Closeness(0.0, 0.0, 0.0, outside=True)
    assert first(x, y, asked) is None
    assert first(going(Interval(150.0, 200.0), 50.0), y, asked) is not None


def test_only_a_start_between_the_ends_of_its_range_comes_near_enough():
    """From X anywhere in 120 to 180 by a step of -50 and Y a fixed 55: at either end X passes beyond what is near."""
    x, y = step(Interval(120.0, 180.0), 0.0, before=-50.0), known(55.0, 55.0)
    found = first(x, y, Closeness(60.0, 60.0, -53.0))
    assert found is not None
    assert 100.0 < found.start[0] < 180.0


def test_axes_that_go_along_each_in_its_own_time_reach_what_the_straight_line_does_not():
    """From (20, -20) to (-20, 20) beside a block in the corner that the line cuts off: only the sweep comes near."""
    corner = (Interval(-30.0, -15.0), Interval(-30.0, -15.0))
    asked = Closeness(0.0, 5.0, 0.0, outside=True)
    for together, comes in ((True, False), (False, True)):
        found = next(seen(known(20.0, -20.0), known(-20.0, 20.0), corner, asked, (0.0, 1.0), together=together), None)
        assert (found is not None) is comes


def gap(at, side):
    return np.maximum(np.maximum(side.low - at, at - side.high), 0.0)


def decimals(low, high):
    """What a sheet or a line may say: three places."""
    return st.floats(low, high).map(lambda value: round(value, 3))


whole = st.integers(-30, 130).map(float)
lengths = st.one_of(st.just(0.0), st.integers(0, 40).map(float), decimals(0, 40))
places = st.one_of(whole, st.sampled_from([0.0, 50.0, 100.0]), decimals(-30, 130))


@st.composite
def axes(draw):
    low = draw(places)
    start = Interval(low, low + draw(lengths))
    how = draw(st.sampled_from(["step", "going", "back", "known", "loose"]))
    before, by, end = draw(decimals(-20, 20)), draw(decimals(-60, 60)), draw(places)
    if how == "step":
        return step(start, by, draw(st.sampled_from([0.0, before])))
    if how == "going":
        return going(start, end, draw(st.sampled_from([0.0, before])))
    if how == "back":
        return AxisMotion(start, (0.0, 1.0), (end, before), (end, before))
    spread = draw(decimals(0, 20)) if how == "loose" else 0.0
    return AxisMotion(start, (0.0, 0.0), (low, end), (low + spread, end + spread))


asks = st.one_of(
    st.builds(lambda most, slack: Closeness(0.0, most, slack, outside=True), lengths, st.sampled_from([0.0, 3.0])),
    st.builds(lambda r, m: Closeness(r, r + m, 0.0, outside=True), decimals(1, 30), st.sampled_from([0.0, 2.0, 25.0])),
    st.builds(lambda r, m: Closeness(r, r, m, outside=True), decimals(1, 30), st.sampled_from([0.0, 2.0, 25.0])),
    st.builds(lambda most: Closeness(0.0, most, 0.0, anyhow=True), lengths),
    st.builds(lambda most: Closeness(0.0, most, 0.0), lengths),
)


def comes_true(asked, starts, points):
    """For rows of starts and points, by how much what is asked comes true; not positive where it does not."""
    was, near = (np.hypot(gap(each[:, 0], SIDES[0]), gap(each[:, 1], SIDES[1])) for each in (starts, points))

    def inside(each):
        return np.min([side.length / 2 - abs(each[:, i] - side.middle) for i, side in enumerate(SIDES)], axis=0)

    if asked.anyhow:
        return np.maximum(asked.most + asked.slack - near, inside(points))
    over = inside(starts) > 0
    by = np.minimum(asked.most, was) + asked.slack - near
    by = np.where(over, by, np.maximum(by, inside(points)))
    left_out = (was < asked.least - 1e-9) | (over if asked.outside else False)
    return np.where(left_out, -np.inf, by)


@pytest.mark.long
@in_turn(0, 2)
@settings(max_examples=examples(3000), deadline=None)
@given(axes(), axes(), asks, st.tuples(decimals(0, 1), decimals(0, 1)), st.booleans(), st.integers(0, 2**32 - 1))
def test_sampling_finds_nothing_that_is_denied_and_every_case_shown_is_one(x, y, asked, times, together, seed):
    times = (min(times), max(times)) if together else (0.0, 1.0)
    random = np.random.default_rng(seed)
    count = 3000
    share = np.clip(random.uniform(-0.3, 1.3, (count, 2)), 0, 1)
    t = times[0] + (times[1] - times[0]) * np.clip(random.uniform(-0.2, 1.2, (count, 2)), 0, 1)
    if together:
        t[:, 1] = t[:, 0]
    spread = np.clip(random.uniform(-0.5, 1.5, (count, 2)), 0, 1)
    starts, points = np.empty((count, 2)), np.empty((count, 2))
    for i, axis in enumerate((x, y)):
        starts[:, i] = axis.start.low + share[:, i] * axis.start.length
        tie, low, high = (line[0] + (line[1] - line[0]) * t[:, i] for line in (axis.tie, axis.low, axis.high))
        points[:, i] = tie * starts[:, i] + low + spread[:, i] * (high - low)
    cases = list(seen(x, y, SIDES, asked, times, together=together))
    if (comes_true(asked, starts, points) > ROUNDING).any():
        assert cases
    for case in (each for each in cases if each.sure):
        for axis, start, point, when in zip((x, y), case.start, case.point, case.times, strict=True):
            assert axis.start.contains(start, 1e-7)
            low, high = axis.lowest(start), axis.highest(start)
            least, most = (at(low, when), at(high, when)) if together else (min(low), max(high))
            assert least - 1e-6 <= point <= most + 1e-6
        assert comes_true(asked, np.array([case.start]), np.array([case.point]))[0] > 0
