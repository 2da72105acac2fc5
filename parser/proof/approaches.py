"""Whether a body that stood beside an obstacle comes closer to it in plan on a move: d(p) < R and d(p) < d(a).

The question is asked of a box of cases: the path parameter t and the starts along X and Y. A box is left out when even
the best it could hold is no hit; the rest is halved, until nothing is left (proved clear) or a box remains that is so
small that it counts as a hit. So the answer errs only towards a false alarm, by less than ``TOLERANCE``.

That the same start appears in a and in p is used: the gap to a face changes from a to p by just what the axis has
moved, so a move away, or along a face, is seen to gain nothing whatever the start.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from parser.machine import Interval
from parser.proof.stretches import TOUCH, Stretch

TOLERANCE = 1e-3
"""mm by which the answer may err towards a false alarm, unless a coarser one is asked for."""

FINER = 4
"""How much smaller than the tolerance a box has to be: both distances it is about vary by its size in either axis."""

MOST_BOXES = 200_000
"""Boxes looked at before the question is given up, which counts as a hit."""

AT_ONCE = 500
"""Boxes looked at together; their own halves come before the boxes left waiting, so that a small one is soon found."""

Values = npt.NDArray[np.float64]
Range = tuple[Values, Values]


def approaches(
    x: Stretch,
    y: Stretch,
    sides: tuple[Interval, Interval],
    radius: float,
    fixed_size: bool,
    times: tuple[float, float],
    *,
    together: bool = True,
) -> bool:
    """Whether some start and some t within ``times`` bring the body closer and within ``radius``, as ``closing_in``."""
    return closing_in(x, y, sides, radius, fixed_size, times, together=together) is not None


def closing_in(
    x: Stretch,
    y: Stretch,
    sides: tuple[Interval, Interval],
    radius: float,
    fixed_size: bool,
    times: tuple[float, float],
    *,
    together: bool = True,
    tolerance: float = TOLERANCE,
) -> Range | None:
    """The boxes left in which some start and some t within ``times`` may bring the body closer and within ``radius``.

    Lowest and highest corner of each box, in rows of t, start along X and start along Y; None where none is left.
    ``sides`` is the plan outline of the obstacle. ``fixed_size`` asks besides that the body as it is was clear at the
    start. ``together`` False lets each axis go along in its own time, as of a move of which only the sweep is known.
    ``tolerance`` is how far the answer may err towards a false alarm, mm.
    """
    axes = (x, y)
    low = np.array([[times[0], x.start.low, y.start.low]])
    high = np.array([[times[1], x.start.high, y.start.high]])
    reach = np.array([max(_length(axis) for axis in axes), 1.0, 1.0])
    if not together:
        low[:, 0], high[:, 0] = 0.0, 0.0
    seen, left = 0, [(low, high)]
    while left:
        low, high = left.pop()
        if len(low) > AT_ONCE:
            left.append((low[AT_ONCE:], high[AT_ONCE:]))
            low, high = low[:AT_ONCE], high[:AT_ONCE]
        seen += len(low)
        if seen > MOST_BOXES:
            return low, high
        likely, matters = _may_hit(low, high, axes, sides, radius, fixed_size, together)
        low, high = low[likely], high[likely]
        sizes = np.minimum((high - low) * reach, matters[likely])
        small = sizes.max(axis=1, initial=0.0) < tolerance / FINER
        if bool(small.any()):
            return low[small], high[small]
        if len(low):
            left.append(_halved(low, high, sizes))
    return None


def closest_cases(boxes: Range, x: Stretch, y: Stretch, sides: tuple[Interval, Interval], together: bool) -> Values:
    """The case at the middle of every box: rows of t, start along X and Y, and the nearest place it has come to."""
    middle = (boxes[0] + boxes[1]) / 2
    places = []
    for axis, side, start in zip((x, y), sides, middle.T[1:], strict=True):
        times = (middle[:, 0],) if together else (np.zeros(len(middle)), np.ones(len(middle)))
        reached = [_places(axis, t, (start, start)) for t in times]
        low, high = reached[0] if together else _either(*reached)
        places.append(np.minimum(np.maximum(low, side.low), high))
    return np.column_stack([middle, *places])


def _length(axis: Stretch) -> float:
    """The furthest the axis may go along its stretch, mm: what a whole step of t is worth."""
    return max(abs(axis.last.high - axis.first.low), abs(axis.last.low - axis.first.high))


def _halved(low: Values, high: Values, sizes: Values) -> Range:
    """Every box cut in two across each of its sides that is at least half as long as its longest."""
    for side in range(3):
        long = sizes[:, side] >= sizes.max(axis=1, initial=0.0) / 2
        middle = (low[:, side] + high[:, side]) / 2
        left_high, right_low = high.copy(), low.copy()
        left_high[long, side], right_low[long, side] = middle[long], middle[long]
        low, high = np.concatenate([low, right_low[long]]), np.concatenate([left_high, high[long]])
        sizes = np.concatenate([sizes, sizes[long]])
    return low, high


def _may_hit(
    low: Values,
    high: Values,
    axes: tuple[Stretch, Stretch],
    sides: tuple[Interval, Interval],
    radius: float,
    fixed_size: bool,
    together: bool,
) -> tuple[npt.NDArray[np.bool_], Values]:
    """Whether each box may hold a hit, and how much each of its sides can matter to the two distances, mm.

    A start that runs along a face, say, can be anywhere on it without either distance changing.
    """
    times = (low[:, 0], high[:, 0]) if together else (np.zeros(len(low)), np.ones(len(low)))
    by_move, by_place = [], []
    matters = np.zeros((len(low), 3))
    near, was, least_was = np.zeros(len(low)), np.zeros(len(low)), np.zeros(len(low))
    for index, (axis, side) in enumerate(zip(axes, sides, strict=True), start=1):
        start = low[:, index], high[:, index]
        moved = [_moved(axis, t, start) for t in times]
        place = _either(*[_places(axis, t, start) for t in times])
        start_gap, gap = _gaps(start, side), _gaps(place, side)
        ends = moved if together else [_either(*moved)] * 2
        by_move.append([_most_gained(start, place, end, start_gap, gap, side) for end in ends])
        by_place.append(start_gap[1] ** 2 - gap[0] ** 2)
        spread = gap[1] - gap[0]
        loose = axis.first_offset is None and axis.last_offset is None
        matters[:, 0] += spread
        matters[:, index] = start_gap[1] - start_gap[0] + (0.0 if loose else spread)
        near += gap[0] ** 2
        was += start_gap[1] ** 2
        least_was += start_gap[0] ** 2
    # was - near > TOUCH makes was^2 - near^2 more than TOUCH times their sum, which is at least was and at least TOUCH.
    enough = TOUCH * np.maximum(np.sqrt(least_was), TOUCH)
    likely = (np.sqrt(near) < radius - TOUCH) & (_least_bound(by_move, by_place) > enough)
    if fixed_size:
        likely &= np.sqrt(was) >= radius
    return likely, matters


def _least_bound(by_move: list[list[Values]], by_place: list[Values]) -> Values:
    """The best of several upper bounds of what both axes have gained together.

    What the axes have moved is linear in t, so its sum is bounded at an end of t; where they are holds for every t.
    """
    (x, y), (x_place, y_place) = by_move, by_place
    together = np.maximum(x[0] + y[0], x[1] + y[1])
    apart = np.minimum(np.maximum(*x), x_place) + np.minimum(np.maximum(*y), y_place)
    result: Values = np.minimum(together, apart)
    return result


def _either(one: Range, other: Range) -> Range:
    return np.minimum(one[0], other[0]), np.maximum(one[1], other[1])


def _places(axis: Stretch, t: Values, start: Range) -> Range:
    """Where the axis may be at ``t`` in each box."""
    ends = [
        (start[0] + offset.low, start[1] + offset.high) if offset is not None else (reach.low, reach.high)
        for offset, reach in ((axis.first_offset, axis.first), (axis.last_offset, axis.last))
    ]
    (first_low, first_high), (last_low, last_high) = ends
    return (1 - t) * first_low + t * last_low, (1 - t) * first_high + t * last_high


def _moved(axis: Stretch, t: Values, start: Range) -> Range:
    """How far the axis may have come from its start at ``t`` in each box."""
    ends = [
        (np.full(len(t), offset.low), np.full(len(t), offset.high))
        if offset is not None
        else (reach.low - start[1], reach.high - start[0])
        for offset, reach in ((axis.first_offset, axis.first), (axis.last_offset, axis.last))
    ]
    (first_low, first_high), (last_low, last_high) = ends
    return (1 - t) * first_low + t * last_low, (1 - t) * first_high + t * last_high


def _gaps(at: Range, side: Interval) -> Range:
    """Least and most distance from the outline along one axis, 0 inside."""
    low, high = at
    least = np.maximum(np.maximum(side.low - high, low - side.high), 0.0)
    most = np.maximum(np.maximum(side.low - low, high - side.high), 0.0)
    return least, most


def _most_gained(start: Range, place: Range, moved: Range, start_gap: Range, gap: Range, side: Interval) -> Values:
    """Upper bound of gap(a)^2 - gap(p)^2 along one axis over each box, for one end of its range of t.

    With a and p on the same side the gap changes by just what the axis has moved, and never by more than that. For any
    one start the sum over the axes is linear in what they have moved, so in t, and its bound lies at an end of t.
    """
    right = (start[0] >= side.high) & (place[0] >= side.high)
    left = (start[1] <= side.low) & (place[1] <= side.low)
    change = np.where(right, -moved[0], np.where(left, moved[1], np.maximum(np.abs(moved[0]), np.abs(moved[1]))))
    gained: Values = change * np.where(change > 0, start_gap[1] + gap[1], start_gap[0] + gap[0])
    return gained
