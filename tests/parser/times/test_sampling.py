"""Samples of a run: that they are the plan's, from any start, with dwells, arcs, doglegs and corners."""

from dataclasses import replace
from math import ceil

import numpy as np
import pytest

from parser.language.reader import read
from parser.machine import Controller, Interval, Origin, Setup
from parser.motion.geometry import point_at
from parser.motion.interpreter import trace
from parser.times.planner import plan
from parser.times.sampling import sample_at
from parser.times.timed_path import start_values, timed_path
from tests.parser.motion.moving import MILL, anywhere, circle, dwell, feed, place, rapid, trace_of

PUBLISHED = Controller()
BENCH = replace(
    MILL,
    setups=(
        Setup("", (), {"G54": Origin({a: Interval(v, v) for a, v in (("x", 100), ("y", 70), ("z", -38), ("a", 0))})}),
    ),
)
MACHINES = [
    replace(BENCH, corner=corner, axes=tuple(replace(axis, jerk=jerk) for axis in BENCH.axes))
    for corner in ("stop", "blend")
    for jerk in (0.0, 2000.0)
]
PROGRAM = """G21 G90 G17 G94 G49
G53 G0 Z-2
G54 G0 X0 Y0
G1 X10 Y0 F900
X20 Y0
X20 Y20
G3 X10 Y30 I-10 J0
G1 X-10 Y30 F600
X-20 Y0
G4 P1.5
G2 X0 Y0 Z-1 I10 J0
G1 X5 Y1 A30
G0 X0 Y0
"""
START = {"x": 10.0, "y": 20.0, "z": -50.0, "a": 0.0}


def sample(trace, machine, controller, start, step=0.02):
    """Samples of all of a run, evenly spaced and at most so many seconds apart."""
    total = timed_path(trace, machine, controller, start_values(trace, start)).total
    return sample_at(trace, machine, controller, start, np.linspace(0.0, total, max(1, ceil(total / step)) + 1))


def followed(machine, dogleg=False, start=START):
    controller = replace(PUBLISHED, rapid="dogleg" if dogleg else "straight")
    fixed = {axis: Interval(at, at) for axis, at in start.items()}
    return trace(read(PROGRAM), machine, controller), trace(read(PROGRAM), machine, controller, start=fixed)


@pytest.mark.parametrize("dogleg", [False, True])
@pytest.mark.parametrize("machine", MACHINES)
def test_a_run_takes_what_the_plan_says_and_ends_where_the_program_does(machine, dogleg):
    anywhere_, here = followed(machine, dogleg)
    seen = sample(anywhere_, machine, PUBLISHED, START)
    assert seen.times[-1] == pytest.approx(plan(here, machine, PUBLISHED).totals.seconds.typical)
    assert {axis: column[0] for axis, column in seen.positions.items()} == pytest.approx(START)
    assert {axis: column[-1] for axis, column in seen.positions.items()} == pytest.approx(here.end)
    assert seen.path_speed[0] == 0.0
    assert seen.path_speed[-1] == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("dogleg", [False, True])
@pytest.mark.parametrize("machine", MACHINES)
def test_speeds_are_those_of_the_places_and_within_the_limits(machine, dogleg):
    everywhere, _ = followed(machine, dogleg)
    times = np.linspace(0.0, sample(everywhere, machine, PUBLISHED, START).times[-1], 100_001)
    seen = sample_at(everywhere, machine, PUBLISHED, START, times)
    for axis in machine.axes:
        speed, gain = seen.speeds[axis.name], axis.acceleration
        assert abs(speed).max() <= axis.rapid / 60.0 * (1 + 1e-6)
        assert abs(seen.accelerations[axis.name]).max() <= gain * (1 + 1e-6)
        moved = np.diff(seen.positions[axis.name])
        assert abs(moved - (speed[1:] + speed[:-1]) / 2 * times[1]).max() <= gain * times[1] ** 2
        assert abs(np.diff(speed)).max() <= gain * times[1] * (1 + 1e-6) + 1e-7


def test_a_dwell_stands_still_for_its_seconds():
    to = place(x=10.0)
    seen = sample(trace_of(rapid(place(), to), dwell(2.0, to, line=2), rapid(to, place(), line=3)), MILL, PUBLISHED, {})
    waiting = seen.times[seen.lines == 2]
    assert waiting[-1] - waiting[0] == pytest.approx(2.0, abs=0.05)
    assert not seen.path_speed[seen.lines == 2][1:-1].any()
    assert seen.positions["x"][seen.lines == 2] == pytest.approx(10.0)


def test_the_lines_are_those_that_run():
    moves = [rapid(place(), place(x=10.0), line=4), rapid(place(x=10.0), place(), line=9)]
    seen = sample(trace_of(*moves), MILL, PUBLISHED, {})
    assert list(dict.fromkeys(seen.lines.tolist())) == [4, 9]
    assert list(dict.fromkeys(seen.moves.tolist())) == [0, 1]


def test_an_arc_is_gone_round_where_the_geometry_has_it():
    move = circle(10.0, 30.0, -200.0, 600.0, start=place(x=8.660254037844387, y=5.0))
    ends = point_at(move, 1.0, {})
    move = replace(move, end={**place(z=-3.0), "x": ends["x"], "y": ends["y"]})
    seen = sample(trace_of(move), MILL, PUBLISHED, {})
    share = -seen.positions["z"] / 3.0
    for k in range(0, len(share), 25):
        at = point_at(move, share[k], {})
        assert (seen.positions["x"][k], seen.positions["y"][k]) == pytest.approx((at["x"], at["y"]), abs=1e-6)


def test_a_start_is_given_by_axis_and_the_rest_begins_in_the_middle():
    start = place(x=anywhere("x"), y=anywhere("y"))
    seen = sample(trace_of(rapid(start, place())), MILL, PUBLISHED, {"x": 50.0})
    assert seen.positions["x"][0] == 50.0
    assert seen.positions["y"][0] == 75.0


def test_only_a_rotary_axis_is_seen_in_degrees():
    seen = sample(trace_of(feed(place(), place(a=90.0), 600.0)), MILL, PUBLISHED, {})
    assert seen.path_speed.max() == pytest.approx(10.0)


def test_before_and_after_the_run_it_stands_still():
    run = trace_of(rapid(place(), place(x=10.0)))
    seen = sample_at(run, MILL, PUBLISHED, {}, np.array([-1.0, 99.0]))
    assert seen.positions["x"] == pytest.approx([0.0, 10.0])
    assert not seen.path_speed.any()


def test_a_program_without_motion_is_two_moments_in_one_place():
    seen = sample(trace_of(), MILL, PUBLISHED, {"x": 3.0})
    assert seen.times[-1] == 0.0
    assert seen.positions["x"] == pytest.approx(3.0)
    waiting = sample(trace_of(dwell(1.0, place(x=4.0))), MILL, PUBLISHED, {})
    assert waiting.times[-1] == 1.0
    assert waiting.positions["x"] == pytest.approx(4.0)


def test_the_step_is_never_longer_than_asked():
    seen = sample(trace_of(rapid(place(), place(x=100.0))), MILL, PUBLISHED, {}, 0.05)
    assert np.diff(seen.times).max() <= 0.05
