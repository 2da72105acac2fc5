"""Where the largest safe boxes of starts lie, as far as a grid of starts shows: then finer about each face."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from parser.arrays import Array, np
from parser.machine import Interval
from parser.proof.axis_motion import Box
from parser.proof.grids import Ends, GridLine, largest
from parser.proof.refusals import Breaks
from parser.proof.sampling import FEW, StartSamples

PLACES = 16
"""Places along an axis at first."""

WINDOW = 7
"""Places about each face when it is looked at more closely, three to either side."""

BEGINNINGS, LOOKED_AT = 3, 5_000
"""Boxes that are looked at more closely, and how many are passed through for them, the largest first."""

SHARES, CLOSER = (FEW, 33), (1, 2)
"""Shares of a move, and how often a box is looked at more closely by them, a third as far apart each time."""

AT_LAST = 3
"""The same, of a box that has been settled."""

MOST_FURTHER = 3
"""How often it is looked at as far apart again."""

JUST = 2e-3
"""mm beside a face that is known exactly."""

CLOSEST, NEARLY_AS_MUCH = 2, 0.75
"""Boxes that are looked at by all shares, and how much another has to keep of what the first does."""


@dataclass(frozen=True, slots=True)
class SeenBox:
    """A box, and how far its faces may be off, mm, along X, Y and Z."""

    box: dict[str, Interval]
    off: dict[str, float]


class Looking:
    """What looks for the boxes; ``counted`` is the part of each axis that counts."""

    def __init__(self, refusals: Sequence[Breaks], whole: Box, counted: Box) -> None:
        self.refusals, self.whole, self.counted = refusals, dict(whole), counted
        self.samples = StartSamples(refusals, whole, SHARES[0])
        self.coarse = {axis: _even(side, PLACES) for axis, side in self.whole.items() if axis in "xyz"}
        self.possible = self.samples.complete

    def boxes(self, kept: Callable[[Box], float]) -> list[SeenBox]:
        """Some boxes with the faces found by looking closer, the one that keeps the most first."""
        others = {axis: self._alone(axis) for axis in self.whole if axis not in "xyz"}
        if any(side is None for side in others.values()):
            return []
        rest = {axis: side for axis, side in others.items() if side is not None}
        lines = {axis: self._line(axis, self.coarse[axis]) for axis in "xyz"}
        off = {axis: self.whole[axis].length / (PLACES - 1) for axis in "xyz"}
        bad = self.samples.bad(self.coarse)
        boxes = [
            SeenBox(rest | _box(lines, ends), off) for ends in largest(bad, list(lines.values()), BEGINNINGS, LOOKED_AT)
        ]
        boxes = sorted((self._closest(box, CLOSER[0]) for box in boxes), key=lambda seen: -kept(seen.box))[:CLOSEST]
        boxes = [box for box in boxes if kept(box.box) >= NEARLY_AS_MUCH * kept(boxes[0].box)]
        if self.samples.shares != SHARES[1]:
            self.samples = StartSamples(self.refusals, self.whole, SHARES[1])
        return sorted((self._closest(box, CLOSER[1]) for box in boxes), key=lambda seen: -kept(seen.box))

    def _closest(self, seen: SeenBox, times: int) -> SeenBox:
        """A box looked at so often more closely; as far apart as before where a face has gone as far as it was let."""
        further, met = MOST_FURTHER, set[int]()
        while times:
            closer = self._closer(seen.box, seen.off, met)
            if closer is None:
                break
            gone = any(_gone(seen.box[axis], closer[axis]) > 0.99 * by > 0 for axis, by in seen.off.items())
            share = 1 if gone and further else 1 / 3
            further, times = (further - 1, times) if gone and further else (further, times - 1)
            seen = SeenBox({**seen.box, **closer}, {axis: by * share for axis, by in seen.off.items()})
        return seen

    def around(self, box: Box, share: float) -> SeenBox:
        """The best box with faces about those of one that has been settled, by a share of the places at first."""
        off = {axis: self.whole[axis].length / (PLACES - 1) * share for axis in "xyz"}
        return self._closest(SeenBox(dict(box), off), AT_LAST)

    def note(self, faces: Mapping[str, Iterable[float]]) -> None:
        """Look at some places along each axis from now on, and just beside them: there something is refused or not."""
        for axis, more in faces.items():
            if axis in self.coarse:
                places = [at + by for at in more for by in (-JUST, 0.0, JUST)]
                self.coarse[axis] = _within(self.whole[axis], np.concatenate([self.coarse[axis], places]))

    def _line(self, axis: str, places: Array, lows: int = 0, highs: int = 0) -> GridLine:
        number = len(places)
        return GridLine(places, self.whole[axis], self.counted[axis], lows or number, highs or number)

    def _closer(self, box: Box, off: dict[str, float], met: set[int]) -> dict[str, Interval] | None:
        """The best box with faces about those of one, looked at more closely."""
        lines = {}
        for axis, by in off.items():
            whole, side = self.whole[axis], box[axis]
            if side.low + by >= side.high - by:
                lines[axis] = self._line(axis, _within(whole, np.linspace(side.low - by, side.high + by, 2 * WINDOW)))
                continue
            low = _within(whole, np.linspace(side.low - by, side.low + by, WINDOW))
            high = _within(whole, np.linspace(side.high - by, side.high + by, WINDOW))
            between = self.coarse[axis]
            between = between[(between > low[-1]) & (between < high[0])]
            lines[axis] = self._line(axis, np.concatenate([low, between, high]), len(low), len(high))
        bad = self.samples.bad({axis: line.places for axis, line in lines.items()}, met)
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


def _gone(one: Interval, other: Interval) -> float:
    """How far the face that has gone the furthest has gone."""
    return max(abs(one.low - other.low), abs(one.high - other.high))


def _within(side: Interval, places: Array) -> Array:
    return np.unique(np.clip(places, side.low, side.high))


def _box(lines: dict[str, GridLine], ends: Ends) -> dict[str, Interval]:
    return {
        axis: Interval(float(line.places[first]), float(line.places[last]))
        for (axis, line), (first, last) in zip(lines.items(), ends, strict=True)
    }
