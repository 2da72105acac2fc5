"""The box of safe starts: sound, tight, and not outdone by another."""

from __future__ import annotations

from dataclasses import replace
from math import prod

import numpy as np
import numpy.typing as npt

from parser.machine import Interval, Limit
from tests.parser.proof.scenes.scene import AXES, Scene
from tests.parser.proof.simulation.meeting import Obstacle, met, things
from tests.parser.proof.trial.common import (
    ROUNDING,
    Box,
    DisagreementError,
    fired,
    left,
    prove,
    refusals,
    unusable,
)
from tests.parser.proof.trial.proved import breaks_nothing
from tests.parser.proof.trial.said import confirm

FACES, TRIES = 9, 25
"""Faces of a grid along each axis, and boxes on it that are put to the proof, the largest first."""

LEAST_KEPT = 0.001
"""The part of all starts that a box has to keep to be put to the proof."""

BEYOND = 0.01
"""mm beyond a face at which something has to be refused."""


def hold(made: Scene, box: Box, random: np.random.Generator, count: int) -> None:
    """No start in the box breaks anything, and every line can be carried out from each."""
    for each in fired(made, random, box, count):
        if not each.run.alive.all():
            facts = {"box": box, **each.one(~each.run.alive)}
            raise DisagreementError("safe start, and cannot be carried out", made, **facts)
        breaks_nothing(made, each, "safe start", box=box)


def push(made: Scene, box: Box) -> None:
    """A hundredth of a millimetre beyond any face where starts go on, something is refused, and shown."""
    for axis in AXES:
        for low, high in ((BEYOND, 0.0), (0.0, BEYOND)):
            wider = Interval(box[axis].low - low, box[axis].high + high)
            if made.start[axis].low <= wider.low and wider.high <= made.start[axis].high:
                narrowed = replace(made, start={**box, axis: wider})
                report = prove(narrowed)
                if not report.refused:
                    raise DisagreementError("safe start smaller than need be", narrowed, axis=axis, said=box)
                for key, findings in refusals(report).items() if not unusable(report) else ():
                    for finding in findings:
                        confirm(narrowed, key, finding, None)


def outdo(made: Scene, random: np.random.Generator, count: int, box: Box | None) -> None:
    """No box on a grid of faces, those of the box among them, keeps over a hundredth more and is granted as well.

    Those with a start that breaks something are left out, and those in which nothing can stand; the largest of the
    others are put to the proof.
    """
    whole = prod(side.length for side in made.start.values())
    if whole == 0.0:
        return
    mine = prod(box[axis].length for axis in AXES) if box else 0.0
    grids = []
    for axis in AXES:
        own = [box[axis].low, box[axis].high] if box else []
        grids.append(np.unique([*np.linspace(made.start[axis].low, made.start[axis].high, FACES), *own]))
    lows, highs = zip(*(np.triu_indices(len(grid), 1) for grid in grids), strict=True)
    counts = _breaking(made, random, count, grids)
    for index, (low, high) in enumerate(zip(lows, highs, strict=True)):
        counts = counts.take(high, axis=index) - counts.take(low, axis=index)
    lengths = [grid[high] - grid[low] for grid, low, high in zip(grids, lows, highs, strict=True)]
    kept = lengths[0][:, None, None] * lengths[1][None, :, None] * lengths[2]
    for limit in made.machine.limits:
        kept *= ~_always_broken(limit, grids, lows, highs)
    kept[(counts > 0) | (kept * 0.99 <= max(mine, LEAST_KEPT * whole))] = 0.0
    for number in np.argsort(-kept, axis=None)[:TRIES]:
        at = np.unravel_index(int(number), kept.shape)
        if kept[at] == 0.0:
            break
        other = {
            axis: Interval(float(grids[i][lows[i][at[i]]]), float(grids[i][highs[i][at[i]]]))
            for i, axis in enumerate(AXES)
        }
        if _can_stand(made, other, random) and not prove(made, other).refused:
            facts = {"said": box, "other": other, "keeps": mine / whole, "would keep": kept[at] / whole}
            raise DisagreementError("a larger safe start is granted", made, **facts)


def _can_stand(made: Scene, box: Box, random: np.random.Generator) -> bool:
    """Whether in some setup the machine can stand somewhere in a box, as drawn, with next to no tool in the spindle."""
    places = np.stack([random.uniform(box[axis].low, box[axis].high, CAN_STAND) for axis in AXES])
    nothing = np.zeros((2, CAN_STAND))
    for setup in made.machine.setups:
        clear = np.ones(CAN_STAND, dtype=bool)
        for thing in things(made.machine, setup):
            if isinstance(thing, Obstacle):
                for body in thing.met_by:
                    clear &= thing.clear(body, places, body.sized(nothing)) >= 0
        if clear.any():
            return True
    return False


CAN_STAND = 4000
"""Starts of a box at which it is looked whether the machine can stand there."""

Grid = npt.NDArray[np.float64]


def _breaking(made: Scene, random: np.random.Generator, count: int, grids: list[Grid]) -> Grid:
    """How many samples break anything in all the cells of a grid up to each of its faces."""
    bad = np.zeros([len(grid) - 1 for grid in grids])
    for each in fired(made, random, made.start, count):
        breaks = ~each.run.alive
        for thing in things(made.machine, each.setup):
            for meeting in met(thing, each.legs, ROUNDING):
                breaks = breaks | meeting.hit
        for over in left(made, each.legs).values():
            breaks = breaks | over
        bad += np.histogramdd(each.starts[:, breaks].T, bins=grids)[0]
    return np.pad(bad, ((1, 0), (1, 0), (1, 0))).cumsum(0).cumsum(1).cumsum(2)


def _always_broken(limit: Limit, grids: list[Grid], lows: tuple[Grid, ...], highs: tuple[Grid, ...]) -> Grid:
    """The boxes of a grid in which every start breaks a limit of the sheet already, so that the machine cannot be."""
    found: Grid = np.array(True)
    for (axis, op, value), holds in ((limit.when, True), (limit.then, False)):
        index = AXES.index(axis)
        low, high = grids[index][lows[index]], grids[index][highs[index]]
        past = low >= value if (">" in op) == holds else high <= value
        found = found & past.reshape([-1 if each == index else 1 for each in range(3)])
    return found
