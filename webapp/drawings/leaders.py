"""Labels with leader lines: each goes to the best place from which its leader crosses no other one.

A label may always stand at its own point without a leader, so that there is a place for it however full the page is.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import tee

from webapp.drawings.edges import Point
from webapp.drawings.lettering import Desk, Patch

SAME = 1e-6
"""Millimetres up to which two points of a drawing are one."""

HAIR = 0.02
"""Millimetres up to which a point lies on a line: what is drawn is written to hundredths of them."""


@dataclass(frozen=True, slots=True)
class Leader:
    """A straight leader line, from the point that the label is about to the label."""

    point: Point
    label: Point


@dataclass(frozen=True, slots=True)
class Spot:
    """A place for a label: what it covers there, and its leader, None where it stands at its point."""

    patch: Patch
    leader: Leader | None = None


def place(
    labels: Iterable[Iterable[Spot]], desk: Desk, thick: float, before: Sequence[Leader] = ()
) -> tuple[Spot, ...]:
    """A place for each label out of its own ``Spot``s, the better ones of which come first.

    No leader crosses another one, nor any of those that were drawn ``before``, and none strikes through lettering.
    ``desk`` says what else of the page is taken, and knows of the labels and of the leaders, ``thick`` with what is to
    stay free about them, afterwards. Spots are asked for until a free one is found.
    ValueError for a label of which every leader would cross another one and that has no spot without.
    """
    drawn = list(before)
    placed = []
    for spots in labels:
        chosen = _chosen(spots, desk, drawn)
        desk.take(chosen.patch)
        placed.append(chosen)
        if chosen.leader:
            drawn.append(chosen.leader)
            desk.take_stroke(chosen.leader.point, chosen.leader.label, thick)
    return tuple(placed)


def _chosen(spots: Iterable[Spot], desk: Desk, drawn: Sequence[Leader]) -> Spot:
    """The first spot that is free, else the one that covers least; one that strikes through lettering last of all."""
    best: tuple[bool, float, Spot] | None = None
    here, weighed = tee(spots)
    for spot, cost in zip(here, desk.costs(spot.patch for spot in weighed), strict=True):
        if best is not None and best[:2] <= (False, cost):
            continue
        if any(_meets(spot, other) for other in drawn):
            continue
        strikes = _strikes(spot, desk)
        if best is None or (strikes, cost) < best[:2]:
            best = (strikes, cost, spot)
        if not strikes and cost == 0.0:
            break
    if best is None:
        raise ValueError("a label needs a place without a leader")
    return best[2]


def _strikes(spot: Spot, desk: Desk) -> bool:
    return spot.leader is not None and desk.strikes(spot.leader.point, spot.leader.label)


def _meets(spot: Spot, other: Leader) -> bool:
    return spot.leader is not None and crossing(spot.leader, other)


def crossing(one: Leader, other: Leader) -> bool:
    """Whether two leaders touch anywhere; two that begin at one point may part there, unless one lies on the other."""
    if math.dist(one.point, other.point) < SAME:
        return _side(one, other.label) == 0.0 and _along(one, other.label) > 0.0
    sides = [_side(one, other.point), _side(one, other.label), _side(other, one.point), _side(other, one.label)]
    if sides[0] * sides[1] > 0.0 or sides[2] * sides[3] > 0.0:
        return False
    return any(sides) or _overlap(one, other)


def _side(line: Leader, point: Point) -> float:
    """How far a point is from the line: positive on one side of it, negative on the other, 0 on it."""
    (x, y), (u, v) = line.point, line.label
    far = ((u - x) * (point[1] - y) - (v - y) * (point[0] - x)) / math.dist(line.point, line.label)
    return far if abs(far) >= HAIR else 0.0


def _along(line: Leader, point: Point) -> float:
    (x, y), (u, v) = line.point, line.label
    return (u - x) * (point[0] - x) + (v - y) * (point[1] - y)


def _overlap(one: Leader, other: Leader) -> bool:
    """Whether two leaders on one straight line share a part of it."""
    return all(
        max(min(one.point[i], one.label[i]), min(other.point[i], other.label[i]))
        <= min(max(one.point[i], one.label[i]), max(other.point[i], other.label[i])) + SAME
        for i in (0, 1)
    )
