"""One axis along one move: everywhere it may be, against plain arithmetic."""

from __future__ import annotations

import numpy as np
import pytest

from parser.machine import Interval
from parser.motion.places import Afloat, Name, Unknown, minus, plus
from parser.proof.axis_motion import AxisMotion, at_most, axis_motion, offset, reach

BOX = {"x": Interval(-10.0, 20.0)}
START = Afloat(0.0, Unknown(Name("start", "x"), "start", BOX["x"]))
TRIP = Afloat(0.0, Unknown(Name("trip", "x", 2), "trip", Interval(-6.0, 0.0)))
ORIGIN = Afloat(3.0, Unknown(Name("G54", "x"), "origin", Interval(2.0, 4.0)))

STAYS = axis_motion(START, START, START, BOX)
STEPS = axis_motion(plus(START, 4.0), plus(START, -3.0), START, BOX)
LEAVES = axis_motion(START, 2.0, START, BOX)
ARRIVES = axis_motion(2.0, plus(START, 3.0), START, BOX)
APART = axis_motion(ORIGIN, -25.0, START, BOX)
PROBED = axis_motion(plus(START, TRIP), plus(plus(START, TRIP), 5.0), START, BOX)
MOTIONS = [STAYS, STEPS, LEAVES, ARRIVES, APART, PROBED]


@pytest.mark.parametrize(
    ("line", "part"),
    [((0.0, 10.0), (0.0, 0.4)), ((10.0, 0.0), (0.6, 1.0)), ((1.0, 2.0), (0.0, 1.0)), ((5.0, 6.0), None)],
)
def test_the_part_of_a_line_that_is_not_above_a_value(line, part):
    found = at_most(line, 4.0, (0.0, 1.0))
    assert found == (None if part is None else pytest.approx(part))


def test_a_step_stays_tied_to_the_start_and_a_fixed_place_does_not():
    assert AxisMotion(BOX["x"], (1.0, 1.0), (4.0, -3.0), (4.0, -3.0)) == STEPS
    assert AxisMotion(BOX["x"], (1.0, 0.0), (0.0, 2.0), (0.0, 2.0)) == LEAVES
    assert AxisMotion(BOX["x"], (0.0, 0.0), (5.0, -25.0), (7.0, -25.0)) == APART


def test_what_a_probe_leaves_open_is_added_to_the_start():
    assert AxisMotion(BOX["x"], (1.0, 1.0), (-6.0, -1.0), (0.0, 5.0)) == PROBED


def test_judged_from_where_a_probe_tripped_a_step_is_that_step():
    tripped = plus(START, TRIP)
    assert axis_motion(tripped, plus(tripped, 5.0), tripped, BOX).high == (0.0, 5.0)
    assert offset(minus(tripped, TRIP), tripped) is None


def test_a_reach_is_narrowed_with_the_starts():
    assert reach(plus(START, 1.0), {"x": Interval(0.0, 5.0)}) == Interval(1.0, 6.0)


@pytest.mark.parametrize("motion", MOTIONS)
def test_a_motion_in_a_mirror_is_the_same_the_other_way_round(motion):
    mirrored = motion.mirrored()
    assert mirrored.mirrored() == motion
    assert mirrored.reached() == Interval(-motion.reached().high, -motion.reached().low)


@pytest.mark.parametrize(
    ("motion", "most"), [(STEPS, 4.0), (LEAVES, 12.0), (APART, 17.0), (PROBED, 5.0), (STEPS.mirrored(), 3.0)]
)
def test_how_far_up_an_axis_comes_from_its_start(motion, most):
    assert motion.furthest_up == most


@pytest.mark.parametrize("motion", MOTIONS)
def test_in_its_own_time_it_is_between_what_it_is_when_it_stands_still(motion):
    still = motion.in_its_own_time()
    random = np.random.default_rng(3)
    for t, share in random.uniform(0, 1, (500, 2)):
        start = motion.start.low + share * motion.start.length
        low, high = (line[0] + (line[1] - line[0]) * t for line in (motion.lowest(start), motion.highest(start)))
        assert min(min(each.lowest(start)) for each in still) - 1e-9 <= low
        assert high <= max(max(each.highest(start)) for each in still) + 1e-9


def test_a_part_of_a_motion_runs_from_the_one_share_to_the_other():
    half = LEAVES.part(0.5, 1.0)
    assert (half.tie, half.low) == ((0.5, 0.0), (1.0, 2.0))
