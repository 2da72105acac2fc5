"""Where an axis may be: a number, or a number beside something that is not known.

Each coordinate is a constant plus at most one unknown with its interval, so that the same unknown cancels: from an
unknown X, ``X0`` then ``X10`` in one work system is exactly 10 mm. A sum of two different unknowns becomes one new
unknown with the sum of their intervals, which only ever widens what is considered possible.
"""

from __future__ import annotations

from dataclasses import dataclass

from parser.machine import Interval


@dataclass(frozen=True, slots=True)
class Unknown:
    """Something the macro cannot know: where the axis stood at the start, a work origin, where a probe trips.

    ``kind`` is "start", "origin", "homed", "trip" or "sum"; ``axis`` the axis it belongs to; ``name`` tells it from
    any other ("start.x", "G54.x", "homed.z@4").
    """

    name: str
    kind: str
    axis: str
    range: Interval


@dataclass(frozen=True, slots=True)
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


def middle(coordinate: Coordinate) -> float:
    """The coordinate with its unknown at the middle of its range."""
    return bounds(coordinate).middle


def plus(left: Coordinate, right: Coordinate) -> Coordinate:
    """Sum of two coordinates."""
    if not isinstance(left, Afloat):
        return left + right if not isinstance(right, Afloat) else Afloat(left + right.base, right.unknown)
    if not isinstance(right, Afloat):
        return Afloat(left.base + right, left.unknown)
    one, two = left.unknown, right.unknown
    spread = Interval(one.range.low + two.range.low, one.range.high + two.range.high)
    return Afloat(left.base + right.base, Unknown(f"{one.name}+{two.name}", "sum", one.axis, spread))


def minus(left: Coordinate, right: Coordinate) -> Coordinate:
    """Difference of two coordinates; the same unknown cancels."""
    if not isinstance(right, Afloat):
        return plus(left, -right)
    if isinstance(left, Afloat) and left.unknown.name == right.unknown.name:
        return left.base - right.base
    reach = right.unknown.range
    turned = Unknown(f"-{right.unknown.name}", "sum", right.unknown.axis, Interval(-reach.high, -reach.low))
    return plus(left, Afloat(-right.base, turned))
