"""The double S from any speed to any speed: what must hold for any length and limits."""

from math import inf

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from parser.times.double_s import DoubleS, change_length, change_seconds, reachable_speed

lengths = st.floats(1e-3, 1e4)
tops = st.floats(1e-1, 1e3)
accelerations = st.floats(1.0, 1e4)
jerks = st.floats(1.0, 1e6) | st.just(inf)
shares = st.floats(0.0, 1.0)


@st.composite
def profiles(draw):
    top, acceleration, jerk = draw(tops), draw(accelerations), draw(jerks)
    begins, ends = sorted((draw(shares) * top, draw(shares) * top))
    length = change_length(begins, ends, acceleration, jerk) + draw(lengths)
    if draw(st.booleans()):
        begins, ends = ends, begins
    return DoubleS(length, top, acceleration, jerk, begins, ends)


def dense(profile, points=2000):
    return np.linspace(0.0, profile.seconds, points)


@given(profiles())
def test_it_begins_and_ends_where_and_as_fast_as_asked(profile):
    position, speed, acceleration = profile.at(np.array([0.0, profile.seconds]))
    assert position == pytest.approx([0.0, profile.length], rel=1e-9, abs=1e-9)
    # The end is asked for by its time, and a float of that size is only so exact.
    clock = 1e-15 * profile.seconds * profile.acceleration
    assert speed == pytest.approx([profile.begins, profile.ends], rel=1e-6, abs=1e-6 * profile.top + clock)
    if profile.jerk < inf:
        rounding = profile.jerk * 1e-9 * profile.seconds
        assert acceleration == pytest.approx([0.0, 0.0], abs=1e-6 * profile.acceleration + rounding)


@given(profiles())
def test_no_limit_is_exceeded_and_nothing_backs_up(profile):
    times = dense(profile)
    position, speed, acceleration = profile.at(times)
    assert speed.max() <= profile.top * (1 + 1e-9)
    assert abs(acceleration).max() <= profile.acceleration * (1 + 1e-9)
    assert (np.diff(position) >= -1e-9 * profile.length).all()
    assert max(abs(jerk) for _, _, jerk in profile.phases) <= profile.jerk


@given(profiles())
def test_place_speed_and_acceleration_are_continuous(profile):
    times = dense(profile)
    step = times[1]
    position, speed, acceleration = profile.at(times)
    assert (np.diff(position) <= profile.top * step * (1 + 1e-9) + 1e-9 * profile.length).all()
    assert (abs(np.diff(speed)) <= profile.acceleration * step * (1 + 1e-6) + 1e-7 * profile.top).all()
    if profile.jerk < inf:
        assert (abs(np.diff(acceleration)) <= profile.jerk * step * (1 + 1e-6) + 1e-7 * profile.acceleration).all()


@given(profiles(), shares)
def test_position_is_the_area_under_the_speed(profile, share):
    times = np.linspace(0.0, share * profile.seconds, 2000)
    _, speed, _ = profile.at(times)
    area = np.trapezoid(speed, times) if hasattr(np, "trapezoid") else np.trapz(speed, times)
    assert profile.at(times[-1:])[0][0] == pytest.approx(area, rel=1e-3, abs=1e-5 * profile.length)


@given(lengths, tops, accelerations, jerks)
def test_the_peak_is_reached_half_way_from_rest_to_rest(length, top, acceleration, jerk):
    profile = DoubleS(length, top, acceleration, jerk)
    assert profile.at(np.array([profile.seconds / 2.0]))[1][0] == pytest.approx(profile.peak, rel=1e-6)


@given(profiles())
def test_the_seven_phases_take_the_whole_time(profile):
    assert len(profile.phases) == 7
    assert all(seconds >= 0.0 for seconds, _, _ in profile.phases)
    assert sum(seconds for seconds, _, _ in profile.phases) == pytest.approx(profile.seconds, rel=1e-9, abs=1e-12)


