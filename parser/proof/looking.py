"""Where the largest safe boxes of starts lie, as far as a grid of starts shows: coarse at first, then finer by faces."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from parser.arrays import Array, np
from parser.machine import Interval
from parser.proof.axis_motion import Box
from parser.proof.grids import Ends, Line, largest
from parser.proof.sampling import Samples

PLACES = 16
"""Places along an axis at first."""

WINDOW = 7
"""Places about each face when it is looked at more closely, three to either side."""

BEGINNINGS, LOOKED_AT = 4, 5_000
"""Boxes that are looked at more closely, and how many are passed through for them, the largest first."""

CLOSER = 5
"""How often a box is looked at more closely, a third as far apart each time."""


@dataclass(frozen=True, slots=True)
class Seen:
    """A box, how much of the starts it keeps and how far its faces may be off, mm, along each axis."""

    box: dict[str, Interval]
    kept: float
    off: dict[str, float]


class Looking:
    """What looks for the boxes; ``counted`` is the part of each axis that counts."""

    def __init__(self, samples: Samples, whole: Box, counted: Box) -> None:
        self.samples, self.whole, self.counted = samples, dict(whole), counted
        self.coarse = {axis: _even(side, PLACES) for axis, side in self.whole.items()}

    def boxes(self) -> Iterator[Seen]:
        """Some boxes, each with the faces found by looking closer."""
        others = {axis: self._alone(axis) for axis in self.whole if axis not in "xyz"}
        if any(side is None for side in others.values()):
            return
        lines = {axis: self._line(axis, self.coarse[axis]) for axis in "xyz"}
        off = {axis: self.whole[axis].length / (PLACES - 1) for axis in "xyz"}
        bad = self.samples.bad(self.coarse)
        for ends in largest(bad, list(lines.values()), BEGINNINGS, LOOKED_AT):
            box, step = _box(lines, ends), dict(off)
            for _ in range(CLOSER):
                closer = self._closer(box, step)
                if closer is None:
                    break
                box = closer
                step = {axis: by / 3 for axis, by in step.items()}
            yield Seen({**{axis: side for axis, side in others.items() if side}, **box}, 0.0, step)

    def _line(self, axis: str, places: Array, lows: int = 0, highs: int = 0) -> Line:
        number = len(places)
        return Line(places, self.whole[axis], self.counted[axis], lows or number, highs or number)

    def _closer(self, box: Box, off: dict[str, float]) -> dict[str, Interval] | None:
        """The best box with faces about those of one, looked at more closely."""
        lines = {}
        for axis, side in box.items():
            whole, by = self.whole[axis], off[axis]
            if side.low + by >= side.high - by:
                lines[axis] = self._line(axis, _within(whole, np.linspace(side.low - by, side.high + by, 2 * WINDOW)))
                continue
            low = _within(whole, np.linspace(side.low - by, side.low + by, WINDOW))
            high = _within(whole, np.linspace(side.high - by, side.high + by, WINDOW))
            between = self.coarse[axis]
            between = between[(between > low[-1]) & (between < high[0])]
            lines[axis] = self._line(axis, np.concatenate([low, between, high]), len(low), len(high))
        bad = self.samples.bad({axis: line.places for axis, line in lines.items()})
        ends = next(largest(bad, list(lines.values()), 1, 1), None)
        return None if ends is None else _box(lines, ends)

    def _alone(self, axis: str) -> Interval | None:
        """The longest side of an axis that meets nothing."""
        places = _even(self.whole[axis], 64 * PLACES + 1)
        bad = self.samples.bad_alone(axis, places)
        edges = np.flatnonzero(np.diff(np.concatenate([[1], bad.astype(int), [1]])))
        runs = list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))
        if not runs:
            return None
        first, last = max(runs, key=lambda run: run[1] - run[0])
        return Interval(float(places[first]), float(places[last - 1]))


def _even(side: Interval, number: int) -> Array:
    return np.linspace(side.low, side.high, number) if side.length > 0 else np.array([side.low])


def _within(side: Interval, places: Array) -> Array:
    return np.unique(np.clip(places, side.low, side.high))


def _box(lines: dict[str, Line], ends: Ends) -> dict[str, Interval]:
    return {
        axis: Interval(float(line.places[first]), float(line.places[last]))
        for (axis, line), (first, last) in zip(lines.items(), ends, strict=True)
    }
