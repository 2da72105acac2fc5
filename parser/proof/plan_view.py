"""Does something that is asked in plan view come true on a move: closer to a rectangle than it was, by a body's radius?

With d the distance to a rectangle, a the start and p a later point, what is asked is always this: for some radius e
between two limits, d(a) >= e and d(p) < e + slack. It is decided exactly, at any share t of the way within given times.

Why a few cases decide. At one t the two axes are independent, and each start side of the rectangle (left of it, beside
it, right of it, along either axis) can be looked at by itself. Beside it, along an axis, the start's own distance is 0
and only the least distance of p counts. On the other sides d(a)^2 - d(p)^2 is convex in the start, for an axis that
goes with its start by a share of at most 1, and the starts with d(p) within a bound are convex: so what is asked comes
true at an extreme point of those starts if anywhere. Such a point has the start at an end of its range or beside the
rectangle along both axes (``_from_a_corner``: all is linear in t then, and the distance convex in it), or along one
axis with d(p) at its bound (``at_the_bound``: the best start along the other is quasiconcave in t), or neither, on a
rounded corner of the bound (``on_a_curve``). The last can only be better where the two axes go with the start by
different shares, as where one has only been stepped along and the other goes to a fixed place.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import product
from math import hypot, inf

from parser.machine import Interval
from parser.proof.axis_motion import TOUCH, AxisMotion, Times, at, at_most
from parser.proof.plan_bound import at_the_bound, on_a_curve
from parser.proof.plan_sides import (
    Closeness,
    InPlan,
    Point,
    Seen,
    Side,
    beside,
    deepest_alone,
    nearest,
    nearest_apart,
    place,
    sides_of,
)


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
    plan = ((x, sides[0]), (y, sides[1]))
    if not asked.anyhow and asked.most + asked.slack < TOUCH:
        yield from _entered(plan, times, together)
        return
    found = False
    for one, other in product(*(sides_of(*each, asked) for each in plan)):
        for case in _from_a_corner((one, other), plan, asked, times, together):
            found = True
            yield case
    if found or asked.anyhow:
        return
    for need in sorted({asked.least, asked.most}):
        bound = need + asked.slack - TOUCH
        if bound >= 0 and need > 0:
            just = replace(asked, least=need, most=need)
            yield from at_the_bound(plan, just, bound, times, together)
            if together:
                yield from on_a_curve(plan, need, bound, times)


def _entered(plan: InPlan, times: Times, together: bool) -> Iterator[Seen]:
    """Starts not over the inside of the rectangle whose p is: all that a line without a margin can do."""
    for one, other in product(*(_thirds(*each) for each in plan)):
        pair = (one, other)
        if not (one.inner and other.inner):
            when = _over(pair, times) if together else _over_apart(pair)
            if when is not None:
                yield _case(plan, pair, when)


def _thirds(axis: AxisMotion, side: Interval) -> Iterator[Side]:
    """The starts along one axis beside the rectangle, and those to either side of it, its faces among them."""
    start = axis.start
    for low, high in ((start.low, side.low), (side.low, side.high), (side.high, start.high)):
        first, last = max(low, start.low), min(high, start.high)
        if first <= last:
            yield beside(axis, side, Interval(first, last), inner=first < side.high and last > side.low)


def _from_a_corner(
    pair: tuple[Side, Side], plan: InPlan, asked: Closeness, times: Times, together: bool
) -> Iterator[Seen]:
    """The nearest that p comes for one side of the rectangle along either axis, where that is near enough."""
    over_it = pair[0].inner and pair[1].inner
    if over_it and asked.outside:
        return
    bound = asked.bound(hypot(pair[0].gap, pair[1].gap))
    when: Point | None = None
    if bound >= 0:
        least, when = nearest(pair, times) if together else nearest_apart(pair)
        when = when if least <= bound else None
    if when is None and (asked.anyhow or (not over_it and bound > -inf)):
        when = _over(pair, times) if together else _over_apart(pair)
    if when is not None:
        yield _case(plan, pair, when)


def _case(plan: InPlan, pair: tuple[Side, Side], when: Point) -> Seen:
    places = [place(*each, side, t) for each, side, t in zip(plan, pair, when, strict=True)]
    (start_x, at_x), (start_y, at_y) = places
    return Seen(when, (start_x, start_y), (at_x, at_y))


def _over(pair: tuple[Side, Side], times: Times) -> Point | None:
    """When p is over the open inside of the rectangle."""
    left: Times | None = times
    for line in (line for side in pair for line in (side.right, side.left)):
        left = None if left is None else at_most(line, -TOUCH, left)
    return None if left is None else ((left[0] + left[1]) / 2,) * 2


def _over_apart(pair: tuple[Side, Side]) -> Point | None:
    when = [deepest_alone(side) for side in pair]
    inside = all(max(at(s.right, t), at(s.left, t)) <= -TOUCH for s, t in zip(pair, when, strict=True))
    return (when[0], when[1]) if inside else None
