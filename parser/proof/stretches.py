"""One axis along one move: everywhere it may be, and where the macro may have started for it to be there.

Along a straight move an axis is linear in the path parameter t (0 to 1) and in what is unknown. A ``Piece`` is a range
of t with the lowest and the highest position possible at each t, both linear in t, and the start positions that belong
to those two. ``anywhere`` gives every case; ``below_start`` and ``above_start`` only those in which the axis has come
down (or up) from where the macro started, which is how a raise or a move away is told from a move that brings a tool
closer.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from parser.machine import Interval
from parser.motion.places import Afloat, Coordinate, bounds, minus

TOUCH = 1e-6
"""mm (or degrees) by which something has to be entered before it counts: touching is not hitting."""

SPLITS = 64
"""Parts a move is cut into where its distance from the start is not linear; each takes its weakest bound."""

Box = Mapping[str, Interval]
Line = tuple[float, float]
"""A linear function of t: value at 0 and value at 1."""


def at(line: Line, t: float) -> float:
    """Value of a linear function at ``t``."""
    return line[0] + (line[1] - line[0]) * t


def at_most(line: Line, value: float, t_low: float, t_high: float) -> tuple[float, float] | None:
    """The part of [t_low, t_high] on which ``line`` is not above ``value``; None where there is none."""
    first, last = at(line, t_low) - value, at(line, t_high) - value
    if first <= 0 and last <= 0:
        return t_low, t_high
    if first > 0 and last > 0:
        return None
    crossing = t_low + (t_high - t_low) * first / (first - last)
    return (t_low, crossing) if first <= 0 else (crossing, t_high)


@dataclass(frozen=True, slots=True)
class Piece:
    """Positions ``low`` to ``high`` for t from ``t_low`` to ``t_high``, and the starts they are reached from.

    A position a share s of the way from low to high belongs to the start that lies the same share of the way from
    ``start_low`` to ``start_high``.
    """

    t_low: float
    t_high: float
    low: Line
    high: Line
    start_low: float
    start_high: float

    def mirrored(self) -> Piece:
        return Piece(
            self.t_low,
            self.t_high,
            (-self.high[0], -self.high[1]),
            (-self.low[0], -self.low[1]),
            -self.start_high,
            -self.start_low,
        )

    def reversed(self) -> Piece:
        return replace(self, t_low=1 - self.t_high, t_high=1 - self.t_low, low=self.low[::-1], high=self.high[::-1])


@dataclass(frozen=True, slots=True)
class Stretch:
    """An axis along a move from within ``first`` to within ``last``, the macro having started in ``start``.

    ``first_offset`` is how far it may be from the start position where the beginning is tied to it, one number but for
    what a probe leaves open; None where it is not tied. ``last_offset`` likewise for the end.
    """

    start: Interval
    first: Interval
    last: Interval
    first_offset: Interval | None = None
    last_offset: Interval | None = None

    def mirrored(self) -> Stretch:
        """The same axis with its direction turned round."""
        return Stretch(
            Interval(-self.start.high, -self.start.low),
            Interval(-self.first.high, -self.first.low),
            Interval(-self.last.high, -self.last.low),
            _turned(self.first_offset),
            _turned(self.last_offset),
        )

    def reversed(self) -> Stretch:
        """The same axis gone along from the end to the beginning."""
        return Stretch(self.start, self.last, self.first, self.last_offset, self.first_offset)

    def starting_in(self, part: Interval) -> Stretch:
        """The same axis for the starts in ``part`` only."""
        first, last = self.first, self.last
        if self.first_offset is not None:
            first = Interval(part.low + self.first_offset.low, part.high + self.first_offset.high)
        if self.last_offset is not None:
            last = Interval(part.low + self.last_offset.low, part.high + self.last_offset.high)
        return Stretch(part, first, last, self.first_offset, self.last_offset)

    @property
    def low(self) -> Line:
        return self.first.low, self.last.low

    @property
    def high(self) -> Line:
        return self.first.high, self.last.high

    @property
    def still(self) -> bool:
        """Whether the axis stands where the macro started, all along."""
        return self.first_offset == AT_START and self.last_offset == AT_START


AT_START = Interval(0.0, 0.0)


def _turned(side: Interval | None) -> Interval | None:
    return None if side is None else Interval(-side.high, -side.low)


def stretch(begin: Coordinate, end: Coordinate, start: Coordinate, box: Box) -> Stretch:
    """The stretch of an axis from ``begin`` to ``end``, judged from ``start``, for the starts in ``box``."""
    return Stretch(reach(start, box), reach(begin, box), reach(end, box), offset(begin, start), offset(end, start))


def reach(coordinate: Coordinate, box: Box) -> Interval:
    """The range of a coordinate when the starts are narrowed to ``box``."""
    if not isinstance(coordinate, Afloat):
        return bounds(coordinate)
    low = high = coordinate.base
    if not coordinate.unknown.terms:
        side = box[coordinate.unknown.axis] if coordinate.unknown.kind == "start" else coordinate.unknown.range
        return Interval(low + side.low, high + side.high)
    for unknown, count in coordinate.unknown.terms:
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


def furthest(stretch: Stretch) -> float:
    """How far up the axis comes from its start at the most; negative where it only goes down."""
    ends = ((stretch.first_offset, stretch.first), (stretch.last_offset, stretch.last))
    return max(end.high - stretch.start.low if offset is None else offset.high for offset, end in ends)


def anywhere(stretch: Stretch) -> list[Piece]:
    """Every position along the stretch."""
    start = stretch.start
    if stretch.first_offset is None and stretch.last_offset is None:
        return [Piece(0.0, 1.0, stretch.low, stretch.high, start.middle, start.middle)]
    return [Piece(0.0, 1.0, stretch.low, stretch.high, start.low, start.high)]


def below_start(stretch: Stretch, floor: float) -> list[Piece]:
    """Positions lower than the start was, for starts at or above ``floor``.

    Where beginning and end are both tied to the start, or neither is, or the beginning is the start itself, this is
    exact. Elsewhere the bound on the start is hyperbolic in t; it is taken at its weakest on each of ``SPLITS`` parts.
    """
    lowest, highest = max(stretch.start.low, floor), stretch.start.high
    if lowest > highest:
        return []
    first, last = stretch.first_offset, stretch.last_offset
    if first is not None and last is not None:
        return list(_kept_below(first, last, lowest, highest))
    if first is None and last is None:
        part = at_most(stretch.low, highest - TOUCH, 0.0, 1.0)
        return [] if part is None else [Piece(*part, stretch.low, stretch.high, highest, highest)]
    if first is None:
        return [piece.reversed() for piece in below_start(stretch.reversed(), floor)]
    if first == AT_START:
        return _leaving(stretch, first, 0.0, 1.0, lowest, stretch.last.low)
    pieces: list[Piece] = []
    for index in range(SPLITS):
        t_low, t_high = index / SPLITS, (index + 1) / SPLITS
        weakest = t_high if first.low > 0 else t_low
        bound = stretch.last.low + first.low * (1 - weakest) / weakest if weakest else float("-inf")
        pieces += _leaving(stretch, first, t_low, t_high, lowest, bound)
    return pieces


def _kept_below(first: Interval, last: Interval, lowest: float, highest: float) -> Iterator[Piece]:
    """The pieces of an axis tied to its start all along: where it has to be below it, and where it may be."""
    lower, upper = (first.low, last.low), (first.high, last.high)
    low = (lowest + first.low, lowest + last.low)
    part = at_most(lower, -TOUCH, 0.0, 1.0)
    if part is None:
        return
    below = at_most(upper, -TOUCH, *part)
    if below is not None:
        yield Piece(*below, low, (highest + first.high, highest + last.high), lowest, highest)
    if upper == lower:
        return
    for t_low, t_high in ((part[0], below[0]), (below[1], part[1])) if below else (part,):
        if t_low < t_high:
            yield Piece(t_low, t_high, low, (highest - TOUCH, highest - TOUCH), lowest, highest)


def _leaving(
    stretch: Stretch, offset: Interval, t_low: float, t_high: float, lowest: float, bound: float
) -> list[Piece]:
    """The piece from ``offset`` beside a start above ``bound`` towards an end that is not tied to the start."""
    lowest, highest = max(lowest, bound + TOUCH), stretch.start.high
    if lowest > highest:
        return []
    low, high = (lowest + offset.low, stretch.last.low), (highest + offset.high, stretch.last.high)
    return [Piece(t_low, t_high, low, high, lowest, highest)]


def above_start(stretch: Stretch, ceiling: float) -> list[Piece]:
    """Positions higher than the start was, for starts at or below ``ceiling``."""
    return [piece.mirrored() for piece in below_start(stretch.mirrored(), -ceiling)]
