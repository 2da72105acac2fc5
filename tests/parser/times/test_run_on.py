"""What is left after letting go, by what the controller sheet says about it."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from parser.machine import Controller
from parser.times.double_s import DoubleS, change_length
from parser.times.planner import plan
from parser.times.run_on import still_moving
from tests.parser.motion.moving import MILL, anywhere, between, dwell, feed, pause, place, rapid, trace_of

SENT = Controller(queue_depth=2)
ONE_BY_ONE = Controller(acknowledge_means="done")
STORED = Controller(call="M98 P1", extra_words={"M98": "call"})  # common practice, no source
AT_ONCE = Controller(release="immediate", stop_line="@CEASE")
MACHINE = replace(MILL, latency=0.1)


def staircase(*steps):
    """Moves along X and Y in turn, each as long as it says, on lines from 1."""
    moves, at = [], place()
    for line, step in enumerate(steps, start=1):
        axis = "x" if line % 2 else "y"
        to = {**at, axis: at[axis] + step}
        moves.append(rapid(at, to, line=line))
        at = to
    return moves


def left(trace, controller, machine=MACHINE):
    return plan(trace, machine, controller).run_on


def test_what_the_controller_holds_runs_out_with_the_line_that_runs_and_the_one_that_waits_to_be_taken():
    run_on = left(trace_of(*staircase(1.0, 10.0, 20.0, 5.0, 40.0, 1.0)), SENT)
    assert run_on.millimetres == pytest.approx(10.0 + 20.0 + 5.0 + 40.0)
    assert run_on.by_axis == {"x": pytest.approx(60.0), "y": pytest.approx(15.0)}
    assert run_on.line == 2
    assert not run_on.stops
    assert "up to 2" in run_on.because


def test_a_queue_longer_than_the_macro_leaves_all_of_it():
    run_on = left(trace_of(*staircase(10.0, 20.0, 5.0)), replace(SENT, queue_depth=16))
    assert run_on.millimetres == pytest.approx(35.0)
    assert run_on.line == 1


def test_lines_that_are_acknowledged_when_done_leave_only_the_one_that_runs():
    run_on = left(trace_of(*staircase(10.0, 20.0, 5.0)), ONE_BY_ONE)
    assert run_on.millimetres == pytest.approx(20.0)
    assert run_on.line == 2


def test_a_stop_line_that_queues_changes_nothing_but_the_reason():
    moves = trace_of(*staircase(10.0, 20.0, 5.0, 40.0))
    queued = left(moves, replace(SENT, release="queued-line", stop_line="M2"))
    assert queued.millimetres == left(moves, SENT).millimetres
    assert not queued.stops
    assert "stop line waits" in queued.because


def test_two_moves_of_one_line_count_as_one_line():
    through = [rapid(place(), place(x=10.0), line=1), rapid(place(x=10.0), place(x=60.0), line=1)]
    after = rapid(place(x=60.0), place(x=65.0), line=2)
    assert left(trace_of(*through, after), ONE_BY_ONE).millimetres == pytest.approx(60.0)


def test_a_dwell_takes_no_place_in_the_queue_but_its_time_counts():
    at = place(x=10.0)
    moves = [rapid(place(), at, line=1), dwell(30.0, at, line=2), rapid(at, place(x=30.0), line=3)]
    run_on = left(trace_of(*moves), replace(SENT, queue_depth=1))
    assert run_on.millimetres == pytest.approx(30.0)
    assert run_on.seconds > 30.0


def test_a_stored_macro_runs_to_its_end():
    run_on = left(trace_of(*staircase(10.0, 20.0, 5.0, 40.0, 1.0)), STORED)
    assert run_on.millimetres == pytest.approx(76.0)
    assert run_on.line == 1
    assert not run_on.stops


@pytest.mark.parametrize("kind", ["pause", "home-at-panel", "tool-change"])
def test_nothing_runs_past_a_wait_for_the_operator(kind):
    moves = staircase(10.0, 20.0, 5.0, 40.0, 1.0)
    run_on = left(trace_of(*moves, events=[pause(3, line=4, kind=kind)]), STORED)
    assert run_on.millimetres == pytest.approx(41.0)
    assert run_on.line == 4


def test_the_worst_start_counts():
    run_on = left(trace_of(rapid(place(z=anywhere("z")), place(z=-2.0))), STORED)
    assert run_on.millimetres == pytest.approx(88.0)


def test_a_stop_taken_at_once_leaves_the_latency_and_the_braking():
    run_on = left(trace_of(rapid(place(), place(x=200.0))), AT_ONCE)
    assert run_on.millimetres == pytest.approx(40.0 * 0.1 + 40.0**2 / (2 * 220.0))
    assert run_on.seconds == pytest.approx(0.1 + 40.0 / 220.0)
    assert run_on.by_axis == {"x": pytest.approx(run_on.millimetres)}
    assert run_on.stops


def test_a_wired_stop_brakes_alike():
    moves = trace_of(rapid(place(), place(x=200.0)))
    wired = left(moves, Controller(release="wired"))
    assert wired.millimetres == left(moves, AT_ONCE).millimetres
    assert wired.stops


def test_braking_uses_the_worst_move():
    moves = [feed(place(), place(x=100.0), 300.0, line=1), rapid(place(x=100.0), place(x=0.0), line=2)]
    assert left(trace_of(*moves), AT_ONCE).line == 2


def test_braking_never_takes_more_than_what_is_left():
    run_on = left(trace_of(rapid(place(), place(x=1.0))), AT_ONCE, replace(MILL, latency=5.0))
    assert run_on.millimetres == pytest.approx(1.0)
    assert run_on.seconds <= plan(trace_of(rapid(place(), place(x=1.0))), MILL, AT_ONCE).totals.seconds.most


def test_a_diagonal_brakes_along_its_path():
    run_on = left(trace_of(rapid(place(), place(x=100.0, y=100.0))), AT_ONCE)
    top, along = 30.0 * 2**0.5, 150.0 * 2**0.5
    assert run_on.millimetres == pytest.approx(top * 0.1 + top**2 / (2 * along))
    assert run_on.by_axis["x"] == pytest.approx(run_on.millimetres / 2**0.5)


def test_a_dogleg_brakes_no_longer_than_its_slowest_axis_to_stop():
    run_on = left(trace_of(rapid(place(), place(x=200.0, y=150.0), dogleg=True)), AT_ONCE)
    each = [40.0 * 0.1 + 40.0**2 / 440.0, 30.0 * 0.1 + 30.0**2 / 300.0]
    assert max(each) <= run_on.millimetres <= sum(each)


def test_braking_from_an_unknown_start_covers_every_start():
    floating = left(
        trace_of(rapid(place(x=between("x", 0, 90), y=between("y", 0, 90)), place(x=100.0, y=95.0))), AT_ONCE
    )
    for x, y in ((0, 0), (90, 0), (0, 90), (45, 45), (90, 90), (10, 70)):
        fixed = left(trace_of(rapid(place(x=float(x), y=float(y)), place(x=100.0, y=95.0))), AT_ONCE)
        assert fixed.millimetres <= floating.millimetres * (1 + 1e-9)


def test_a_macro_that_moves_nothing_has_nothing_to_stop():
    run_on = left(trace_of(events=[pause(0, 1, "message")]), SENT)
    assert run_on.millimetres == 0.0
    assert run_on.line is None
    assert run_on.stops


def test_homing_goes_on_without_a_figure():
    run_on = left(trace_of(events=[pause(0, 3, "homing")]), SENT)
    assert not run_on.stops
    assert run_on.millimetres == 0.0
    assert "homing cycle" in run_on.because


def test_degrees_are_counted_for_their_axis_only():
    run_on = left(trace_of(rapid(place(), place(a=90.0))), STORED)
    assert run_on.millimetres == 0.0
    assert run_on.by_axis == {"a": pytest.approx(90.0)}
    assert not run_on.stops


def test_with_jerk_braking_takes_the_bends_too():
    jerk = 1100.0
    machine = replace(MACHINE, axes=tuple(replace(axis, jerk=jerk) for axis in MACHINE.axes))
    run_on = left(trace_of(rapid(place(), place(x=200.0))), AT_ONCE, machine)
    bend = 220.0 / jerk
    stopping = 40.0 / 220.0 + bend if 220.0**2 / jerk <= 40.0 else 2.0 * (40.0 / jerk) ** 0.5
    bend = min(bend, (40.0 / jerk) ** 0.5)
    assert run_on.millimetres == pytest.approx(40.0 * (0.1 + bend + stopping / 2.0))
    assert run_on.seconds == pytest.approx(0.1 + bend + stopping)


def test_no_moment_of_letting_go_leaves_more_than_is_said_with_jerk():
    """Brute force: the state after the latency, then speed and acceleration brought to nothing as fast as allowed."""
    profile = DoubleS(200.0, 40.0, 220.0, 1100.0)
    machine = replace(MACHINE, axes=tuple(replace(axis, jerk=1100.0) for axis in MACHINE.axes))
    said = left(trace_of(rapid(place(), place(x=200.0))), AT_ONCE, machine).millimetres
    for t in np.linspace(0.0, profile.seconds - 0.1, 200):
        (here, begins), (_, speed), (_, gain) = profile.at(np.array([t, t + 0.1]))
        gain = max(gain, 0.0)
        bend = gain / 1100.0
        top = speed + gain * bend / 2.0
        on = speed * bend + gain * bend**2 / 2.0 - 1100.0 * bend**3 / 6.0
        assert begins - here + on + change_length(0.0, top, 220.0, 1100.0) <= said * (1 + 1e-9)


def moment_by_moment(trace, controller, machine=MACHINE):
    return still_moving(trace, plan(trace, machine, controller).timings, machine, controller)


ENDINGS = {
    "held": SENT,
    "one by one": ONE_BY_ONE,
    "stored": STORED,
    "at once": AT_ONCE,
    "wired": Controller(release="wired"),
    "queued": replace(SENT, release="queued-line", stop_line="M2"),
}


@pytest.mark.parametrize("controller", ENDINGS.values(), ids=ENDINGS)
@given(st.lists(st.tuples(st.sampled_from([0.0, 1.0, 7.0, 30.0]), st.booleans()), min_size=1, max_size=9))
def test_the_worst_of_all_moments_is_what_the_report_says(controller, story):
    at, moves, pauses = place(), [], []
    for line, (step, waits) in enumerate(story, start=1):
        axis = "x" if line % 2 else "y"
        to = {**at, axis: at[axis] + step}
        moves.append(rapid(at, to, line=line) if step else dwell(0.5, at, line=line))
        pauses += [pause(len(moves), line=line)] if waits else []
        at = to
    trace = trace_of(*moves, events=pauses)
    timings = plan(trace, MACHINE, controller).timings
    found = still_moving(trace, timings, MACHINE, controller)
    assert len(found) == len(moves)
    paths = [timing.path_mm.most for timing in timings]
    left_then = [
        each.millimetres if each.last is None else sum(paths[i : each.last + 1]) for i, each in enumerate(found)
    ]
    assert max(left_then) == pytest.approx(left(trace, controller).millimetres)


def test_at_any_moment_what_was_sent_goes_on_and_nothing_past_a_pause():
    moves = staircase(10.0, 20.0, 5.0, 40.0, 1.0, 3.0, 2.0)
    trace = trace_of(*moves, events=[pause(6, line=6)])
    assert [each.last for each in moment_by_moment(trace, replace(SENT, queue_depth=1))] == [2, 3, 4, 5, 5, 5, 6]
    assert [each.last for each in moment_by_moment(trace, ONE_BY_ONE)] == [0, 1, 2, 3, 4, 5, 6]
    assert [each.last for each in moment_by_moment(trace, STORED)] == [5, 5, 5, 5, 5, 5, 6]


def test_while_a_dwell_runs_only_what_was_sent_behind_it_goes_on():
    at = place(x=10.0)
    moves = [rapid(place(), at, line=1), dwell(3.0, at, line=2), *staircase(30.0, 5.0)]
    moves[2:] = [replace(move, line=move.line + 2) for move in moves[2:]]
    assert [each.last for each in moment_by_moment(trace_of(*moves), ONE_BY_ONE)] == [0, 1, 2, 3]
    assert [each.last for each in moment_by_moment(trace_of(*moves), replace(SENT, queue_depth=0))] == [2, 2, 3, 3]


def test_a_brake_leaves_nothing_while_nothing_moves():
    moves = [rapid(place(), place(x=200.0), line=1), dwell(3.0, place(x=200.0), line=2)]
    runs, waits = moment_by_moment(trace_of(*moves), AT_ONCE)
    assert runs.millimetres == pytest.approx(40.0 * 0.1 + 40.0**2 / (2 * 220.0))
    assert (waits.millimetres, waits.seconds) == (0.0, 0.0)
