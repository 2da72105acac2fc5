"""The moves of a trace as the proof sees them: one stretch per axis, and which decision each kind of move calls for."""

from __future__ import annotations

from math import ceil, cos, floor, radians

from parser.machine import Interval
from parser.motion.moves import Arc, Move
from parser.motion.places import Coordinate
from parser.proof.reach import FAR, Body, Hit, Obstacle, straight_hit, swept_hit
from parser.proof.stretches import Box, Stretch, offset_from_start, reach, stretch

ARC_TOLERANCE = 1e-3
"""mm: a piece of an arc this small that still meets something counts as meeting it."""

Sweep = dict[str, Stretch]


def sweep(move: Move, box: Box) -> Sweep:
    """The stretch of every axis along a move; the plane axes of an arc as the extents of its whole sweep."""
    stretches = {name: stretch(name, at, move.end[name], box) for name, at in move.start.items()}
    if move.arc is not None:
        stretches |= _plane_extents(move.arc, move.arc.begins, move.arc.begins + move.arc.sweep, box)
    return stretches


def hit(move: Move, obstacle: Obstacle, body: Body, box: Box, *, shown: bool = True) -> Hit | None:
    """Whether ``body`` may meet ``obstacle`` on this move from a start in ``box``.

    ``shown`` False skips the search for the case to show, where only the answer counts.
    """
    if move.arc is not None:
        return _arc_hit(move, move.arc, obstacle, body, box, shown, 0.0, 1.0)
    decide = swept_hit if move.dogleg else straight_hit
    return decide(*_linear(sweep(move, box)), obstacle, body, shown=shown)


_EVERYWHERE = Interval(-FAR, FAR)
_ABSENT = Stretch(_EVERYWHERE, _EVERYWHERE, _EVERYWHERE, 0.0, 0.0)
"""An axis that the machine does not have: it may be anywhere and never moves."""


def _linear(stretches: Sweep) -> tuple[Stretch, Stretch, Stretch]:
    return stretches.get("x", _ABSENT), stretches.get("y", _ABSENT), stretches.get("z", _ABSENT)


def _arc_hit(
    move: Move, arc: Arc, obstacle: Obstacle, body: Body, box: Box, shown: bool, first: float, last: float
) -> Hit | None:
    """Exact extents of the part of an arc from share ``first`` to ``last``; halved where they meet the obstacle.

    A part that is clear as a box is clear. Otherwise its middle point is tried, which is a real case; and where that
    decides nothing the part is halved until it is smaller than ``ARC_TOLERANCE``, which counts as a hit.
    """

    def decide(begin: float, end: float, show: bool) -> Hit | None:
        part: Sweep = {
            name: _share(stretch(name, at, move.end[name], box), begin, end) for name, at in move.start.items()
        }
        part |= _plane_extents(arc, arc.begins + arc.sweep * begin, arc.begins + arc.sweep * end, box)
        return swept_hit(*_linear(part), obstacle, body, shown=show)

    if decide(first, last, False) is None:
        return None
    middle = (first + last) / 2
    point = decide(middle, middle, shown)
    if point is not None:
        return point
    if arc.radius * radians(abs(arc.sweep)) * (last - first) < ARC_TOLERANCE:
        return decide(first, last, shown)
    return _arc_hit(move, arc, obstacle, body, box, shown, first, middle) or _arc_hit(
        move, arc, obstacle, body, box, shown, middle, last
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


def _plane_extents(arc: Arc, begins: float, ends: float, box: Box) -> Sweep:
    low, high = min(begins, ends), max(begins, ends)
    return {
        arc.axes[0]: _circle_extent(arc.axes[0], arc.centre[0], arc.radius, _cosines(low, high), box),
        arc.axes[1]: _circle_extent(arc.axes[1], arc.centre[1], arc.radius, _cosines(low - 90.0, high - 90.0), box),
    }


def _circle_extent(axis: str, centre: Coordinate, radius: float, turn: Interval, box: Box) -> Stretch:
    middle, tie = reach(centre, box), offset_from_start(axis, centre)
    low, high = radius * turn.low, radius * turn.high
    if tie is None:
        extent = Interval(middle.low + low, middle.high + high)
        return Stretch(box[axis], extent, extent)
    first, last = (Interval(middle.low + edge, middle.high + edge) for edge in (low, high))
    return Stretch(box[axis], first, last, tie + low, tie + high)


def _cosines(low: float, high: float) -> Interval:
    """Range of the cosine between two angles in degrees, low at most high."""
    values = [cos(radians(low)), cos(radians(high))]
    if floor(high / 360) >= ceil(low / 360):
        values.append(1.0)
    if floor((high - 180) / 360) >= ceil((low - 180) / 360):
        values.append(-1.0)
    return Interval(min(values), max(values))
