"""One way that the axes go, for every start at once: straight, each axis at its own rate, or round an arc."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tests.parser.proof.simulation.corners import Corner
from tests.parser.proof.simulation.words import Values

Chosen = npt.NDArray[np.intp]

CORNER_POINTS = np.linspace(0.0, 0.5, 6)


@dataclass(frozen=True)
class Bend:
    """The circular part of an arc: the numbers of the two axes of its plane in right-handed order, the centre (2, n),
    the radius (n) at the beginning and at the end, the angle it begins at and the signed angle it sweeps, rad (n).

    An end may lie off the circle by what the text lets pass (3.5.3.2): ``give``, mm. What the way between is then like
    is the controller's; here the radius goes over evenly.
    """

    axes: tuple[int, int]
    centre: Values
    radii: tuple[Values, Values]
    begins: Values
    sweep: Values
    give: float

    def at(self, chosen: Chosen, shares: Values) -> tuple[Values, Values]:
        """The two coordinates (chosen, shares) at some shares of the sweep."""
        first, last = (radius[chosen, None] for radius in self.radii)
        radius = first + shares * (last - first)
        angle = self.begins[chosen, None] + shares * self.sweep[chosen, None]
        one, other = self.centre[:, chosen, None]
        return one + radius * np.cos(angle), other + radius * np.sin(angle)

    def extents(self, index: int) -> tuple[Values, Values]:
        """The least and the most (n) of one of its two coordinates on the way, its ends apart."""
        radius = np.maximum(*self.radii)
        found = []
        for sign in (-1.0, 1.0):
            crest = np.pi / 2 * index + (np.pi if sign < 0 else 0.0)
            ahead = np.mod((crest - self.begins) * np.sign(self.sweep), 2 * np.pi)
            found.append(np.where(ahead <= np.abs(self.sweep), self.centre[index] + sign * radius, np.nan))
        return found[0], found[1]


@dataclass
class Leg:
    """A way from ``begin`` to ``end`` on a line; ``since`` is the place it is judged from (all (3, n)).

    ``tools`` (2, n) are the length and the radius of what is in the spindle. ``gains`` (3, n, at least 1) tell how much
    sooner each axis gets there where each goes at its own rate. ``before`` and ``after`` are the rounded corners at its
    two ends. ``smooth`` marks a straight feed that may be rounded at all, ``waits`` that something waits before it.
    """

    line: int
    begin: Values
    end: Values
    since: Values
    tools: Values
    bend: Bend | None = None
    gains: Values | None = None
    smooth: bool = False
    waits: bool = False
    before: Corner | None = None
    after: Corner | None = None

    @property
    def give(self) -> float:
        """How far the real way may lie beside the one that is followed, mm."""
        return self.bend.give if self.bend else 0.0

    @property
    def moving(self) -> npt.NDArray[np.bool_]:
        """Which axes (3) any start moves here."""
        moves: npt.NDArray[np.bool_] = (self.begin != self.end).any(axis=1)
        if self.bend:
            moves[list(self.bend.axes)] = True
        return moves

    def points(self, chosen: Chosen, shares: Values, corners: Values = CORNER_POINTS) -> Values:
        """Points (3, chosen, points) of the way of the chosen starts; ``shares`` is (points) or (chosen, points).

        On top come points of the rounded corners at its ends: at the shares in ``corners`` of the one after it, and as
        far from the end of the one before it.
        """
        begin, end = self.begin[:, chosen, None], self.end[:, chosen, None]
        along = np.broadcast_to(shares, (3, *np.broadcast_shapes((len(chosen), 1), shares.shape)))
        if self.gains is not None:
            along = np.minimum(along * self.gains[:, chosen, None], 1.0)
        if self.before is not None or self.after is not None:
            along = self._between_corners(chosen, along)
        found = begin + along * (end - begin)
        if self.bend:
            one, other = self.bend.axes
            found[one], found[other] = self.bend.at(chosen, shares)
        rounded = [
            corner.points(chosen, part)
            for corner, part in ((self.after, corners), (self.before, 1.0 - corners))
            if corner is not None
        ]
        return np.concatenate([found, *rounded], axis=2) if rounded else found

    def at(self, share: Values) -> Values:
        """The place (3, n) at a share (n) of the way of each start, corners left sharp."""
        found = self.begin + share * (self.end - self.begin)
        if self.bend:
            every = np.arange(len(share))
            for axis, at in zip(self.bend.axes, self.bend.at(every, share[:, None]), strict=True):
                found[axis] = at[:, 0]
        return found

    def _between_corners(self, chosen: Chosen, along: Values) -> Values:
        length = np.maximum(np.linalg.norm(self.end - self.begin, axis=0), 1e-9)[chosen, None]
        head = self.before.tangent[chosen, None] / length if self.before else 0.0
        tail = self.after.tangent[chosen, None] / length if self.after else 0.0
        kept: Values = head + along * (1.0 - head - tail)
        return kept

    def reach(self) -> tuple[Values, Values]:
        """Lowest and highest corner (3, n) of a box that holds the whole way."""
        low, high = np.minimum(self.begin, self.end), np.maximum(self.begin, self.end)
        if self.bend:
            for index, axis in enumerate(self.bend.axes):
                least, most = self.bend.extents(index)
                low[axis], high[axis] = np.fmin(low[axis], least), np.fmax(high[axis], most)
        for corner in (self.before, self.after):  # its arc stays within the box of the ways that it joins
            if corner is not None:
                low, high = low - corner.tangent, high + corner.tangent
        return low, high
