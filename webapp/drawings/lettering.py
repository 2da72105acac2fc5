"""Where words go on a drawing: sizes of lettering, wrapping, and places that do not cover one another."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import islice, tee

import numpy as np
import numpy.typing as npt

WIDTH_OF_A_LETTER = 0.51
"""Mean width of a letter of a plain sans serif face, in em, on the generous side."""
WIDTH_OF_A_CAPITAL = 0.65
"""The same of capitals and figures, of which short names such as G54 consist."""


@dataclass(frozen=True, slots=True)
class Patch:
    """An upright rectangle of the page, in units of the view box; y runs downwards."""

    left: float
    top: float
    right: float
    bottom: float

    def within(self, other: Patch) -> bool:
        return (
            other.left <= self.left
            and self.right <= other.right
            and other.top <= self.top
            and self.bottom <= other.bottom
        )

    def holds(self, point: tuple[float, float]) -> bool:
        """Whether a point lies on it."""
        return self.left <= point[0] <= self.right and self.top <= point[1] <= self.bottom

    def met_by(self, begin: tuple[float, float], end: tuple[float, float]) -> bool:
        """Whether a straight stroke goes through it."""
        low, high = 0.0, 1.0
        for at, to, least, most in (
            (begin[0], end[0], self.left, self.right),
            (begin[1], end[1], self.top, self.bottom),
        ):
            if at == to:
                if not least <= at <= most:
                    return False
                continue
            near, far = sorted(((least - at) / (to - at), (most - at) / (to - at)))
            low, high = max(low, near), min(high, far)
        return low <= high


def width_of(words: str, size: float) -> float:
    """About how wide the words come out in lettering of that size."""
    wide = sum(each.isupper() or each.isdigit() for each in words)
    return (wide * WIDTH_OF_A_CAPITAL + (len(words) - wide) * WIDTH_OF_A_LETTER) * size


def wrap(words: str, width: float, size: float) -> list[str]:
    """The words in lines no wider than ``width``."""
    return textwrap.wrap(words, max(12, int(width / (WIDTH_OF_A_LETTER * size))))


LETTERS, STROKE, SURFACE = 6.0, 1.0, 0.15
"""How bad it is for a label to cover other lettering, a stroke, or a plain surface."""


AT_A_TIME = 12
"""Places for a label that are weighed together."""
OFF_THE_PAGE = 1e6
"""How bad it is for a label to leave the page."""


class Desk:
    """What of the page is taken already, so that the next label goes where it can be read."""

    def __init__(self, page: Patch) -> None:
        self.page = page
        self._lettered: list[Patch] = []
        self._taken: npt.NDArray[np.float64] = np.zeros((5, 256))  # left, top, right, bottom, weight: in columns
        self._count = 0

    def take(self, patch: Patch, weight: float = LETTERS) -> None:
        """Keep later labels off the patch, the more so the greater the weight."""
        if self._count == self._taken.shape[1]:
            self._taken = np.concatenate((self._taken, np.zeros_like(self._taken)), axis=1)
        self._taken[:, self._count] = patch.left, patch.top, patch.right, patch.bottom, weight
        self._count += 1
        if weight >= LETTERS:
            self._lettered.append(patch)

    def take_stroke(self, begin: tuple[float, float], end: tuple[float, float], thick: float) -> None:
        """Keep later labels off a straight stroke, in beads where it is aslant."""
        straight = begin[0] == end[0] or begin[1] == end[1]
        beads = 1 if straight else min(80, max(1, math.ceil(math.dist(begin, end) / (3 * thick))))
        half = thick / 2
        for index in range(beads):
            xs, ys = (sorted(_part(axis, index / beads, (index + 1) / beads)) for axis in zip(begin, end, strict=True))
            self.take(Patch(xs[0] - half, ys[0] - half, xs[1] + half, ys[1] + half), STROKE)

    def strikes(self, begin: tuple[float, float], end: tuple[float, float]) -> bool:
        """Whether a straight stroke goes through lettering other than that about its beginning."""
        return any(not patch.holds(begin) and patch.met_by(begin, end) for patch in self._lettered)

    def costs(self, patches: Iterable[Patch]) -> Iterator[float]:
        """How bad it would be for a label to stand at each of them: 0 on a free part of the page.

        They are asked for a few at a time, since most often one of the first is free.
        """
        left, top, right, bottom, weight = self._taken[:, : self._count]
        waiting = iter(patches)
        while some := list(islice(waiting, AT_A_TIME)):
            west, north, east, south = np.array([(p.left, p.top, p.right, p.bottom) for p in some]).T[:, :, None]
            wide = np.minimum(right, east) - np.maximum(left, west)
            high = np.minimum(bottom, south) - np.maximum(top, north)
            covered = (np.maximum(wide, 0.0) * np.maximum(high, 0.0)) @ weight
            for patch, cost in zip(some, covered.tolist(), strict=True):
                yield cost if patch.within(self.page) else cost + OFF_THE_PAGE

    def choose(self, candidates: Iterable[Patch]) -> Patch:
        """The first candidate on the page that is free, else the one that covers least; it is taken afterwards."""
        best: tuple[float, Patch] | None = None
        here, weighed = tee(candidates)
        for candidate, cost in zip(here, self.costs(weighed), strict=True):
            if best is None or cost < best[0]:
                best = (cost, candidate)
            if cost == 0.0:
                break
        if best is None:
            raise ValueError("a label needs at least one place to go")
        self.take(best[1])
        return best[1]


def _part(ends: tuple[float, float], low: float, high: float) -> tuple[float, float]:
    span = ends[1] - ends[0]
    return ends[0] + span * low, ends[0] + span * high
