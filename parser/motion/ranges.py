"""Values known only within a range: where a probe tripped, an origin that the sheet gives as a range.

Such a value may be used by itself, with something added or taken away, or so many times, as half of the sum of two is:
all of that keeps it tied to what is not known. Anything else that is done with it (a root, a product of two, a word
that is not a coordinate) is not followed. Every value, known or not, comes with what it rests on.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import isfinite

from parser.language import values as calculation
from parser.language.program import Binary, ParameterValue, RealValue
from parser.motion.assumptions import NOTHING, Assumption, Rests, added, for_good
from parser.motion.places import Afloat, Coordinate, bounds, minus, plus, times


@dataclass(frozen=True, slots=True)
class Ranged:
    """The coordinate ``at`` (mm or degrees) counted in units of ``unit``: 25.4 for an inch."""

    at: Afloat
    unit: float = 1.0


Value = float | Ranged
Known = tuple[Value, Rests]
"""A value and what it rests on."""


class NumberedError(Exception):
    """A parameter that cannot be used as it is; ``number`` says which."""

    def __init__(self, number: int) -> None:
        super().__init__(f"#{number}")
        self.number = number


class RangedError(NumberedError):
    """Something was to be done with the loose value of a parameter that cannot be followed."""


def counted(at: Coordinate, unit: float) -> Value:
    """A coordinate as a value in units of ``unit``."""
    return Ranged(at, unit) if isinstance(at, Afloat) else at / unit


def measured(value: Value, unit: float) -> Coordinate:
    """The coordinate that a value means where one of it is worth ``unit``."""
    if not isinstance(value, Ranged):
        return value * unit
    if value.unit == unit:
        return value.at
    return times(unit / value.unit, value.at)


def evaluate(value: RealValue, parameters: Callable[[float], Known]) -> Known:
    """What a real value comes to; raises RangedError, Arithmetic, and what ``parameters`` raises."""
    read: list[Assumption] = []

    def certain(index: float) -> float:
        found, rests = parameters(index)
        if isinstance(found, Ranged):
            raise RangedError(round(index))
        read.extend(rests)
        return found

    match value:
        case ParameterValue(index):
            number = float(calculation.parameter_number(calculation.evaluate(index, certain)))
            found, rests = parameters(number)
            return found, {**rests, **for_good(read)} if read else rests
        case Binary("+" | "-" as name, left, right):
            (one, one_rests), (other, other_rests) = evaluate(left, parameters), evaluate(right, parameters)
            rests = added(one_rests, other_rests, 1.0 if name == "+" else -1.0) if one_rests or other_rests else NOTHING
            return _sum(name, one, other), rests
        case Binary("*" | "/" as name, left, right):
            share = _so_many_times(name, evaluate(left, parameters), evaluate(right, parameters))
            return share or (calculation.evaluate(value, certain), for_good(read) if read else NOTHING)
        case _:
            return calculation.evaluate(value, certain), for_good(read) if read else NOTHING


def _so_many_times(name: str, left: Known, right: Known) -> Known | None:
    """A product or quotient of a value in a range and a number; None where it is none, and of an origin by itself."""
    (one, one_rests), (other, other_rests) = left, right
    if isinstance(one, Ranged) and not isinstance(other, Ranged):
        factor = calculation.evaluate(Binary(name, 1.0, other), float)
        ranged, rests, others = one, one_rests, other_rests
    elif isinstance(other, Ranged) and not isinstance(one, Ranged) and name == "*":
        factor, ranged, rests, others = one, other, other_rests, one_rests
    else:
        return None
    if ranged.at.unknown.kind == "origin":  # half of where a zero is says nothing that anybody could mean
        return None
    share = times(factor, measured(ranged, ranged.unit))
    _require_size(share)
    return counted(share, ranged.unit), {**added(NOTHING, rests, factor), **for_good(others)}


def _sum(name: str, left: Value, right: Value) -> Value:
    unit = left.unit if isinstance(left, Ranged) else right.unit if isinstance(right, Ranged) else None
    if unit is None:
        assert not isinstance(left, Ranged)
        assert not isinstance(right, Ranged)
        return calculation.evaluate(Binary(name, left, right), float)
    both = plus if name == "+" else minus
    found = both(measured(left, unit), measured(right, unit))
    _require_size(found)
    return counted(found, unit)


def _require_size(found: Coordinate) -> None:
    reach = bounds(found)
    if not (isfinite(reach.low) and isfinite(reach.high)):
        raise calculation.Arithmetic("This comes to more than can be calculated with.", "Use smaller values.")
