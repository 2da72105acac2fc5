"""Random numbers and words of a macro, with an eye on the machine it is for."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import reduce
from typing import TypeVar

import numpy as np

from parser.machine import Interval, Machine
from tests.parser.proof.scenes.scene import AXES, TRAVEL

T = TypeVar("T")


def said(value: float) -> str:
    """A number as it is written: without an exponent, and without noughts at its end."""
    return f"{value + 0.0:.6f}".rstrip("0").rstrip(".")  # a negative nought becomes a plain one


class Pen:
    """Writes with ``random`` for ``machine``, for macros that fire from ``start``; ``whole`` numbers only, or any."""

    def __init__(
        self, random: np.random.Generator, machine: Machine, start: Mapping[str, Interval], *, whole: bool
    ) -> None:
        self.random, self.machine, self.start, self.whole = random, machine, start, whole

    def happens(self, probability: float) -> bool:
        return bool(self.random.random() < probability)

    def pick(self, options: Sequence[T]) -> T:
        return options[int(self.random.integers(len(options)))]

    def number(self, low: float, high: float) -> float:
        value = float(self.random.uniform(low, high))
        return float(round(value)) if self.whole else round(value, 3)

    def axes(self, of: str = AXES) -> list[str]:
        """Some of the axes, at least one."""
        return [axis for axis in of if self.happens(0.5)] or [self.pick(of)]

    def place(self, axis: str) -> float:
        """A machine coordinate to go to; a third of them where something just touches a box, or its margin."""
        reach = TRAVEL[axis]
        if self.happens(1 / 3):
            places = [at for at in self.touching(axis) if reach.low <= at <= reach.high]
            if places:
                return round(self.pick(places), 3)
        return self.number(reach.low + 1, reach.high - 1)

    def touching(self, axis: str) -> list[float]:
        """Coordinates at which a face of a box is just touched, by what is on the spindle or its margin."""
        index, machine = AXES.index(axis), self.machine
        sizes = [0.0, machine.tool_radius, machine.holder_radius, machine.nose_radius]
        if axis == "z":
            sizes = [0.0, machine.tool_stick_out, machine.holder_length]
        found = []
        for box in (*machine.enclosures, *(box for setup in machine.setups for box in setup.keep_outs)):
            for size in sizes:
                for beside in (size, size + machine.keep_out_margin):
                    found += [box.high[index] + beside, box.low[index] - beside]
        return found

    def clear_height(self) -> float:
        """The least height at which nothing on the spindle is within the margin of anything on the table."""
        machine = self.machine
        tops = [box.high[2] for setup in machine.setups for box in setup.keep_outs]
        longest = max(machine.tool_stick_out, machine.holder_length)
        return round(max(tops, default=-200.0) + longest + machine.keep_out_margin, 3)

    def origin(self, axis: str, system: str = "G54") -> Interval:
        """Where an origin may be, over all setups."""
        given = [setup.origins[system].axes.get(axis) for setup in self.machine.setups if system in setup.origins]
        return reduce(Interval.hull, [each for each in given if each is not None] or [TRAVEL[axis]])

    def work(self, axis: str, system: str = "G54") -> float:
        """A work coordinate, mostly of a place within travel."""
        if self.happens(0.3):
            return self.number(-30, 30)
        value = self.place(axis) - self.origin(axis, system).middle
        return float(round(value)) if self.whole else round(value, 3)

    def step(self, axis: str) -> float:
        return self.number(-20, 20) if axis == "z" else self.number(-40, 40)

    def words(self, axes: Sequence[str], value: Callable[[str], float]) -> str:
        """Axis words, such as "X1 Z-2.5"."""
        return " ".join(f"{axis.upper()}{said(value(axis))}" for axis in axes)
