"""The moves of a trace as the proof sees them: one motion per axis, and which decision each kind of move calls for."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import islice, pairwise, product
from math import asin, atan2, ceil, cos, floor, hypot, pi, prod, radians
from typing import TypeVar

from parser.machine import LINEAR, Interval, Machine
from parser.motion.geometry import closing_radius
from parser.motion.moves import Arc, Event, Move, Trace
from parser.motion.places import Afloat, Coordinate, Name, Place, bounds, minus
from parser.motion.probing import ANYWHERE
from parser.proof.axis_motion import TOUCH, WHOLE, AxisMotion, Box, Times, axis_motion, offset, reach
from parser.proof.contact import FAR, Body, Hit, Obstacle, hit_on, penetration
from parser.proof.effort import BOX, spend
from parser.times.joints import may_run_on, roundable

TOLERANCE = 1e-3
"""mm to which an arc is decided, erring towards a false alarm, unless a coarser answer will do."""

BEGINS, ENDS = (0.0, 0.5), (0.5, 1.0)
"""The halves of a move; the arc of a rounded corner takes no more than half of either neighbour."""

Motions = dict[str, AxisMotion]
Found = TypeVar("Found")


@dataclass(frozen=True, slots=True)
class Part:
    """A part of all cases: the starts in a box, and by line the share of the way at which probes trip."""

    box: Box
    trips: Mapping[int, Interval] = field(default_factory=dict)

    @property
    def key(self) -> tuple[object, ...]:
        return tuple(sorted(self.box.items(), key=_name)), tuple(sorted(self.trips.items(), key=_line))

    def halves(self) -> list[Part]:
        """It cut in two across what is longest; nothing where all is short."""
        axis = max(self.box, key=lambda name: self.box[name].length)
        line = max(self.trips, key=lambda each: self.trips[each].length, default=None)
        trip = 0.0 if line is None else self.trips[line].length * TRIP_LENGTH
        if line is not None and trip > self.box[axis].length:
            return [replace(self, trips={**self.trips, line: half}) for half in _halved(self.trips[line])]
        if self.box[axis].length <= TOLERANCE:
            return []
        return [replace(self, box={**self.box, axis: half}) for half in _halved(self.box[axis])]

    def singles(self) -> Iterator[Part]:
        """Some single cases: the middle and the ends along every axis and of every share."""
        sides = [*self.box.values(), *self.trips.values()]
        for each in islice(product(*(dict.fromkeys((s.middle, s.low, s.high)) for s in sides)), MOST_SINGLE):
            alone = [Interval(at, at) for at in each]
            yield Part(
                dict(zip(self.box, alone, strict=False)), dict(zip(self.trips, alone[len(self.box) :], strict=True))
            )


def _name(side: tuple[str, Interval]) -> str:
    return side[0]


def _line(trip: tuple[int, Interval]) -> int:
    return trip[0]


def _halved(side: Interval) -> tuple[Interval, Interval]:
    return Interval(side.low, side.middle), Interval(side.middle, side.high)


TRIP_LENGTH = 50.0
"""mm that the way of a probe counts for where a part is cut in two: starts and trips are narrowed alike."""

MOST_SINGLE = 81
"""Single cases of a part that are tried: the middle and the ends of four things."""


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
    again: Callable[[Part], Sequence[Passage]] | None = field(default=None, compare=False, repr=False)
    parts: Callable[[Box], list[Part]] | None = field(default=None, compare=False, repr=False)
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


Follow = Callable[[Part], Trace]
"""What follows the same program in a part of all cases."""


def begins_anew(event: Event) -> bool:
    """Whether moves are judged from there: the tool may be another, which is clear of everything where it is.

    A longer one may meet what a shorter one cleared. The same tool is clear there too, or an earlier move is to blame.
    """
    return event.kind.interrupts


def passages(trace: Trace, machine: Machine) -> tuple[Passage, ...]:
    """Every move of a trace that goes anywhere, with the place it is judged from."""
    anew = {event.before: event.line for event in trace.events if begins_anew(event)}
    blends = machine.corner == "blend"
    corners = _corners(trace, machine) if blends else {}
    ends, begins = _past_what_may_stand_still(trace, machine) if blends else (set(), set())
    found, start, since, last = [], trace.start, None, -1
    for index, move in enumerate(trace.moves):
        if index in anew:
            start, since = move.start, anew[index]
        if move.kind != "dwell":
            halves = [half for at, half in ((last, BEGINS), (index, ENDS)) if corners.get(at, SHARP) is None]
            halves += [BEGINS] if index in begins and BEGINS not in halves else []
            halves += [ENDS] if index in ends and ENDS not in halves else []
            last = index
            found.append(
                Passage(move, start, since, corners.get(index), tuple(halves), machine.tolerance if halves else 0.0)
            )
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Corner:
    """A corner that may be rounded: how far its widest arc is off the corner, linear axes in their order, mm.

    The arc is that of a circle tangent to both moves: ``out`` and ``across`` span its plane, from the corner to the
    middle of the circle and along the chord; ``radius``, ``middle`` (of the circle from the corner) and ``half`` (the
    angle from the middle of the arc to its ends) are its measures.
    """

    out: tuple[float, ...]
    across: tuple[float, ...]
    radius: float
    middle: float
    half: float

    def off(self, low: Times, high: Times) -> list[Interval]:
        """Everywhere along each axis between two angles, for every arc from a smaller to a larger one, as a share."""
        found = []
        (first, last), (least, most) = low, high
        for out, across in zip(self.out, self.across, strict=True):
            # middle * out - radius * (cos * out + sin * across): a cosine about an angle of its own
            size, turn = self.radius * hypot(out, across), atan2(across, out)
            angles = [first, last, *(turn + pi * k for k in (-2, -1, 0, 1, 2) if first < turn + pi * k < last)]
            places = [self.middle * out - size * cos(angle - turn) for angle in angles]
            ends = [share * place for share in (least, most) for place in (min(places), max(places))]
            found.append(Interval(min(ends), max(ends)))
        return found


SHARP = Corner((), (), 0.0, 0.0, 0.0)
"""A corner that is not rounded."""


def _corners(trace: Trace, machine: Machine) -> dict[int, Corner | None]:
    """The corners that may be rounded, by the number of the move that ends there; None where its shape is not known."""
    rotary = {axis.name for axis in machine.axes if axis.rotary}
    moving = [number for number, move in enumerate(trace.moves) if move.kind != "dwell"]
    pairs = list(pairwise(moving))
    found = {}
    for (one, other), may in zip(pairs, may_run_on(trace, pairs, at_all=True), strict=True):
        moves = trace.moves[one], trace.moves[other]
        if may and all(roundable(move, not rotary.isdisjoint(move.moving)) for move in moves):
            found[one] = _corner(*moves, machine.tolerance)
    return found


def _past_what_may_stand_still(trace: Trace, machine: Machine) -> tuple[set[int], set[int]]:
    """The moves that may end, and those that may begin, in a corner with one that is not their neighbour.

    From some start all that lies between the two may have no length, and then they meet. Only how far off the corner
    the way may be is known then.
    """
    rotary = {axis.name for axis in machine.axes if axis.rotary}
    moving = [number for number, move in enumerate(trace.moves) if move.kind != "dwell"]
    may = {n for n in moving if roundable(trace.moves[n], not rotary.isdisjoint(trace.moves[n].moving))}
    still = {n for n in moving if _may_stand_still(trace.moves[n])}
    pairs = []
    for at, one in enumerate(moving):
        if one in may:
            for before, other in pairwise(moving[at + 1 :]):
                if before not in still:
                    break
                pairs += [(one, other)] if other in may else []
    met = [pair for pair, goes in zip(pairs, may_run_on(trace, pairs, at_all=True), strict=True) if goes]
    return {one for one, _ in met}, {other for _, other in met}


def _may_stand_still(move: Move) -> bool:
    """Whether a move has no length from some start."""
    if move.kind == "probe" or (move.arc is not None and abs(move.arc.sweep) > 0):
        return False
    return all(bounds(minus(move.end[axis], at)).contains(0.0) for axis, at in move.start.items())


def _corner(one: Move, other: Move, tolerance: float) -> Corner | None:
    """The widest arc that a corner may be rounded by: within the tolerance, taking no more than half of either move."""
    ways = []
    for move in (one, other):
        steps = [minus(move.end[axis], at) for axis, at in move.start.items() if axis in LINEAR]
        known = [step for step in steps if not isinstance(step, Afloat)]
        if len(known) < len(steps):
            return None
        ways.append(known)
    lengths = [hypot(*way) for way in ways]
    back = [-step / lengths[0] for step in ways[0]]
    ahead = [step / lengths[1] for step in ways[1]]
    apart = hypot(*(a - b for a, b in zip(ahead, back, strict=True))) / 2
    along = hypot(*(a + b for a, b in zip(ahead, back, strict=True))) / 2
    if apart <= STRAIGHT or along <= STRAIGHT:  # straight on, or straight back: there is no corner to cut
        return SHARP
    tangent = min(tolerance * along / (1 - apart), min(lengths) / 2)
    return Corner(
        tuple((a + b) / (2 * along) for a, b in zip(ahead, back, strict=True)),
        tuple((a - b) / (2 * apart) for a, b in zip(ahead, back, strict=True)),
        tangent * apart / along,
        tangent / along,
        asin(along),
    )


STRAIGHT = 1e-9
"""Sine of half an angle from which on two moves make a corner."""


# Moves that are followed again from fewer starts


def followed_by_need(trace: Trace, machine: Machine, whole: Box, follow: Follow) -> tuple[Passage, ...]:
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
    known: dict[tuple[object, ...], tuple[Passage, ...]] = {Part(whole, lines).key: found}

    def again(line: int, part: Part) -> Sequence[Passage]:
        if part.key not in known:
            if len(known) > MOST_KNOWN:
                del known[next(islice(known, 1, None))]
            known[part.key] = passages(follow(part), machine)
        return [each for each in known[part.key] if each.move.line == line]

    parts = partial(_forked, trace.forks, lines)
    return tuple(replace(each, again=partial(again, each.move.line), parts=parts) for each in found)


def _forked(forks: Sequence[tuple[str, float]], trips: Mapping[int, Interval], box: Box) -> list[Part]:
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
    return [Part(dict(zip(box, part, strict=True)), trips) for part in product(*sides)]


def _no_sum(move: Move) -> bool:
    """Whether where a probe trips is no sum of where it began and something of one axis alone."""
    steps = [minus(move.furthest[axis], at) for axis, at in move.start.items()]
    return any(isinstance(step, Afloat) for step in steps) or sum(step != 0 for step in steps) > 1


MOST_PARTS = 64
"""Parts of all cases that a line is followed in before what may be met on it counts as found."""

FEW_PARTS, FEW_SINGLE = 8, 3
"""The same, and the single cases of each, where only the answer counts and a false alarm costs a little of a box."""

MOST_KNOWN = 256
"""Parts for which the passages are kept: several things are asked of one in a row."""


def single_starts(box: Box) -> Iterator[Box]:
    """Some starts of a box, each as a box of its own: the ends and the middle along every axis."""
    return (part.box for part in Part(box).singles())


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

    def found_in(part: Part) -> Found | None:
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


# Motions


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
        return _arc_part(passage, move.arc, box, 0.0, 1.0)
    return _straight(passage, box)


def _straight(passage: Passage, box: Box) -> Motions:
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
            part = {name: along.part(share, share) for name, along in _straight(passage, box).items()}
        else:
            part = _arc_part(passage, move.arc, box, share, share)
        places.append({name: _middle(along, start.get(name)) for name, along in part.items()})
    return (max if high else min)(places, key=lambda place: place[axis])


def _middle(along: AxisMotion, start: float | None) -> float:
    judged = along.start.middle if start is None else start
    return (along.lowest(judged)[1] + along.highest(judged)[1]) / 2


def hit(
    passage: Passage, obstacle: Obstacle, body: Body, box: Box, *, shown: bool = True, tolerance: float = TOLERANCE
) -> Hit | None:
    """Whether ``body`` may meet ``obstacle`` on this move from a start in ``box``.

    ``shown`` False skips the search for the case to show, where only the answer counts. ``tolerance`` is how far the
    answer may err towards a false alarm on an arc, mm; coarser is quicker.
    """

    def on_the_way(one: Passage, part: Box) -> Hit | None:
        found = _hit(one, obstacle, body, part, shown, tolerance)
        if found is None or not shown:
            return found
        found = _at_a_corner(one, obstacle, body, part, found) if one.move.dogleg else found
        found = replace(found, depth=0.0) if one.move.guessed or entangled(one) else found
        judged = {name: value for name, value in zip("xyz", found.start, strict=True) if name in part}
        return replace(found, fired=fired_from(one, judged, part))

    return find(passage, box, on_the_way, lambda found: replace(found, depth=0.0), shown=shown)


def _hit(passage: Passage, obstacle: Obstacle, body: Body, box: Box, shown: bool, tolerance: float) -> Hit | None:
    def decide(part: Motions, together: bool, shown: bool, times: Times, cut: float) -> Hit | None:
        x, y, z = (part[axis] if axis in part else _absent(axis, obstacle, body) for axis in "xyz")
        return hit_on(x, y, z, obstacle, body, together=together, shown=shown, times=times, cut=cut)

    return seek(passage, box, decide, shown=shown, tolerance=tolerance)


def entangled(passage: Passage) -> bool:
    """Whether two things that are not known hang together, which are looked at as if they did not.

    One unknown that moves two axes; one that counts differently where an axis is judged from, begins or ends; and the
    way of a probe towards a place that is not known either.
    """
    seen: set[Name] = set()
    for axis in "xyz":
        counts: dict[Name, float] = {}
        for place in (passage.start, passage.move.start, passage.move.furthest):
            at = place.get(axis)
            for unknown, count in at.unknown.parts if isinstance(at, Afloat) else ():
                if unknown.kind == "between" or counts.setdefault(unknown.name, count) != count:
                    return True
        if not seen.isdisjoint(counts):
            return True
        seen |= counts.keys()
    return False


def _at_a_corner(passage: Passage, obstacle: Obstacle, body: Body, box: Box, found: Hit) -> Hit:
    """The case at a corner of what a dogleg sweeps from the same start, where one is met there.

    At a corner some axes have arrived and the others have not set out: it is the plainest case to look at.
    """
    along = motions(passage, box)
    ways = []
    for axis, start, point in zip("xyz", found.start, found.point, strict=True):
        if axis not in along:
            ways.append([point])
            continue
        ends = zip(along[axis].lowest(start), along[axis].highest(start), strict=True)
        ways.append([min(max(point, low), high) for low, high in ends])
    corners = [Hit(found.start, (x, y, z), found.size, 0.0) for x, y, z in product(*ways)]
    deepest = max(corners, key=lambda corner: penetration(found.start, corner.point, obstacle, body)[0])
    depth, length, radius = penetration(found.start, deepest.point, obstacle, body)
    return replace(deepest, size=(length, radius), depth=depth) if depth > TOUCH else found


Decide = Callable[[Motions, bool, bool, Times, float], Found | None]
"""What is found on a part of a move: its motions, whether all axes are at one share of it at a time, whether the case
is to be shown or any answer will do, the shares of it that are looked at, and what a rounded corner may cut, mm."""


def seek(
    passage: Passage, box: Box, decide: Decide[Found], *, shown: bool = True, tolerance: float = TOLERANCE
) -> Found | None:
    """What ``decide`` finds on a move from a start in ``box``: at once where it is straight or swept, else by parts.

    A part of an arc no longer than ``tolerance``, mm, that is not known to be clear counts as found.
    """
    spend(BOX)
    move = passage.move
    if move.arc is not None:
        return _seek_on_arc(passage, move.arc, box, decide, shown, tolerance, 0.0, 1.0)
    along = _straight(passage, box)
    found = decide(along, not move.dogleg, shown, WHOLE, 0.0)
    for half in passage.rounded:
        found = found if found is not None else decide(along, True, shown, half, passage.cut)
    if found is None and passage.corner is not None and passage.corner.half > 0:
        end = passage.corner.half
        return _seek_on_corner(along, passage.corner, decide, shown, tolerance, (-end, end), WHOLE)
    return found


def _seek_on_corner(
    along: Motions,
    corner: Corner,
    decide: Decide[Found],
    shown: bool,
    tolerance: float,
    angles: Times,
    shares: Times,
) -> Found | None:
    """What is found between a corner and the widest arc that may round it, every smaller one among them.

    As for an arc: what is clear as a box is clear, the middle is a real case, and the rest is cut in four.
    """
    spend(BOX)
    part = _beside(along, corner.off(angles, shares))
    if decide(part, False, False, WHOLE, 0.0) is None:
        return None
    angle, share = sum(angles) / 2, shares[1]
    point = decide(_beside(along, corner.off((angle, angle), (share, share))), False, shown, WHOLE, 0.0)
    if point is not None:
        return point
    size = corner.radius * (angles[1] - angles[0]) + (corner.middle - corner.radius) * (shares[1] - shares[0])
    if size < tolerance:
        return decide(part, False, shown, WHOLE, 0.0)
    middle = sum(shares) / 2
    for some_angles, some_shares in product(
        ((angles[0], angle), (angle, angles[1])), ((middle, shares[1]), (shares[0], middle))
    ):
        found = _seek_on_corner(along, corner, decide, shown, tolerance, some_angles, some_shares)
        if found is not None:
            return found
    return None


def _beside(along: Motions, off: Sequence[Interval]) -> Motions:
    """Where a move ends, and so far off along its linear axes."""
    found = {name: motion.part(1.0, 1.0) for name, motion in along.items()}
    linear = [(name, motion) for name, motion in found.items() if name in LINEAR]
    for (name, motion), by in zip(linear, off, strict=True):
        low, high = motion.low[1] + by.low, motion.high[1] + by.high
        found[name] = AxisMotion(motion.start, motion.tie, (low, low), (high, high))
    return found


def _absent(axis: str, obstacle: Obstacle, body: Body) -> AxisMotion:
    """An axis that the machine does not have: anywhere that matters to the obstacle, and it never moves."""
    side = {"x": obstacle.x, "y": obstacle.y, "z": Interval(-FAR, FAR)}[axis]
    off = 2 * (body.radius + obstacle.margin)
    about = side if axis == "z" else Interval(side.low - off, side.high + off)
    return AxisMotion(about, (1.0, 1.0), (0.0, 0.0), (0.0, 0.0))


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

    A part that is clear as a box is clear. Otherwise its ends and its middle are tried, which are real cases; and where
    that decides nothing the part is halved until it is smaller than ``tolerance``, which counts as found.
    """
    spend(BOX)
    part = _arc_part(passage, arc, box, first, last)
    if decide(part, False, False, WHOLE, 0.0) is None:
        return None
    middle = (first + last) / 2
    for share in dict.fromkeys((middle, last)):
        point = decide(_arc_part(passage, arc, box, share, share), False, shown, WHOLE, 0.0)
        if point is not None:
            return point
    if _length(part, arc, first, last) < tolerance:
        return decide(part, False, shown, WHOLE, 0.0)
    before = _seek_on_arc(passage, arc, box, decide, shown, tolerance, first, middle)
    return before if before is not None else _seek_on_arc(passage, arc, box, decide, shown, tolerance, middle, last)


def _arc_part(passage: Passage, arc: Arc, box: Box, first: float, last: float) -> Motions:
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


def _length(part: Motions, arc: Arc, first: float, last: float) -> float:
    """The most a part of an arc is long, the rise of a helix with it, mm."""
    rise = max(
        (
            max(abs(along.ends.low - along.begins.low), abs(along.ends.high - along.begins.high))
            for name, along in part.items()
            if name not in arc.axes
        ),
        default=0.0,
    )
    return arc.radius * radians(abs(arc.sweep)) * (last - first) + rise


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
