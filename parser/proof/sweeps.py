"""The moves of a trace as the proof sees them: one stretch per axis, and which decision each kind of move calls for."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, cos, floor, radians

from parser.machine import Interval
from parser.motion.moves import Arc, Move, Trace
from parser.motion.places import Coordinate, Place
from parser.proof.reach import FAR, Body, Hit, Obstacle, straight_hit, swept_hit
from parser.proof.stretches import Box, Stretch, offset, reach, stretch

ARC_TOLERANCE = 1e-3
"""mm: a piece of an arc this small that still meets something counts as meeting it."""

LOSES_POSITION = frozenset({"homing", "home-at-panel", "by-hand", "call"})
"""Events after which the machine stands somewhere else, on a way that is not known."""

BEGINS_ANEW = LOSES_POSITION | {"tool-change", "pause"}
"""Events after which moves are judged from there: the tool may be another, which is clear of everything where it is.

A longer one may meet what a shorter one cleared. The same tool is clear there too, or an earlier move is to blame.
"""

Sweep = dict[str, Stretch]


@dataclass(frozen=True, slots=True)
class Passage:
    """A move, and the place it is judged from: where the macro started, or stood after a stretch that is not known."""

    move: Move
    start: Place


def passages(trace: Trace) -> tuple[Passage, ...]:
    """Every move of a trace that goes anywhere, with the place it is judged from."""
    losses = {event.before for event in trace.events if event.kind in BEGINS_ANEW}
    found, start = [], trace.start
    for index, move in enumerate(trace.moves):
        if index in losses:
            start = move.start
        if move.kind != "dwell":
            found.append(Passage(move, start))
    return tuple(found)


def sweep(passage: Passage, box: Box) -> Sweep:
    """The stretch of every axis along a move; the plane axes of an arc as the extents of its whole sweep."""
    move, start = passage.move, passage.start
    stretches = {name: stretch(at, move.end[name], start[name], box) for name, at in move.start.items()}
    if move.arc is not None:
        stretches |= _plane_extents(move.arc, move.arc.begins, move.arc.begins + move.arc.sweep, start, box)
    return stretches


def hit(passage: Passage, obstacle: Obstacle, body: Body, box: Box, *, shown: bool = True) -> Hit | None:
    """Whether ``body`` may meet ``obstacle`` on this move from a start in ``box``.

    ``shown`` False skips the search for the case to show, where only the answer counts.
    """
    if passage.move.arc is not None:
        return _arc_hit(passage, passage.move.arc, obstacle, body, box, shown, 0.0, 1.0)
    decide = swept_hit if passage.move.dogleg else straight_hit
    return decide(*_linear(sweep(passage, box)), obstacle, body, shown=shown)


_EVERYWHERE = Interval(-FAR, FAR)
_ABSENT = Stretch(_EVERYWHERE, _EVERYWHERE, _EVERYWHERE, 0.0, 0.0)
"""An axis that the machine does not have: it may be anywhere and never moves."""


def _linear(stretches: Sweep) -> tuple[Stretch, Stretch, Stretch]:
    return stretches.get("x", _ABSENT), stretches.get("y", _ABSENT), stretches.get("z", _ABSENT)


def _arc_hit(
    passage: Passage, arc: Arc, obstacle: Obstacle, body: Body, box: Box, shown: bool, first: float, last: float
) -> Hit | None:
    """Exact extents of the part of an arc from share ``first`` to ``last``; halved where they meet the obstacle.

    A part that is clear as a box is clear. Otherwise its middle point is tried, which is a real case; and where that
    decides nothing the part is halved until it is smaller than ``ARC_TOLERANCE``, which counts as a hit.
    """

    def decide(begin: float, end: float, show: bool) -> Hit | None:
        move, start = passage.move, passage.start
        part: Sweep = {
            name: _share(stretch(at, move.end[name], start[name], box), begin, end) for name, at in move.start.items()
        }
        part |= _plane_extents(arc, arc.begins + arc.sweep * begin, arc.begins + arc.sweep * end, start, box)
        return swept_hit(*_linear(part), obstacle, body, shown=show)

    if decide(first, last, False) is None:
        return None
    middle = (first + last) / 2
    point = decide(middle, middle, shown)
    if point is not None:
        return point
    if arc.radius * radians(abs(arc.sweep)) * (last - first) < ARC_TOLERANCE:
        return decide(first, last, shown)
    return _arc_hit(passage, arc, obstacle, body, box, shown, first, middle) or _arc_hit(
        passage, arc, obstacle, body, box, shown, middle, last
    )


def _share(whole: Stretch, first: float, last: float) -> Stretch:
    """The part of a straight stretch between two shares of it; loose from the start where only one end is tied."""

    def between(share: float) -> Interval:
        return Interval(
            whole.first.low + share * (whole.last.low - whole.first.low),
            whole.first.high + share * (whole.last.high - whole.first.high),
        )

    begin, end = whole.first_offset, whole.last_offset
    if begin is None or end is None:
        return Stretch(whole.start, between(first), between(last))
    rise = end - begin
    return Stretch(whole.start, between(first), between(last), begin + first * rise, begin + last * rise)


def _plane_extents(arc: Arc, begins: float, ends: float, start: Place, box: Box) -> Sweep:
    low, high = min(begins, ends), max(begins, ends)
    turns = (_cosines(low, high), _cosines(low - 90.0, high - 90.0))
    return {
        axis: _circle_extent(centre, arc.radius, turn, start[axis], box)
        for axis, centre, turn in zip(arc.axes, arc.centre, turns, strict=True)
    }


def _circle_extent(centre: Coordinate, radius: float, turn: Interval, start: Coordinate, box: Box) -> Stretch:
    middle, tie = reach(centre, box), offset(centre, start)
    low, high = radius * turn.low, radius * turn.high
    if tie is None:
        extent = Interval(middle.low + low, middle.high + high)
        return Stretch(reach(start, box), extent, extent)
    first, last = (Interval(middle.low + edge, middle.high + edge) for edge in (low, high))
    return Stretch(reach(start, box), first, last, tie + low, tie + high)


def _cosines(low: float, high: float) -> Interval:
    """Range of the cosine between two angles in degrees, low at most high."""
    values = [cos(radians(low)), cos(radians(high))]
    if floor(high / 360) >= ceil(low / 360):
        values.append(1.0)
    if floor((high - 180) / 360) >= ceil((low - 180) / 360):
        values.append(-1.0)
    return Interval(min(values), max(values))
