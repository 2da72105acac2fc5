"""Times against a book and against an independent trajectory generator."""

import random

import pytest
import ruckig

from parser.machine import Controller
from parser.motion.planner import timing
from parser.motion.profile import Trapezoid
from tests.parser.motion.moving import MILL, feed, place, rapid

RELATIVE = 1e-9
CASES = 300


@pytest.mark.parametrize(
    ("length", "top", "acceleration", "seconds"),
    [
        (100.0, 20.0, 50.0, 100.0 / 20.0 + 20.0 / 50.0),  # d >= v^2/a: T = d/v + v/a
        (8.0, 20.0, 50.0, 0.8),  # d = v^2/a, where both agree: 2 v/a
        (2.0, 20.0, 50.0, 2.0 * (2.0 / 50.0) ** 0.5),  # d < v^2/a: T = 2 sqrt(d/a)
    ],
)
def test_the_trapezoid_is_that_of_the_book(length, top, acceleration, seconds):
    """Lynch and Park, Modern Robotics, 2017, section 9.2."""
    assert Trapezoid(length, top, acceleration).seconds == pytest.approx(seconds, rel=1e-12)


def reference(lengths, tops, accelerations):
    """Time-optimal rest-to-rest duration of axes that each run alone, by ruckig (PyPI)."""
    generator = ruckig.Ruckig(len(lengths))
    asked = ruckig.InputParameter(len(lengths))
    asked.current_position = [0.0] * len(lengths)
    asked.target_position = list(lengths)
    asked.max_velocity = list(tops)
    asked.max_acceleration = list(accelerations)
    asked.max_jerk = [float("inf")] * len(lengths)
    asked.synchronization = ruckig.Synchronization.No
    trajectory = ruckig.Trajectory(len(lengths))
    assert generator.calculate(asked, trajectory) == ruckig.Result.Working
    return trajectory.duration


def limits(names):
    axes = [MILL.axis(name) for name in names]
    return [axis.rapid / 60.0 for axis in axes], [axis.acceleration for axis in axes]


def random_ways(seed):
    chance = random.Random(seed)
    for _ in range(CASES):
        yield {axis: chance.choice((-1, 1)) * 10 ** chance.uniform(-2, 2.5) for axis in "xyz"}, chance


def test_a_trapezoid_takes_what_a_time_optimal_generator_takes():
    chance = random.Random(1)
    for _ in range(CASES):
        length, top, acceleration = (10 ** chance.uniform(-2, 3) for _ in range(3))
        expected = reference([length], [top], [acceleration])
        assert Trapezoid(length, top, acceleration).seconds == pytest.approx(expected, rel=RELATIVE)


def test_straight_rapids_and_feeds_take_what_a_time_optimal_generator_takes_along_the_line():
    """The axis limits are put on the line here by their definition: no axis beyond its share."""
    for way, chance in random_ways(2):
        length = sum(far**2 for far in way.values()) ** 0.5
        tops, accelerations = limits(way)
        shares = [abs(far) / length for far in way.values()]
        rate = chance.uniform(20.0, 4000.0)
        top = min(one / share for one, share in zip(tops, shares, strict=True))
        acceleration = min(one / share for one, share in zip(accelerations, shares, strict=True))
        quick = timing(rapid(place(), place(**way)), MILL, Controller())
        fed = timing(feed(place(), place(**way), rate), MILL, Controller())
        assert quick.seconds.typical == pytest.approx(reference([length], [top], [acceleration]), rel=RELATIVE)
        slower = reference([length], [min(top, rate / 60.0)], [acceleration])
        assert fed.seconds.typical == pytest.approx(slower, rel=RELATIVE)


def test_dogleg_rapids_take_what_independent_axes_take():
    for way, _ in random_ways(3):
        dogleg = timing(rapid(place(), place(**way), dogleg=True), MILL, Controller())
        assert dogleg.seconds.typical == pytest.approx(reference(way.values(), *limits(way)), rel=RELATIVE)
