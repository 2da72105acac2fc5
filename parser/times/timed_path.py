"""One concrete run of a trace: every move with its place on the path and in time, for one start and no unknowns.

Moves that run on in one direction under the same limits become one segment, so that a line in pieces is run as a line
in one. A corner belongs by halves to the moves beside it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from parser.arrays import Array, Flags, Whole, np
from parser.machine import Axis, Controller, Machine
from parser.motion.geometry import value_of
from parser.motion.moves import Move, Trace
from parser.motion.places import Afloat, Name
from parser.times.double_s import DoubleS
from parser.times.joints import joints, may_run_on, roundable
from parser.times.path_parts import NEGLIGIBLE, jerk_of, middle_limits
from parser.times.path_planning import Joint, Limits, Paced, Segments, pace, straight
from parser.times.rest_to_rest import feed_of

SAME = 1e-9
"""Difference of directions, and relative one of limits, up to which two moves are run as one."""


@dataclass(frozen=True, slots=True)
class TimedPath:
    """A planned run. ``starts`` and ``ends`` hold every move's places, a column for each of ``axes``.

    Segment i runs from move ``first[i]`` to move ``last[i]``, at ``begins[i]`` seconds. ``lengths``, along the rounded
    path, and ``seconds`` have a row for each move of the trace. ``paced`` is None where nothing moves. ``doglegs`` maps
    a segment to the profile of each axis.
    """

    moves: Sequence[Move]
    axes: tuple[Axis, ...]
    starts: Array
    ends: Array
    paced: Paced | None
    first: Whole
    last: Whole
    begins: Array
    lengths: Array
    seconds: Array
    doglegs: Mapping[int, tuple[DoubleS | None, ...]]

    @property
    def total(self) -> float:
        """Seconds of the whole run, operator pauses and homing left out."""
        return float(self.seconds.sum())

    def profile(self, segment: int) -> DoubleS:
        """Place and speed along a segment, between its corners."""
        assert self.paced is not None
        limits, paced = self.paced.segments.limits, self.paced
        columns = (paced.length, limits.top, limits.acceleration, limits.jerk, paced.begins, paced.ends)
        length, top, acceleration, jerk, begins, ends = (float(column[segment]) for column in columns)
        return DoubleS(length, max(top, begins, ends), acceleration, jerk, begins, ends)

    def corner(self, joint: int) -> DoubleS:
        """Place and speed along the rounded corner after a segment."""
        assert self.paced is not None
        paced = self.paced
        columns = (paced.corners.length, paced.corner_acceleration, paced.corner_jerk, paced.ends, paced.begins[1:])
        length, acceleration, jerk, begins, ends = (float(column[joint]) for column in columns)
        return DoubleS(length, max(begins, ends), acceleration, jerk, begins, ends)


def start_values(trace: Trace, start: Mapping[str, float]) -> dict[Name, float]:
    """Values of the unknowns of a trace, by name, for a start in machine coordinates."""
    afloat = ((name, at) for name, at in trace.start.items() if isinstance(at, Afloat) and name in start)
    return {at.unknown.name: start[name] - at.base for name, at in afloat}


def timed_path(
    trace: Trace,
    machine: Machine,
    controller: Controller,
    at: Mapping[Name, float],
    loose: Sequence[bool] = (),
    instead: Joint = Joint.STOP,
) -> TimedPath:
    """Plan a trace with its unknowns at the values given by name; those left out are at the middle of their range.

    ``loose`` marks the moves whose joint with what goes before is to be ``instead`` of what the angle there asks for.
    """
    moves = trace.moves
    starts, ends = (_places([getattr(move, side) for move in moves], machine, at) for side in ("start", "end"))
    moving = [i for i, way in enumerate(abs(ends - starts).max(axis=1, initial=0.0)) if _moves(moves[i], way)]
    waiting = np.array([move.seconds if move.kind == "dwell" else 0.0 for move in moves])
    if not moving:
        none = np.zeros(0, np.intp)
        return TimedPath(moves, machine.axes, starts, ends, None, none, none, np.zeros(0), 0.0 * waiting, waiting, {})
    curved = np.array([moves[i].arc is not None for i in moving])
    whole = _segments(trace, machine, controller, starts, ends, moving, curved)
    if any(loose):
        marks = np.cumsum(loose)[moving]
        whole.joints[(marks[1:] > marks[:-1]) & _running(trace, machine, moving)] = instead
    segments, opens = _merge(whole, curved)
    first, last = np.array(moving)[opens], np.array(moving)[np.append(opens[1:], len(moving)) - 1]
    paced = pace(segments, machine.tolerance, machine.axes)
    doglegs = {
        i: _dogleg(machine.axes, ends[move] - starts[move]) for i, move in enumerate(first) if moves[move].dogleg
    }
    for i, profiles in doglegs.items():
        paced.seconds[i] = max(profile.seconds for profile in profiles if profile is not None)
    before = np.concatenate(([0.0], np.cumsum(waiting)))[first]
    gone = np.concatenate(([0.0], np.cumsum(paced.seconds[:-1] + paced.corner_seconds)))
    begins, lengths = before + gone, 0.0 * waiting
    lengths[moving] = whole.limits.length
    made = TimedPath(moves, machine.axes, starts, ends, paced, first, last, begins, lengths, waiting, doglegs)
    _share_out(made, whole.limits.length, opens, moving)
    return made


def _places(places: Sequence[Mapping[str, float | Afloat]], machine: Machine, at: Mapping[Name, float]) -> Array:
    rows = [[value_of(place[name], at) for name in machine.names] for place in places]
    return np.array(rows, dtype=float).reshape(len(rows), len(machine.names))


def _moves(move: Move, way: float) -> bool:
    return move.kind != "dwell" and (move.arc is not None or way > NEGLIGIBLE)


def _segments(
    trace: Trace,
    machine: Machine,
    controller: Controller,
    starts: Array,
    ends: Array,
    moving: Sequence[int],
    curved: Flags,
) -> Segments:
    """Every move that goes anywhere, as a segment of its own."""
    moves = [trace.moves[i] for i in moving]
    ways = ends[moving] - starts[moving]
    ways[abs(ways) <= NEGLIGIBLE] = 0.0
    ways[curved] = 1.0  # put right below
    limits, leaves = straight(ways, np.array([feed_of(move, controller) for move in moves]), machine.axes)
    for i, move in enumerate(moves):
        if move.minutes:
            limits.top[i] = min(limits.top[i], limits.length[i] / (60.0 * move.minutes))
    arrives = leaves.copy()
    for row in np.flatnonzero(curved).tolist():
        fixed = _fixed(moves[row], machine, starts[moving[row]], ends[moving[row]])
        _put_arc(limits, row, fixed, machine, controller)
        leaves[row], arrives[row] = (_tangent(fixed, machine, fraction) for fraction in (0.0, 1.0))
    rotary = np.array([axis.rotary for axis in machine.axes])
    turning = (ways[:, rotary] != 0.0).any(axis=1)
    running = _running(trace, machine, moving)
    rounds = np.array([roundable(move, turns) for move, turns in zip(moves, turning, strict=True)])
    return Segments(
        limits,
        leaves,
        arrives,
        joints(arrives[:-1], leaves[1:], running, rounds[:-1] & rounds[1:], curved[:-1] | curved[1:]),
    )


def _running(trace: Trace, machine: Machine, moving: Sequence[int]) -> Flags:
    if machine.corner == "stop":
        return np.zeros(len(moving) - 1, dtype=bool)
    return np.array(may_run_on(trace, list(pairwise(moving))), dtype=bool)


def _fixed(move: Move, machine: Machine, start: Array, end: Array) -> Move:
    names = machine.names
    return replace(
        move,
        start=dict(zip(names, start.tolist(), strict=True)),
        end=dict(zip(names, end.tolist(), strict=True)),
    )


def _put_arc(limits: Limits, row: int, move: Move, machine: Machine, controller: Controller) -> None:
    length, profile = middle_limits(move, machine, feed_of(move, controller), move.minutes or 0.0)
    limits.length[row] = length
    limits.top[row], limits.acceleration[row] = profile.top * length, profile.acceleration * length
    limits.jerk[row] = profile.jerk * length


def _tangent(move: Move, machine: Machine, fraction: float) -> Array:
    """Unit vector along an arc move at its start (0) or its end (1)."""
    arc = move.arc
    assert arc is not None
    rate = {name: value_of(move.end[name], {}) - value_of(move.start[name], {}) for name in machine.names}
    angle = np.radians(arc.begins + arc.sweep * fraction)
    turned = arc.radius * np.radians(arc.sweep)
    rate[arc.axes[0]], rate[arc.axes[1]] = -turned * np.sin(angle), turned * np.cos(angle)
    tangent = np.array([rate[name] for name in machine.names])
    unit: Array = tangent / np.linalg.norm(tangent)
    return unit


def _merge(whole: Segments, curved: Flags) -> tuple[Segments, Whole]:
    """Straight segments of the same limits that run through become one; also the number of the first move of each."""
    limits = whole.limits
    joined = np.zeros(len(limits.length), dtype=bool)
    joined[1:] = (whole.joints == Joint.THROUGH) & ~(curved[:-1] | curved[1:])
    joined[1:] &= abs(whole.leaves[1:] - whole.leaves[:-1]).max(axis=1) <= SAME
    for column in (limits.top, limits.acceleration, limits.jerk):
        joined[1:] &= np.isclose(column[1:], column[:-1], rtol=SAME, atol=0.0)
    opens = np.flatnonzero(~joined)
    if len(opens) == len(joined):
        return whole, opens
    length = np.add.reduceat(limits.length, opens)
    merged = Limits(length, limits.top[opens], limits.acceleration[opens], limits.jerk[opens])
    meet = opens[1:] - 1
    shorter = np.minimum(limits.length[meet], limits.length[meet + 1])
    return Segments(merged, whole.leaves[opens], whole.leaves[opens], whole.joints[meet], shorter), opens


def _dogleg(axes: Sequence[Axis], ways: Array) -> tuple[DoubleS | None, ...]:
    return tuple(
        DoubleS(abs(way), axis.rapid / 60.0, axis.acceleration, jerk_of(axis)) if abs(way) > NEGLIGIBLE else None
        for axis, way in zip(axes, ways.tolist(), strict=True)
    )


def _share_out(made: TimedPath, lengths: Array, opens: Whole, moving: Sequence[int]) -> None:
    """Give every move its length and seconds; a segment of several is divided where it passes their ends."""
    assert made.paced is not None
    shares = made.paced.shares
    cut = np.concatenate(([0.0], made.paced.cut))
    closes = np.append(opens[1:], len(moving))
    saved = made.paced.cut - made.paced.corners.length / 2.0
    made.lengths[made.last[:-1]] -= saved
    made.lengths[made.first[1:]] -= saved
    np.maximum(made.lengths, 0.0, out=made.lengths)
    made.seconds[made.first] = shares
    for i in np.flatnonzero(closes - opens > 1):
        profile = made.profile(int(i))
        before = made.paced.corner_seconds[i - 1] / 2.0 if i else 0.0
        marks = np.cumsum(lengths[opens[i] : closes[i] - 1]) - cut[i]
        passed = [before + profile.when(mark) for mark in marks.tolist()]
        made.seconds[moving[opens[i] : closes[i]]] = np.diff([0.0, *passed, shares[i]])
