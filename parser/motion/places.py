"""Where an axis may be: a number, or a number beside something that is not known.

Each coordinate is a constant plus at most one unknown with its interval, so that the same unknown cancels: from an
unknown X, ``X0`` then ``X10`` in one work system is exactly 10 mm. A sum of different unknowns becomes one new unknown
that knows its terms, so that one which is taken away again leaves the other.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from math import hypot
from typing import NamedTuple

from parser.machine import Interval
from parser.quantities import Figures


class Name(NamedTuple):
    """What tells an unknown from any other: what it comes of and its axis.

    ``of`` is "start", a work system, "trip" and the like; ``line`` the line that made it, 0 where none did, and
    ``moves`` how many there were before it, for a line that may make several. ``terms`` are those of a sum.
    """

    of: str
    axis: str
    line: int = 0
    moves: int = 0
    terms: tuple[tuple[Name, float], ...] = ()

    @property
    def on_no_line(self) -> Name:
        """The same whatever line made it, for a copy of a program that has it on another."""
        return self._replace(line=0, terms=tuple((name.on_no_line, count) for name, count in self.terms))


@dataclass(frozen=True, slots=True)
class Unknown:
    """Something the macro cannot know: where the axis stood at the start, a work origin, where a probe trips.

    ``kind`` is "start", "origin", "homed", "trip", "between" (where a probe trips on its way to a place that is not
    known either) or "sum". ``terms`` are the unknowns of a sum and how often each is in it (-1: taken away once), empty
    for any other. ``likely`` is where it is usually, None for nowhere in particular.
    """

    name: Name
    kind: str
    range: Interval
    terms: tuple[tuple[Unknown, float], ...] = ()
    likely: float | None = field(default=None, compare=False)

    @property
    def usual(self) -> float:
        """What it is in the run that is shown and called typical: the middle of its range where nothing else is."""
        if self.terms:
            return sum(count * part.usual for part, count in self.terms)
        return self.range.middle if self.likely is None else self.likely

    @property
    def axis(self) -> str:
        return self.name.axis

    @property
    def parts(self) -> tuple[tuple[Unknown, float], ...]:
        """The unknowns it is made of, itself where it is no sum."""
        return self.terms or ((self, 1),)


@dataclass(slots=True, unsafe_hash=True)  # nothing changes one; frozen ones take four times as long to make
class Afloat:
    """``base`` plus an unknown, mm or degrees."""

    base: float
    unknown: Unknown


Coordinate = float | Afloat
Place = dict[str, Coordinate]
"""A coordinate for every axis of the machine, in the order X Y Z A B C."""


def bounds(coordinate: Coordinate) -> Interval:
    """The closed range a coordinate may lie in."""
    if isinstance(coordinate, Afloat):
        reach = coordinate.unknown.range
        return Interval(coordinate.base + reach.low, coordinate.base + reach.high)
    return Interval(coordinate, coordinate)


def usual(coordinate: Coordinate) -> float:
    """The coordinate in the run that is shown and called typical."""
    return coordinate.base + coordinate.unknown.usual if isinstance(coordinate, Afloat) else coordinate


def how_far(ways: Iterable[Interval]) -> tuple[float, float]:
    """Least and most distance, where the way along each axis may be anything in a range."""
    least, most = [], []
    for away in ways:
        near, far = sorted((abs(away.low), abs(away.high)))
        least.append(0.0 if away.contains(0.0) else near)
        most.append(far)
    return hypot(*least), hypot(*most)


def plus(left: Coordinate, right: Coordinate) -> Coordinate:
    """Sum of two coordinates."""
    if not isinstance(left, Afloat):
        return left + right if not isinstance(right, Afloat) else Afloat(left + right.base, right.unknown)
    if not isinstance(right, Afloat):
        return Afloat(left.base + right, left.unknown)
    return _summed(left.base + right.base, [*left.unknown.parts, *right.unknown.parts])


def minus(left: Coordinate, right: Coordinate) -> Coordinate:
    """Difference of two coordinates; the same unknown cancels."""
    if not isinstance(right, Afloat):
        return plus(left, -right)
    if isinstance(left, Afloat) and left.unknown.name == right.unknown.name:
        return left.base - right.base
    taken = [(unknown, -count) for unknown, count in right.unknown.parts]
    if not isinstance(left, Afloat):
        return _summed(left - right.base, taken)
    return _summed(left.base - right.base, [*left.unknown.parts, *taken])


def times(factor: float, coordinate: Coordinate) -> Coordinate:
    """So many times a coordinate."""
    if not isinstance(coordinate, Afloat):
        return factor * coordinate
    return _summed(factor * coordinate.base, [(unknown, factor * by) for unknown, by in coordinate.unknown.parts])


def _summed(base: float, terms: Iterable[tuple[Unknown, float]]) -> Coordinate:
    """A number and several unknowns, each so many times."""
    counts: dict[Name, tuple[Unknown, float]] = {}
    for unknown, count in terms:
        counts[unknown.name] = (unknown, counts.get(unknown.name, (unknown, 0))[1] + count)
    left = tuple(sorted((term for term in counts.values() if term[1]), key=lambda term: term[0].name))
    if not left:
        return base
    if len(left) == 1 and left[0][1] == 1:
        return Afloat(base, left[0][0])
    ends = [sorted((count * unknown.range.low, count * unknown.range.high)) for unknown, count in left]
    name = Name("sum", left[0][0].axis, terms=tuple((unknown.name, count) for unknown, count in left))
    spread = Interval(sum(low for low, _ in ends), sum(high for _, high in ends))
    return Afloat(base, Unknown(name, "sum", spread, left))


WORDS_FOR_UNKNOWNS = {"start": "as it was", "homed": "as homed", "trip": "as probed"}


def in_words(axis: str, at: Coordinate, figures: Figures) -> str:
    """Where an axis stands, without a unit: a number, or in words what its place depends on."""
    if isinstance(at, Afloat):
        words = WORDS_FOR_UNKNOWNS.get(at.unknown.kind)
        if words and not at.base:
            return words
        if at.unknown.kind == "start":
            return f"{'+' if at.base > 0 else '-'}{figures.coordinate(axis, abs(at.base))} from where it was"
    return figures.interval(axis, bounds(at))
