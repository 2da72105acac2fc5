"""What a whole macro comes to, as least, most and typical over the starts.

Adding up least and most of the moves is exact where every unknown makes all moves longer, or all shorter. One that
makes one move longer and another shorter (a work origin that is gone to and left again) would make the sum too wide:
its range is cut into cells, the moves it has a part in are timed cell by cell, and the least and the most of the sums
are taken. That is a bracket still, and the narrower the cells the closer.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import fields, replace
from functools import reduce
from itertools import product
from operator import add

from parser.machine import LINEAR, Interval, Machine
from parser.motion.moves import Move, Trace
from parser.motion.places import Afloat, Coordinate, Name, Unknown, minus
from parser.times.timing import NOTHING, Spread, Timing, Totals

CELLS = {1: 64, 2: 8, 3: 4}
"""Cells along each range, by how many ranges there are to cut; with more ranges nothing is cut."""

MOVES_AT_MOST = 24
"""Moves worth timing cell by cell; a macro has few that depend on an origin, and a long program takes its sum."""

Row = tuple[Move, Timing]


def totals(
    trace: Trace, timings: Sequence[Timing], machine: Machine, timed: Callable[[Move], Timing] | None = None
) -> Totals:
    """Totals of a trace. ``timed`` times a move that depends on nothing before it; None where moves hang together."""
    rows = list(zip(trace.moves, timings, strict=True))
    pauses = sum(event.kind.waits for event in trace.events)
    shared = _shared(trace.moves) if timed is not None else {}
    taking_part = [bool(shared) and not shared.keys().isdisjoint(_unknowns(move)) for move in trace.moves]
    if timed is None or not shared or len(shared) not in CELLS or sum(taking_part) > MOVES_AT_MOST:
        return replace(_sum(rows, machine), operator_pauses=pauses)
    apart = [row for row, part in zip(rows, taking_part, strict=True) if not part]
    together = [move for move, part in zip(trace.moves, taking_part, strict=True) if part]
    usual = _sum([row for row, part in zip(rows, taking_part, strict=True) if part], machine)
    cells = [
        _sum([(move, timed(move)) for move in (_narrowed(each, cell) for each in together)], machine)
        for cell in _cells(shared.values())
    ]
    widest = _each(lambda *each: Spread(min(c.least for c in each), max(c.most for c in each), 0.0), *cells)
    whole = with_typical(widest, usual)
    return replace(_each(lambda *spreads: reduce(add, spreads), _sum(apart, machine), whole), operator_pauses=pauses)


def with_typical(whole: Totals, middle: Totals) -> Totals:
    """Totals with the typical figures of others, those of a trace that was followed from the middle start alone."""
    made = _each(lambda spread, usual: replace(spread, typical=usual.typical), whole, middle)
    return replace(made, operator_pauses=whole.operator_pauses)


def _sum(rows: Sequence[Row], machine: Machine) -> Totals:
    travels = {name: _added(each.travel.get(name, NOTHING) for _, each in rows) for name in machine.names}
    return Totals(
        seconds=_added(each.seconds for _, each in rows),
        rapid_mm=_added(each.path_mm for move, each in rows if move.kind == "rapid"),
        feed_mm=_added(each.path_mm for move, each in rows if move.kind != "rapid"),
        by_axis_mm={name: spread for name, spread in travels.items() if name in LINEAR},
        by_axis_deg={name: spread for name, spread in travels.items() if name not in LINEAR},
    )


def _added(spreads: Iterable[Spread]) -> Spread:
    return reduce(add, spreads, NOTHING)


def _each(combine: Callable[..., Spread], *parts: Totals) -> Totals:
    """Totals of which every figure is made from that figure of each part."""
    made: dict[str, Spread | Mapping[str, Spread]] = {}
    for field in fields(Totals):
        values = [getattr(part, field.name) for part in parts]
        if isinstance(values[0], Spread):
            made[field.name] = combine(*values)
        elif isinstance(values[0], Mapping):
            made[field.name] = {name: combine(*(value[name] for value in values)) for name in values[0]}
    return Totals(**made)  # type: ignore[arg-type]


def _shared(moves: Sequence[Move]) -> dict[Name, Unknown]:
    """The unknowns that have a part in the length of more than one move."""
    found = [_unknowns(move) for move in moves]
    times = Counter(name for each in found for name in each)
    return {name: each[name] for each in found for name in each if times[name] > 1}


def _unknowns(move: Move) -> dict[Name, Unknown]:
    """The unknowns, by name, that make a move longer or shorter."""
    changing = [axis for axis, at in move.start.items() if isinstance(minus(move.end[axis], at), Afloat)]
    ends = [place[axis] for axis in changing for place in (move.start, move.end)]
    return {at.unknown.name: at.unknown for at in ends if isinstance(at, Afloat)}


def _cells(unknowns: Iterable[Unknown]) -> Iterator[dict[Name, Interval]]:
    ranges = [(unknown.name, unknown.range) for unknown in unknowns]
    count = CELLS[len(ranges)]
    for numbers in product(range(count), repeat=len(ranges)):
        yield {
            name: Interval(reach.low + reach.length * i / count, reach.low + reach.length * (i + 1) / count)
            for (name, reach), i in zip(ranges, numbers, strict=True)
        }


def _narrowed(move: Move, cell: Mapping[Name, Interval]) -> Move:
    """A move whose unknowns are narrowed to a cell."""
    start, end = ({axis: _narrow(at, cell) for axis, at in place.items()} for place in (move.start, move.end))
    return replace(move, start=start, end=end)


def _narrow(at: Coordinate, cell: Mapping[Name, Interval]) -> Coordinate:
    if not isinstance(at, Afloat) or at.unknown.name not in cell:
        return at
    return Afloat(at.base, replace(at.unknown, range=cell[at.unknown.name]))
