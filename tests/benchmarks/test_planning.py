"""How long planning takes beside an outside planner.

The yardstick is as many calls of one reused three-axis ruckig object (PyPI), each with a new target.
"""

import ctypes
from dataclasses import replace
from functools import partial
from itertools import pairwise
from math import inf

import numpy as np
import pytest
import ruckig

from parser.machine import Controller
from parser.times.path_planning import Joint, Segments, pace, straight
from parser.times.planner import plan
from tests.benchmarks.measuring import in_turns, keeps_to, ratio
from tests.parser.motion.moving import MILL, feed, trace_of

pytestmark = pytest.mark.long

M_TRIM_THRESHOLD, M_MMAP_MAX = -1, -4
"""Of the GNU C library's ``malloc.h``."""
STOPPING = replace(MILL, axes=MILL.axes[:3])
BLENDING = replace(STOPPING, corner="blend")
JERKY = replace(BLENDING, axes=tuple(replace(axis, jerk=2000.0) for axis in BLENDING.axes))


def ways(count):
    """Random moves of up to 30 mm on each axis, and a feed for each in mm/s."""
    chance = np.random.default_rng(1)
    return chance.uniform(-30.0, 30.0, (count, 3)), chance.uniform(5.0, 40.0, count)


def followed(count):
    """The same as a trace."""
    steps, feeds = ways(count)
    places = [dict(zip("xyz", at, strict=True)) for at in np.vstack(([0.0] * 3, steps.cumsum(axis=0))).tolist()]
    rates = (60.0 * feeds).tolist()
    return trace_of(*(feed(*ends, rate) for ends, rate in zip(pairwise(places), rates, strict=True)))


def yardstick(targets):
    generator, asked, trajectory = ruckig.Ruckig(3), ruckig.InputParameter(3), ruckig.Trajectory(3)
    asked.max_velocity = [axis.rapid / 60.0 for axis in STOPPING.axes]
    asked.max_acceleration = [axis.acceleration for axis in STOPPING.axes]
    asked.max_jerk = [inf] * 3
    total = 0.0
    for target in targets:
        asked.target_position = target
        generator.calculate(asked, trajectory)
        total += trajectory.duration
    return total


def planned(machine, trace):
    """All that a report says of the times of a program."""
    return plan(trace, machine, Controller())


def rounded(machine, steps, feeds):
    """The run of one path alone, which is planned for all of it at once."""
    limits, directions = straight(steps, feeds, machine.axes)
    joints = np.full(len(steps) - 1, Joint.ROUND, dtype=np.int8)
    return pace(Segments(limits, directions, directions, joints), 0.05, machine.axes).shares


@pytest.mark.parametrize(
    ("bound", "machine"),
    [("plan", STOPPING), ("plan rounded corners", BLENDING), ("plan rounded corners with double S", JERKY)],
)
def test_planning_a_program_keeps_to_its_share_of_the_yardstick(bound, machine):
    trace, targets = followed(20_000), ways(20_000)[0].tolist()
    works = (lambda _: planned(machine, trace)), lambda _: yardstick(targets)
    keeps_to(bound, *in_turns(*works, over=[ratio(bound)]))


@pytest.mark.parametrize(("bound", "machine"), [("blend", BLENDING), ("blend with double S", JERKY)])
def test_a_path_keeps_to_its_share_of_the_yardstick(bound, machine):
    steps, feeds = ways(100_000)
    targets = steps.tolist()
    works = (lambda _: rounded(machine, steps, feeds)), lambda _: yardstick(targets)
    keeps_to(bound, *in_turns(*works, rounds=15, over=[ratio(bound)]))


@pytest.fixture
def kept_memory():
    """Memory that is freed is kept for the next round: new pages take the kernel longer where others want them."""
    mallopt = getattr(ctypes.CDLL(None), "mallopt", None)
    if mallopt is not None:
        assert mallopt(M_TRIM_THRESHOLD, 2**31 - 1) == mallopt(M_MMAP_MAX, 0) == 1


@pytest.mark.usefixtures("kept_memory")
@pytest.mark.parametrize(
    ("bound", "made", "work", "most"),
    [
        ("plan four times the moves", followed, partial(planned, STOPPING), 40_000),
        ("blend a million moves", ways, lambda each: rounded(BLENDING, *each), 1_000_000),
    ],
)
def test_time_grows_evenly(bound, made, work, most):
    """From a quarter of the moves; of a million, neither fits the processor's cache."""
    few, many = made(most // 4), made(most)
    long, short = in_turns(lambda _: work(many), lambda _: work(few), over=[ratio(bound)])
    keeps_to(bound, long, short)
