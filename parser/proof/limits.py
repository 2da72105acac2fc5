"""What ties the travel of one axis to another: whether a move can break a [[limit]] of the sheet, and a case of it.

Both conditions are turned so that the limit is broken while two axes are below their values. A start that breaks it
already is not blamed: one of the two axes has to have come nearer to breaking it than it was. What a rounded corner may
cut counts as gone further by as much.

At a share t of a straight move an axis stands at k s + c, with s its start, k how far it is still tied to that, and c
in a range; k and the ends of c are linear in t. It is below V, having come down, for some start from low to high where

    k low + c <= V,   c <= (1 - k) high - TOUCH,   c <= (1 - k) V - k TOUCH

with c at its least: the start has to be low enough for the first, high enough for the second, and the third says that
the two leave room for one. All are linear in t, so the shares at which it holds are one range, found exactly.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial

from parser.machine import Interval, Limit
from parser.proof.axis_motion import TOUCH, AxisMotion, Box, Line, Times, at, at_most
from parser.proof.following import find
from parser.proof.passages import Motions, Passage, entangled, fired_from
from parser.proof.seeking import seek
from parser.proof.some_cases import TOLERANCE


@dataclass(frozen=True, slots=True)
class Breach:
    """A start and a point of the path at which a limit is broken, by axis, mm or degrees.

    ``sure`` is False where the two axes may be there at different times: on a dogleg, or within the tolerance to which
    an arc or a rounded corner is decided.
    """

    start: dict[str, float]
    at: dict[str, float]
    sure: bool


def breach(
    limit: Limit, passage: Passage, box: Box, *, shown: bool = True, tolerance: float = TOLERANCE
) -> Breach | None:
    """A case in which a move breaks a limit from some start in ``box``; None where no start makes it do so.

    ``shown`` and ``tolerance`` as for ``hit``. The start is where the macro fires.
    """

    def on_the_way(one: Passage, part: Box) -> Breach | None:
        found = seek(one, part, partial(_case, limit), shown=shown, tolerance=tolerance)
        if found is None or not shown:
            return found
        return Breach(fired_from(one, found.start, part), found.at, found.sure and not entangled(one))

    return find(passage, box, on_the_way, lambda found: replace(found, sure=False), shown=shown)


def _case(limit: Limit, part: Motions, together: bool, shown: bool, times: Times, cut: float) -> Breach | None:
    """A case on one part of a move; ``shown`` makes no difference, for it costs nothing to show one."""
    turned = [
        _turned(part[axis], value, cut, times, falling=("<" in op) == holds)
        for (axis, op, value), holds in ((limit.when, True), (limit.then, False))
    ]
    for came, other in ((0, 1), (1, 0)):
        when = _together(turned[came].times_come_down(), turned[other].times_below(), together)
        if when is None:
            continue
        standing = {came: turned[came].come_down(when[0]), other: turned[other].below(when[1])}
        start, place = {}, {}
        for axis, along in part.items():
            start[axis] = along.start.middle
            place[axis] = (at(along.lowest(start[axis]), when[0]) + at(along.highest(start[axis]), when[0])) / 2
        for index, (axis, _, _) in enumerate((limit.when, limit.then)):
            start[axis], place[axis] = standing[index]
        still = all(
            each.tie[0] == each.tie[1] and each.low == each.high and each.low[0] == each.low[1]
            for each in part.values()
        )
        return Breach(start, place, cut == 0.0 and (together or still))
    return None


def _together(one: Times | None, other: Times | None, tied: bool) -> tuple[float, float] | None:
    """A share of the move from either range, the same one where the axes are tied; None where there is none."""
    if one is None or other is None:
        return None
    if not tied:
        return sum(one) / 2, sum(other) / 2
    low, high = max(one[0], other[0]), min(one[1], other[1])
    return ((low + high) / 2,) * 2 if low <= high else None


@dataclass(frozen=True, slots=True)
class _Falling:
    """An axis, turned so that what breaks the limit is below ``value``: the k and the least c of the module, and s.

    ``room`` is what it has to have come down by, mm: less than nothing by what a rounded corner may cut.
    """

    tie: Line
    least: Line
    starts: Interval
    value: float
    sign: float
    times: Times
    room: float

    def times_below(self) -> Times | None:
        """The shares of the move at which it may be below its value."""
        return at_most(self._lowest, self.value, self.times)

    def times_come_down(self) -> Times | None:
        """Those at which it may be below its value and below its start."""
        times = self.times_below()
        for line in self._room:
            times = None if times is None else at_most(line, 0.0, times)
        return times

    def below(self, t: float) -> tuple[float, float]:
        """A start and the place it is at, at a share of the move at which it may be below its value."""
        return self._case(t, self.starts.low, self._highest_below(t))

    def come_down(self, t: float) -> tuple[float, float]:
        """The same where it has come down as well."""
        free = 1 - at(self.tie, t)
        needed = (at(self.least, t) + self.room) / free if free > 0 else self.starts.low
        return self._case(t, max(self.starts.low, needed), self._highest_below(t))

    def _highest_below(self, t: float) -> float:
        tie = at(self.tie, t)
        return min(self.starts.high, (self.value - at(self.least, t)) / tie) if tie > 0 else self.starts.high

    def _case(self, t: float, low: float, high: float) -> tuple[float, float]:
        start = min(max((low + high) / 2, self.starts.low), self.starts.high)
        return self.sign * start, self.sign * (at(self.tie, t) * start + at(self.least, t))

    @property
    def _lowest(self) -> Line:
        return self._line(lambda tie, least: tie * self.starts.low + least)

    @property
    def _room(self) -> Iterator[Line]:
        yield self._line(lambda tie, least: least - (1 - tie) * self.starts.high + self.room)
        yield self._line(lambda tie, least: least - (1 - tie) * self.value + tie * self.room)

    def _line(self, of: Callable[[float, float], float]) -> Line:
        return of(self.tie[0], self.least[0]), of(self.tie[1], self.least[1])


def _turned(along: AxisMotion, value: float, cut: float, times: Times, *, falling: bool) -> _Falling:
    """The axis turned so that the condition holds below the value."""
    sign = 1.0 if falling else -1.0
    turned = along if falling else along.mirrored()
    return _Falling(turned.tie, turned.low, turned.start, sign * value + cut - TOUCH, sign, times, TOUCH - cut)
