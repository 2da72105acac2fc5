"""Passages that are followed again from fewer starts, where their moves are no sum of a start and something else.

What is found on one from all starts together is looked at again in parts of them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from itertools import islice, pairwise, product
from math import prod
from typing import TypeVar

from parser.machine import Interval, Machine
from parser.motion.moves import Move, Trace
from parser.motion.places import Afloat, minus
from parser.motion.probing import ANYWHERE
from parser.proof.axis_motion import Box
from parser.proof.passages import Passage, entangled, passages
from parser.proof.some_cases import MOST_SINGLE, SomeCases

Found = TypeVar("Found")

Follow = Callable[[SomeCases], Trace]
"""What follows the same program in a part of all cases."""


ByLine = Mapping[int, Sequence[Passage]]


def by_line(found: Iterable[Passage]) -> ByLine:
    """Passages by the line that makes them."""
    lines: dict[int, list[Passage]] = {}
    for each in found:
        lines.setdefault(each.move.line, []).append(each)
    return lines


class KeptPassages:
    """The passages of parts that were followed again, in one examination; the oldest give way, as many as it takes.

    Several things are asked of one part in a row, and other parts, setups and starts come between.
    """

    def __init__(self) -> None:
        self._known: dict[tuple[object, ...], tuple[int, ByLine]] = {}
        self._room = MOST_PASSAGES

    def passages(self, key: tuple[object, ...], made: Callable[[], Sequence[Passage]]) -> ByLine:
        """What is kept under a key, or what is made now, by line."""
        if key not in self._known:
            found = made()
            self._known[key] = OF_A_PART + len(found), by_line(found)
            self._room -= self._known[key][0]
            while self._room < 0 and len(self._known) > 1:
                self._room += self._known.pop(next(iter(self._known)))[0]
        return self._known[key][1]


MOST_PASSAGES, OF_A_PART = 200_000, 10
"""Passages that are kept, of three quarters of a kilobyte each (measured), and what a part counts for beside its own:
room for all parts that can be compared with two boxes within the limit, in 150 MB (our choice)."""


def followed_by_need(
    trace: Trace, machine: Machine, whole: Box, follow: Follow, kept: KeptPassages
) -> tuple[Passage, ...]:
    """The passages of a trace, to be followed again in parts of all cases where it takes that.

    Where a probe that goes from an unknown place to a fixed one trips is no sum of a start and something else, and
    neither is the higher of where an axis stands and where a canned cycle begins; and where one trips that goes
    slanting, all axes are at one share of its way. For all cases together such a place is taken to be anywhere between
    the two ends, each axis by itself. The same goes for what is ``entangled``.
    """
    found = passages(trace, machine)
    lines = {move.line: ANYWHERE for move in trace.moves if move.kind == "probe" and _no_sum(move)}
    if not lines and not trace.forks and not any(map(entangled, found)):
        return found
    this, all_of_it, all_found = object(), SomeCases(whole, lines).key, by_line(found)

    def again(line: int, part: SomeCases) -> Sequence[Passage]:
        key = part.key
        if key == all_of_it:
            return all_found[line]
        return kept.passages((this, *key), lambda: passages(follow(part), machine)).get(line, ())

    parts = partial(_forked, trace.forks, lines)
    return tuple(replace(each, again=partial(again, each.move.line), parts=parts) for each in found)


def _forked(forks: Sequence[tuple[str, float]], trips: Mapping[int, Interval], box: Box) -> list[SomeCases]:
    """The parts of the starts in a box in which each is on one side of every fork.

    Where these are too many, on one side of every other one: what is followed from a part covers all that it may do.
    """
    marks = {
        axis: sorted({value for of, value in forks if of == axis and side.low < value < side.high})
        for axis, side in box.items()
    }
    while prod(len(each) + 1 for each in marks.values()) > MOST_PARTS:
        most = max(marks, key=lambda axis: len(marks[axis]))
        marks[most] = marks[most][1::2]
    sides = [
        [Interval(low, high) for low, high in pairwise([side.low, *marks[axis], side.high])]
        for axis, side in box.items()
    ]
    return [SomeCases(dict(zip(box, part, strict=True)), trips) for part in product(*sides)]


def _no_sum(move: Move) -> bool:
    """Whether where a probe trips is no sum of where it began and something of one axis alone."""
    steps = [minus(move.furthest[axis], at) for axis, at in move.start.items()]
    return any(isinstance(step, Afloat) for step in steps) or sum(step != 0 for step in steps) > 1


MOST_PARTS = 64
"""Parts of all cases that a line is followed in before what may be met on it counts as found."""

FEW_PARTS, FEW_SINGLE = 8, 3
"""The same, and the single cases of each, where only the answer counts and a false alarm costs a little of a box."""


def find(
    passage: Passage,
    box: Box,
    decide: Callable[[Passage, Box], Found | None],
    doubt: Callable[[Found], Found],
    *,
    shown: bool = True,
) -> Found | None:
    """What ``decide`` finds on a passage from a start in ``box``, followed again in parts of all cases at need.

    A part in which something is found is tried in single cases, where nothing is left open, and then halved. What is
    found in the end in no single case is in ``doubt``.
    """
    if passage.again is None or passage.parts is None:
        return decide(passage, box)
    again = passage.again

    def found_in(part: SomeCases) -> Found | None:
        each = (decide(one, part.box) for one in again(part))
        return next((found for found in each if found is not None), None)

    left, tried = passage.parts(box), 0
    most, singles = (MOST_PARTS, MOST_SINGLE) if shown else (FEW_PARTS, FEW_SINGLE)
    while left:
        part = left.pop()
        found = found_in(part)
        if found is None:
            continue
        cases = islice(part.singles(), singles if not tried else FEW_SINGLE)
        single = next((one for case in cases if (one := found_in(case)) is not None), None)
        if single is not None:
            return single
        tried += 1
        smaller = part.halves()
        if tried >= most or not smaller:
            return doubt(found)
        left += smaller
    return None
