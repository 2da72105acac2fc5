"""Starts for which a point in plan view is just within the bound: along one axis, or on a rounded corner of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import product
from math import cos, hypot, inf, pi, sin, sqrt

from parser.machine import Interval
from parser.proof.axis_motion import AxisMotion, Line, Times, at, at_most
from parser.proof.plan_sides import ROUNDING, Closeness, InPlan, Point, Seen, Side, nearest_alone, place, sides_of

GOLDEN = (sqrt(5) - 1) / 2

STEPS = 50
"""Steps of a search along one parameter; each leaves 0.618 of it."""

ALONG = 64
"""Parts of a move, and of a rounded corner, where one has to be looked through."""


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

    @property
    def at_one_place(self) -> bool:
        """Whether p is at the same place all along, as on a part of an arc, of which only the extents are known."""
        return self.tie[0] == self.tie[1] and self.off[0] == self.off[1]

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


def at_the_bound(plan: InPlan, asked: Closeness, bound: float, times: Times, together: bool) -> Iterator[Seen]:
    """One axis at an end of its starts or beside the rectangle, along the other as far off as d(p) lets it be."""
    for first in (0, 1):
        other_axis, other_side = plan[1 - first]
        others = [other_axis] if together else other_axis.in_its_own_time()
        outwards = [outward for each in others for outward in _outward(each, other_side)]
        for where in sides_of(*plan[first], asked) if outwards else ():
            own = None if together else nearest_alone(where)
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

                same = outward.at_one_place and (own is not None or where.at_one_place)
                t = part[0] if same else _highest(start, *part)
                off = start(t)
                if outward.least <= off <= outward.most and hypot(where.gap, off) >= asked.most - ROUNDING:
                    fixed_t = t if own is None else own[1]
                    fixed = place(*plan[first], where, fixed_t)
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


def on_a_curve(plan: InPlan, need: float, bound: float, times: Times) -> Iterator[Seen]:
    """Neither axis at an end, p on a rounded corner of the bound: only where the two go with the start differently.

    Where the axis of constant share stands still meanwhile, the best start along the other is monotone in t, so the
    ends of ``times`` are looked at and no others. Elsewhere (an axis goes on by a step while the other goes to a fixed
    place, which takes an offset by G92) cells of t and of the angle of p are halved; what ``CELLS`` of them leave open
    is not sure.
    """
    ties = [axis.tie for axis, _ in plan]
    if ties[0] == ties[1] or (0.0, 0.0) in ties:
        return
    for one, other in product(*(_outward(*each) for each in plan)):
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
