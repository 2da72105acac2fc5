"""Random machines: bodies, margins, what stands on the table and on the frame, setups with their work origins."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from parser.machine import Axis, Box, Controller, Interval, Limit, Machine, Origin, Setup, Tool
from tests.parser.proof.scenes.scene import AXES, TRAVEL


@dataclass(frozen=True)
class Wanted:
    """What a family wants of its machines.

    The most setups; how often margins are larger than clearances, bodies lack a length or a radius, boxes stand on the
    frame, an origin is left out, rapids are doglegs; how corners are taken; how often starts are narrowed, an axis
    limits another and nothing on the table is high; the least and most boxes that always stand there.
    """

    setups: int = 1
    large_margin: float = 0.15
    odd_bodies: float = 0.15
    frames: float = 0.15
    left_out: float = 0.0
    dogleg: float = 0.15
    corner: Literal["stop", "blend"] = "stop"
    narrow: float = 0.3
    limits: float = 0.12
    low: float = 0.4
    keep_outs: tuple[int, int] = (1, 3)


class Maker:
    """Makes the parts of a sheet; all of them whole numbers where ``whole``."""

    def __init__(self, random: np.random.Generator, wanted: Wanted) -> None:
        self.random, self.wanted = random, wanted
        self.whole = self.happens(0.4)
        self.highest = -65.0 if self.happens(wanted.low) else -10.0

    def happens(self, probability: float) -> bool:
        return bool(self.random.random() < probability)

    def number(self, low: float, high: float) -> float:
        value = float(self.random.uniform(low, high))
        return float(round(value)) if self.whole else value

    def machine(self) -> Machine:
        wanted, odd = self.wanted, self.happens(self.wanted.odd_bodies)
        frames = self.happens(wanted.frames)
        carried = {axis: "head" if self.happens(0.5) else "table" for axis in "xy"}
        carried["z"] = "table" if frames and self.happens(0.1) else "head"
        axes = tuple(
            Axis(a, TRAVEL[a], self.number(300, 3000), 200.0, carried_by=carried[a])  # type: ignore[arg-type]
            for a in AXES
        )
        holder = self.happens(0.4)
        return Machine(
            "Random",
            axes,
            self._setups(),
            nose_radius=self.number(5, 40) if self.happens(0.7) else 0.0,
            holder_radius=self.number(5, 20) if holder and not (odd and self.happens(0.4)) else 0.0,
            holder_length=self.number(5, 30) if holder and not (odd and self.happens(0.4)) else 0.0,
            tool_stick_out=0.0 if odd and self.happens(0.5) else self.number(5, 60),
            tool_radius=0.0 if odd and self.happens(0.5) else self.number(0.5, 20),
            keep_out_margin=self._margin(),
            travel_margin=float(self.random.choice([0.0, 0.5, 0.5, 5.0])),
            enclosures=tuple(self._frame(n) for n in range(self.random.integers(1, 3))) if frames else (),
            limits=(self._limit(),) if self.happens(wanted.limits) else (),
            stored={"G28": {a: self._inside(a) for a in AXES if self.happens(0.9)}} if self.happens(0.7) else {},
            tools=(Tool(1, self.number(5, 60), 3.0), Tool(2, self.number(5, 60), 3.0)),
            corner=wanted.corner,
            tolerance=float(self.random.choice([0.05, 0.5, 2.0, 5.0])),
        )

    def controller(self) -> Controller:
        return Controller(percent=False, rapid="dogleg" if self.happens(self.wanted.dogleg) else "straight")

    def start(self, machine: Machine) -> dict[str, Interval]:
        """Where a macro may fire from: anywhere, or narrowed, often to beside or above a box, within its margin."""
        if not self.happens(self.wanted.narrow):
            return dict(TRAVEL)
        boxes = [*machine.enclosures, *(box for setup in machine.setups for box in setup.keep_outs)]
        box = boxes[int(self.random.integers(len(boxes)))] if boxes else None
        return {axis: self._narrowed(machine, box, axis) for axis in AXES}

    def _narrowed(self, machine: Machine, box: Box | None, axis: str) -> Interval:
        reach, index = TRAVEL[axis], AXES.index(axis)
        if self.happens(0.3):
            return reach
        at = self.number(reach.low, reach.high)
        if box is not None and self.happens(0.6):
            off = machine.keep_out_margin * float(self.random.choice([0.0, 0.5, 1.0]))
            if axis == "z":
                off += float(self.random.choice([0.0, machine.tool_stick_out, machine.holder_length]))
            else:
                off += float(self.random.choice([0.0, machine.tool_radius, machine.nose_radius]))
            at = box.high[index] + off if axis == "z" or self.happens(0.5) else box.low[index] - off
        wide = float(self.random.choice([0.0, 1.0, 10.0, 40.0]))
        low, high = (min(max(each, reach.low), reach.high) for each in (at - wide / 2, at + wide / 2))
        return Interval(low, high)

    def _inside(self, axis: str) -> float:
        return round(self.number(TRAVEL[axis].low + 6, TRAVEL[axis].high - 6), 3)

    def _margin(self) -> float:
        if self.happens(self.wanted.large_margin):
            return self.number(3, 40)
        return 0.0 if self.happens(0.15) else self.number(0, 3)

    def _setups(self) -> tuple[Setup, ...]:
        count = int(self.random.integers(1, self.wanted.setups + 1))
        least, most = self.wanted.keep_outs
        always = [self._keep_out(f"K{number}") for number in range(self.random.integers(least, most + 1))]
        found = []
        for name in "ABC"[:count]:
            few = int(self.random.integers(0, 3)) if count > 1 else 0
            own = [self._keep_out(f"K{name}{number}") for number in range(few)]
            origins = {system: self._origin() for system in ("G54", "G55")}
            found.append(Setup(name if count > 1 else "", (*always, *own), origins))
        return tuple(found)

    def _origin(self) -> Origin:
        found = {}
        for axis in AXES:
            if not self.happens(self.wanted.left_out):
                low = self.number(TRAVEL[axis].low + 5, TRAVEL[axis].high - 5)
                found[axis] = Interval(low, low + (self.number(0, 20) if self.happens(0.3) else 0.0))
        return Origin(found)

    def _keep_out(self, name: str) -> Box:
        x, y = self.number(-20, 240), self.number(-20, 140)
        high = x + self.number(2, 120), y + self.number(2, 90), self.number(-130, self.highest)
        return Box(name, (x, y, -200.0), high)

    def _frame(self, number: int) -> Box:
        x, y, z = self.number(-40, 240), self.number(-40, 140), self.number(-70, -5)
        return Box(
            f"Frame{number}", (x, y, z), (x + self.number(2, 120), y + self.number(2, 90), z + self.number(2, 80))
        )

    def _limit(self) -> Limit:
        when, then = (str(axis) for axis in self.random.choice(list(AXES), 2, replace=False))
        ops = self.random.choice(["<", "<=", ">", ">="], 2)
        values = [round(self.number(TRAVEL[axis].low, TRAVEL[axis].high), 1) for axis in (when, then)]
        return Limit((when, str(ops[0]), values[0]), (then, str(ops[1]), values[1]))  # type: ignore[arg-type]
