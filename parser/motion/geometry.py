"""Where a move passes: its extents over everything unknown, and single points of it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from parser.machine import Interval
from parser.motion.moves import Arc, Move
from parser.motion.places import Afloat, Coordinate, Name, bounds, minus


def extents(move: Move) -> dict[str, Interval]:
    """The closed range each axis passes through, whatever the unknowns are; exact for arcs."""
    reach = {axis: bounds(at).hull(bounds(move.end[axis])) for axis, at in move.start.items()}
    if move.arc is not None:
        arc = move.arc
        radius = max(arc.radius, closing_radius(move, arc))
        for number, axis in enumerate(arc.axes):
            centre = bounds(arc.centre[number])
            for offset in _turning_points(arc, number):
                at = Interval(centre.low + radius * offset, centre.high + radius * offset)
                reach[axis] = reach[axis].hull(at)
    return reach


def _turning_points(arc: Arc, number: int) -> Iterator[float]:
    """+1 and -1 where the arc passes its furthest point along its first (0) or second (1) axis."""
    low, high = sorted((arc.begins, arc.begins + arc.sweep))
    for direction, angle in ((1.0, 90.0 * number), (-1.0, 180.0 + 90.0 * number)):
        if low <= angle + 360.0 * math.ceil((low - angle) / 360.0) <= high:
            yield direction


def closing_radius(move: Move, arc: Arc) -> float:
    """Radius at the end, which may differ from that at the start by what the standard lets pass."""
    spokes = [minus(move.end[axis], centre) for axis, centre in zip(arc.axes, arc.centre, strict=True)]
    flat = [spoke for spoke in spokes if not isinstance(spoke, Afloat)]
    return math.hypot(*flat) if len(flat) == 2 else arc.radius


def point_at(move: Move, fraction: float, at: Mapping[Name, float]) -> dict[str, float]:
    """The point after a fraction (0 to 1) of the move; ``at`` gives the value of unknowns by name.

    An unknown that ``at`` leaves out is taken at the middle of its range.
    """
    point = {}
    for axis, start in move.start.items():
        begin, end = value_of(start, at), value_of(move.end[axis], at)
        point[axis] = begin + (end - begin) * fraction
    if move.arc is not None:
        arc = move.arc
        radius = arc.radius + (closing_radius(move, arc) - arc.radius) * fraction
        angle = math.radians(arc.begins + arc.sweep * fraction)
        for axis, centre, share in zip(arc.axes, arc.centre, (math.cos(angle), math.sin(angle)), strict=True):
            point[axis] = value_of(centre, at) + radius * share
    return point


def value_of(coordinate: Coordinate, at: Mapping[Name, float]) -> float:
    """A coordinate with its unknown at the value given by name, or at the middle of its range."""
    if not isinstance(coordinate, Afloat):
        return coordinate
    parts = coordinate.unknown.parts
    return coordinate.base + sum(count * at.get(part.name, part.usual) for part, count in parts)
