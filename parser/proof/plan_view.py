"""Does something that is asked in plan view come true on a move: closer to a rectangle than it was, by a body's radius?

With d the distance to a rectangle, a the start and p a later point, what is asked is always this: for some radius e
between two limits, d(a) >= e and d(p) < e + slack. It is decided exactly, at any share t of the way within given times.

Why a few cases decide. At one t the two axes are independent, and each start side of the rectangle (left of it, beside
it, right of it, along either axis) can be looked at by itself. Beside it, along an axis, the start's own distance is 0
and only the least distance of p counts. On the other sides d(a)^2 - d(p)^2 is convex in the start, for an axis that
goes with its start by a share of at most 1, and the starts with d(p) within a bound are convex: so what is asked comes
true at an extreme point of those starts if anywhere. Such a point has the start at an end of its range or beside the
rectangle along both axes (``_from_a_corner``: all is linear in t then, and the distance convex in it), or along one
axis with d(p) at its bound (``_at_the_bound``: the best start along the other is quasiconcave in t), or neither, on a
rounded corner of the bound (``_on_a_curve``). The last can only be better where the two axes go with the start by
different shares, as where one has only been stepped along and the other goes to a fixed place.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise, product
from math import cos, hypot, inf, pi, sin, sqrt

from parser.machine import Interval
from parser.proof.axis_motion import TOUCH, AxisMotion, Line, Times, at, at_most

ROUNDING = 1e-9
"""mm that a start counted as clear may be nearer by: what floating point may differ by."""

BESIDE = 1e-7
"""mm that a start on a face is put off it, where it may be: it is to be clear whatever the rounding."""

GOLDEN = (sqrt(5) - 1) / 2
STEPS = 50
"""Steps of a search along one parameter; each leaves 0.618 of it."""

ALONG = 64
"""Parts of a move, and of a rounded corner, where one has to be looked through."""

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Closeness:
    """For some radius e from ``least`` to ``most``: d(a) >= e and d(p) < e + ``slack``, mm.

    ``outside`` leaves out starts over the inside of the rectangle. ``anyhow`` asks nothing of the start: d(p) < most +
    slack. Whatever is over the inside of the rectangle at p, and was not at a, counts as closer.
    """

    least: float
    most: float
    slack: float
    outside: bool = False
    anyhow: bool = False

    def bound(self, was: float) -> float:
        """The most that d(p) may be, for a start at a distance; below 0 where nothing is near enough."""
        if self.anyhow:
            return self.most + self.slack - TOUCH
        return -inf if was < self.least - ROUNDING else min(self.most, was) + self.slack - TOUCH


@dataclass(frozen=True, slots=True)
class Seen:
    """A case: the share of the way along X and Y, the start and the point, and whether it was made out for sure."""

    times: Point
    start: Point
    point: Point
    sure: bool = True


@dataclass(frozen=True, slots=True)
class Side:
    """Where the start is along one axis: a place ``gap`` off the rectangle, or anywhere of a range beside it.

    ``right`` and ``left`` are how far p at its nearest is off the high and the low face, linear in t; negative where it
    is past it. ``inner`` tells whether such a start may lie over the open inside of the rectangle along this axis.
    """

    starts: Interval
    gap: float
    right: Line
    left: Line
    inner: bool

    def distance(self, t: float) -> float:
        return max(at(self.right, t), at(self.left, t), 0.0)


def seen(
    x: AxisMotion,
    y: AxisMotion,
    sides: tuple[Interval, Interval],
    asked: Closeness,
    times: Times,
    *,
    together: bool = True,
) -> Iterator[Seen]:
    """Cases in which what is asked comes true at a share of the way within ``times``; none where no start makes it.

    ``together`` False lets each axis go along in its own time. Where one case is not like another in kind the plainest
    come first; those at the bound are only looked for where there is no other.
    """
    axes = (x, y)
    if not asked.anyhow and asked.most + asked.slack < TOUCH:
        yield from _entered(axes, sides, times, together)
        return
    found = False
    for one, other in product(*(_sides(axis, side, asked) for axis, side in zip(axes, sides, strict=True))):
        for case in _from_a_corner((one, other), axes, sides, asked, times, together):
            found = True
            yield case
    if found or asked.anyhow:
        return
    for need in sorted({asked.least, asked.most}):
        bound = need + asked.slack - TOUCH
        if bound >= 0 and need > 0:
            just = replace(asked, least=need, most=need)
            yield from _at_the_bound(axes, sides, just, bound, times, together)
            if together:
                yield from _on_a_curve(axes, sides, need, bound, times)


def _entered(
    axes: tuple[AxisMotion, AxisMotion], sides: tuple[Interval, Interval], times: Times, together: bool
) -> Iterator[Seen]:
    """Starts not over the inside of the rectangle whose p is: all that a line without a margin can do."""
    for one, other in product(*(_thirds(axis, side) for axis, side in zip(axes, sides, strict=True))):
        pair = (one, other)
        if not (one.inner and other.inner):
            when = _over(pair, times) if together else _over_apart(pair)
            if when is not None:
                yield _case(axes, sides, pair, when)


def _thirds(axis: AxisMotion, side: Interval) -> Iterator[Side]:
    """The starts along one axis beside the rectangle, and those to either side of it, its faces among them."""
    start = axis.start
    for low, high in ((start.low, side.low), (side.low, side.high), (side.high, start.high)):
        first, last = max(low, start.low), min(high, start.high)
        if first <= last:
            yield _beside(axis, side, Interval(first, last), inner=first < side.high and last > side.low)


# Starts at an end of their range, or beside the rectangle


def _sides(axis: AxisMotion, side: Interval, asked: Closeness) -> list[Side]:
    """What a start along one axis may be, as far as it takes to look."""
    start = axis.start
    if asked.anyhow:
        return [_beside(axis, side, start, inner=True)]
    found = []
    low, high = max(start.low, side.low), min(start.high, side.high)
    if low <= high:
        inner = low < side.high and high > side.low
        found.append(_beside(axis, side, Interval(low, high), inner=inner))
        if inner:
            found += [_at(axis, side, max(start.low, side.low - BESIDE))] if start.low <= side.low else []
            found += [_at(axis, side, min(start.high, side.high + BESIDE))] if start.high >= side.high else []
    for end in {start.low, start.high}:
        if not side.contains(end):
            found.append(_at(axis, side, end))
    return found


def _at(axis: AxisMotion, side: Interval, start: float) -> Side:
    low, high = axis.lowest(start), axis.highest(start)
    gap = max(side.low - start, start - side.high, 0.0)
    return Side(Interval(start, start), gap, _less(low, side.high), _less((-high[0], -high[1]), -side.low), inner=False)


def _beside(axis: AxisMotion, side: Interval, starts: Interval, *, inner: bool) -> Side:
    low, high = axis.lowest(starts.low), axis.highest(starts.high)
    return Side(starts, 0.0, _less(low, side.high), _less((-high[0], -high[1]), -side.low), inner)


def _less(line: Line, value: float) -> Line:
    return line[0] - value, line[1] - value


def _from_a_corner(
    pair: tuple[Side, Side],
    axes: tuple[AxisMotion, AxisMotion],
    sides: tuple[Interval, Interval],
    asked: Closeness,
    times: Times,
    together: bool,
) -> Iterator[Seen]:
    """The nearest that p comes for one side of the rectangle along either axis, where that is near enough."""
    over_it = pair[0].inner and pair[1].inner
    if over_it and asked.outside:
        return
    bound = asked.bound(hypot(pair[0].gap, pair[1].gap))
    when: Point | None = None
    if bound >= 0:
        nearest, when = _nearest(pair, times) if together else _nearest_apart(pair)
        when = when if nearest <= bound else None
    if when is None and (asked.anyhow or (not over_it and bound > -inf)):
        when = _over(pair, times) if together else _over_apart(pair)
    if when is not None:
        yield _case(axes, sides, pair, when)


def _case(
    axes: tuple[AxisMotion, AxisMotion], sides: tuple[Interval, Interval], pair: tuple[Side, Side], when: Point
) -> Seen:
    places = [_place(*each) for each in zip(axes, sides, pair, when, strict=True)]
    (start_x, at_x), (start_y, at_y) = places
    return Seen(when, (start_x, start_y), (at_x, at_y))


def _place(axis: AxisMotion, side: Interval, where: Side, t: float) -> Point:
    """A start of a side and where it is at t: as near to the rectangle as it comes, in the middle of what is open."""
    tie, low, high, starts = at(axis.tie, t), at(axis.low, t), at(axis.high, t), where.starts
    start = starts.middle
    if tie > 0 and starts.length > 0:
        first, last = (side.low - high) / tie, (side.high - low) / tie
        first, last = min(max(first, starts.low), starts.high), min(max(last, starts.low), starts.high)
        start = (first + last) / 2
    least, most = tie * start + low, tie * start + high
    least, most = min(max(least, side.low), most), max(min(most, side.high), least)
    return start, (least + most) / 2


def _nearest(pair: tuple[Side, Side], times: Times) -> tuple[float, Point]:
    """Least distance within ``times``, and when.

    Each of the two distances is the greatest of linear functions, so the square of the whole is convex in t; between
    the few t at which one function takes over from another it is quadratic, and the least value is found exactly.
    """
    low, high = times
    lines = [(side.right, side.left) for side in pair]
    if all(line[0] == line[1] for both in lines for line in both):
        return hypot(*(side.distance(low) for side in pair)), (low, low)
    turns = {low, high}
    for right, left in lines:
        for line in (right, left, (right[0] - left[0], right[1] - left[1])):
            if line[0] != line[1]:
                zero = line[0] / (line[0] - line[1])
                if low < zero < high:
                    turns.add(zero)
    ordered = sorted(turns)
    tried = [*ordered, *(_valley(lines, one, other) for one, other in pairwise(ordered))]
    best = min(tried, key=lambda t: hypot(*(side.distance(t) for side in pair)))
    return hypot(*(side.distance(best) for side in pair)), (best, best)


def _valley(lines: list[tuple[Line, Line]], first: float, last: float) -> float:
    """The t of least squared distance between two turns, where one line of each axis counts all along."""
    middle = (first + last) / 2
    rise = slope = 0.0
    for both in lines:
        line = max(both, key=lambda each: at(each, middle))
        if at(line, middle) > 0:
            rise += (line[1] - line[0]) * line[0]
            slope += (line[1] - line[0]) ** 2
    return min(max(-rise / slope, first), last) if slope > 0 else middle


def _nearest_apart(pair: tuple[Side, Side]) -> tuple[float, Point]:
    """The same where each axis goes along in its own time."""
    found = [_nearest_alone(side) for side in pair]
    return hypot(*(distance for distance, _ in found)), (found[0][1], found[1][1])


def _nearest_alone(side: Side) -> tuple[float, float]:
    t = _deepest_alone(side)
    return side.distance(t), t


def _deepest_alone(side: Side) -> float:
    """When p is furthest inside along one axis, or nearest to being inside."""
    right, left = side.right, side.left
    turns = [0.0, 1.0]
    difference = (right[0] - left[0], right[1] - left[1])
    if difference[0] != difference[1]:
        turns.append(min(max(difference[0] / (difference[0] - difference[1]), 0.0), 1.0))
    return min(turns, key=lambda t: max(at(right, t), at(left, t)))


def _over(pair: tuple[Side, Side], times: Times) -> Point | None:
    """When p is over the open inside of the rectangle."""
    left: Times | None = times
    for line in (line for side in pair for line in (side.right, side.left)):
        left = None if left is None else at_most(line, -TOUCH, left)
    return None if left is None else ((left[0] + left[1]) / 2,) * 2


def _over_apart(pair: tuple[Side, Side]) -> Point | None:
    when = [_deepest_alone(side) for side in pair]
    inside = all(max(at(s.right, t), at(s.left, t)) <= -TOUCH for s, t in zip(pair, when, strict=True))
    return (when[0], when[1]) if inside else None


# Starts for which p is just within the bound


@dataclass(frozen=True, slots=True)
class Outward:
    """An axis on the high side of the rectangle: for a start s off its face, p is ``tie s + off`` off it."""

    tie: Line
    off: Line
    least: float
    most: float
    sign: float
    face: float

    def start_for(self, gap: float, t: float) -> float:
        """How far off the start is whose p is ``gap`` off at t."""
        tie, left = at(self.tie, t), gap - at(self.off, t)
        return left / tie if tie > 0 else inf if left > 0 else -inf

    @property
    def stands_still(self) -> bool:
        """Whether it goes with the start and nowhere meanwhile."""
        return self.tie == (1.0, 1.0) and abs(self.off[1] - self.off[0]) < ROUNDING

    def place(self, off: float) -> float:
        """The coordinate that is so far off the face."""
        return self.sign * (self.face + off)


def _outward(axis: AxisMotion, side: Interval) -> Iterator[Outward]:
    """Either side of the rectangle along an axis, where the start may be there and p goes with it."""
    if axis.tie == (0.0, 0.0):
        return
    for sign in (1.0, -1.0):
        turned, face = (axis, side.high) if sign > 0 else (axis.mirrored(), -side.low)
        if turned.start.high > face:
            off = tuple(low + (tie - 1.0) * face for low, tie in zip(turned.low, turned.tie, strict=True))
            least = max(turned.start.low - face, 0.0)
            yield Outward(turned.tie, (off[0], off[1]), least, turned.start.high - face, sign, face)


def _at_the_bound(
    axes: tuple[AxisMotion, AxisMotion],
    sides: tuple[Interval, Interval],
    asked: Closeness,
    bound: float,
    times: Times,
    together: bool,
) -> Iterator[Seen]:
    """One axis at an end of its starts or beside the rectangle, along the other as far off as d(p) lets it be."""
    for first in (0, 1):
        other_axis, other_side = axes[1 - first], sides[1 - first]
        others = [other_axis] if together else other_axis.in_its_own_time()
        outwards = [outward for each in others for outward in _outward(each, other_side)]
        for where in _sides(axes[first], sides[first], asked) if outwards else ():
            own = None if together else _nearest_alone(where)
            part: Times | None = times
            for line in (where.right, where.left) if own is None else ():
                part = None if part is None else at_most(line, bound, part)
            if part is None or (own is not None and own[0] > bound):
                continue

            def gap(t: float, where: Side = where, own: Point | None = own) -> float:
                """How far off p may be along the other axis."""
                return sqrt(max(bound * bound - (where.distance(t) if own is None else own[0]) ** 2, 0.0))

            wanted = sqrt(max(asked.most * asked.most - where.gap * where.gap, 0.0)) - ROUNDING
            for outward in outwards:
                if outward.most < wanted or max(outward.start_for(bound, t) for t in part) < max(wanted, outward.least):
                    continue  # at no t is there a start so far off whose p is within the bound along this axis alone

                def start(t: float, outward: Outward = outward) -> float:
                    return outward.start_for(gap(t), t)

                t = _highest(start, *part)
                off = start(t)
                if outward.least <= off <= outward.most and hypot(where.gap, off) >= asked.most - ROUNDING:
                    fixed_t = t if own is None else own[1]
                    fixed = _place(axes[first], sides[first], where, fixed_t)
                    free = (outward.place(off), outward.place(gap(t)))
                    (start_x, at_x), (start_y, at_y) = (fixed, free) if first == 0 else (free, fixed)
                    when = (fixed_t, t) if first == 0 else (t, fixed_t)
                    yield Seen(when, (start_x, start_y), (at_x, at_y))


def _highest(value: Callable[[float], float], low: float, high: float) -> float:
    """Where a quasiconcave function is highest."""
    one, other = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
    at_one, at_other = value(one), value(other)
    for _ in range(STEPS):
        if at_one >= at_other:
            high, other, at_other = other, one, at_one
            one = high - GOLDEN * (high - low)
            at_one = value(one)
        else:
            low, one, at_one = one, other, at_other
            other = low + GOLDEN * (high - low)
            at_other = value(other)
    return max((low, high, one, other), key=value)


def _on_a_curve(
    axes: tuple[AxisMotion, AxisMotion],
    sides: tuple[Interval, Interval],
    need: float,
    bound: float,
    times: Times,
) -> Iterator[Seen]:
    """Neither axis at an end, p on a rounded corner of the bound: only where the two go with the start differently.

    Where the axis of constant share stands still meanwhile, the best start along the other is monotone in t, so the
    ends of ``times`` are looked at and no others. Elsewhere (an axis goes on by a step while the other goes to a fixed
    place, which takes an offset by G92) cells of t and of the angle of p are halved; what ``CELLS`` of them leave open
    is not sure.
    """
    ties = [axis.tie for axis in axes]
    if ties[0] == ties[1] or (0.0, 0.0) in ties:
        return
    for one, other in product(*(_outward(axis, side) for axis, side in zip(axes, sides, strict=True))):
        curve = Curve((one, other), bound)
        if one.stands_still or other.stands_still:
            found = max(((*curve.furthest(t), t) for t in times), key=lambda each: each[0])
            if found[0] >= need - ROUNDING:
                yield curve.case(found[2], found[1], sure=True)
        else:
            case = curve.sought(need, times)
            if case is not None:
                yield case


CELLS = 2_000
"""Cells of t and angle that are looked at."""


@dataclass(frozen=True, slots=True)
class Curve:
    """Starts whose p is on a rounded corner of the bound: by the angle of p there, from 0 to 90 degrees."""

    pair: tuple[Outward, Outward]
    bound: float

    def offs(self, t: float, angle: float) -> tuple[float, float]:
        gaps = self.bound * cos(angle), self.bound * sin(angle)
        return self.pair[0].start_for(gaps[0], t), self.pair[1].start_for(gaps[1], t)

    def distance(self, t: float, angle: float) -> float:
        """How far off the start is; below 0 where there is none."""
        offs = self.offs(t, angle)
        possible = all(each.least <= off <= each.most for each, off in zip(self.pair, offs, strict=True))
        return hypot(*offs) if possible else -inf

    def furthest(self, t: float) -> tuple[float, float]:
        """The start furthest off at one t, and the angle."""

        def off(angle: float) -> float:
            return self.distance(t, angle)

        step = pi / 2 / ALONG
        best = max((step * i for i in range(ALONG + 1)), key=off)
        best = max(best, _highest(off, max(best - step, 0.0), min(best + step, pi / 2)), key=off)
        return off(best), best

    def at_most(self, times: Times, angles: Times) -> float:
        """What no start of a cell is further off than: each axis is monotone in t, and in the angle."""
        gaps = self.bound * cos(angles[0]), self.bound * sin(angles[1])
        offs = [max(each.start_for(gap, t) for t in times) for each, gap in zip(self.pair, gaps, strict=True)]
        possible = all(off >= each.least - ROUNDING for each, off in zip(self.pair, offs, strict=True))
        most = hypot(*(min(off, each.most) for each, off in zip(self.pair, offs, strict=True)))
        return most if possible else -inf

    def sought(self, need: float, times: Times) -> Seen | None:
        """A start as far off as ``need``; one that is not sure where the cells do not decide; None for none."""
        left, looked = [(times, (0.0, pi / 2))], 0
        while left:
            when, angles = left.pop()
            if self.at_most(when, angles) < need - ROUNDING:
                continue
            looked += 1
            middle, angle = sum(when) / 2, sum(angles) / 2
            for t, turn in product((middle, *when), (angle, *angles)):
                if self.distance(t, turn) >= need - ROUNDING:
                    return self.case(t, turn, sure=True)
            if looked > CELLS:
                return self.case(middle, angle, sure=False)
            left += product(((when[0], middle), (middle, when[1])), ((angles[0], angle), (angle, angles[1])))
        return None

    def case(self, t: float, angle: float, *, sure: bool) -> Seen:
        gaps = self.bound * cos(angle), self.bound * sin(angle)
        offs = [min(max(off, each.least), each.most) for each, off in zip(self.pair, self.offs(t, angle), strict=True)]
        (start_x, start_y), (at_x, at_y) = (
            (self.pair[0].place(of[0]), self.pair[1].place(of[1])) for of in (offs, gaps)
        )
        return Seen((t, t), (start_x, start_y), (at_x, at_y), sure)
