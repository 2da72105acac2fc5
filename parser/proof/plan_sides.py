"""What is asked in plan view, and where along one axis of a rectangle a start and a later point may be."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import hypot, inf

from parser.machine import Interval
from parser.proof.axis_motion import TOUCH, AxisMotion, Line, Times, at

ROUNDING = 1e-9
"""mm that a start counted as clear may be nearer by: what floating point may differ by."""

BESIDE = 1e-7
"""mm that a start on a face is put off it, where it may be: it is to be clear whatever the rounding."""

Point = tuple[float, float]

InPlan = tuple[tuple[AxisMotion, Interval], tuple[AxisMotion, Interval]]
"""X and Y, each with the side of the rectangle along it."""


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

    @property
    def at_one_place(self) -> bool:
        """Whether p is at the same place all along."""
        return self.right[0] == self.right[1] and self.left[0] == self.left[1]

    def distance(self, t: float) -> float:
        return max(at(self.right, t), at(self.left, t), 0.0)


def sides_of(axis: AxisMotion, side: Interval, asked: Closeness) -> list[Side]:
    """What a start along one axis may be, as far as it takes to look."""
    start = axis.start
    if asked.anyhow:
        return [beside(axis, side, start, inner=True)]

    def single(place: float) -> Side:
        return beside(axis, side, Interval(place, place))

    found = []
    low, high = max(start.low, side.low), min(start.high, side.high)
    if low <= high:
        inner = low < side.high and high > side.low
        found.append(beside(axis, side, Interval(low, high), inner=inner))
        if inner:
            found += [single(max(start.low, side.low - BESIDE))] if start.low <= side.low else []
            found += [single(min(start.high, side.high + BESIDE))] if start.high >= side.high else []
    for end in {start.low, start.high}:
        if not side.contains(end):
            found.append(single(end))
    return found


def beside(axis: AxisMotion, side: Interval, starts: Interval, *, inner: bool = False) -> Side:
    """A range of starts beside the rectangle, or a single one that may be off it."""
    low, high = axis.lowest(starts.low), axis.highest(starts.high)
    gap = max(side.low - starts.high, starts.low - side.high, 0.0)
    return Side(starts, gap, _less(low, side.high), _less((-high[0], -high[1]), -side.low), inner)


def _less(line: Line, value: float) -> Line:
    return line[0] - value, line[1] - value


def place(axis: AxisMotion, side: Interval, where: Side, t: float) -> Point:
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


def nearest(pair: tuple[Side, Side], times: Times) -> tuple[float, Point]:
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


def nearest_apart(pair: tuple[Side, Side]) -> tuple[float, Point]:
    """The same where each axis goes along in its own time."""
    found = [nearest_alone(side) for side in pair]
    return hypot(*(distance for distance, _ in found)), (found[0][1], found[1][1])


def nearest_alone(side: Side) -> tuple[float, float]:
    t = deepest_alone(side)
    return side.distance(t), t


def deepest_alone(side: Side) -> float:
    """When p is furthest inside along one axis, or nearest to being inside."""
    right, left = side.right, side.left
    turns = [0.0, 1.0]
    difference = (right[0] - left[0], right[1] - left[1])
    if difference[0] != difference[1]:
        turns.append(min(max(difference[0] / (difference[0] - difference[1]), 0.0), 1.0))
    return min(turns, key=lambda t: max(at(right, t), at(left, t)))
