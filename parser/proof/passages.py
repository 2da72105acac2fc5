"""The moves of a trace as the proof sees them: from where each is judged, and one motion for each axis."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from math import ceil, cos, floor, radians

from parser.machine import Machine
from parser.motion.geometry import closing_radius
from parser.motion.moves import Arc, Event, Move, Trace
from parser.motion.places import Afloat, Coordinate, Name, Place, minus
from parser.proof.axis_motion import AxisMotion, Box, Times, axis_motion, offset, reach
from parser.proof.corners import SHARP, Corner, corners, past_what_may_stand_still
from parser.proof.some_cases import SomeCases

BEGINS, ENDS = (0.0, 0.5), (0.5, 1.0)
"""The halves of a move; the arc of a rounded corner takes no more than half of either neighbour."""

Motions = dict[str, AxisMotion]


@dataclass(frozen=True, slots=True)
class Passage:
    """A move, and the place it is judged from: where the macro started, or stood after a segment that is not known.

    ``since`` is the line of what made it begin anew there, None where it is judged from the start of the macro.
    ``corner`` is the one it ends in where that may be rounded and its shape is known; where it is not, ``rounded`` are
    the halves of the move beside it, and the real way may be up to ``cut`` mm off anywhere on them.
    ``again`` gives the passages of the same line as they are for a part of all cases, and ``parts`` the parts that it
    takes at least: for a line whose moves are no sum of a start and something else. Both are None for any other.
    ``kept`` are the motions from the box that was asked about last: many obstacles are asked about in a row.
    """

    move: Move
    start: Place
    since: int | None = None
    corner: Corner | None = None
    rounded: tuple[Times, ...] = ()
    cut: float = 0.0
    again: Callable[[SomeCases], Sequence[Passage]] | None = field(default=None, compare=False, repr=False)
    parts: Callable[[Box], list[SomeCases]] | None = field(default=None, compare=False, repr=False)
    kept: list[tuple[Box, Motions]] = field(default_factory=list, init=False, compare=False, repr=False)

    def same_as(self) -> tuple[object, ...] | None:
        """All that decides what is met on the way; None where that is not all, as it is followed again."""
        if self.again is not None:
            return None
        move = self.move
        places = (tuple(place.items()) for place in (self.start, move.start, move.end, move.furthest))
        return move.line, move.kind, move.dogleg, move.arc, self.since, self.corner, self.rounded, self.cut, *places

    @property
    def may_be_cut(self) -> bool:
        """Whether a corner that it begins or ends in may be rounded."""
        return bool(self.rounded) or self.corner is not None

    @property
    def once(self) -> object:
        """The same for passages of which one will do: those of a line that is followed again."""
        return id(self) if self.again is None else self.move.line


def begins_anew(event: Event) -> bool:
    """Whether moves are judged from there: the tool may be another, which is clear of everything where it is.

    A longer one may meet what a shorter one cleared. The same tool is clear there too, or an earlier move is to blame.
    """
    return event.kind.interrupts


def passages(trace: Trace, machine: Machine) -> tuple[Passage, ...]:
    """Every move of a trace that goes anywhere, with the place it is judged from."""
    anew = {event.before: event.line for event in trace.events if begins_anew(event)}
    blends = machine.corner == "blend"
    rounded = corners(trace, machine) if blends else {}
    ends, begins = past_what_may_stand_still(trace, machine) if blends else (set(), set())
    found, start, since, last = [], trace.start, None, -1
    for index, move in enumerate(trace.moves):
        if index in anew:
            start, since = move.start, anew[index]
        if move.kind != "dwell":
            halves = [half for at, half in ((last, BEGINS), (index, ENDS)) if rounded.get(at, SHARP) is None]
            halves += [BEGINS] if index in begins and BEGINS not in halves else []
            halves += [ENDS] if index in ends and ENDS not in halves else []
            last = index
            found.append(
                Passage(move, start, since, rounded.get(index), tuple(halves), machine.tolerance if halves else 0.0)
            )
    return tuple(found)


def fired_from(passage: Passage, judged: Mapping[str, float], box: Box) -> dict[str, float]:
    """Where a macro fires for the machine to stand at ``judged`` where the passage begins to be judged.

    An axis that stands there wherever the macro started is taken in the middle of ``box``.
    """
    fired = {}
    for axis, value in judged.items():
        place, side = passage.start[axis], box[axis]
        parts = place.unknown.parts if isinstance(place, Afloat) else ()
        own = next((unknown for unknown, count in parts if unknown.kind == "start" and count == 1), None)
        if own is None or not isinstance(place, Afloat):
            fired[axis] = side.middle
            continue
        rest = reach(minus(place, Afloat(0.0, own)), box)
        low, high = max(side.low, value - rest.high), min(side.high, value - rest.low)
        fired[axis] = min(max((low + high) / 2, side.low), side.high)
    return fired


def motions(passage: Passage, box: Box) -> Motions:
    """The motion of every axis along a move; the plane axes of an arc as the extents of its whole sweep.

    A probing move is taken to go all the way, which takes in every shorter one.
    """
    move = passage.move
    if move.arc is not None:
        return arc_part(passage, move.arc, box, 0.0, 1.0)
    return straight_motions(passage, box)


def straight_motions(passage: Passage, box: Box) -> Motions:
    for known, motions in passage.kept:
        if known is box:
            return motions
    move, start = passage.move, passage.start
    found = {name: axis_motion(at, move.furthest[name], start[name], box) for name, at in move.start.items()}
    passage.kept[:] = [(box, found)]
    return found


def place_on_the_way(passage: Passage, start: Mapping[str, float], box: Box, axis: str, high: bool) -> dict[str, float]:
    """Where all axes are when one is furthest out on a move from ``start``, each in the middle of what it may be."""
    move, shares = passage.move, [1.0]
    if move.arc is not None:
        shares = [0.0, 1.0]
        if axis in move.arc.axes:
            turn = 90.0 * move.arc.axes.index(axis)
            turns = {turn + 180.0 * half - move.arc.begins for half in range(-8, 9)}
            shares += [each / move.arc.sweep for each in turns if 0.0 < each / move.arc.sweep < 1.0]
    places = []
    for share in shares:
        if move.arc is None:
            part = {name: along.part(share, share) for name, along in straight_motions(passage, box).items()}
        else:
            part = arc_part(passage, move.arc, box, share, share)
        places.append({name: _middle(along, start.get(name)) for name, along in part.items()})
    return (max if high else min)(places, key=lambda place: place[axis])


def _middle(along: AxisMotion, start: float | None) -> float:
    judged = along.start.middle if start is None else start
    return (along.lowest(judged)[1] + along.highest(judged)[1]) / 2


def entangled(passage: Passage) -> bool:
    """Whether two things that are not known hang together, which are looked at as if they did not.

    One unknown that moves two axes; one that counts differently where an axis is judged from, begins or ends; and the
    way of a probe towards a place that is not known either. Where one axis alone goes straight from a sharp corner to
    another it is as far out as it gets at one of its ends, whatever hangs together on the way: those are told apart
    only from where it is judged.
    """
    seen: set[Name] = set()
    ways: list[tuple[Place, ...]] = [(passage.start, passage.move.start, passage.move.furthest)]
    if _goes_alone(passage):
        ways = [(passage.start, passage.move.start), (passage.start, passage.move.furthest)]
    for axis in "xyz":
        names: set[Name] = set()
        for way in ways:
            counts: dict[Name, float] = {}
            for place in way:
                at = place.get(axis)
                for unknown, count in at.unknown.parts if isinstance(at, Afloat) else ():
                    if unknown.kind == "between" or counts.setdefault(unknown.name, count) != count:
                        return True
            names |= counts.keys()
        if not seen.isdisjoint(names):
            return True
        seen |= names
    return False


def _goes_alone(passage: Passage) -> bool:
    """Whether a move takes one axis straight, and nothing of it may be cut short or rounded."""
    move = passage.move
    if move.arc is not None or passage.may_be_cut:
        return False
    return sum(move.furthest[axis] != at for axis, at in move.start.items()) == 1


def arc_part(passage: Passage, arc: Arc, box: Box, first: float, last: float) -> Motions:
    move, start = passage.move, passage.start
    closing = closing_radius(move, arc)
    part = {}
    for name, at in move.start.items():
        if name in arc.axes:
            number = arc.axes.index(name)
            part[name] = _on_circle(arc, closing, number, first, last, start[name], box)
        else:
            part[name] = axis_motion(at, move.end[name], start[name], box).part(first, last)
    return part


def _on_circle(
    arc: Arc, closing: float, number: int, first: float, last: float, start: Coordinate, box: Box
) -> AxisMotion:
    """One axis of the plane from one share of an arc to another: anywhere between the extremes of that part.

    ``closing`` is the radius at the end, which may differ from that at the start by what the standard lets pass.
    """
    centre = arc.centre[number]
    low, high = sorted((arc.begins + arc.sweep * first, arc.begins + arc.sweep * last))
    turns = [low, high]
    turns += [
        180.0 * half + 90.0 * number
        for half in range(ceil((low - 90.0 * number) / 180.0), floor((high - 90.0 * number) / 180.0) + 1)
    ]
    offs = []
    for turn in turns:
        share = (turn - arc.begins) / arc.sweep
        offs.append((arc.radius + (closing - arc.radius) * share) * cos(radians(turn - 90.0 * number)))
    starts = reach(start, box)
    beside = offset(centre, start) if starts.length > 0 else None
    tie, middle = (0.0, reach(centre, box)) if beside is None else (1.0, beside)
    least, most = middle.low + min(offs), middle.high + max(offs)
    return AxisMotion(starts, (tie, tie), (least, least), (most, most))
