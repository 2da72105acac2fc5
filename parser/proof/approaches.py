"""Whether a body that stood beside an obstacle comes closer to it in plan on a move: d(p) < R and d(p) < d(a).

The question is asked of a box of cases: the path parameter t and the starts along X and Y. A box is left out when even
the best it could hold is no hit; the rest is halved, until nothing is left (proved clear) or a box smaller than
``TOLERANCE`` remains, which counts as a hit. So the answer errs only towards a false alarm, by less than ``TOLERANCE``.

That the same start appears in a and in p is used: the gap to a face changes from a to p by just what the axis has
moved, so a move away, or along a face, is seen to gain nothing whatever the start.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from parser.machine import Interval
from parser.proof.stretches import TOUCH, Stretch

TOLERANCE = 1e-3
"""mm: a box of cases no larger than this is not divided further."""

MOST_BOXES = 200_000
"""Boxes looked at before the question is given up, which counts as a hit."""

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
    """Whether some start and some t within ``times`` bring the body closer and within ``radius``.

    ``sides`` is the plan outline of the obstacle. ``fixed_size`` asks besides that the body as it is was clear at the
    start. ``together`` False lets each axis go along in its own time, as of a move of which only the sweep is known.
    """
    axes = (x, y)
    low = np.array([[times[0], x.start.low, y.start.low]])
    high = np.array([[times[1], x.start.high, y.start.high]])
    reach = np.array([max(_length(axis) for axis in axes), 1.0, 1.0])
    if not together:
        low[:, 0], high[:, 0] = 0.0, 0.0
    seen = 0
    while len(low):
        seen += len(low)
        if seen > MOST_BOXES:
            return True
        likely = _may_hit(low, high, axes, sides, radius, fixed_size, together)
        low, high = low[likely], high[likely]
        sizes = (high - low) * reach
        if len(low) and bool((sizes.max(axis=1) < TOLERANCE).any()):
            return True
        low, high = _halved(low, high, sizes)
    return False


def _length(axis: Stretch) -> float:
    """The furthest the axis may go along its stretch, mm: what a whole step of t is worth."""
    return max(abs(axis.last.high - axis.first.low), abs(axis.last.low - axis.first.high))


def _halved(low: Values, high: Values, sizes: Values) -> Range:
    """Every box cut in two across its longest side."""
    rows, longest = np.arange(len(low)), sizes.argmax(axis=1) if len(low) else np.empty(0, int)
    middle = (low[rows, longest] + high[rows, longest]) / 2
    left_high, right_low = high.copy(), low.copy()
    left_high[rows, longest], right_low[rows, longest] = middle, middle
    return np.concatenate([low, right_low]), np.concatenate([left_high, high])


def _may_hit(
    low: Values,
    high: Values,
    axes: tuple[Stretch, Stretch],
    sides: tuple[Interval, Interval],
    radius: float,
    fixed_size: bool,
    together: bool,
) -> npt.NDArray[np.bool_]:
    gained = np.zeros(len(low))
    near, was = np.zeros(len(low)), np.zeros(len(low))
    for index, (axis, side) in enumerate(zip(axes, sides, strict=True), start=1):
        start = low[:, index], high[:, index]
        place, moved = _places(axis, low[:, 0], high[:, 0], start, together)
        start_gap, gap = _gaps(start, side), _gaps(place, side)
        gained += _most_gained(start, place, moved, start_gap, gap, side)
        near += gap[0] ** 2
        was += start_gap[1] ** 2
    likely = (np.sqrt(near) < radius - TOUCH) & (gained > TOUCH)
    if fixed_size:
        likely &= np.sqrt(was) >= radius
    result: npt.NDArray[np.bool_] = likely
    return result


def _places(axis: Stretch, t_low: Values, t_high: Values, start: Range, together: bool) -> tuple[Range, Range]:
    """Where the axis may be in each box, and how far it may have come from its start, both as ranges."""
    if axis.still:
        zero = np.zeros(len(t_low))
        return start, (zero, zero)
    ends = []
    for offset, reach in ((axis.first_offset, axis.first), (axis.last_offset, axis.last)):
        edges = [(offset, at) if offset is not None else (None, at) for at in (reach.low, reach.high)]
        ends.append(edges)
    places, moves = [], []
    for at in start:
        for t in (t_low, t_high) if together else (np.zeros(len(t_low)), np.ones(len(t_low))):
            for first, last in zip(ends[0], ends[1], strict=True):
                begin = at + first[0] if first[0] is not None else first[1]
                end = at + last[0] if last[0] is not None else last[1]
                place = (1 - t) * begin + t * end
                places.append(place)
                moves.append(place - at)
    return (np.minimum.reduce(places), np.maximum.reduce(places)), (
        np.minimum.reduce(moves),
        np.maximum.reduce(moves),
    )


def _gaps(at: Range, side: Interval) -> Range:
    """Least and most distance from the outline along one axis, 0 inside."""
    low, high = at
    least = np.maximum(np.maximum(side.low - high, low - side.high), 0.0)
    most = np.maximum(np.maximum(side.low - low, high - side.high), 0.0)
    return least, most


def _most_gained(start: Range, place: Range, moved: Range, start_gap: Range, gap: Range, side: Interval) -> Values:
    """Upper bound of gap(a)^2 - gap(p)^2 along one axis over each box."""
    change = start_gap[1] - gap[0]
    right = (start[0] >= side.high) & (place[0] >= side.high)
    left = (start[1] <= side.low) & (place[1] <= side.low)
    change = np.where(right, np.minimum(change, -moved[0]), change)
    change = np.where(left, np.minimum(change, moved[1]), change)
    gained: Values = change * np.where(change > 0, start_gap[1] + gap[1], start_gap[0] + gap[0])
    return gained
