"""One trapezoid: what must hold for any length and limits."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from parser.times.profile import Trapezoid

lengths = st.floats(1e-3, 1e4)
tops = st.floats(1e-1, 1e3)
accelerations = st.floats(1.0, 1e4)
shares = st.floats(0.0, 1.0)


@given(lengths, tops, accelerations)
def test_it_begins_and_ends_at_rest(length, top, acceleration):
    profile = Trapezoid(length, top, acceleration)
    assert profile.position(0.0) == 0.0
    assert profile.position(profile.seconds) == length
    assert profile.speed(0.0) == 0.0
    assert profile.speed(profile.seconds) == pytest.approx(0.0, abs=1e-9)


@given(lengths, tops, accelerations)
def test_time_outside_the_move_stands_at_its_ends(length, top, acceleration):
    profile = Trapezoid(length, top, acceleration)
    assert profile.position(-1.0) == 0.0
    assert profile.position(profile.seconds + 1.0) == length
    assert profile.speed(-1.0) == 0.0
    assert profile.speed(profile.seconds + 1.0) == 0.0


@given(lengths, tops, accelerations, shares)
def test_speed_stays_within_the_top_and_the_peak_is_reached(length, top, acceleration, share):
    profile = Trapezoid(length, top, acceleration)
    assert profile.speed(share * profile.seconds) <= min(top, profile.peak)
    assert profile.speed(profile.seconds / 2.0) == pytest.approx(profile.peak)


@given(lengths, tops, accelerations, shares, shares)
def test_speed_never_changes_faster_than_the_acceleration(length, top, acceleration, one, other):
    profile = Trapezoid(length, top, acceleration)
    t, u = one * profile.seconds, other * profile.seconds
    change = abs(profile.speed(t) - profile.speed(u))
    assert change <= acceleration * abs(t - u) * (1 + 1e-9) + 1e-9 * profile.peak


@given(lengths, tops, accelerations, shares)
def test_position_is_the_area_under_the_speed(length, top, acceleration, share):
    profile = Trapezoid(length, top, acceleration)
    t = share * profile.seconds
    changes = sorted({0.0, t, *(edge for edge in (profile.ramp, profile.seconds - profile.ramp) if edge < t)})
    area = sum((b - a) * (profile.speed(a) + profile.speed(b)) / 2.0 for a, b in pairwise(changes))
    assert profile.position(t) == pytest.approx(area, rel=1e-6, abs=1e-9 * length)


@given(lengths, lengths, tops, accelerations)
def test_a_longer_way_never_takes_less_time(one, other, top, acceleration):
    short, long = sorted((one, other))
    assert Trapezoid(short, top, acceleration).seconds <= Trapezoid(long, top, acceleration).seconds * (1 + 1e-12)


@given(lengths, tops, accelerations, st.floats(0.1, 10.0))
def test_scaling_every_length_leaves_the_time_as_it_is(length, top, acceleration, scale):
    profile = Trapezoid(length, top, acceleration)
    scaled = Trapezoid(length * scale, top * scale, acceleration * scale)
    assert scaled.seconds == pytest.approx(profile.seconds, rel=1e-12)


@given(lengths, tops, accelerations, st.floats(0.1, 10.0))
def test_slowing_the_clock_scales_speed_once_and_acceleration_twice(length, top, acceleration, scale):
    profile = Trapezoid(length, top, acceleration)
    slowed = Trapezoid(length, top / scale, acceleration / scale**2)
    assert slowed.seconds == pytest.approx(profile.seconds * scale, rel=1e-12)


def test_no_way_takes_no_time():
    nothing = Trapezoid(0.0, 40.0, 220.0)
    assert nothing.seconds == 0.0
    assert nothing.peak == 0.0
    assert nothing.position(1.0) == 0.0


@pytest.mark.parametrize("limits", [(-1.0, 40.0, 220.0), (10.0, 0.0, 220.0), (10.0, 40.0, 0.0), (10.0, 40.0, -5.0)])
def test_a_profile_that_cannot_be_is_an_error(limits):
    with pytest.raises(ValueError, match="no profile"):
        Trapezoid(*limits)
