"""The moves of a trace as the proof sees them: one stretch per axis, and which decision each kind of move calls for."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import chain, islice, product
from math import ceil, cos, floor, radians
from typing import TypeVar

from parser.machine import Interval
from parser.motion.moves import Arc, Move, Trace
from parser.motion.places import Afloat, Coordinate, Place, minus
from parser.proof.approaches import TOLERANCE
from parser.proof.reach import FAR, Body, Hit, Obstacle, hit_on, penetration
from parser.proof.stretches import AT_START, TOUCH, Box, Stretch, offset, reach, stretch

LOSES_POSITION = frozenset({"homing", "home-at-panel", "by-hand", "motion-not-known", "call"})
"""Events after which the machine stands somewhere else, on a way that is not known."""

BEGINS_ANEW = LOSES_POSITION | {"tool-change", "pause"}
"""Events after which moves are judged from there: the tool may be another, which is clear of everything where it is.

A longer one may meet what a shorter one cleared. The same tool is clear there too, or an earlier move is to blame.
"""

Sweep = dict[str, Stretch]
Found = TypeVar("Found")


@dataclass(frozen=True, slots=True)
class Passage:
    """A move, and the place it is judged from: where the macro started, or stood after a stretch that is not known.

    ``since`` is the line of what made it begin anew there, None where it is judged from the start of the macro.
    ``again`` gives the same passage as it is for the starts in a box, None where that does not take following anew.
    """

    move: Move
    start: Place
    since: int | None = None
    again: Callable[[Box], Passage | None] | None = field(default=None, compare=False, repr=False)

    def within(self, box: Box) -> Passage | None:
        """The passage for the starts in ``box``; None where it then has no length."""
        return self if self.again is None else self.again(box)


Follow = Callable[[Box], Trace]
"""What follows the same program from the starts in a box."""


def followed_by_need(trace: Trace, whole: Box, follow: Follow) -> tuple[Passage, ...]:
    """The passages of a trace, to be followed anew in a smaller box where it takes that.

    A probe that goes from an unknown place to a fixed one trips somewhere between the two. That is no sum of a start
    and something else, so for all starts together it is taken to be anywhere between any start and the target.
    """
    found = passages(trace)
    if not any(move.kind == "probe" and _between_start_and_target(move) for move in trace.moves):
        return found
    known = {_key(whole): dict(zip(_names(found), found, strict=True))}

    def again(name: tuple[int, int], box: Box) -> Passage | None:
        key = _key(box)
        if key not in known:
            if len(known) > MOST_KNOWN:
                del known[next(islice(known, 1, None))]
            narrower = passages(follow(box))
            known[key] = dict(zip(_names(narrower), narrower, strict=True))
        return known[key].get(name)

    return tuple(replace(each, again=partial(again, name)) for name, each in zip(_names(found), found, strict=True))


def real_case(start: Mapping[str, float], box: Box, decide: Callable[[Box], Found | None]) -> Found | None:
    """What ``decide`` finds from one start alone: the one given, or another of the box; None where none shows it.

    It is for passages that are followed anew for it.
    """
    given = {axis: _alone(start.get(axis, side.middle)) for axis, side in box.items()}
    for case in chain([given], single_starts(box)):
        found = decide(case)
        if found is not None:
            return found
    return None


def single_starts(box: Box) -> Iterator[dict[str, Interval]]:
    """Some starts of a box, each as a box of its own: the ends and the middle along every axis."""
    places = product(*((side.low, side.middle, side.high) for side in box.values()))
    for each in islice(places, MOST_TRIED):
        yield dict(zip(box, map(_alone, each), strict=True))


def _alone(at: float) -> Interval:
    return Interval(at, at)


MOST_TRIED = 81
"""Starts tried for a case to show: the ends and the middle of four axes."""

MOST_KNOWN = 32
"""Boxes for which the passages are kept: several things are asked of one box in a row."""


def _between_start_and_target(move: Move) -> bool:
    ends = ((at, move.furthest[axis]) for axis, at in move.start.items())
    return any(isinstance(at, Afloat) and isinstance(minus(end, at), Afloat) for at, end in ends)


def _key(box: Box) -> tuple[tuple[str, Interval], ...]:
    return tuple(sorted(box.items(), key=lambda side: side[0]))


def _names(found: Sequence[Passage]) -> list[tuple[int, int]]:
    """Each passage by its line and its number among those of the line."""
    counts: dict[int, int] = {}
    names = []
    for passage in found:
        line = passage.move.line
        counts[line] = counts.get(line, 0) + 1
        names.append((line, counts[line]))
    return names


def passages(trace: Trace) -> tuple[Passage, ...]:
    """Every move of a trace that goes anywhere, with the place it is judged from."""
    losses = {event.before: event.line for event in trace.events if event.kind in BEGINS_ANEW}
    found, start, since = [], trace.start, None
    for index, move in enumerate(trace.moves):
        if index in losses:
            start, since = move.start, losses[index]
        if move.kind != "dwell":
            found.append(Passage(move, start, since))
    return tuple(found)


def fired_from(passage: Passage, judged: Mapping[str, float], box: Box) -> dict[str, float]:
    """Where a macro fires for the machine to stand at ``judged`` where the passage begins to be judged.

    An axis that stands there wherever the macro started is taken in the middle of ``box``.
    """
    fired = {}
    for axis, value in judged.items():
        at = passage.start[axis]
        tied = isinstance(at, Afloat) and at.unknown.kind == "start"
        fired[axis] = value - at.base if isinstance(at, Afloat) and tied else box[axis].middle
    return fired


def sweep(passage: Passage, box: Box) -> Sweep:
    """The stretch of every axis along a move; the plane axes of an arc as the extents of its whole sweep.

    A probing move is taken to go all the way, which takes in every shorter one.
    """
    move, start = passage.move, passage.start
    stretches = {name: stretch(at, move.furthest[name], start[name], box) for name, at in move.start.items()}
    if move.arc is not None:
        stretches |= _plane_extents(move.arc, move.arc.begins, move.arc.begins + move.arc.sweep, start, box)
    return stretches


def place_on_the_way(passage: Passage, box: Box, axis: str, high: bool) -> dict[str, float]:
    """Where all axes are when one is furthest out on a move, each in the middle of what the starts in a box allow."""
    passage = passage.within(box) or passage
    move, shares = passage.move, [1.0]
    if move.arc is not None:
        turn = 90.0 * (move.arc.axes.index(axis) if axis in move.arc.axes else 0)
        turns = {turn + 180.0 * half - move.arc.begins for half in range(-8, 9)} if axis in move.arc.axes else set()
        shares = [0.0, 1.0, *(each / move.arc.sweep for each in turns if 0.0 < each / move.arc.sweep < 1.0)]
    places = []
    for share in shares:
        part = sweep(passage, box) if move.arc is None else _arc_part(passage, move.arc, box, share, share)
        places.append({name: along.last.middle for name, along in part.items()})
    return (max if high else min)(places, key=lambda place: place[axis])


def hit(
    passage: Passage, obstacle: Obstacle, body: Body, box: Box, *, shown: bool = True, tolerance: float = TOLERANCE
) -> Hit | None:
    """Whether ``body`` may meet ``obstacle`` on this move from a start in ``box``.

    ``shown`` False skips the search for the case to show, where only the answer counts. ``tolerance`` is how far the
    answer may err towards a false alarm, mm.
    """

    def decide(part: Sweep, tied: bool, shown: bool, tolerance: float) -> Hit | None:
        x, y, z = (part[axis] if axis in part else _absent(axis, obstacle, body) for axis in "xyz")
        return hit_on(x, y, z, obstacle, body, together=tied, shown=shown, tolerance=tolerance)

    found = seek(passage, box, decide, shown=shown, tolerance=tolerance)
    return _at_a_corner(passage, obstacle, body, box, found) if found and shown and passage.move.dogleg else found


def _at_a_corner(passage: Passage, obstacle: Obstacle, body: Body, box: Box, found: Hit) -> Hit:
    """The case at a corner of what a dogleg sweeps from the same start, where one is met there.

    At a corner some axes have arrived and the others have not set out: it is the plainest case to look at.
    """
    stretches = sweep(passage, box)
    ways = []
    for axis, start, point in zip("xyz", found.start, found.point, strict=True):
        along = stretches.get(axis)
        ends = ((along.first, along.first_offset), (along.last, along.last_offset)) if along else ()
        ways.append([_end_from(start, point, *end) for end in ends] or [point])
    corners = [Hit(found.start, (x, y, z), found.size, 0.0) for x, y, z in product(*ways)]
    deepest = max(corners, key=lambda corner: penetration(found.start, corner.point, obstacle, body)[0])
    depth, length, radius = penetration(found.start, deepest.point, obstacle, body)
    return replace(deepest, size=(length, radius), depth=depth) if depth > TOUCH else found


def _end_from(start: float, point: float, side: Interval, offset: Interval | None) -> float:
    """Where an axis begins or ends a move from one start: nearest to a point where that is not known."""
    low, high = (side.low, side.high) if offset is None else (start + offset.low, start + offset.high)
    return min(max(point, low), high)


Decide = Callable[[Sweep, bool, bool, float], Found | None]
"""What is found on a part of a move: its stretches, whether all axes are at one share of it at a time, whether the case
is to be shown or any answer will do, and how far the answer may err towards a false alarm, mm."""


def seek(
    passage: Passage, box: Box, decide: Decide[Found], *, shown: bool = True, tolerance: float = TOLERANCE
) -> Found | None:
    """What ``decide`` finds on a move from a start in ``box``: at once where it is straight or swept, else by parts.

    A part of an arc no longer than ``tolerance``, mm, that is not known to be clear counts as found.
    """
    within = passage.within(box)
    if within is None:
        return None
    passage, move = within, within.move
    if move.arc is not None:
        return _seek_on_arc(passage, move.arc, box, decide, shown, tolerance, 0.0, 1.0)
    return decide(sweep(passage, box), not move.dogleg, shown, tolerance)


def _absent(axis: str, obstacle: Obstacle, body: Body) -> Stretch:
    """An axis that the machine does not have: anywhere that matters to the obstacle, and it never moves."""
    side = {"x": obstacle.x, "y": obstacle.y, "z": Interval(0.0, 0.0)}[axis]
    about = Interval(side.low - 2 * body.radius, side.high + 2 * body.radius) if axis != "z" else _ANY_HEIGHT
    return Stretch(about, about, about, AT_START, AT_START)


_ANY_HEIGHT = Interval(-FAR, FAR)


def _seek_on_arc(
    passage: Passage,
    arc: Arc,
    box: Box,
    decide: Decide[Found],
    shown: bool,
    tolerance: float,
    first: float,
    last: float,
) -> Found | None:
    """Exact extents of the part of an arc from share ``first`` to ``last``; halved where something is found on them.

    A part that is clear as a box is clear, decided no finer than the part is long. Otherwise its middle point is tried,
    which is a real case; and where that decides nothing the part is halved until it is smaller than ``tolerance``,
    which counts as found.
    """
    part = _arc_part(passage, arc, box, first, last)
    length = _length(part, arc, first, last)
    if decide(part, False, False, max(length, tolerance)) is None:
        return None
    middle = (first + last) / 2
    point = decide(_arc_part(passage, arc, box, middle, middle), False, shown, tolerance)
    if point is not None:
        return point
    if length < tolerance:
        return decide(part, False, shown, tolerance)
    return _seek_on_arc(passage, arc, box, decide, shown, tolerance, first, middle) or _seek_on_arc(
        passage, arc, box, decide, shown, tolerance, middle, last
    )


def _arc_part(passage: Passage, arc: Arc, box: Box, first: float, last: float) -> Sweep:
    move, start = passage.move, passage.start
    part = {name: _share(stretch(at, move.end[name], start[name], box), first, last) for name, at in move.start.items()}
    return part | _plane_extents(arc, arc.begins + arc.sweep * first, arc.begins + arc.sweep * last, start, box)


def _length(part: Sweep, arc: Arc, first: float, last: float) -> float:
    """The most a part of an arc is long, the rise of a helix with it, mm."""
    others = [along for name, along in part.items() if name not in arc.axes]
    rise = max((abs(b - a) for along in others for a, b in (along.low, along.high)), default=0.0)
    return arc.radius * radians(abs(arc.sweep)) * (last - first) + rise


def _share(whole: Stretch, first: float, last: float) -> Stretch:
    """The part of a straight stretch between two shares of it; loose from the start where only one end is tied."""

    def between(begin: Interval, end: Interval, share: float) -> Interval:
        return Interval(begin.low + share * (end.low - begin.low), begin.high + share * (end.high - begin.high))

    ends = [between(whole.first, whole.last, share) for share in (first, last)]
    begin, end = whole.first_offset, whole.last_offset
    if begin is None or end is None:
        return Stretch(whole.start, *ends)
    return Stretch(whole.start, *ends, *(between(begin, end, share) for share in (first, last)))


def _plane_extents(arc: Arc, begins: float, ends: float, start: Place, box: Box) -> Sweep:
    low, high = min(begins, ends), max(begins, ends)
    turns = (_cosines(low, high), _cosines(low - 90.0, high - 90.0))
    return {
        axis: _circle_extent(centre, arc.radius, turn, start[axis], box)
        for axis, centre, turn in zip(arc.axes, arc.centre, turns, strict=True)
    }


def _circle_extent(centre: Coordinate, radius: float, turn: Interval, start: Coordinate, box: Box) -> Stretch:
    middle, tie = reach(centre, box), offset(centre, start)
    low, high = radius * turn.low, radius * turn.high
    if tie is None:
        extent = Interval(middle.low + low, middle.high + high)
        return Stretch(reach(start, box), extent, extent)
    first, last = (Interval(middle.low + edge, middle.high + edge) for edge in (low, high))
    ties = (Interval(tie.low + edge, tie.high + edge) for edge in (low, high))
    return Stretch(reach(start, box), first, last, *ties)


def _cosines(low: float, high: float) -> Interval:
    """Range of the cosine between two angles in degrees, low at most high."""
    values = [cos(radians(low)), cos(radians(high))]
    if floor(high / 360) >= ceil(low / 360):
        values.append(1.0)
    if floor((high - 180) / 360) >= ceil((low - 180) / 360):
        values.append(-1.0)
    return Interval(min(values), max(values))
