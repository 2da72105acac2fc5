"""The stopwatch: it finds rate and acceleration again through the noise of a hand, and says when it cannot."""

import random
from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from library.stopwatch import HAND, Timed, UndeterminedError, fit
from parser.times.double_s import DoubleS

LADDER = ((2.0, 20), (5.0, 20), (40.0, 4), (250.0, 2), (250.0, 2))


def timed(rate, acceleration, ladder, noise=lambda: 0.0):
    """Timings of an axis as the planner's own profile has them, each off by ``noise``."""
    return [Timed(far, moves * DoubleS(far, rate, acceleration).seconds + noise(), moves) for far, moves in ladder]


def reason(timings, **how):
    with pytest.raises(UndeterminedError) as told:
        fit(timings, **how)
    return str(told.value)


class TestWhatItFinds:
    def test_two_exact_timings_give_both_values(self):
        # Modern Robotics 9.2: 100 mm at 40 mm/s and 20 mm/s^2 is 2.5 + 2 s; 250 mm is 6.25 + 2 s.
        found = fit([Timed(100.0, 4.5), Timed(250.0, 8.25)])
        assert found.rate.value == pytest.approx(40.0, rel=1e-9)
        assert found.acceleration.value == pytest.approx(20.0, rel=1e-9)

    def test_a_move_too_short_for_the_rate_counts_as_one(self):
        # Modern Robotics 9.2: 5 mm at 20 mm/s^2 is 2 sqrt(5/20) = 1 s, whatever the rate.
        found = fit([Timed(5.0, 1.0), Timed(250.0, 8.25)])
        assert found.rate.value == pytest.approx(40.0, rel=1e-6)
        assert found.acceleration.value == pytest.approx(20.0, rel=1e-6)

    @given(
        rate=st.floats(5.0, 300.0),
        share=st.floats(0.02, 0.5),
        near=st.floats(0.02, 0.9),
        far=st.floats(2.0, 20.0),
    )
    def test_exact_timings_are_found_again_whatever_the_machine(self, rate, share, near, far):
        acceleration = rate / share
        ramps = rate**2 / acceleration
        found = fit(timed(rate, acceleration, ((near * ramps, 1), (far * ramps, 1), (2 * far * ramps, 1))), 1e-6)
        assert found.rate.value == pytest.approx(rate, rel=1e-5)
        assert found.acceleration.value == pytest.approx(acceleration, rel=1e-4)

    def test_the_order_of_the_timings_does_not_matter(self):
        timings = timed(40.0, 220.0, LADDER)
        assert fit(timings).rate == fit(timings[::-1]).rate

    def test_many_moves_timed_together_count_for_more_than_one(self):
        once = fit(timed(40.0, 60.0, ((5.0, 1), (250.0, 1))))
        often = fit(timed(40.0, 60.0, ((5.0, 10), (250.0, 1))))
        assert often.acceleration.error < once.acceleration.error / 3

    def test_residuals_are_what_was_measured_less_what_the_fit_says(self):
        timings = [Timed(50.0, 3.3), Timed(150.0, 5.7), Timed(250.0, 8.3)]
        found = fit(timings)
        expected = [each.seconds - found.seconds(each.distance) for each in timings]
        assert found.residuals == pytest.approx(expected)


class TestHowSureItIs:
    @pytest.mark.parametrize(
        ("rate", "acceleration", "ladder"),
        [
            (40.0, 220.0, LADDER),
            (40.0, 20.0, ((5.0, 1), (20.0, 1), (50.0, 1), (100.0, 1), (150.0, 1), (250.0, 1))),
            (80.0, 40.0, ((5.0, 2), (20.0, 2), (160.0, 1), (300.0, 1), (600.0, 1))),
        ],
    )
    def test_two_standard_errors_hold_the_truth_nineteen_times_in_twenty(self, rate, acceleration, ladder):
        chance = random.Random(841)
        held = 0
        for _ in range(200):
            found = fit(timed(rate, acceleration, ladder, lambda: chance.gauss(0.0, HAND)))
            rate_held = abs(found.rate.value - rate) < 2 * found.rate.error
            held += rate_held and abs(found.acceleration.value - acceleration) < 2 * found.acceleration.error
        assert held >= 175

    def test_two_timings_that_agree_by_nature_still_have_an_error(self):
        found = fit([Timed(100.0, 4.5), Timed(250.0, 8.25)])
        assert found.scatter == HAND
        assert found.rate.error > 0.5
        assert found.acceleration.error > 1.0

    def test_a_steadier_hand_makes_it_surer(self):
        timings = [Timed(100.0, 4.5), Timed(250.0, 8.25)]
        assert fit(timings, 0.01).rate.error == pytest.approx(fit(timings, 0.1).rate.error / 10)

    def test_timings_that_scatter_more_than_a_hand_does_make_it_less_sure(self):
        found = fit([Timed(50.0, 2.8), Timed(100.0, 5.2), Timed(150.0, 5.1), Timed(250.0, 8.5)])
        assert found.scatter > 2 * HAND


class TestWhatItRefuses:
    def test_one_timing(self):
        assert "Two moves of different length" in reason([Timed(100.0, 4.5)])

    def test_moves_of_one_length_only(self):
        assert "of one length" in reason([Timed(100.0, 4.5), Timed(100.0, 4.6)])

    def test_moves_none_of_which_reaches_the_rate(self):
        assert "reach the full rate" in reason(timed(1000.0, 100.0, ((10.0, 1), (40.0, 1), (90.0, 1))))

    def test_moves_so_long_that_their_ramps_drown(self):
        assert "leaves the acceleration uncertain" in reason(timed(40.0, 220.0, ((100.0, 1), (250.0, 1))))

    def test_lengths_so_alike_that_neither_is_told(self):
        assert "the rate and the acceleration uncertain" in reason(timed(40.0, 20.0, ((245.0, 1), (250.0, 1))))

    def test_short_moves_that_took_no_time_for_their_ramps(self):
        assert "mistyped" in reason([Timed(10.0, 0.2), Timed(100.0, 4.0), Timed(250.0, 10.0)])

    def test_a_long_move_quicker_than_a_short_one(self):
        assert "no longer than the shortest" in reason([Timed(10.0, 3.0), Timed(250.0, 2.0)])

    @pytest.mark.parametrize(
        "wrong", [Timed(0.0, 1.0), Timed(-5.0, 1.0), Timed(10.0, 0.0), Timed(nan, 1.0), Timed(inf, 1.0), Timed(5, 1, 0)]
    )
    def test_a_timing_that_is_none(self, wrong):
        assert "Timing 2" in reason([Timed(100.0, 4.5), wrong])