@pytest.mark.long
@given(profiles(), shares)
def test_when_is_the_time_at_which_a_place_is_passed(profile, share):
    t = profile.when(share * profile.length)
    assert profile.at(np.array([t]))[0][0] == pytest.approx(share * profile.length, rel=1e-9, abs=1e-9)


@given(tops, accelerations, jerks, lengths)
def test_the_reachable_speed_uses_up_the_length(begins, acceleration, jerk, length):
    reached = reachable_speed(length, acceleration, jerk, begins=begins)
    assert reached >= begins
    assume(reached - begins > 1e-3 * begins)
    assert change_length(begins, reached, acceleration, jerk) == pytest.approx(length, rel=1e-6)


@given(lengths, tops, accelerations, st.floats(1.0, 1e6), st.floats(1.0, 10.0))
def test_less_jerk_never_takes_less_time(length, top, acceleration, jerk, less):
    softer = DoubleS(length, top, acceleration, jerk / less).seconds
    assert softer >= DoubleS(length, top, acceleration, jerk).seconds * (1 - 1e-9)
    assert softer >= DoubleS(length, top, acceleration).seconds * (1 - 1e-9)


@given(lengths, lengths, tops, accelerations, jerks)
def test_a_longer_way_never_takes_less_time(one, other, top, acceleration, jerk):
    short, long = sorted((one, other))
    quick, slow = (DoubleS(length, top, acceleration, jerk).seconds for length in (short, long))
    assert quick <= slow * (1 + 1e-9)


@given(lengths, tops, accelerations, jerks, st.floats(0.1, 10.0))
def test_slowing_the_clock_scales_jerk_three_times(length, top, acceleration, jerk, scale):
    profile = DoubleS(length, top, acceleration, jerk)
    slowed = DoubleS(length, top / scale, acceleration / scale**2, jerk / scale**3)
    assert slowed.seconds == pytest.approx(profile.seconds * scale, rel=1e-9)


@given(lengths, tops, accelerations, jerks, st.floats(0.1, 10.0))
def test_scaling_every_length_leaves_the_time_as_it_is(length, top, acceleration, jerk, scale):
    scaled = DoubleS(length * scale, top * scale, acceleration * scale, jerk * scale)
    assert scaled.seconds == pytest.approx(DoubleS(length, top, acceleration, jerk).seconds, rel=1e-9)


def test_without_jerk_it_is_the_trapezoid():
    assert DoubleS(100.0, 20.0, 50.0).seconds == pytest.approx(100.0 / 20.0 + 20.0 / 50.0)
    assert [seconds for seconds, _, _ in DoubleS(100.0, 20.0, 50.0).phases] == pytest.approx(
        [0, 0.4, 0, 4.6, 0, 0.4, 0]
    )


def test_a_change_of_speed_takes_a_bend_more_than_without_jerk():
    assert change_seconds(0.0, 20.0, 50.0, 500.0) == pytest.approx(20.0 / 50.0 + 50.0 / 500.0)


def test_no_way_takes_no_time():
    assert DoubleS(0.0, 20.0, 50.0, 500.0).seconds == 0.0
    assert DoubleS(0.0, 20.0, 50.0, 500.0).at(np.array([1.0]))[0] == 0.0


def test_outside_the_move_it_stands_at_its_ends():
    position, speed, acceleration = DoubleS(10.0, 20.0, 50.0, 500.0).at(np.array([-1.0, 99.0]))
    assert position == pytest.approx([0.0, 10.0])
    assert not speed.any()
    assert not acceleration.any()


@pytest.mark.parametrize(
    "limits",
    [(-1, 20, 50), (1, 0, 50), (1, 20, 0), (1, 20, 50, 0), (1, 20, 50, 500, 21), (1, 20, 50, 500, 0, -1)],
)
def test_a_profile_that_cannot_be_is_an_error(limits):
    with pytest.raises(ValueError, match="no profile"):
        DoubleS(*limits)


def test_a_way_too_short_for_its_change_of_speed_is_an_error():
    with pytest.raises(ValueError, match="too short"):
        DoubleS(1.0, 20.0, 50.0, 500.0, 0.0, 20.0)
