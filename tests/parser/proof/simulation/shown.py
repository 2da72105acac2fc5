"""The one case that a refusal shows, followed by itself: its start and its tool, with whatever the macro cannot know.

That is sought: of many ways from this start the one that comes nearest to what is shown is taken, and more are drawn
about it, until one passes there or none does.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from parser.findings import Witness
from parser.machine import Controller, Interval, Machine, Setup
from tests.parser.proof.simulation.legs import Leg
from tests.parser.proof.simulation.running import AXES, Running
from tests.parser.proof.simulation.words import Values

TRIED, ROUNDS, AGAIN = 256, 60, 4
"""Ways drawn at a time, how often about the best of them, and for how many legs apart."""

FINEST, MOVED, TO_AN_END = -8.0, 0.6, 0.05
"""Steps are as small as ten to this power; the parts of the unknowns that are moved, and that are put to an end."""


class Given:
    """What the macro cannot know, as shares from 0 to 1, one row after the other; ``asked`` counts them."""

    def __init__(self, shares: Values, tool: tuple[float, float], machine: Machine) -> None:
        self.shares, self.tool, self.machine = shares, tool, machine
        self.asked = 0

    def _next(self) -> Values:
        row, self.asked = self.asked, self.asked + 1
        return self.shares[row] if row < len(self.shares) else np.full(self.shares.shape[1], 0.5)

    def within(self, reach: Interval) -> Values:
        if reach.low == reach.high:
            return np.full(self.shares.shape[1], reach.low)
        share = self._next()
        return np.where(share == 1.0, reach.high, reach.low + share * reach.length)

    def tripped(self) -> Values:
        return self._next()

    def homed(self, axis: int) -> Values:
        return self.within(self.machine.axes[axis].travel)

    def tools(self, place: Values) -> Values:
        return np.repeat(np.array(self.tool)[:, None], self.shares.shape[1], axis=1)

    def gains(self) -> Values:
        return np.ones((3, self.shares.shape[1]))  # what such a way sweeps is looked at as a whole

    def rounding(self) -> Values:
        return np.zeros(self.shares.shape[1])  # what a corner may cut is looked at as a whole


Missing = Callable[[Leg], Values]
"""By how much (n) a way does not break the rule at the place that is shown; at most 0 where it does."""


@dataclass(frozen=True)
class Shown:
    """What a refusal shows: a place on a line, come to from one start with one tool, in a setup.

    ``axis`` is the one coordinate of the place that counts, None where all of it does.
    """

    machine: Machine
    controller: Controller
    setup: Setup
    lines: Sequence[str]
    line: int
    witness: Witness
    missing: Missing
    axis: int | None = None

    def ways(self, shares: Values) -> tuple[Values, int]:
        """How far each way (legs of the line, n) fails, and how many unknowns there were."""
        tool = self.witness.tool
        fate = Given(shares, (tool.length, tool.radius) if tool else (0.0, 0.0), self.machine)
        start = np.repeat(_place(self.witness.start), shares.shape[1], axis=1)
        run = Running(self.machine, self.controller, self.setup, start, fate)
        cut = self.machine.tolerance if self.machine.corner == "blend" else 0.0
        fails = [
            np.maximum(off(leg, _place(self.witness.at), cut, self.axis), self.missing(leg))
            for leg in _of_line(run.follow(self.lines), self.line)
        ]
        return np.where(run.alive, np.array(fails or [np.full(shares.shape[1], np.inf)]), np.inf), fate.asked

    def fails(self, near: float) -> float:
        """mm by which the case shown fails; what is at most ``near`` is as good as nothing and is not bettered."""
        plain, unknown = self.ways(np.empty((0, 1)))
        if not unknown or plain.min() <= near:
            return float(plain.min())
        random = np.random.default_rng(1)
        found = [self._sought(random, unknown, near, None)]
        for leg in np.argsort(plain[:, 0])[:AGAIN]:
            if min(found) > near:
                found.append(self._sought(random, unknown, near, int(leg)))
        return min(found)

    def _sought(self, random: np.random.Generator, unknown: int, near: float, leg: int | None) -> float:
        """The least failure of the ways along one leg, or along any, each draw about the best of those before.

        Some of the unknowns are changed at a time, some by much and some by next to nothing.
        """
        shares = random.integers(0, 3, (unknown, TRIED)) / 2
        shares[:, TRIED // 2 :] = random.random((unknown, TRIED - TRIED // 2))
        least = np.inf
        for _ in range(ROUNDS):
            fails = self.ways(shares)[0]
            best = fails.min(axis=0) if leg is None else fails[leg]
            way = int(np.argmin(best))
            if best[way] < least:
                least, middle = float(best[way]), shares[:, [way]]
            if least <= near or not np.isfinite(least):
                break
            steps = random.uniform(-1, 1, (unknown, TRIED)) * 10.0 ** random.uniform(FINEST, 0.0, (unknown, TRIED))
            shares = np.clip(middle + steps * (random.random((unknown, TRIED)) < MOVED), 0.0, 1.0)
            ends = random.random((unknown, TRIED)) < TO_AN_END
            shares = np.where(ends, np.round(shares), shares)
        return least


def _of_line(legs: Sequence[Leg], line: int) -> list[Leg]:
    """The ways of a line, and those that a rounded corner joins to one: it belongs to both."""
    corners = [corner for leg in legs if leg.line == line for corner in (leg.before, leg.after) if corner is not None]
    return [leg for leg in legs if leg.line == line or any(each in corners for each in (leg.before, leg.after) if each)]


def _place(at: Mapping[str, float]) -> Values:
    return np.array([[at[axis]] for axis in AXES])


def off(leg: Leg, at: Values, cut: float, axis: int | None) -> Values:
    """mm (n) by which a place lies off a way: off all that it sweeps where each axis has its own rate, and off what a
    corner may cut where the way may be rounded. With ``axis`` only that coordinate counts."""
    low, high = leg.reach()
    gaps = np.maximum(np.maximum(low - at, at - high), 0.0)
    if axis is not None:
        alone: Values = gaps[axis]
        return alone
    if leg.gains is not None:
        apart: Values = np.linalg.norm(gaps, axis=0)
        return apart
    far = [np.linalg.norm(leg.at(share) - at, axis=0) for share in _nearest_shares(leg, at)]
    found: Values = np.min(far, axis=0)
    return np.maximum(found - cut, 0.0) if leg.smooth else found


def _nearest_shares(leg: Leg, at: Values) -> list[Values]:
    """Shares of a way (n), one of which is the nearest to a place."""
    ends = [np.zeros(leg.begin.shape[1]), np.ones(leg.begin.shape[1])]
    if leg.bend:
        one, other = leg.bend.axes
        angle = np.arctan2(at[other] - leg.bend.centre[1], at[one] - leg.bend.centre[0])
        ahead = np.mod((angle - leg.bend.begins) * np.sign(leg.bend.sweep), 2 * np.pi)
        return [*ends, np.minimum(ahead / np.maximum(np.abs(leg.bend.sweep), 1e-12), 1.0)]
    way = leg.end - leg.begin
    along = ((at - leg.begin) * way).sum(axis=0) / np.maximum((way**2).sum(axis=0), 1e-18)
    return [np.clip(along, 0.0, 1.0)]
