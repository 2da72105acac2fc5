"""Where macros fire from, what is in the spindle, and whatever else a macro cannot know: drawn where it matters.

A third of all coordinates is drawn where something is about to happen: on a face, a radius or a margin beside it, a
length above it, on a whole number; a third of all other values at an end of its range; and many tools just fit in where
the machine stands.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import isfinite

import numpy as np

from parser.machine import Box, Controller, Interval, Machine, Setup
from tests.parser.proof.simulation.meeting import Obstacle, Thing, things
from tests.parser.proof.simulation.program import AXES, Running
from tests.parser.proof.simulation.words import Values

BESIDE = [0.0, 0.0, 1e-4, 1e-2, 0.3]
"""mm by which a coordinate may be off the place where something is about to happen."""


class Drawn:
    """What the macro cannot know, drawn at random for ``count`` starts in a setup."""

    def __init__(self, random: np.random.Generator, machine: Machine, setup: Setup, count: int) -> None:
        self.random, self.machine, self.count = random, machine, count
        self.things: list[Thing] = things(machine, setup)
        self.places = [_critical(machine, setup, index) for index in range(3)]

    def _shares(self, *shape: int) -> Values:
        """Shares from 0 to 1, a third of them quite at an end."""
        return np.clip(self.random.uniform(-0.2, 1.2, (*shape, self.count)), 0.0, 1.0)

    def within(self, reach: Interval) -> Values:
        if reach.low == reach.high:
            return np.full(self.count, reach.low)
        return np.clip(reach.low + self._shares() * reach.length, reach.low, reach.high)

    def tripped(self) -> Values:
        return self._shares()

    def homed(self, axis: int) -> Values:
        return self.start(axis, self.machine.axes[axis].travel)

    def gains(self) -> Values:
        gains = 1 / np.maximum(self.random.uniform(0, 1, (3, self.count)), 1e-3)
        return gains / gains.min(axis=0)

    def rounding(self) -> Values:
        return np.clip(self.random.uniform(0.0, 2.0, self.count), 0.0, 1.0)

    def start(self, axis: int, reach: Interval) -> Values:
        """Coordinates in a range."""
        found = self.random.uniform(reach.low, reach.high, self.count)
        places = np.array([at for at in (*self.places[axis], reach.low, reach.high) if reach.low <= at <= reach.high])
        picked = np.flatnonzero(self.random.random(self.count) < 1 / 3)
        beside = self.random.choice(BESIDE, len(picked)) * self.random.uniform(-1, 1, len(picked))
        found[picked] = np.clip(self.random.choice(places, len(picked)) + beside, reach.low, reach.high)
        return found

    def starts(self, box: Mapping[str, Interval]) -> Values:
        """Places (3, count) in a box."""
        return np.stack([self.start(index, box[axis]) for index, axis in enumerate(AXES)])

    def tools(self, place: Values) -> Values:
        """Any tool of the sheet; three in five just fit beside a box, or above it, or both."""
        most = np.array([[self.machine.tool_stick_out], [self.machine.tool_radius]])
        found = most * self._shares(2)
        boxes = [thing for thing in self.things if isinstance(thing, Obstacle)]
        turn, fits = self.random.integers(0, max(len(boxes), 1), self.count), self.random.random((2, self.count)) < 0.37
        for number, box in enumerate(boxes):
            room = np.stack([place[2] - box.top, box.outline.distance(place)])
            found = np.where(fits & (turn == number), np.clip(np.nan_to_num(room, neginf=0.0), 0.0, most), found)
        return found


def _critical(machine: Machine, setup: Setup, index: int) -> list[float]:
    """Ends of travel, faces of the boxes, and places a tool, a holder, a nose or a margin off from them."""
    margin, travel = machine.keep_out_margin, machine.axes[index].travel
    kept = machine.travel_margin
    places = [travel.low, travel.high, travel.low + kept, travel.high - kept]
    offs = (0.0, machine.holder_length, machine.tool_stick_out)
    if index < 2:
        offs = (0.0, machine.tool_radius, machine.holder_radius, machine.nose_radius)
    boxes: list[Box] = [*setup.keep_outs, *machine.enclosures]
    for box in boxes:
        for off in offs:
            for beside in (off, off + margin):
                places += [box.high[index] + beside, box.low[index] - beside]
        for fixed in machine.enclosures if index < 2 else ():  # readings at which what rides on the table meets it
            places += [box.low[index] - fixed.high[index], box.high[index] - fixed.low[index]]
    places += [round(place) for place in places]
    return sorted({place for place in places if isfinite(place)})


Run = tuple[Setup, Running]


def runs(
    random: np.random.Generator, machine: Machine, controller: Controller, box: Mapping[str, Interval], count: int
) -> Iterator[Run]:
    """A run from so many starts all over a box, shared out among the setups; nothing of the macro is done yet."""
    for setup in machine.setups:
        fate = Drawn(random, machine, setup, count // len(machine.setups))
        yield setup, Running(machine, controller, setup, fate.starts(box), fate)
