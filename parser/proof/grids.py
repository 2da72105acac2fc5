"""The largest boxes free of the bad places of a grid along X, Y and Z.

A box runs from one place to another along each axis, and is taken to reach half-way to the next place outside.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import prod

from parser.arrays import Array, Flags, Whole, np
from parser.machine import Interval

Ends = tuple[tuple[int, int], ...]
"""The first and the last place of a box along each axis."""


@dataclass(frozen=True, slots=True)
class GridLine:
    """Places along an axis, out of ``side``, of which what lies within ``counted`` counts.

    A box may begin at the first ``lows`` of the places and end at the last ``highs``.
    """

    places: Array
    side: Interval
    counted: Interval
    lows: int
    highs: int

    @property
    def reach(self) -> tuple[Array, Array]:
        """How far down and how far up a box reaches that begins, or ends, at each place."""
        middles = (self.places[1:] + self.places[:-1]) / 2
        return np.concatenate([self.places[:1], middles]), np.concatenate([middles, self.places[-1:]])

    def pairs(self) -> tuple[Whole, Whole, Array]:
        """The first and the last place of every box along this axis, and the length that counts."""
        number = len(self.places)
        first, last = np.meshgrid(np.arange(self.lows), np.arange(number - self.highs, number), indexing="ij")
        first, last = first[first <= last], last[first <= last]
        low, high = self.reach
        return first, last, self.lengths(low[first], high[last])

    def lengths(self, low: Array, high: Array) -> Array:
        """The lengths that count of some sides."""
        if self.side.length == 0.0:
            return np.ones(np.broadcast_shapes(low.shape, high.shape))
        counted: Array = np.maximum(np.minimum(high, self.counted.high) - np.maximum(low, self.counted.low), 0.0)
        return counted


def largest(bad: Flags, lines: Sequence[GridLine], most: int, looked_at: int) -> Iterator[Ends]:
    """At most so many boxes without a bad place that have less than half in common, the largest first."""
    number = np.pad(bad, ((0, 0), (1, 0), (1, 0))).astype(np.int32).cumsum(1, dtype=np.int32).cumsum(2, dtype=np.int32)
    y_first, y_last, y_length = lines[1].pairs()
    z_first, z_last, z_length = lines[2].pairs()
    number = number[:, y_last + 1] - number[:, y_first]
    blocked = (number[:, :, z_last + 1] - number[:, :, z_first]) > 0
    low, high = lines[0].reach
    begins = np.zeros(blocked.shape[1:], dtype=np.intp)
    best = np.zeros(blocked.shape[1:])
    at = np.zeros((2, *blocked.shape[1:]), dtype=np.intp)
    places, lows, highs = len(low), lines[0].lows, lines[0].highs
    lengths = np.zeros(places + 1)  # to the place looked at, by where a box begins; none from beyond it
    for place in range(places):
        begins[blocked[place]] = place + 1
        if place >= places - highs:
            first = min(lows, place + 1)
            lengths[:first] = lines[0].lengths(low[:first], high[place])
            length = lengths[begins]
            longer = length > best
            best[longer] = length[longer]
            at[0][longer], at[1][longer] = begins[longer], place
    kept = (best * y_length[:, None] * z_length).ravel()
    order = np.argsort(-kept)[:looked_at] if most > 1 else [int(kept.argmax())]
    told: list[Ends] = []
    for index in order:
        if kept[index] <= 0.0 or len(told) == most:
            return
        y, z = divmod(int(index), len(z_length))
        ends = (
            (int(at[0][y, z]), int(at[1][y, z])),
            (int(y_first[y]), int(y_last[y])),
            (int(z_first[z]), int(z_last[z])),
        )
        if all(_shared(ends, other) < 0.5 for other in told):
            told.append(ends)
            yield ends


def _shared(box: Ends, other: Ends) -> float:
    """Share of the places of a box that another has as well."""
    both = prod(max(min(a[1], b[1]) - max(a[0], b[0]) + 1, 0) for a, b in zip(box, other, strict=True))
    return both / prod(last - first + 1 for first, last in box)
