"""What is asked about: every move, arcs as chords that they are near, from where it is judged, in unknowns that cancel.

A place is a number beside what is not known, as the trace gives it: where the macro started, a work origin, where a
probe tripped. A move is judged from where the macro started, or from where the machine stood when it last waited or
lost its place: a longer tool may have been put in there, or nobody knows the way there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction

from parser.motion.geometry import closing_radius
from parser.motion.moves import Arc, Move, Trace
from parser.motion.places import Afloat, Coordinate, Name, Place, minus
from parser.opinion import NotAsked
from parser.proof.second.exact import DECIMALS, Range, Sum, exact, worked_out

ARC = "an arc of more parts than are asked about"
SHAPE = "a way whose shape is not known"
TRIP = "it hangs on where a probe trips or a cycle begins, in a way that is no sum"
CORNER = "a corner that may be rounded"


TOLERANCE = 0.01
"""mm from a part of an arc to its chord, at most: that far an arc may be from where it is asked about."""

MOST_PARTS = 500
"""Parts of an arc at most; a full circle of 250 mm has as many."""


@dataclass(frozen=True, slots=True)
class Bulge:
    """How far a part of an arc may be from its chord, and which way: along ``axes``, of which ``outwards`` is 1 long.

    The part lies within ``least`` and ``most`` of the chord in that direction, between the chord and the tangent that
    goes along with it. Another axis is where the share of the chord says, but for ``beside`` of it. ``slack`` is what
    any place that is asked about may be off from the arc itself. ``last`` says that the arc ends with this part.
    """

    axes: tuple[str, str]
    outwards: tuple[Fraction, Fraction]
    least: Fraction
    most: Fraction
    beside: Mapping[str, Fraction]
    slack: Fraction
    last: bool


@dataclass(frozen=True, slots=True)
class Way:
    """A straight move on a line: from, to, and what it is judged from, by axis, in ``unknowns`` by symbol.

    ``apart`` says that each axis goes at its own rate, so that only the box between the ends is known. ``plain`` says
    that no unknown moves two axes or counts differently from place to place: where one does, the first proof may err
    towards a false alarm. ``rounded`` says that its corners may be rounded, each as the one that is not. ``bulge`` says
    that it is a part of an arc, and of which ``part`` in words.
    """

    line: int
    judged: dict[str, Sum]
    begin: dict[str, Sum]
    end: dict[str, Sum]
    unknowns: dict[str, Range]
    apart: bool = False
    plain: bool = True
    rounded: bool = False
    bulge: Bulge | None = None
    part: str = ""

    @property
    def moving(self) -> tuple[str, ...]:
        bent = self.bulge.axes if self.bulge else ()
        return tuple(axis for axis, at in self.begin.items() if at != self.end[axis] or axis in bent)

    @property
    def reaching(self) -> tuple[str, ...]:
        """The axes that may be furthest out here; what is not in the plane of an arc is so at its very end."""
        bulge = self.bulge
        return tuple(axis for axis in self.moving if bulge is None or bulge.last or axis in bulge.axes)

    @property
    def slack(self) -> Fraction:
        """How far off the places that are asked about may be, mm: 0 on a straight move."""
        return self.bulge.slack if self.bulge else Fraction(0)


@dataclass(frozen=True, slots=True)
class Ways:
    """What is asked about in one trace, and what is not."""

    asked: tuple[Way, ...]
    not_asked: tuple[NotAsked, ...]


@dataclass(slots=True)
class _Unknowns:
    """The unknowns of a trace by symbol, and the names of those that stand for more than can be."""

    ranges: dict[str, Range] = field(default_factory=dict)
    symbols: dict[Name, str] = field(default_factory=dict)
    loose: set[Name] = field(default_factory=set)


def ways(trace: Trace, *, blends: bool) -> Ways:
    """The moves of a trace that are asked about, the lines of the others; ``blends`` where corners may be rounded."""
    anew = {event.before for event in trace.events if event.kind.interrupts}
    unknowns, judged = _Unknowns(), trace.start
    asked: list[Way] = []
    not_asked: list[NotAsked] = []
    for index, move in enumerate(trace.moves):
        if index in anew:
            judged = move.start
        if move.kind == "probe":
            unknowns.loose |= _more_than_can_be(move)
        if move.kind == "dwell":
            continue
        why = _why_not(move, judged, unknowns)
        if why:
            not_asked.append(NotAsked(move.line, why))
            continue
        way = _way(move, judged, unknowns, rounded=blends)
        asked += [way] if move.arc is None else _parts(way, move, move.arc)
        if blends:
            not_asked.append(NotAsked(move.line, CORNER))
    not_asked += [NotAsked(event.line, SHAPE) for event in trace.events if event.kind.loses_position]
    return Ways(tuple(asked), tuple(dict.fromkeys(not_asked)))


def _more_than_can_be(move: Move) -> set[Name]:
    """The unknowns in which a probe ends that take in more than where it can trip, as on a slant."""
    steps = [minus(move.furthest[axis], at) for axis, at in move.start.items()]
    if not any(isinstance(step, Afloat) for step in steps) and sum(step != 0 for step in steps) == 1:
        return set()
    return {name for at in move.end.values() for name in _names(at) if name.of == "trip" and name.line == move.line}


def _names(at: Coordinate) -> Iterator[Name]:
    if isinstance(at, Afloat):
        yield from (unknown.name for unknown, _ in at.unknown.parts)


def _why_not(move: Move, judged: Place, unknowns: _Unknowns) -> str:
    if move.guessed:
        return SHAPE
    if move.arc is not None and _count(move.arc) > MOST_PARTS:
        return ARC
    for place in (judged, move.start, move.furthest):
        for at in place.values():
            for unknown, _ in at.unknown.parts if isinstance(at, Afloat) else ():
                if unknown.name in unknowns.loose or unknown.kind in ("between", "sum"):
                    return TRIP
    return ""


def _way(move: Move, judged: Place, unknowns: _Unknowns, *, rounded: bool) -> Way:
    places = [{axis: _sum(at, unknowns) for axis, at in place.items()} for place in (judged, move.start, move.furthest)]
    used = {symbol for place in places for at in place.values() for symbol, _ in at.terms}
    ranges = {symbol: unknowns.ranges[symbol] for symbol in sorted(used)}
    apart = move.dogleg and sum(places[1][axis] != places[2][axis] for axis in places[1]) > 1
    judged_from, begin, end = places
    return Way(
        move.line, judged_from, begin, end, ranges, apart=apart, plain=_plain(places) and not apart, rounded=rounded
    )


def _count(arc: Arc) -> int:
    """In how many parts an arc is asked about, none wider than a right angle or further from its chord than may be."""
    widest = min(2 * math.acos(max(1 - TOLERANCE / arc.radius, 0.0)), math.pi / 2)
    return max(math.ceil(abs(math.radians(arc.sweep)) / widest), 1)


def _parts(whole: Way, move: Move, arc: Arc) -> Iterator[Way]:
    """An arc as a chain of chords, each with how far the arc may be from it.

    Its ends as written may be on circles that differ a little: by so much, and by what is rounded here, each chord is
    longer at both of its ends, and the arc further from it. Other axes go evenly with the angle, of which the share of
    the chord is no more than ``uneven`` off: (sin a / sin h - a / h) / 2 for an angle a of a part of 2 h,
    and by how much the chord is longer.
    """
    count = _count(arc)
    off = abs(closing_radius(move, arc) - arc.radius) + 4 * float(DECIMALS)
    sagitta = arc.radius * (1 - math.cos(math.radians(arc.sweep) / count / 2))
    half = abs(math.radians(arc.sweep)) / count / 2
    uneven = worked_out((half / math.sin(half) - 1) / 2 + off / (2 * arc.radius * math.sin(half)))
    places = [_on_arc(whole, arc, number, count) for number in range(count + 1)]
    for number in range(count):
        begin, end = places[number], places[number + 1]
        middle = math.radians(arc.begins + arc.sweep * (number + 0.5) / count)
        outwards = math.cos(middle), math.sin(middle)
        along = math.copysign(off, arc.sweep)
        longer = {arc.axes[0]: -outwards[1] * along, arc.axes[1]: outwards[0] * along}
        begin = {axis: at.moved(worked_out(-longer.get(axis, 0.0))) for axis, at in begin.items()}
        end = {axis: at.moved(worked_out(longer.get(axis, 0.0))) for axis, at in end.items()}
        beside = {
            axis: uneven * end[axis].plus(at, Fraction(-1)).furthest(whole.unknowns)
            for axis, at in begin.items()
            if axis not in arc.axes
        }
        bulge = Bulge(
            arc.axes,
            (worked_out(outwards[0]), worked_out(outwards[1])),
            worked_out(-off),
            worked_out(sagitta + off),
            beside,
            worked_out(sagitta + 3 * off) + 2 * sum(beside.values(), Fraction(0)),
            number == count - 1,
        )
        part = f"part {number + 1} of {count}" if count > 1 else ""
        yield replace(whole, begin=begin, end=end, plain=False, bulge=bulge, part=part)


def _on_arc(whole: Way, arc: Arc, number: int, count: int) -> dict[str, Sum]:
    """Where each axis is after so many parts of an arc."""
    if number in (0, count):
        return whole.end if number else whole.begin
    angle, first = math.radians(arc.begins + arc.sweep * number / count), math.radians(arc.begins)
    at = {}
    for axis, begin in whole.begin.items():
        if axis in arc.axes:
            turned = math.cos if axis == arc.axes[0] else math.sin
            at[axis] = begin.moved(worked_out(arc.radius * (turned(angle) - turned(first))))
        else:
            way = whole.end[axis].plus(begin, Fraction(-1))
            at[axis] = begin.plus(way, Fraction(number, count))
    return at


def _sum(at: Coordinate, unknowns: _Unknowns) -> Sum:
    if not isinstance(at, Afloat):
        return Sum(worked_out(at))
    number, terms = worked_out(at.base), []
    for unknown, count in at.unknown.parts:
        reach = Range.of(unknown.range)
        if reach.low == reach.high:
            number += exact(count) * reach.low
            continue
        symbol = unknowns.symbols.setdefault(unknown.name, _symbol(unknown.name))
        unknowns.ranges[symbol] = reach
        terms.append((symbol, exact(count)))
    return Sum(number, tuple(sorted(terms)))


def _symbol(name: Name) -> str:
    """What an unknown is called: ``start.x``, ``G54.z``, ``homed.y.line3``."""
    parts = [
        name.of,
        name.axis,
        *([f"line{name.line}"] if name.line else []),
        *([f"{name.moves}"] if name.moves else []),
    ]
    return ".".join(parts)


def _plain(places: list[dict[str, Sum]]) -> bool:
    found: dict[str, tuple[str, object]] = {}
    for place in places:
        for axis, at in place.items():
            for symbol, count in at.terms:
                if found.setdefault(symbol, (axis, count)) != (axis, count):
                    return False
    return True
