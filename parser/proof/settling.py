"""The faces of a box settled by the proof itself: drawn in until nothing is refused, then as far out as nothing is.

A start is bad or it is not, so of a box that grows only what it grows by has to be asked about; and a face that one
refusal has stopped need not be asked about by the others further out.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from heapq import heappop, heappush
from itertools import product
from math import ceil, floor, prod

from parser.machine import Interval
from parser.proof.axis_motion import Box
from parser.proof.refusals import Breaks
from parser.proof.some_cases import TOLERANCE

FIRST_TO_RESTRICT = ("z", "x", "y", "a", "b", "c")

PER_MM = 1000
"""Faces stand on whole thousandths of a millimetre."""

MOST_DRAWN_IN = 24
"""Faces that are drawn in before a box is given up: what was seen from the grid was not all there is then."""

MOST_SAFE, NEARLY_AS_MUCH, A_LITTLE_LESS = 3, 0.85, 0.99
"""Boxes that are told of those drawn in, how much the others keep of what the first does, and from when one will do."""

NEARER = 4
"""Where the last good thousandth is sought, it is asked so much nearer to a good one than to a bad one each time: that
something is refused takes longer to say than that nothing is, of an arc some ten times as long."""

BEGIN_WITH = 0.004
"""mm by which a face is moved at first, four times as far each time."""


class Settling:
    """What settles the boxes of one search: its refusals, those asked first that have just said so."""

    def __init__(self, refusals: Sequence[Breaks], whole: Box) -> None:
        self.all, self.refusals = list(refusals), list(refusals)
        self.near: Box = {}
        self.whole = dict(whole)
        self.faces: dict[str, list[float]] = {axis: [] for axis in whole}
        self.free = [axis for axis in FIRST_TO_RESTRICT if axis in whole and whole[axis].length > 0]

    def about(self, box: Box, step: float) -> None:
        """Find out which refusals count about a box: of those that hold nowhere so near it none will stop a face."""
        self.near = {
            axis: Interval(max(side.low - step, self.whole[axis].low), min(side.high + step, self.whole[axis].high))
            for axis, side in box.items()
        }
        self.refusals = [refusal for refusal in self.all if refusal(self.near, TOLERANCE)]

    def drawn_in(self, box: Box) -> list[dict[str, Interval]]:
        """Boxes out of one with faces further in until nothing is refused, the one that keeps the most first.

        Where a refusal takes more than a little, others that keep nearly as much as well: they may grow by more.
        """
        left, number = [(-self._kept(box), 0, dict(box))], 0
        safe: list[dict[str, Interval]] = []
        for _ in range(MOST_DRAWN_IN):
            if not left or len(safe) == MOST_SAFE:
                break
            kept, _, found = heappop(left)
            if safe and -kept < NEARLY_AS_MUCH * self._kept(safe[0]):
                break
            refusal = self._refused(found)
            if refusal is None:
                safe.append(found)
                if -kept > A_LITTLE_LESS * self._kept(box):
                    break
                continue
            for axis, low in product(self.free, (True, False)):
                way = _fixed(found, axis, low, refusal)
                if way is not None:
                    self.faces[axis].append(way[axis].low if low else way[axis].high)
                    number += 1
                    heappush(left, (-self._kept(way), number, way))
        return safe

    def grown(self, box: Box, step: float = BEGIN_WITH) -> dict[str, Interval]:
        """The box with every face as far out as it goes, those first that are nearly there.

        Of the others those come first that should be restricted last.
        """
        grown, faces = dict(box), list(product(reversed(self.free), (True, False)))
        for axis, low in sorted(faces, key=lambda face: self._short_of_the_end(box, *face) > step):
            grown[axis] = self._outermost(grown, axis, low, step)
        return grown

    def _short_of_the_end(self, box: Box, axis: str, low: bool) -> float:
        whole = self.whole[axis]
        return box[axis].low - whole.low if low else whole.high - box[axis].high

    def _refused(self, box: Box) -> Breaks | None:
        """A refusal that holds from some start of a box; what has just been refused is asked first."""
        near = self.near and all(
            about.low <= box[axis].low and box[axis].high <= about.high for axis, about in self.near.items()
        )
        asked = self.refusals if near else self.all
        for index, refusal in enumerate(asked):
            if refusal(box, TOLERANCE):
                asked.insert(0, asked.pop(index))
                return refusal
        return None

    def _kept(self, box: Box) -> float:
        return prod(box[axis].length for axis in self.free)

    def _outermost(self, box: Box, axis: str, low: bool, step: float) -> Interval:
        """The side of an axis with one face as far out as nothing is refused."""
        side, sign = box[axis], -1 if low else 1
        good, end = (side.low, self.whole[axis].low) if low else (side.high, self.whole[axis].high)
        stopped = False

        def added(face: float) -> Box:
            return {**box, axis: Interval(face, good) if low else Interval(good, face)}

        trial = good
        while good != end and (trial != good or not stopped):
            if not stopped:
                trial, step = _towards(end, good, sign * step), 4 * step
            refusal = self._refused(added(trial))
            if refusal is None:
                good = trial
                if stopped:
                    break
                continue
            stopped = True
            trial = _last(good, trial, sign, partial(_holds, refusal, added))
            if trial == good:
                break
        return _with_face(side, good, low)


def _holds(refusal: Breaks, added: Callable[[float], Box], face: float) -> bool:
    """Whether a refusal holds from some start of what a box grows by to a face."""
    return refusal(added(face), TOLERANCE)


def on_thousandths(box: Box, whole: Box) -> dict[str, Interval]:
    """The box with its faces on whole thousandths, not further out; those at the ends of all starts are left there."""
    found = {}
    for axis, side in box.items():
        low = side.low if side.low == whole[axis].low else ceil(side.low * PER_MM - 1e-6) / PER_MM
        high = side.high if side.high == whole[axis].high else floor(side.high * PER_MM + 1e-6) / PER_MM
        found[axis] = Interval(low, high) if low <= high else side
    return found


def _fixed(box: Box, axis: str, low: bool, refusal: Breaks) -> dict[str, Interval] | None:
    """The box with one face as far in as it takes to fix a refusal; None where that leaves nothing of it."""
    side, sign = box[axis], 1 if low else -1
    face, end = (side.low, side.high) if low else (side.high, side.low)

    def refused(face: float) -> bool:
        return refusal({**box, axis: _with_face(side, face, low)}, TOLERANCE)

    if refused(end):
        return None
    bad, step = face, BEGIN_WITH
    good = _towards(end, bad, sign * step)
    while good != end and refused(good):
        bad, step = good, 4 * step
        good = _towards(end, bad, sign * step)
    return {**box, axis: _with_face(side, _last(good, bad, -sign, refused), low)} if good != end else None


def _towards(end: float, place: float, by: float) -> float:
    """A place so far towards an end, at most to it."""
    return min(end, place + by) if by > 0 else max(end, place + by)


def _last(good: float, bad: float, sign: int, refused: Callable[[float], bool]) -> float:
    """The last whole thousandth on the way from a good place to a bad one that is not refused, else the good place."""
    first = floor(good * PER_MM) + 1 if sign > 0 else ceil(good * PER_MM) - 1
    last = ceil(bad * PER_MM) - 1 if sign > 0 else floor(bad * PER_MM) + 1
    count = (last - first) * sign + 1
    kept = 0  # so many of them are not refused
    while kept < count:
        middle = kept + ceil((count - kept) / NEARER)
        if refused((first + sign * (middle - 1)) / PER_MM):
            count = middle - 1
        else:
            kept = middle
    return (first + sign * (kept - 1)) / PER_MM if kept else good


def _with_face(side: Interval, face: float, low: bool) -> Interval:
    """The side of an axis with its low or its high face put somewhere else."""
    return Interval(face, side.high) if low else Interval(side.low, face)
