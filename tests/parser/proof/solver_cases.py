"""Single cases in plain arithmetic: by how much a start and a point of a move hit, and whether they belong together.

What the proof shows with a refusal is held to this, and what the solver finds is as well, so that a condition that was
written down wrongly for either is noticed.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from math import hypot, inf

from parser.machine import Interval, Limit, Setup
from tests.parser.proof.solver import End, Ride, Subject, Thing, Values
from tests.parser.proof.solver_scenes import AXES, Leg, Place

Point = tuple[float, float, float]

NEAR = 1e-6
"""mm by which the shown point may lie beside the way, and the shown tool in what it stood clear of."""


@dataclass(frozen=True)
class Shown:
    """A case: where a move is judged from, a point of it, and the tool; sizes are 0 where no tool is shown."""

    a: Point
    p: Point
    length: float = 0.0
    radius: float = 0.0


def by_how_much(subject: Subject, case: Shown) -> float:
    """mm by which everything that has to be passed is passed; minus infinity for a start that cannot be."""
    if isinstance(subject, Thing):
        return _met(subject, case)
    if isinstance(subject, Ride):
        near = max(float(subject.margin) - _distance(case.p, subject.readings), _inside(case.p, subject.readings))
        return min(near, _nearer(case, subject.readings)) if subject.beside else -inf
    if isinstance(subject, End):
        index, sign = AXES.index(subject.axis), 1.0 if subject.high else -1.0
        out, further = case.p[index] - float(subject.place), case.p[index] - case.a[index]
        return min(sign * out, sign * further)
    return _broken(subject, case)


def _met(thing: Thing, case: Shown) -> float:
    (_, _, was_z), (_, _, is_z) = case.a, case.p
    length, radius = (case.length, case.radius) if thing.any_size else (float(thing.length), float(thing.radius))
    margin, faces = float(thing.margin), thing.faces
    top = inf if thing.top is None else float(thing.top)
    bottom = -inf if thing.bottom is None else float(thing.bottom)
    below = was_z <= bottom
    beside = _inside(case.a, faces) <= NEAR and _distance(case.a, faces) >= radius - NEAR
    wide = thing.radius > thing.nose
    if not (beside or (below and wide) or was_z - length >= top - NEAR):
        return -inf
    near = max(radius + margin - _distance(case.p, faces), _inside(case.p, faces))
    if thing.top is None:
        return min(near, _nearer(case, faces))
    high, low = top + margin - (is_z - length), is_z - (bottom - margin)
    came = (is_z - was_z if wide else -inf) if below else was_z - is_z
    return min(near, high, low, max(_nearer(case, faces), came))


def _nearer(case: Shown, faces: tuple) -> float:
    """How much nearer p is in plan than a, or how far over the box where a was not."""
    came_over = _inside(case.p, faces) if _inside(case.a, faces) <= NEAR else -inf
    return max(_distance(case.a, faces) - _distance(case.p, faces), came_over)


def _distance(q: Point, faces: tuple) -> float:
    gaps = [max(float(side[0]) - at, 0.0, at - float(side[1])) for at, side in zip(q, faces, strict=False) if side]
    return hypot(*gaps)


def _inside(q: Point, faces: tuple) -> float:
    """How far over the box it is, negative where it is not."""
    return min(
        (min(at - float(side[0]), float(side[1]) - at) for at, side in zip(q, faces, strict=False) if side), default=inf
    )


def _broken(limit: Limit, case: Shown) -> float:
    past, came = [], []
    for (axis, op, value), wanted in ((limit.when, True), (limit.then, False)):
        index, sign = AXES.index(axis), 1.0 if (">" in op) == wanted else -1.0
        past.append(sign * (case.p[index] - value))
        came.append(sign * (case.p[index] - case.a[index]))
    return min(*past, max(came))


def case_of(subject: Subject, leg: Leg, start: dict[str, Interval], setup: Setup, values: Values) -> Shown:
    """The case of some values of the unknowns; a start or an origin that is not given is at its least."""
    known = {f"start.{axis}": side.low for axis, side in start.items()}
    known |= {f"origin.{axis}": side.low for axis, side in setup.origins["G54"].axes.items()}
    known |= {"t": 0.0, "length": 0.0, "radius": 0.0} | values
    t = 1.0 if isinstance(subject, End) else known["t"]

    def at(places: dict[str, Place]) -> list[float]:
        return [_value(places[axis], known[f"start.{axis}"], known[f"origin.{axis}"]) for axis in AXES]

    x, y, z = ((1 - t) * begin + t * end for begin, end in zip(at(leg.begin), at(leg.end), strict=True))
    a_x, a_y, a_z = at(leg.judged_from)
    return Shown((a_x, a_y, a_z), (x, y, z), known["length"], known["radius"])


def judged_from(leg: Leg, setup: Setup, start: dict[str, float], at: dict[str, float]) -> Iterator[Point]:
    """Places that a move through ``at`` is judged from where the macro started at ``start``; none where it cannot be.

    After a pause the place may hang on an origin that is not known. At each end of the part of the move that may be at
    ``at`` the origin is worked out where it can be, and else taken at its ends.
    """
    shares = Interval(0.0, 1.0)
    for axis in AXES:
        low, high = (_ends(leg, setup, axis, start[axis], most) for most in (False, True))
        shares = _at_most(shares, low[0] - at[axis] - NEAR, low[1] - at[axis] - NEAR)
        shares = _at_most(shares, at[axis] - NEAR - high[0], at[axis] - NEAR - high[1])
    if shares.length < 0:
        return
    for t in {shares.low, shares.middle, shares.high}:
        yield from product(*(_places(leg, setup, axis, start[axis], at[axis], t) for axis in AXES))


def _value(place: Place, start: float, origin: float) -> float:
    return float(place.number) + start * place.on_start + origin * place.on_origin


def _ends(leg: Leg, setup: Setup, axis: str, start: float, most: bool) -> tuple[float, float]:
    """Where an axis begins and ends the move for the least or the greatest origin."""
    known = setup.origins["G54"].axes[axis]
    origin = known.high if most else known.low
    return _value(leg.begin[axis], start, origin), _value(leg.end[axis], start, origin)


def _at_most(shares: Interval, first: float, last: float) -> Interval:
    """The shares at which what goes evenly from ``first`` to ``last`` is at most 0; a length below 0 for none."""
    if first <= 0 and last <= 0:
        return shares
    if first > 0 and last > 0:
        return Interval(1.0, 0.0)
    crossing = first / (first - last)
    low, high = (shares.low, crossing) if first <= 0 else (crossing, shares.high)
    return Interval(max(low, shares.low), min(high, shares.high))


def _places(leg: Leg, setup: Setup, axis: str, start: float, at: float, t: float) -> list[float]:
    """Where an axis may have been when the judgement began, for a move that is at ``at`` at a share t."""
    origin, place = setup.origins["G54"].axes[axis], leg.judged_from[axis]
    if not place.on_origin:
        return [_value(place, start, 0.0)]
    begin, end = leg.begin[axis], leg.end[axis]
    hangs = (1 - t) * begin.on_origin + t * end.on_origin
    found = [origin.low, origin.high]
    if hangs > 0:
        rest = (1 - t) * _value(begin, start, 0.0) + t * _value(end, start, 0.0)
        found = [min(max((at - rest) / hangs, origin.low), origin.high)]
    return [_value(place, start, each) for each in found]
