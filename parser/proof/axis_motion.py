"""One axis along one move: everywhere it may be, for every position the move is judged from.

Along a straight move an axis is linear in the path parameter t (0 to 1) and in what is unknown. Judged from a start at
a, it stands at t anywhere from ``tie(t) a + low(t)`` to ``tie(t) a + high(t)``, all three linear in t. ``tie`` is 1
where the axis is so far from the start (a step), 0 where the start says nothing (a fixed place): what is in between is
on the way from the one to the other.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from parser.machine import Interval
from parser.motion.places import Afloat, Coordinate, bounds, minus

TOUCH = 1e-6
"""mm (or degrees) by which something has to be entered before it counts: touching is not hitting."""

Box = Mapping[str, Interval]

Line = tuple[float, float]
"""A linear function of t: value at 0 and value at 1."""

WHOLE = (0.0, 1.0)
"""The t of a whole move."""

Times = tuple[float, float]
"""A closed range of t."""


def at(line: Line, t: float) -> float:
    """Value of a linear function at ``t``."""
    return line[0] + (line[1] - line[0]) * t


def at_most(line: Line, value: float, times: Times) -> Times | None:
    """The part of ``times`` in which ``line`` is not above ``value``; None where there is none."""
    low, high = times
    first, last = at(line, low) - value, at(line, high) - value
    if first <= 0 and last <= 0:
        return times
    if first > 0 and last > 0:
        return None
    crossing = low + (high - low) * first / (first - last)
    return (low, crossing) if first <= 0 else (crossing, high)


@dataclass(frozen=True, slots=True)
class AxisMotion:
    """An axis along a move, judged from within ``start``; see the module for ``tie``, ``low`` and ``high``."""

    start: Interval
    tie: Line
    low: Line
    high: Line

    def mirrored(self) -> AxisMotion:
        """The same axis with its direction turned round."""
        start = Interval(-self.start.high, -self.start.low)
        return AxisMotion(start, self.tie, (-self.high[0], -self.high[1]), (-self.low[0], -self.low[1]))

    def lowest(self, start: float) -> Line:
        """The lowest it may be for one start."""
        return self.tie[0] * start + self.low[0], self.tie[1] * start + self.low[1]

    def highest(self, start: float) -> Line:
        """The highest it may be for one start."""
        return self.tie[0] * start + self.high[0], self.tie[1] * start + self.high[1]

    def reached(self) -> Interval:
        """Everywhere it may be, from any start."""
        return Interval(min(self.lowest(self.start.low)), max(self.highest(self.start.high)))

    @property
    def begins(self) -> Interval:
        """Where it may begin the move."""
        return Interval(self.lowest(self.start.low)[0], self.highest(self.start.high)[0])

    @property
    def ends(self) -> Interval:
        """Where it may end the move."""
        return Interval(self.lowest(self.start.low)[1], self.highest(self.start.high)[1])

    @property
    def furthest_up(self) -> float:
        """How far up it comes from its start at the most; negative where it only goes down."""
        return max(high - (1.0 - tie) * self.start.low for tie, high in zip(self.tie, self.high, strict=True))

    def part(self, first: float, last: float) -> AxisMotion:
        """The same axis from one t to another."""
        lines = ((at(line, first), at(line, last)) for line in (self.tie, self.low, self.high))
        return AxisMotion(self.start, *lines)

    def in_its_own_time(self) -> list[AxisMotion]:
        """As it stands still at a t of its own: in one of these, or between them.

        Of a move whose axes do not go along together only this much is known.
        """
        if self.tie[0] == self.tie[1]:
            low, high = min(self.low), max(self.high)
            return [AxisMotion(self.start, self.tie, (low, low), (high, high))]
        return [self.part(0.0, 0.0), self.part(1.0, 1.0)]


def axis_motion(begin: Coordinate, end: Coordinate, start: Coordinate, box: Box) -> AxisMotion:
    """The motion of an axis from ``begin`` to ``end``, judged from ``start``, for macros that fire in ``box``."""
    starts, ends = reach(start, box), []
    for coordinate in (begin, end):
        beside = offset(coordinate, start) if starts.length > 0 else None
        ends.append((0.0, reach(coordinate, box)) if beside is None else (1.0, beside))
    (first_tie, first), (last_tie, last) = ends
    return AxisMotion(starts, (first_tie, last_tie), (first.low, last.low), (first.high, last.high))


def reach(coordinate: Coordinate, box: Box) -> Interval:
    """The range of a coordinate when the starts are narrowed to ``box``."""
    if not isinstance(coordinate, Afloat):
        return bounds(coordinate)
    low = high = coordinate.base
    for unknown, count in coordinate.unknown.parts:
        side = box[unknown.axis] if unknown.kind == "start" else unknown.range
        ends = (count * side.low, count * side.high)
        low, high = low + min(ends), high + max(ends)
    return Interval(low, high)


def offset(coordinate: Coordinate, start: Coordinate) -> Interval | None:
    """How far ``coordinate`` may lie from ``start``; None where what is unknown about ``start`` is not part of it."""
    if not isinstance(coordinate, Afloat) or not isinstance(start, Afloat):
        return None
    if coordinate.unknown.name == start.unknown.name:
        return Interval(coordinate.base - start.base, coordinate.base - start.base)
    if not coordinate.unknown.terms:
        return None
    parts = dict(coordinate.unknown.terms)
    tied = all(parts.get(unknown) == count for unknown, count in start.unknown.parts)
    return bounds(minus(coordinate, start)) if tied else None
