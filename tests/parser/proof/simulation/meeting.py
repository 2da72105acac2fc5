"""What a body meets on the way: a keep-out, a box on the frame, or what rides on the table against one on the frame.

A body was clear of a thing where it is judged from, a; it is within the margin of it at a later point p; and it has not
only retreated. Touching is not hitting. Each is told by how far, in mm, so that what floating point may differ by can
be left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import reduce
from itertools import product
from math import inf

import numpy as np
import numpy.typing as npt

from parser.machine import Box, Interval, Machine, Setup
from tests.parser.proof.simulation.legs import Chosen, Leg
from tests.parser.proof.simulation.words import Values

Key = tuple[str, object]
Flags = npt.NDArray[np.bool_]

CHUNK = 512
"""Starts looked at together: their points fit the cache of a processor."""

SHARES = np.linspace(0.0, 1.0, 33)
ROUND = np.linspace(0.0, 1.0, 65)
"""Shares of a straight way and of an arc at which it is looked at; of a straight one, those nearest to corners too."""

EVERYWHERE = Interval(-inf, inf)


@dataclass(frozen=True)
class Body:
    """What hangs on the spindle: ``size`` is its length and radius, None for the tool, of which any may be in it.

    ``wider`` marks a body that may be wider than the nose, and so meet something from below.
    """

    name: str
    size: tuple[float, float] | None = None
    wider: bool = False

    def sized(self, tools: Values) -> tuple[Values, Values]:
        """Length and radius (n)."""
        if self.size is None:
            return tools[0], tools[1]
        return np.full(tools.shape[1], self.size[0]), np.full(tools.shape[1], self.size[1])


def bodies(machine: Machine) -> list[Body]:
    """The tool, and the holder and the nose where they have a size."""
    nose = machine.nose_radius
    found = [Body("tool", wider=machine.tool_radius > nose)]
    if machine.holder_radius or machine.holder_length:
        holder = (machine.holder_length, machine.holder_radius)
        found.append(Body("holder", holder, wider=machine.holder_radius > nose))
    return [*found, Body("nose", (0.0, nose))] if nose else found


@dataclass(frozen=True)
class Outline:
    """A rectangle in plan, as drawn; a side may be endless."""

    x: Interval
    y: Interval

    def distance(self, at: Values) -> Values:
        """Plan distance of places (at least 2, ...), 0 inside."""
        return _gap(at, at, self)

    def inside(self, at: Values) -> Values:
        """How far inside places are; negative outside, 0 on the outline."""
        found: Values = np.minimum(
            np.minimum(at[0] - self.x.low, self.x.high - at[0]), np.minimum(at[1] - self.y.low, self.y.high - at[1])
        )
        return found

    @property
    def corners(self) -> Iterator[tuple[float, float]]:
        """Its corners, where it has any."""
        for x, y in product((self.x.low, self.x.high), (self.y.low, self.y.high)):
            if np.isfinite(x) and np.isfinite(y):
                yield x, y


def _gap(low: Values, high: Values, outline: Outline) -> Values:
    """Least plan distance from an outline of what lies between two corners."""
    found: Values = np.hypot(
        *(
            np.maximum(np.maximum(side.low - high[index], low[index] - side.high), 0.0)
            for index, side in enumerate((outline.x, outline.y))
        )
    )
    return found


@dataclass(frozen=True)
class Obstacle:
    """A box that bodies meet. A keep-out reaches down without end, a box on the frame to its underside, ``bottom``.

    ``nose`` is the radius of the nose, 0 for none.
    """

    key: Key
    outline: Outline
    top: float
    bottom: float
    margin: float
    nose: float
    met_by: tuple[Body, ...] = field(compare=False)

    def clear(self, body: Body, place: Values, size: tuple[Values, Values]) -> Values:
        """By how much a body is clear at a place (3, n) as drawn; negative where it cannot be there."""
        length, radius = size
        beside = np.minimum(self.outline.distance(place) - radius, -self.outline.inside(place))
        found = np.maximum(beside, place[2] - length - self.top)
        if self.bottom == -inf or body.name == "nose":
            return found
        below = place[2] <= self.bottom
        if body.wider:
            return np.where(below, np.maximum(found, self.bottom - place[2]), found)
        return np.where(below, beside, found)

    def depth(self, body: Body, start: Values, at: Values, size: tuple[Values, Values]) -> Values:
        """How far a body is within the margin at places (3, n, ...), having come from ``start`` and not retreated."""
        length, radius = size
        inside, before = self.outline.inside(at), self.outline.inside(start)
        near, was = self.outline.distance(at), self.outline.distance(start)
        found = np.minimum(np.maximum(radius + self.margin - near, inside), self.top + self.margin + length - at[2])
        came_down = (
            start[2] - at[2] if self.top < inf else -inf
        )  # along an axis that does not count nothing comes nearer
        if self.bottom > -inf and body.name != "nose":
            found = np.minimum(found, at[2] - (self.bottom - self.margin))
            came_down = np.where(start[2] <= self.bottom, -came_down if body.wider else -inf, came_down)
        came = np.maximum(np.maximum(was - near, came_down), np.where(before <= 0, inside, -inf))
        return np.minimum(found, came)

    def may_meet(self, body: Body, leg: Leg, low: Values, high: Values) -> Flags:
        """False where nothing between two corners (3, n) can be a hit."""
        length, radius = body.sized(leg.tools)
        near, was = _gap(low, high, self.outline), self.outline.distance(leg.since)
        over = near == 0.0
        found = ((near < radius + self.margin) | over) & (low[2] - length < self.top + self.margin)
        came = (near < was) | ((low[2] < leg.since[2]) & (self.top < inf)) | (over & (was == 0.0))
        if self.bottom > -inf and body.name != "nose":
            found &= high[2] > self.bottom - self.margin
            came |= high[2] > leg.since[2]
        return found & came & (self.clear(body, leg.since, (length, radius)) >= 0)


@dataclass(frozen=True)
class Ride:
    """A box on the table against one on the frame, as the readings at which they overlap."""

    key: Key
    outline: Outline
    others_drawn: bool
    margin: float
    met_by: tuple[Body, ...] = field(compare=False)

    def clear(self, body: Body, place: Values, size: tuple[Values, Values]) -> Values:
        return -self.outline.inside(place) if self.others_drawn else np.zeros(place.shape[1])

    def depth(self, body: Body, start: Values, at: Values, size: tuple[Values, Values]) -> Values:
        inside, before = self.outline.inside(at), self.outline.inside(start)
        near, was = self.outline.distance(at), self.outline.distance(start)
        came = np.maximum(was - near, np.where(before <= 0, inside, -inf))
        return np.minimum(np.maximum(self.margin - near, inside), came)

    def may_meet(self, body: Body, leg: Leg, low: Values, high: Values) -> Flags:
        near = _gap(low, high, self.outline)
        clear: Flags = self.clear(body, leg.since, (near, near)) >= 0
        return clear & ((near < self.margin) | (near == 0.0))


Thing = Obstacle | Ride


def things(machine: Machine, setup: Setup) -> list[Thing]:
    """Everything that may be met in a setup."""
    hang, margin, nose = tuple(bodies(machine)), machine.keep_out_margin, machine.nose_radius
    carried = {axis.name: axis.carried_by == "table" for axis in machine.axes}
    found: list[Thing] = []
    for box in setup.keep_outs:
        outline = Outline(Interval(box.low[0], box.high[0]), Interval(box.low[1], box.high[1]))
        found.append(Obstacle((box.name, ""), outline, box.high[2], -inf, margin, nose, hang))
    for box in machine.enclosures:
        drawn = [Interval(low, high) for low, high in zip(box.low, box.high, strict=True)]
        x, y = (EVERYWHERE if carried[axis] else side for axis, side in zip("xy", drawn, strict=False))
        top, bottom = (inf, -inf) if carried["z"] else (box.high[2], box.low[2])
        found.append(Obstacle((box.name, ""), Outline(x, y), top, bottom, margin, nose, hang))
    if not carried["z"]:
        rides = (_ride(rider, fixed, carried, margin) for fixed, rider in product(machine.enclosures, setup.keep_outs))
        found += [ride for ride in rides if ride is not None]
    return found


def _ride(rider: Box, fixed: Box, carried: dict[str, bool], margin: float) -> Ride | None:
    """None where the two never meet, because along an axis that the table does not carry they are apart."""
    sides, drawn = [], True
    for index, axis in enumerate("xyz"):
        low, high = rider.low[index] - fixed.high[index], rider.high[index] - fixed.low[index]
        if carried[axis]:
            sides.append(Interval(low, high))
            continue
        sides.append(EVERYWHERE)
        drawn = drawn and low < 0 < high
        if not low - margin < 0 < high + margin:
            return None
    return Ride((fixed.name, rider.name), Outline(sides[0], sides[1]), drawn, margin, (Body("rider", (0.0, 0.0)),))


@dataclass(frozen=True)
class Met:
    """Which starts (n) make a hit with a body; ``line`` is that of the first hit, 0 for none."""

    body: Body
    line: npt.NDArray[np.intp]

    @property
    def hit(self) -> Flags:
        return self.line > 0


def met(thing: Thing, legs: Sequence[Leg], slack: float) -> list[Met]:
    """What a thing is met by on some ways: a hit is deeper than ``slack``."""
    count = legs[0].begin.shape[1] if legs else 0
    found = [Met(body, np.zeros(count, np.intp)) for body in thing.met_by]
    for leg in legs:
        low, high = leg.reach()
        likely = [~each.hit & thing.may_meet(each.body, leg, low, high) for each in found]
        for part in chunks(reduce(np.logical_or, likely)):
            points, give = _looked_at(thing, leg, part, slack)
            start = leg.since[:, part, None]
            for each, may in zip(found, likely, strict=True):
                length, radius = each.body.sized(leg.tools[:, part])
                deep = thing.depth(each.body, start, points, (length[:, None], radius[:, None]))
                each.line[part[(deep > give).any(axis=1) & may[part]]] = leg.line
    return found


def _looked_at(thing: Thing, leg: Leg, part: Chosen, slack: float) -> tuple[Values, Values]:
    """Points (3, starts, points) of a way, and how deep each has to be before it counts: on an arc, but for its ends,
    the real way may lie beside the one that is followed."""
    if leg.bend:
        give = np.where((ROUND == 0.0) | (ROUND == 1.0), slack, slack + leg.give)
        return leg.points(part, ROUND), give
    shares = np.broadcast_to(SHARES, (len(part), len(SHARES)))
    if leg.gains is None:
        shares = np.concatenate([shares, *_nearest(thing.outline, leg, part)], axis=1)
    return leg.points(part, shares), np.array(slack)


def _nearest(outline: Outline, leg: Leg, part: Chosen) -> Iterator[Values]:
    """The share of a straight way at which it is nearest to each corner of an outline."""
    begin, way = leg.begin[:2, part], (leg.end - leg.begin)[:2, part]
    square = np.maximum((way**2).sum(axis=0), 1e-18)
    for corner in outline.corners:
        share = ((np.array(corner)[:, None] - begin) * way).sum(axis=0) / square
        yield np.clip(share, 0.0, 1.0)[:, None]


def chunks(chosen: Flags) -> Iterator[Chosen]:
    """The numbers of the chosen starts, some at a time."""
    numbers = np.flatnonzero(chosen)
    for first in range(0, len(numbers), CHUNK):
        yield numbers[first : first + CHUNK]


def first_hits(found: Iterable[Met]) -> Flags:
    """Which starts make a hit with any body."""
    return reduce(np.logical_or, (each.hit for each in found))
