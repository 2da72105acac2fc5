"""Can a tool, the holder or the nose meet a keep-out on one move, from some start?

A keep-out K stands on the table and is grown by its margin. With d the plan distance to K, top its top, a the start and
p a later point, a tool no longer than L and no thicker than R that was clear of K at a may hit it at p where

    d(p) < R  and  p_z < top + L  and  (d(p) < d(a)  or  (p_z < a_z  and  a_z >= top)).

The tool stood beside K and came closer in plan, or it stood above K and came down. A holder or nose has one size, so it
stood above K where a_z >= top + L, and beside it where d(a) >= R; starts that are neither are left out.

d(p) < R is decided exactly, rounded corners included; so is coming down from above. An approach from beside is either
shown by a case that plain arithmetic confirms, or the module ``approaches`` decides it to 0.001 mm, erring only towards
a false alarm. Closer in plan means closer along X or along Y, so only those pieces of a move are looked at.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from math import hypot, inf, sqrt

import numpy as np
import numpy.typing as npt

from parser.machine import Box as Solid
from parser.machine import Interval, Machine
from parser.proof.approaches import TOLERANCE, closest_cases, closing_in
from parser.proof.stretches import (
    TOUCH,
    Line,
    Piece,
    Stretch,
    above_start,
    anywhere,
    at,
    at_most,
    below_start,
)

FAR = 1e9
"""mm: a face that is not there, as of an enclosure along an axis that the head does not carry."""

LEAST_RADIUS = 1e-3
"""mm: a tool whose thickness the sheet leaves out is still a line with some width."""

RIDER_RADIUS = 2 * TOUCH
"""mm: what rides on the table is followed as a line with just enough width to tell meeting from touching."""

Point = tuple[float, float, float]
Grid = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Obstacle:
    """A keep-out or enclosure grown by its margin: its name, its plan outline and its top, in mm."""

    name: str
    x: Interval
    y: Interval
    top: float

    def distance(self, x: float, y: float) -> float:
        """Plan distance from a point, 0 inside."""
        return hypot(max(self.x.low - x, 0.0, x - self.x.high), max(self.y.low - y, 0.0, y - self.y.high))


@dataclass(frozen=True, slots=True)
class Body:
    """What may meet an obstacle: a cylinder of ``radius`` reaching ``length`` below the nose.

    ``name`` is "tool", "holder" or "nose", or that of a box which rides on the table. ``any_size`` is True for the
    tool: any thinner and any shorter one may be in the spindle as well.
    """

    name: str
    length: float
    radius: float
    any_size: bool = False


@dataclass(frozen=True, slots=True)
class Hit:
    """A start and a point of the path where ``body`` is inside ``obstacle`` by ``depth`` mm, having been clear of it.

    ``size`` is the length and radius of the body that does it. ``depth`` of 0 marks a case that plain arithmetic does
    not confirm: it lies within the tolerance of the decision.
    """

    start: Point
    point: Point
    size: tuple[float, float]
    depth: float


def bodies(machine: Machine) -> tuple[Body, ...]:
    """The bodies of a machine that the sheet gives a size."""
    found = []
    if machine.tool_stick_out > 0:
        found.append(Body("tool", machine.tool_stick_out, max(machine.tool_radius, LEAST_RADIUS), any_size=True))
    if machine.holder_radius > 0 and machine.holder_length > 0:
        found.append(Body("holder", machine.holder_length, machine.holder_radius))
    if machine.nose_radius > 0:
        found.append(Body("nose", 0.0, machine.nose_radius))
    return tuple(found)


def clearance(machine: Machine) -> float:
    """What a box grows by: the margin of the sheet, and what a blended corner may be cut by."""
    return machine.keep_out_margin + (machine.tolerance if machine.corner == "blend" else 0.0)


def keep_out(box: Solid, margin: float) -> Obstacle:
    """A keep-out box as an obstacle: grown sideways and upwards, standing on the table."""
    return Obstacle(
        box.name,
        Interval(box.low[0] - margin, box.high[0] + margin),
        Interval(box.low[1] - margin, box.high[1] + margin),
        box.high[2] + margin,
    )


def enclosure(box: Solid, machine: Machine) -> Obstacle:
    """A box on the frame as an obstacle: only axes that the head carries count, along the others it has no faces.

    So where the table carries Z, no height of the table clears it.
    """
    margin = clearance(machine)
    sides = []
    for index, name in enumerate("xy"):
        axis = machine.axis(name)
        carried = axis is not None and axis.carried_by == "head"
        sides.append(Interval(box.low[index] - margin, box.high[index] + margin) if carried else Interval(-FAR, FAR))
    top = FAR if table_carries_z(machine) else box.high[2] + margin
    return Obstacle(box.name, sides[0], sides[1], top)


def riding(box: Solid, fixed: Solid, machine: Machine) -> Obstacle | None:
    """Where the axes stand while a box on the table is inside one on the frame; None where they never meet.

    Along an axis that the table carries, the frame is measured from the spindle: there the box stands at its own place
    less the reading. Along the others the table stands still and the two are where the sheet says. The faces are drawn
    in by ``RIDER_RADIUS``, so that the line touches where the boxes do.
    """
    margin = clearance(machine)
    sides = []
    for index, name in enumerate("xyz"):
        axis = machine.axis(name)
        low, high = box.low[index] - fixed.high[index] - margin, box.high[index] - fixed.low[index] + margin
        if axis is not None and axis.carried_by == "table":
            sides.append(Interval(low + RIDER_RADIUS, high - RIDER_RADIUS))
        elif low < 0 < high:
            sides.append(Interval(-FAR, FAR))
        else:
            return None
    return Obstacle(fixed.name, sides[0], sides[1], FAR)


def table_carries_z(machine: Machine) -> bool:
    """Whether Z moves the table, as on a machine with a knee."""
    axis = machine.axis("z")
    return axis is not None and axis.carried_by == "table"


def penetration(start: Point, point: Point, obstacle: Obstacle, body: Body) -> tuple[float, float, float]:
    """How deep ``body`` is in ``obstacle`` at ``point`` when it was clear of it at ``start``: (depth, length, radius).

    Plain arithmetic on one case: the formula at the head of this module, d(p) < d(a) as it stands. For the tool, the
    size returned is one that was clear at the start and is not at the point: the largest, or one halfway between those
    that just were clear and those that just are. Depth at most 0 means no hit.
    """
    near, was = obstacle.distance(point[0], point[1]), obstacle.distance(start[0], start[1])
    over = obstacle.top + body.length - point[2]
    if not body.any_size:
        clear = was >= body.radius or start[2] >= obstacle.top + body.length
        return (min(body.radius - near, over) if clear else -inf), body.length, body.radius
    beside = min(min(body.radius, was) - near, over)
    above = min(body.radius - near, over, start[2] - point[2]) if start[2] >= obstacle.top else -inf
    if beside >= above:
        return beside, body.length, body.radius if was > body.radius else (near + was) / 2
    height = start[2] - obstacle.top
    shortest = max(point[2] - obstacle.top, 0.0)
    return above, body.length if height > body.length else (shortest + height) / 2, body.radius


def hit_on(
    x: Stretch,
    y: Stretch,
    z: Stretch,
    obstacle: Obstacle,
    body: Body,
    *,
    together: bool = True,
    shown: bool = True,
    tolerance: float = TOLERANCE,
) -> Hit | None:
    """Whether a move hits, with the deepest case found; None means that no start makes it hit.

    ``together`` says that it is straight; otherwise only the box it sweeps is known, and the axes go along each in its
    own time. ``shown`` False is content with any case, which is quicker. ``tolerance`` is how far the answer may err
    towards a false alarm, mm; coarser is quicker. From above the meeting of pieces decides; from beside a case has to
    be found, or ``approaches`` decides.
    """
    roof = obstacle.top + body.length - TOUCH
    if min(z.first.low, z.last.low) > roof:
        return None
    above = _meeting(_from_above(x, y, z, obstacle, body), obstacle, body, together)
    if above and not shown:
        return _UNSEEN
    beside = _meeting(_from_beside(x, y, z, obstacle, body), obstacle, body, together)
    if not above and not beside:
        return None
    worst = _deepest([*above, *beside], obstacle, body, shown)
    if above or worst.depth > 0:
        return worst
    times = at_most(z.low, roof, 0.0, 1.0) or (0.0, 1.0)
    sides = obstacle.x, obstacle.y
    fixed = not body.any_size
    closer = closing_in(x, y, sides, body.radius, fixed, times, together=together, tolerance=tolerance)
    if closer is None or not shown:
        return None if closer is None else _UNSEEN
    cases = closest_cases(closer, x, y, sides, together)
    return max(_lowest_case(cases, z, obstacle, body, together), worst, key=lambda found: found.depth)


def _lowest_case(cases: Grid, z: Stretch, obstacle: Obstacle, body: Body, together: bool) -> Hit:
    """The deepest of some cases in plan, the body as low as it may be."""
    (piece,) = anywhere(z)
    lowest = piece.low[0] + (piece.low[1] - piece.low[0]) * cases[:, 0] if together else np.full(len(cases), min(z.low))
    was, near = _distances(cases[:, 1], cases[:, 2], obstacle), _distances(cases[:, 3], cases[:, 4], obstacle)
    beside = (np.minimum(body.radius, was) if body.any_size else np.full(len(cases), body.radius)) - near
    clear = np.full(len(cases), True) if body.any_size else was >= body.radius
    best = int(np.argmax(np.where(clear, np.minimum(beside, obstacle.top + body.length - lowest), -inf)))
    _, start_x, start_y, at_x, at_y = cases[best].tolist()
    start, point = (start_x, start_y, piece.start_low), (at_x, at_y, float(lowest[best]))
    depth, length, radius = penetration(start, point, obstacle, body)
    return Hit(start, point, (length, radius), max(depth, 0.0))


_UNSEEN = Hit((0.0, 0.0, 0.0), (0.0, 0.0, 0.0), (0.0, 0.0), 0.0)


@dataclass(frozen=True, slots=True)
class Meeting:
    """Three pieces that meet an obstacle, the t of nearest approach, and the t between which the body is low enough."""

    x: Piece
    y: Piece
    z: Piece
    nearest: float
    low: float
    high: float


Pieces = tuple[Piece, Piece, Piece]


def _meeting(pieces: Iterator[Pieces], obstacle: Obstacle, body: Body, together: bool) -> list[Meeting]:
    """Those of the pieces that meet the obstacle."""
    found = []
    for x, y, z in pieces:
        loose = (x, y, z) if together else (_loose(x), _loose(y), _loose(z))
        times = _meeting_times(*loose, obstacle, body)
        if times is not None:
            found.append(Meeting(*loose, *times))
    return found


def _from_above(x: Stretch, y: Stretch, z: Stretch, obstacle: Obstacle, body: Body) -> Iterator[Pieces]:
    """Pieces in which the body stood above the obstacle and has come down."""
    above = obstacle.top if body.any_size else obstacle.top + body.length
    yield from product(anywhere(x), anywhere(y), below_start(z, above))


def _from_beside(x: Stretch, y: Stretch, z: Stretch, obstacle: Obstacle, body: Body) -> Iterator[Pieces]:
    """Pieces in which the body stood beside the obstacle and has come closer along X or along Y."""
    if body.any_size:
        yield from product(_closer(x, obstacle.x, 0.0), anywhere(y), anywhere(z))
        yield from product(anywhere(x), _closer(y, obstacle.y, 0.0), anywhere(z))
    else:
        for px, py in _closer_from_outside(x, y, obstacle, body.radius):
            yield from product(px, py, anywhere(z))


def _closer(axis: Stretch, side: Interval, clear: float) -> list[Piece]:
    """Positions nearer to the obstacle along this axis than a start at least ``clear`` away from it was."""
    if axis.still:
        return []
    return below_start(axis, side.high + clear) + above_start(axis, side.low - clear)


def _closer_from_outside(
    x: Stretch, y: Stretch, obstacle: Obstacle, radius: float
) -> Iterator[tuple[list[Piece], list[Piece]]]:
    """Approaches along X or Y by starts a body of that radius fits at: at least radius / sqrt 2 off along X or Y."""
    off = radius / sqrt(2)
    yield _closer(x, obstacle.x, off), anywhere(y)
    yield anywhere(x), _closer(y, obstacle.y, off)
    for aside in _starting_outside(y, obstacle.y, off):
        yield _closer(x, obstacle.x, 0.0), anywhere(aside)
    for aside in _starting_outside(x, obstacle.x, off):
        yield anywhere(aside), _closer(y, obstacle.y, 0.0)


def _starting_outside(axis: Stretch, side: Interval, clear: float) -> list[Stretch]:
    """The stretch narrowed to starts at least ``clear`` below and above the obstacle."""
    start = axis.start
    below = Interval(start.low, min(start.high, side.low - clear))
    above = Interval(max(start.low, side.high + clear), start.high)
    return [axis.starting_in(part) for part in (below, above) if part.low <= part.high]


def _meeting_times(x: Piece, y: Piece, z: Piece, obstacle: Obstacle, body: Body) -> tuple[float, float, float] | None:
    """The t of nearest approach and the range of t at which the body is low enough; None where it stays clear."""
    low, high = max(x.t_low, y.t_low, z.t_low), min(x.t_high, y.t_high, z.t_high)
    part = at_most(z.low, obstacle.top + body.length - TOUCH, low, high) if low <= high else None
    if part is None or _passes_by(x, y, obstacle, body.radius - TOUCH):
        return None
    nearest, t = _nearest(x, y, obstacle, *part)
    return None if nearest > body.radius - TOUCH else (t, *part)


def _passes_by(x: Piece, y: Piece, obstacle: Obstacle, radius: float) -> bool:
    """Whether the box that holds all of two pieces is clear of the obstacle: a quick look that spares most others."""
    gaps = [
        max(min(piece.low) - side.high, side.low - max(piece.high), 0.0)
        for piece, side in ((x, obstacle.x), (y, obstacle.y))
    ]
    return hypot(*gaps) > radius


def _loose(piece: Piece) -> Piece:
    """A piece that does not depend on t: from the lowest to the highest position of all of it."""
    low = min(at(piece.low, piece.t_low), at(piece.low, piece.t_high))
    high = max(at(piece.high, piece.t_low), at(piece.high, piece.t_high))
    return Piece(0.0, 1.0, (low, low), (high, high), piece.start_low, piece.start_high)


def _nearest(x: Piece, y: Piece, obstacle: Obstacle, t_low: float, t_high: float) -> tuple[float, float]:
    """Least plan distance to the obstacle for t in the range, and the t it is reached at.

    The distance of a growing and moving rectangle to a fixed one is convex in t; its square is quadratic between the
    few t at which a side passes a face, so the least value is found exactly.
    """
    gaps_x, gaps_y = _gaps(x, obstacle.x), _gaps(y, obstacle.y)
    if all(line[0] == line[1] for line in (*gaps_x, *gaps_y)):
        return hypot(max(0.0, *(line[0] for line in gaps_x)), max(0.0, *(line[0] for line in gaps_y))), t_low
    turns = {t_low, t_high}
    for gaps in (gaps_x, gaps_y):
        for line in (*gaps, (gaps[0][0] - gaps[1][0], gaps[0][1] - gaps[1][1])):
            if line[0] != line[1]:
                zero = line[0] / (line[0] - line[1])
                if t_low < zero < t_high:
                    turns.add(zero)
    best, best_t = inf, t_low
    ordered = sorted(turns)
    for first, last in zip(ordered, ordered[1:] or ordered, strict=False):
        for t in (first, last, _valley(gaps_x, gaps_y, first, last)):
            distance = hypot(max(0.0, *(at(g, t) for g in gaps_x)), max(0.0, *(at(g, t) for g in gaps_y)))
            if distance < best:
                best, best_t = distance, t
    return best, best_t


def _gaps(piece: Piece, side: Interval) -> tuple[Line, Line]:
    """Distance from the right face and from the left face, as linear functions of t; negative where past it."""
    return (piece.low[0] - side.high, piece.low[1] - side.high), (side.low - piece.high[0], side.low - piece.high[1])


def _valley(gaps_x: tuple[Line, Line], gaps_y: tuple[Line, Line], first: float, last: float) -> float:
    """The t of least squared distance between two turns, where one line of each axis counts all along."""
    middle = (first + last) / 2
    rise = slope = 0.0
    for gaps in (gaps_x, gaps_y):
        line = max(gaps, key=lambda gap: at(gap, middle))
        if at(line, middle) > 0:
            rise += (line[1] - line[0]) * line[0]
            slope += (line[1] - line[0]) ** 2
    return min(max(-rise / slope, first), last) if slope > 0 else middle


ROUNDS = 7
"""Times a grid of cases is laid, each on a third of the span of the one before, about the deepest case so far."""


def _deepest(meetings: list[Meeting], obstacle: Obstacle, body: Body, shown: bool) -> Hit:
    """The deepest case among some of those the pieces allow, or the first found where it is not to be shown."""
    tried = []
    for each in meetings:
        tried.append((_coarse(each, obstacle, body), each))
        if tried[-1][0][0] > TOUCH and not shown:
            break
    best, meeting = max(tried, key=lambda found: found[0][0])
    span = np.array([meeting.high - meeting.low, 1.0, 1.0, 1.0]) / 3
    floor, ceiling = np.array([meeting.low, 0.0, 0.0, 0.0]), np.array([meeting.high, 1.0, 1.0, 1.0])
    for _ in range(ROUNDS):
        if best[0] > TOUCH and not shown:
            break
        cases = np.clip(best[1] + _FINE * span, floor, ceiling)
        best = max(best, _top(meeting, cases, obstacle, body), key=lambda found: found[0])
        span = span / 2
    t, *shares = best[1]
    pieces = (meeting.x, meeting.y, meeting.z)
    start, point = zip(*(_case(piece, t, share) for piece, share in zip(pieces, shares, strict=True)), strict=True)
    depth, length, radius = penetration(start, point, obstacle, body)
    return Hit(start, point, (length, radius), max(depth, 0.0))


def _coarse(meeting: Meeting, obstacle: Obstacle, body: Body) -> tuple[float, Grid]:
    """The deepest case of a coarse grid over a meeting, at the t of nearest approach and between the ends."""
    cases = _COARSE.copy()
    cases[:, 0] = meeting.low + cases[:, 0] * (meeting.high - meeting.low)
    cases[: len(cases) // 4, 0] = meeting.nearest
    return _top(meeting, cases, obstacle, body)


def _top(meeting: Meeting, cases: Grid, obstacle: Obstacle, body: Body) -> tuple[float, Grid]:
    depths = _depths(meeting.x, meeting.y, meeting.z, cases, obstacle, body)
    index = int(np.argmax(depths))
    return float(depths[index]), cases[index]


def _grid(*lines: Grid) -> Grid:
    return np.stack(np.meshgrid(*lines, indexing="ij"), axis=-1).reshape(-1, 4)


_SHARES = np.linspace(0.0, 1.0, 5)
_COARSE = _grid(np.array([0.0, 0.0, 0.5, 1.0]), _SHARES, _SHARES, _SHARES)
"""Shares of the range of t and of the pieces of X, Y and Z; the first quarter is for the t of nearest approach."""

_STEPS = np.linspace(-0.5, 0.5, 5)
_FINE = _grid(_STEPS, _STEPS, _STEPS, _STEPS)
"""Cases about a centre, as shares of a span."""


def _depths(x: Piece, y: Piece, z: Piece, cases: Grid, obstacle: Obstacle, body: Body) -> Grid:
    """``penetration`` for many cases at once: rows of t and the shares along X, Y and Z."""
    t = cases[:, 0]
    places = []
    for piece, share in zip((x, y, z), cases.T[1:], strict=True):
        low = piece.low[0] + (piece.low[1] - piece.low[0]) * t
        high = piece.high[0] + (piece.high[1] - piece.high[0]) * t
        places.append((piece.start_low + share * (piece.start_high - piece.start_low), low + share * (high - low)))
    (start_x, at_x), (start_y, at_y), (start_z, at_z) = places
    was, near = _distances(start_x, start_y, obstacle), _distances(at_x, at_y, obstacle)
    over = obstacle.top + body.length - at_z
    if not body.any_size:
        clear = (was >= body.radius) | (start_z >= obstacle.top + body.length)
        depths: Grid = np.where(clear, np.minimum(body.radius - near, over), -inf)
        return depths
    beside: Grid = np.minimum(np.minimum(body.radius, was) - near, over)
    above = np.minimum(np.minimum(body.radius - near, over), start_z - at_z)
    np.maximum(beside, above, out=beside, where=start_z >= obstacle.top)
    return beside


def _distances(x: Grid, y: Grid, obstacle: Obstacle) -> Grid:
    distances: Grid = np.hypot(
        np.maximum(np.maximum(obstacle.x.low - x, x - obstacle.x.high), 0.0),
        np.maximum(np.maximum(obstacle.y.low - y, y - obstacle.y.high), 0.0),
    )
    return distances


def _case(piece: Piece, t: float, share: float) -> tuple[float, float]:
    low, high = at(piece.low, t), at(piece.high, t)
    return float(piece.start_low + share * (piece.start_high - piece.start_low)), float(low + share * (high - low))
