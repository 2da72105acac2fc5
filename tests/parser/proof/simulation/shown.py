"""The one case that a refusal shows, followed by itself: its start and its tool, with whatever the macro cannot know.

That is sought: many ways from this start are led through the place that is shown, at one share of a leg or another, and
more are drawn about the one that breaks the rule there by most, until one does or none has.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from parser.findings import Witness
from parser.machine import Controller, Interval, Machine, Setup
from tests.parser.proof.simulation.legs import Leg
from tests.parser.proof.simulation.program import AXES, Running
from tests.parser.proof.simulation.words import Values

TRIED, ROUNDS, LEGS = 64, 24, 4
"""Ways drawn at a time, how often, and for how many legs of a line."""

TUNED, MOVED, TO_AN_END, FINEST = 0.75, 0.6, 0.15, -8.0
"""The part of the ways drawn about the best of those before, the parts of its unknowns that are moved and that are put
to an end, and the power of ten of the smallest step."""

NEWTON, HAIR = 3, 1e-4
"""How often a way is led to the place shown, and by how much a share is changed to see what it does."""


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


@dataclass(frozen=True)
class Ways:
    """The legs of a line, which of the ways (n) get there at all, and how many unknowns there were."""

    legs: list[Leg]
    alive: npt.NDArray[np.bool_]
    unknown: int


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

    def ways(self, shares: Values) -> Ways:
        """The ways of the line from the start that is shown, for some shares (unknowns, n) of what is not known."""
        tool = self.witness.tool
        fate = Given(shares, (tool.length, tool.radius) if tool else (0.0, 0.0), self.machine)
        start = np.repeat(_place(self.witness.start), shares.shape[1], axis=1)
        run = Running(self.machine, self.controller, self.setup, start, fate)
        return Ways(_of_line(run.follow(self.lines), self.line), run.alive, fate.asked)

    def failing(self, ways: Ways) -> Values:
        """How far each way (legs, n) fails."""
        cut = self.machine.tolerance if self.machine.corner == "blend" else 0.0
        at = _place(self.witness.at)
        fails = [np.maximum(off(leg, at, cut, self.axis), self.missing(leg)) for leg in ways.legs]
        return np.where(ways.alive, np.array(fails or [np.full(ways.alive.shape, np.inf)]), np.inf)

    def fails(self, near: float) -> float:
        """mm by which the case shown fails; what is at most ``near`` is as good as nothing and is not bettered."""
        plain = self.ways(np.empty((0, 1)))
        found = float(self.failing(plain).min())
        if not plain.unknown or found <= near:
            return found
        random = np.random.default_rng(1)
        shares = random.integers(0, 3, (plain.unknown, TRIED)) / 2
        ways = self.ways(shares)
        failing = self.failing(ways).min(axis=1)
        found = min(found, float(failing.min()))
        for leg in np.argsort(failing)[:LEGS]:
            if found > near:
                found = min(found, self._led(random, plain.unknown, near, int(leg)))
        return found

    def _led(self, random: np.random.Generator, unknown: int, near: float, leg: int) -> float:
        """The least failure of many ways, each led through the place shown at one share of a leg or another.

        After the first each draw is about the best so far: some unknowns and the share are changed, by much or little.
        """
        best, middle, when = np.inf, np.full((unknown, 1), 0.5), 0.5
        for turn in range(ROUNDS):
            shares, share = random.random((unknown, TRIED)), random.random(TRIED)
            if turn:
                tuned = random.random(TRIED) < TUNED
                shares = np.where(tuned, middle + _steps(random, unknown), shares)
                share = np.where(tuned, when + _steps(random, 1)[0], share)
            shares, share = (
                np.where(random.random(each.shape) < TO_AN_END, np.round(each), each) for each in (shares, share)
            )
            shares = self._through(np.clip(shares, 0.0, 1.0), np.clip(share, 0.0, 1.0), leg)
            fails = self.failing(self.ways(shares))
            fails = fails[min(leg, len(fails) - 1)]
            way = int(np.argmin(fails))
            if fails[way] < best:
                best, middle, when = float(fails[way]), shares[:, [way]], float(np.clip(share, 0.0, 1.0)[way])
            if best <= near:
                break
        return best

    def _through(self, shares: Values, share: Values, leg: int) -> Values:
        """The unknowns (unknowns, n) so changed that at some shares (n) of a leg the way is at the place shown."""
        axes = slice(None) if self.axis is None else slice(self.axis, self.axis + 1)
        for _ in range(NEWTON):
            apart = np.where(shares < 0.5, HAIR, -HAIR)
            cases = [
                shares,
                *(
                    np.where(np.arange(len(shares))[:, None] == row, shares + apart, shares)
                    for row in range(len(shares))
                ),
            ]
            legs = self.ways(np.hstack(cases)).legs
            if not legs:
                break
            places = legs[min(leg, len(legs) - 1)].at(np.tile(share, len(cases)))[axes]
            first, *others = np.split(places, len(cases), axis=1)
            slopes = np.stack([(each - first) / apart[row] for row, each in enumerate(others)])  # unknowns, axes, n
            away = (_place(self.witness.at)[axes] - first).T[:, :, None]
            moved = np.linalg.pinv(slopes.transpose(2, 1, 0)) @ away
            shares = np.clip(shares + moved[:, :, 0].T, 0.0, 1.0)
        return shares


def _steps(random: np.random.Generator, rows: int) -> Values:
    """Steps (rows, ways) of all sizes, some of them none."""
    sizes = 10.0 ** random.uniform(FINEST, 0.0, (rows, TRIED))
    found: Values = random.uniform(-1, 1, (rows, TRIED)) * sizes * (random.random((rows, TRIED)) < MOVED)
    return found


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
