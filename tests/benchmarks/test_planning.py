"""How long planning takes beside an outside planner, as ratios of medians of interleaved runs within one run.

The yardstick is 100,000 calls of one reused three-axis ruckig object (PyPI), each with a new target.
"""

import gc
import statistics
import time
from dataclasses import replace
from functools import partial
from math import inf

import numpy as np
import pytest
import ruckig

from parser.motion.concrete import Joint, Stretches, pace, seconds_from_rest, straight
from parser.motion.profile import Trapezoid
from tests.parser.motion.moving import MILL

MOVES = 100_000
ROUNDS = 5
AXES = MILL.axes[:3]
JERKY = tuple(replace(axis, jerk=2000.0) for axis in AXES)


def ways(count):
    """Random moves of up to 30 mm on each axis, and a feed for each."""
    chance = np.random.default_rng(1)
    return chance.uniform(-30.0, 30.0, (count, 3)), chance.uniform(5.0, 40.0, count)


def yardstick(targets):
    generator, asked, trajectory = ruckig.Ruckig(3), ruckig.InputParameter(3), ruckig.Trajectory(3)
    asked.max_velocity = [axis.rapid / 60.0 for axis in AXES]
    asked.max_acceleration = [axis.acceleration for axis in AXES]
    asked.max_jerk = [inf] * 3
    total = 0.0
    for target in targets:
        asked.target_position = target
        generator.calculate(asked, trajectory)
        total += trajectory.duration
    return total


def as_arrays(way, feeds):
    return seconds_from_rest(way, feeds, AXES)


def as_objects(way, feeds):
    """A profile for each move, along its path, and what each takes."""
    limits, _ = straight(way, feeds, AXES)
    rows = (limits.length.tolist(), limits.top.tolist(), limits.acceleration.tolist())
    profiles = list(map(Trapezoid, *rows))
    return profiles, [profile.seconds for profile in profiles]


def rounded(way, feeds, axes):
    limits, directions = straight(way, feeds, axes)
    joints = np.full(len(way) - 1, Joint.ROUND, dtype=np.int8)
    return pace(Stretches(limits, directions, directions, joints), 0.05, axes).shares


def medians(*works, rounds=ROUNDS):
    """Median seconds of processor time of each piece of work."""
    return [statistics.median(times) for times in timed(works, rounds)]


def least(*works, rounds=ROUNDS):
    """Least seconds of processor time of each piece of work, for large ones: where memory is short, some runs wait."""
    return [min(times) for times in timed(works, rounds)]


def timed(works, rounds):
    """Seconds of processor time of each piece of work, in interleaved runs: what else runs does not count."""
    taken = [[] for _ in works]
    for _ in range(rounds):
        for times, work in zip(taken, works, strict=True):
            gc.collect()
            begin = time.process_time()
            work()
            times.append(time.process_time() - begin)
    return taken


@pytest.mark.parametrize(
    ("work", "at_most"),
    [
        (as_arrays, 1.2),
        (as_objects, 3.0),
        (partial(rounded, axes=AXES), 10.0),
        (partial(rounded, axes=JERKY), 25.0),
    ],
    ids=["arrays", "objects", "blend", "blend with double S"],
)
def test_planning_keeps_to_its_share_of_the_yardstick(work, at_most):
    way, feeds = ways(MOVES)
    targets = way.tolist()
    bare, planned = medians(partial(yardstick, targets), partial(work, way, feeds))
    assert planned <= at_most * bare


@pytest.mark.parametrize("work", [as_arrays, partial(rounded, axes=AXES)], ids=["arrays", "blend"])
def test_time_grows_evenly_to_a_million_moves(work):
    """From a quarter of a million, where neither fits the processor's cache any longer; half as much again is noise."""
    few, many = ways(250_000), ways(1_000_000)
    short, long = least(partial(work, *few), partial(work, *many))
    assert long <= 1.5 * 4.0 * short
