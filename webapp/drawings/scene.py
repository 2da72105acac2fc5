"""What there is to draw, in plain numbers: boxes, the path from one start, where the head stands before and after.

Everything is in mm in machine coordinates, the tool relative to the table (ISO 841); Z is the reading of the nose.
Unknowns of the trace are put at the middle of their range, which is what the estimate calls typical.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise, product
from typing import Literal

from parser.findings import Finding, ToolSize, Witness
from parser.machine import LINEAR, Box, Corner, Interval, Machine, Setup
from parser.motion import geometry
from parser.motion.moves import Move, Trace
from parser.motion.places import Afloat, Coordinate, Name, Place
from parser.report import Report

Look = Literal["rapid", "feed", "dogleg"]

TABLE = "Table"
"""Name of the keep-out that is the table top."""
CURVE_STEP_DEGREES = 6.0
FAN_AT_MOST = 60
"""Moves beyond which the paths from the corners of the start box are left out: they would only blacken the sheet."""


@dataclass(frozen=True, slots=True)
class DrawnPath:
    """One move as it is drawn: the points of the nose, the line and step it belongs to, its index in the trace."""

    look: Look
    line: int
    step: int | None
    points: tuple[Corner, ...]
    move: int


@dataclass(frozen=True, slots=True)
class WorkZero:
    """Where a work coordinate system has its zero: the nose reading, and the ends of its range; Z nan if not known."""

    name: str
    at: Corner
    low: Corner
    high: Corner


@dataclass(frozen=True, slots=True)
class Scene:
    """All that the two views show. ``setup`` is one of the machine's; ``boxes`` leave the table out.

    ``fan`` holds the paths from the corners of the start box, empty where the start is one place. ``finish`` is None
    where the macro ends where it began. ``chosen`` tells a start that was asked for from the typical one.
    """

    machine: Machine
    setup: Setup
    boxes: tuple[Box, ...]
    table: Box | None
    travel: tuple[Interval, Interval, Interval]
    start: tuple[Interval, Interval, Interval]
    tool: ToolSize
    begin: Corner
    finish: Corner | None
    path: tuple[DrawnPath, ...]
    fan: tuple[DrawnPath, ...]
    zeros: tuple[WorkZero, ...]
    chosen: bool = False

    @property
    def start_is_open(self) -> bool:
        """Whether the macro may fire from more than one place."""
        return any(interval.length > 0 for interval in self.start)


def of_machine(machine: Machine, setup: str = "") -> Scene:
    """The machine at rest in a setup, its head in the middle of the travel and all the way up."""
    chosen = next((each for each in machine.setups if each.name == setup), machine.setups[0])
    travel = _travel(machine)
    home = (travel[0].middle, travel[1].middle, travel[2].high)
    here = (Interval(home[0], home[0]), Interval(home[1], home[1]), Interval(home[2], home[2]))
    systems = sorted(chosen.origins)[:3]
    return Scene(
        machine=machine,
        setup=chosen,
        boxes=tuple(box for box in chosen.keep_outs if not _is_table(box)),
        table=next((box for box in chosen.keep_outs if _is_table(box)), None),
        travel=travel,
        start=here,
        tool=ToolSize(machine.tool_stick_out, machine.tool_radius),
        begin=home,
        finish=None,
        path=(),
        fan=(),
        zeros=tuple(_zeros(chosen, systems)),
    )


def of_report(report: Report, *, finding: Finding | None = None, start: Mapping[str, float] | None = None) -> Scene:
    """The macro of a report from ``start`` or its typical start, or as the witness of ``finding`` has it."""
    trace = report.trace
    witness = finding.witness if finding else None
    bare = of_machine(report.machine, witness.setup if witness else "")
    values, tool = settle(trace, start), bare.tool
    if witness is not None:
        values = _as_witnessed(trace, witness, finding.line if finding else None)
        by_itself = witness.body in ("nose", "holder")
        tool = witness.tool or (ToolSize(0.0, 0.0) if by_itself else tool)
    path = tuple(_stretches(trace.moves, values, report.steps))
    begin, finish = _corner(trace.start, values), _corner(trace.end, values)
    box = tuple(report.start.get(axis, Interval(at, at)) for axis, at in zip(LINEAR, begin, strict=True))
    scene = replace(
        bare,
        start=(box[0], box[1], box[2]),
        tool=tool,
        begin=begin,
        finish=finish if math.dist(begin, finish) > 0.01 else None,
        path=path,
        zeros=tuple(_zeros(bare.setup, trace.origins_used)) or bare.zeros[:1],
        chosen=start is not None,
    )
    if witness is None and scene.start_is_open and len(path) <= FAN_AT_MOST:
        scene = replace(scene, fan=tuple(_fan(trace, scene.start, report.steps)))
    return scene


def settle(trace: Trace, start: Mapping[str, float] | None = None) -> dict[Name, float]:
    """A value for every unknown of the trace: the given start, the middle of its range for anything else."""
    places: list[Place] = [trace.start, trace.end]
    for move in trace.moves:
        places += [move.start, move.end]
    floating: list[Coordinate] = [coordinate for place in places for coordinate in place.values()]
    floating += [coordinate for move in trace.moves if move.arc for coordinate in move.arc.centre]
    values = {at.unknown.name: at.unknown.usual for at in floating if isinstance(at, Afloat)}
    for axis, wanted in (start or {}).items():
        coordinate = trace.start.get(axis)
        if isinstance(coordinate, Afloat):
            values[coordinate.unknown.name] = wanted - coordinate.base
    return values


def _as_witnessed(trace: Trace, witness: Witness, line: int | None) -> dict[Name, float]:
    """Values that lead the path through the point of the witness, from its start.

    A witness gives no work origins. Where one is a range, the end or middle of it is taken that brings the moves of the
    finding's line nearest to the point.
    """
    values = settle(trace, witness.start)
    started = {at.unknown.name for at in trace.start.values() if isinstance(at, Afloat)}
    moves = [move for move in trace.moves if move.line == line]
    open_ones = {
        at.unknown for move in moves for at in (*move.start.values(), *move.end.values()) if isinstance(at, Afloat)
    }
    free = [unknown for unknown in sorted(open_ones, key=lambda one: one.name) if unknown.name not in started]
    if not free or len(free) > len(LINEAR):
        return values
    target = point_of(witness.at)

    def miss(tried: dict[Name, float]) -> float:
        points = [list(_points(move, tried)) for move in moves]
        return min(_distance(target, begin, end) for run in points for begin, end in pairwise(run))

    ends = [(unknown.range.middle, unknown.range.low, unknown.range.high) for unknown in free]
    tries = (values | dict(zip((one.name for one in free), choice, strict=True)) for choice in product(*ends))
    return min(tries, key=miss)


def _distance(point: Corner, begin: Corner, end: Corner) -> float:
    """From a point to a straight stroke."""
    along = [high - low for low, high in zip(begin, end, strict=True)]
    square = sum(share * share for share in along)
    if square == 0.0:
        return math.dist(point, begin)
    part = sum((here - low) * share for here, low, share in zip(point, begin, along, strict=True)) / square
    part = min(1.0, max(0.0, part))
    return math.dist(point, [low + share * part for low, share in zip(begin, along, strict=True)])


def point_of(place: Mapping[str, float]) -> Corner:
    """X, Y and Z of a place that gives numbers; an axis that the machine has not is at 0."""
    return place.get("x", 0.0), place.get("y", 0.0), place.get("z", 0.0)


def _is_table(box: Box) -> bool:
    return box.name == TABLE


def _travel(machine: Machine) -> tuple[Interval, Interval, Interval]:
    x, y, z = (axis.travel if (axis := machine.axis(name)) else Interval(0.0, 0.0) for name in LINEAR)
    return x, y, z


def _zeros(setup: Setup, systems: Iterable[str]) -> Iterator[WorkZero]:
    for system in systems:
        origin = setup.origins.get(system)
        if origin is not None and "x" in origin.axes and "y" in origin.axes:
            x, y, z = origin.axes["x"], origin.axes["y"], origin.axes.get("z")
            middle, low, high = (z.middle, z.low, z.high) if z else (math.nan,) * 3
            yield WorkZero(system, (x.middle, y.middle, middle), (x.low, y.low, low), (x.high, y.high, high))


def _corner(place: Place, values: Mapping[Name, float]) -> Corner:
    return point_of({axis: geometry.value_of(at, values) for axis, at in place.items()})


def _stretches(moves: Iterable[Move], values: Mapping[Name, float], steps: Mapping[int, int]) -> Iterator[DrawnPath]:
    for index, move in enumerate(moves):
        points = tuple(_points(move, values))
        if any(math.dist(points[0], point) > 1e-3 for point in points[1:]):
            look: Look = "dogleg" if move.dogleg else "rapid" if move.kind == "rapid" else "feed"
            yield DrawnPath(look, move.line, steps.get(move.line), points, index)


def _points(move: Move, values: Mapping[Name, float]) -> Iterator[Corner]:
    if move.arc is None:
        yield _corner(move.start, values)
        yield _corner(move.end, values)
        return
    count = max(2, math.ceil(abs(move.arc.sweep) / CURVE_STEP_DEGREES))
    for index in range(count + 1):
        yield point_of(geometry.point_at(move, index / count, values))


def _fan(trace: Trace, start: tuple[Interval, ...], steps: Mapping[int, int]) -> Iterator[DrawnPath]:
    ends = [sorted({interval.low, interval.high}) for interval in start]
    for corner in product(*ends):
        values = settle(trace, dict(zip(LINEAR, corner, strict=True)))
        yield from _stretches(trace.moves, values, steps)
