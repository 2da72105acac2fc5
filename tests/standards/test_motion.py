"""Times against books and against independent planners: ruckig for single moves, toppra for rounded paths.

More paths than here: ``python -m tests.standards.blended 200``.
"""

import random
import statistics
from dataclasses import replace
from math import inf

import pytest
import ruckig

from parser.machine import Axis, Controller, Interval, Machine
from parser.times.double_s import DoubleS
from parser.times.planner import plan, timing
from tests.bulk import in_turn
from tests.parser.motion.moving import MILL, feed, place, rapid, trace_of
from tests.standards.blended import ratios

RELATIVE = 1e-9
CASES = 300
MOVES = 10_000
FEW_PATHS, PATHS = 3, 20


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
    assert DoubleS(length, top, acceleration).seconds == pytest.approx(seconds, rel=1e-12)


@pytest.mark.parametrize(
    ("top", "speeding_up", "level", "slowing_down", "seconds"),
    [(5.0, 0.7333, 1.1433, 0.8333, 2.71), (10.0, 1.0747, 0.0, 1.1747, 2.2494)],
)
def test_the_double_s_is_that_of_the_book(top, speeding_up, level, slowing_down, seconds):
    """Biagiotti and Melchiorri, Trajectory Planning for Automatic Machines and Robots, 2008, section 3.4.

    From 0 to 10 at v0 = 1, v1 = 0, amax = 10, jmax = 30.
    """
    profile = DoubleS(10.0, top, 10.0, 30.0, 1.0, 0.0)
    phases = [duration for duration, _, _ in profile.phases]
    assert sum(phases[:3]) == pytest.approx(speeding_up, abs=6e-5)
    assert phases[3] == pytest.approx(level, abs=6e-5)
    assert sum(phases[4:]) == pytest.approx(slowing_down, abs=6e-5)
    assert profile.seconds == pytest.approx(seconds, abs=6e-5)
    assert profile.seconds == pytest.approx(reference([10.0], [top], [10.0], [30.0], 1.0), rel=RELATIVE)


def reference(lengths, tops, accelerations, jerks=None, speed=0.0):
    """Time-optimal duration, to rest, of axes that each run alone, by ruckig (PyPI)."""
    generator = ruckig.Ruckig(len(lengths))
    asked = ruckig.InputParameter(len(lengths))
    asked.current_position = [0.0] * len(lengths)
    asked.target_position = list(lengths)
    asked.max_velocity = list(tops)
    asked.max_acceleration = list(accelerations)
    asked.max_jerk = list(jerks or [inf] * len(lengths))
    asked.current_velocity = [speed] * len(lengths)
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
        assert DoubleS(length, top, acceleration).seconds == pytest.approx(expected, rel=RELATIVE)


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


def random_mill(chance):
    """One to six axes with their limits, half of them without jerk."""
    names = chance.sample("xyzabc", chance.randint(1, 6))
    return Machine(
        "",
        tuple(
            Axis(
                name,
                Interval(-1e9, 1e9),
                60.0 * 10 ** chance.uniform(0.3, 3),
                10 ** chance.uniform(0, 4),
                10 ** chance.uniform(1, 6) if chance.random() < 0.5 else 0.0,
            )
            for name in sorted(names, key="xyzabc".index)
        ),
    )


def random_moves(seed):
    """Moves from a thousandth of a mm to ten metres, none longer than the 7600 s that ruckig has."""
    chance = random.Random(seed)
    for _ in range(MOVES):
        mill = random_mill(chance)
        way = [chance.choice((-1, 1)) * 10 ** chance.uniform(-3, 4) for _ in mill.axes]
        yield mill, way


def limits_of(mill):
    return (
        [axis.rapid / 60.0 for axis in mill.axes],
        [axis.acceleration for axis in mill.axes],
        [axis.jerk or inf for axis in mill.axes],
    )


@pytest.mark.long
@in_turn(0, 2)
def test_ten_thousand_straight_moves_take_what_a_time_optimal_generator_takes_along_the_line():
    """As a single axis that goes from 0 to 1 under the limits of the share of the way done."""
    for number, (mill, way) in enumerate(random_moves(4)):
        top, acceleration, jerk = (min(a / abs(b) for a, b in zip(each, way, strict=True)) for each in limits_of(mill))
        scale = max(abs(far) for far in way)
        expected = reference([scale], [top * scale], [acceleration * scale], [jerk * scale])
        start = dict.fromkeys(mill.names, 0.0)
        move = rapid(start, dict(zip(mill.names, way, strict=True)))
        assert timing(move, mill, Controller()).seconds.typical == pytest.approx(expected, rel=RELATIVE)
        if number % 20 == 0:
            planned = plan(trace_of(move), replace(mill, corner="blend"), Controller())
            assert planned.totals.seconds.typical == pytest.approx(expected, rel=RELATIVE)


def test_ten_thousand_doglegs_take_what_independent_axes_take():
    for mill, way in random_moves(5):
        slowest = max(DoubleS(abs(far), *each).seconds for far, *each in zip(way, *limits_of(mill), strict=True))
        assert slowest == pytest.approx(reference(way, *limits_of(mill)), rel=RELATIVE)


def test_dogleg_rapids_with_jerk_take_what_independent_axes_take():
    jerky = replace(MILL, axes=tuple(replace(axis, jerk=1500.0) for axis in MILL.axes))
    for way, _ in random_ways(6):
        dogleg = timing(rapid(place(), place(**way), dogleg=True), jerky, Controller())
        expected = reference(way.values(), *limits(way), [1500.0] * len(way))
        assert dogleg.seconds.typical == pytest.approx(expected, rel=RELATIVE)


@pytest.mark.parametrize("paths", [FEW_PATHS, pytest.param(PATHS, marks=[pytest.mark.long, in_turn(1, 2)])])
def test_rounded_paths_take_hardly_longer_than_the_time_optimal_traversal(paths):
    spread = list(ratios(paths))
    assert min(spread) >= 0.99
    assert max(spread) <= 1.25
    assert statistics.median(spread) <= 1.05
