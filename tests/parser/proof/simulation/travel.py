"""What leaves travel, or breaks a limit that ties one axis to another, on the way."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from parser.machine import Axis, Limit, Machine
from tests.parser.proof.simulation.legs import Leg
from tests.parser.proof.simulation.meeting import ROUND, SHARES, Flags, Key, chunks
from tests.parser.proof.simulation.program import AXES
from tests.parser.proof.simulation.words import Values


def out(machine: Machine, legs: Sequence[Leg], slack: float) -> dict[Key, Flags]:
    """For each axis and line, which starts (n) are taken out of travel there, further out than they were.

    Where a way only comes back from outside, the line that went there is to blame.
    """
    found: dict[Key, Flags] = {}
    for leg in legs:
        moving = leg.moving
        for index, axis in enumerate(machine.axes):
            if moving[index]:
                begin, since = leg.begin[index], leg.since[index]
                over = outside(axis, machine.travel_margin, leg.end[index], since, begin) > slack
                for crest in _crests(leg, index):
                    over |= outside(axis, machine.travel_margin, crest, since, begin) > slack + leg.give
                found[axis.name, leg.line] = found.get((axis.name, leg.line), False) | over
    return found


def _crests(leg: Leg, index: int) -> tuple[Values, ...]:
    """How far an arc takes an axis between its ends; not a number where it only does so at an end."""
    if leg.bend is None or index not in leg.bend.axes:
        return ()
    return leg.bend.extents(leg.bend.axes.index(index))


def outside(axis: Axis, margin: float, at: Values, *before: Values) -> Values:
    """How far a coordinate is nearer to an end of travel than the margin, and further out than any of some before."""
    most, least = np.maximum.reduce(before), np.minimum.reduce(before)
    over = at - np.maximum(most, axis.travel.high - margin)
    under = np.minimum(least, axis.travel.low + margin) - at
    found: Values = np.fmax(over, under)
    return np.nan_to_num(found, nan=-1.0)


def out_of_limits(machine: Machine, legs: Sequence[Leg], slack: float) -> dict[Key, Flags]:
    """For each line, which starts (n) break a limit there, one of its two axes having come nearer to that.

    Half of a rounded corner belongs to the way before it, half to the one after.
    """
    found: dict[Key, Flags] = {}
    for leg in legs:
        for limit in machine.limits:
            over = found.setdefault(("limit", leg.line), np.zeros(leg.begin.shape[1], bool))
            for part in chunks(_may_break(limit, *leg.reach())):
                points = leg.points(part, ROUND if leg.bend else SHARES, corners=np.linspace(0.0, 0.5, 5))
                over[part] |= (broken(limit, points, leg.since[:, part, None]) > slack + leg.give).any(axis=1)
    return found


def _may_break(limit: Limit, low: Values, high: Values) -> Flags:
    """Whether some place between two corners may be past both values."""
    furthest = ((high if sign > 0 else low)[index] * sign - value * sign for index, sign, value in _sides(limit))
    found: Flags = np.minimum(*furthest) > 0
    return found


def _sides(limit: Limit) -> list[tuple[int, float, float]]:
    """The two axes by number, the sign in which they go past their value, and the value."""
    found = []
    for (axis, op, value), holds in ((limit.when, True), (limit.then, False)):
        found.append((AXES.index(axis), 1.0 if (">" in op) == holds else -1.0, value))
    return found


def _past(limit: Limit, at: Values) -> Values:
    """How far a place is past both values."""
    found: Values = np.minimum(*(sign * (at[index] - value) for index, sign, value in _sides(limit)))
    return found


def broken(limit: Limit, at: Values, start: Values) -> Values:
    """How far a limit is broken at places, by the least of what would fix it; not positive where it is kept."""
    came = np.maximum(*(sign * (at[index] - start[index]) for index, sign, _ in _sides(limit)))
    found: Values = np.minimum(_past(limit, at), came)
    return found
