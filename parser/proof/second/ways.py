"""What is asked about: every move that goes straight, from where it is judged, in unknowns that cancel.

A place is a number beside what is not known, as the trace gives it: where the macro started, a work origin, where a
probe tripped. A move is judged from where the macro started, or from where the machine stood when it last waited or
lost its place: a longer tool may have been put in there, or nobody knows the way there.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from parser.motion.moves import Move, Trace
from parser.motion.places import Afloat, Coordinate, Name, Place, minus
from parser.opinion import NotAsked
from parser.proof.second.exact import Range, Sum, exact, worked_out

ARC = "an arc"
SHAPE = "a way whose shape is not known"
TRIP = "it hangs on where a probe trips or a cycle begins, in a way that is no sum"
CORNER = "a corner that may be rounded"


@dataclass(frozen=True, slots=True)
class Way:
    """A straight move on a line: from, to, and what it is judged from, by axis, in ``unknowns`` by symbol.

    ``apart`` says that each axis goes at its own rate, so that only the box between the ends is known. ``plain`` says
    that no unknown moves two axes or counts differently from place to place: where one does, the first proof may err
    towards a false alarm. ``rounded`` says that its corners may be rounded, each as the one that is not.
    """

    line: int
    judged: dict[str, Sum]
    begin: dict[str, Sum]
    end: dict[str, Sum]
    unknowns: dict[str, Range]
    apart: bool = False
    plain: bool = True
    rounded: bool = False

    @property
    def moving(self) -> tuple[str, ...]:
        return tuple(axis for axis, at in self.begin.items() if at != self.end[axis])


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
    """The straight moves of a trace and the lines of the others; ``blends`` where corners may be rounded."""
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
        asked.append(_way(move, judged, unknowns, rounded=blends))
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
    if move.arc is not None:
        return ARC
    if move.guessed:
        return SHAPE
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
