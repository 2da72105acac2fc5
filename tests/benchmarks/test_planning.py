"""How long planning takes beside an outside planner.

The yardstick is 100,000 calls of one reused three-axis ruckig object (PyPI), each with a new target.
"""

import ctypes
from dataclasses import replace
from functools import partial
from math import inf

import numpy as np
import pytest
import ruckig

from parser.times.path_planning import Joint, Segments, pace, seconds_from_rest, straight
from parser.times.profile import Trapezoid
from tests.benchmarks.measuring import in_turns, keeps_to
from tests.parser.motion.moving import MILL

pytestmark = pytest.mark.long

MOVES = 100_000
ROUNDS = 15
M_TRIM_THRESHOLD, M_MMAP_MAX = -1, -4
"""Of the GNU C library's ``malloc.h``."""
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
    return pace(Segments(limits, directions, directions, joints), 0.05, axes).shares


WORKS = {
    "plan as arrays": as_arrays,
    "plan as objects": as_objects,
    "blend": partial(rounded, axes=AXES),
    "blend with double S": partial(rounded, axes=JERKY),
}


@pytest.mark.parametrize("bound", WORKS)
def test_planning_keeps_to_its_share_of_the_yardstick(bound):
    way, feeds = ways(MOVES)
    targets = way.tolist()
    planned, bare = in_turns(lambda _: WORKS[bound](way, feeds), lambda _: yardstick(targets), rounds=ROUNDS)
    keeps_to(bound, planned, bare)


@pytest.fixture
def kept_memory():
    """Memory that is freed is kept for the next round: new pages take the kernel longer where others want them."""
    mallopt = getattr(ctypes.CDLL(None), "mallopt", None)
    if mallopt is not None:
        assert mallopt(M_TRIM_THRESHOLD, 2**31 - 1) == mallopt(M_MMAP_MAX, 0) == 1


@pytest.mark.usefixtures("kept_memory")
@pytest.mark.parametrize(
    ("bound", "work"),
    [("plan a million moves as arrays", as_arrays), ("blend a million moves", partial(rounded, axes=AXES))],
)
def test_time_grows_evenly_to_a_million_moves(bound, work):
    """From a quarter of a million, where neither fits the processor's cache any longer."""
    few, many = ways(250_000), ways(1_000_000)
    long, short = in_turns(lambda _: work(*many), lambda _: work(*few), rounds=9)
    keeps_to(bound, long, short)
