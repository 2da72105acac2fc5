"""Random machines and macros for the proof to be tried on: each macro a list of actions, and the lines it becomes.

Nothing here is computed by the parser: ``tests.parser.proof.simulation`` follows the actions by plain arithmetic.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from parser.machine import Axis, Box, Controller, Interval, Limit, Machine, Origin, Setup

AXES = "xyz"
TRAVEL = {"x": Interval(0.0, 260.0), "y": Interval(0.0, 150.0), "z": Interval(-90.0, 0.0)}
KINDS = ["to", "to", "to", "by", "work", "feed", "arc", "probe"]


@dataclass(frozen=True)
class Action:
    """One move.

    ``to`` machine coordinates at rapid, ``by`` a step at rapid, ``work`` work coordinates at rapid, ``feed`` the same
    at a feed, ``arc`` a relative arc or helix in XY, ``probe`` a step along one axis that ends where a probe trips.
    """

    kind: str
    values: dict[str, float] = field(default_factory=dict)

    @property
    def axes(self) -> list[str]:
        return [axis for axis in AXES if axis in self.values]

    @property
    def rapid(self) -> bool:
        return self.kind in ("to", "by", "work")

    def text(self) -> str:
        words = " ".join(f"{axis.upper()}{self.values[axis]:.3f}" for axis in self.axes)
        if self.kind == "arc":
            turn = "G2" if self.values["sweep"] < 0 else "G3"
            return f"G91 {turn} {words} I{self.values['i']:.6f} J{self.values['j']:.6f} F900"
        head = {"to": "G53 G0", "by": "G91 G0", "work": "G90 G0", "feed": "G90 G1", "probe": "G91 G38.2"}[self.kind]
        return f"{head} {words}" + ("" if self.rapid else " F600")


@dataclass(frozen=True)
class Scene:
    """A machine, a controller and a macro."""

    machine: Machine
    controller: Controller
    actions: tuple[Action, ...]

    @property
    def lines(self) -> list[int]:
        """The line of each action, from 1."""
        return [2 + index for index in range(len(self.actions))]

    @property
    def text(self) -> str:
        """Modes, one line an action, modes again: what is left over at the end is not what is tried here."""
        return "\n".join(["G17 G21 G40 G49 G54 G90 G94", *(each.text() for each in self.actions), "G80 G90"]) + "\n"


def scene(random: np.random.Generator) -> Scene:
    """A random mill with up to three keep-outs and perhaps an enclosure and a limit, and one to five moves on it."""
    carried = {axis: "head" if axis == "z" or random.random() < 0.3 else "table" for axis in AXES}
    axes = tuple(Axis(a, TRAVEL[a], random.uniform(300, 3000), 200.0, carried_by=carried[a]) for a in AXES)
    holder, nose = random.random() < 0.4, random.random() < 0.7
    boxes = [_keep_out(random, index) for index in range(random.integers(1, 4))]
    machine = Machine(
        "Random",
        axes,
        (Setup("", tuple(boxes), {"G54": Origin(_origins(random))}),),
        nose_radius=random.uniform(5, 40) if nose else 0.0,
        holder_radius=random.uniform(5, 20) if holder else 0.0,
        holder_length=random.uniform(5, 30) if holder else 0.0,
        tool_stick_out=random.uniform(5, 60),
        tool_radius=random.uniform(0.5, 20),
        keep_out_margin=random.uniform(0, 3),
        enclosures=tuple(_enclosure(random) for _ in range(random.random() < 0.25)),
        limits=tuple(_limit(random) for _ in range(random.random() < 0.25)),
    )
    controller = Controller(percent=False, rapid="dogleg" if random.random() < 0.25 else "straight")
    return Scene(machine, controller, tuple(_actions(random)))


def _keep_out(random: np.random.Generator, index: int) -> Box:
    x, y = random.uniform(-20, 240), random.uniform(-20, 140)
    top = random.uniform(-130, -10)
    return Box(f"K{index}", (x, y, -200.0), (x + random.uniform(2, 120), y + random.uniform(2, 90), top))


def _enclosure(random: np.random.Generator) -> Box:
    x, y, z = random.uniform(-40, 240), random.uniform(-40, 140), random.uniform(-60, -5)
    return Box("Frame", (x, y, z), (x + random.uniform(2, 80), y + random.uniform(2, 80), z + random.uniform(5, 80)))


def _limit(random: np.random.Generator) -> Limit:
    when, then = random.choice(list(AXES), 2, replace=False)
    ops = random.choice(["<", "<=", ">", ">="], 2)
    values = [round(random.uniform(TRAVEL[a].low, TRAVEL[a].high), 1) for a in (when, then)]
    return Limit((str(when), str(ops[0]), values[0]), (str(then), str(ops[1]), values[1]))  # type: ignore[arg-type]


def _origins(random: np.random.Generator) -> dict[str, Interval]:
    found = {}
    for axis in AXES:
        low = random.uniform(TRAVEL[axis].low, TRAVEL[axis].high)
        found[axis] = Interval(low, low + (random.uniform(0, 20) if random.random() < 0.4 else 0.0))
    return found


def _actions(random: np.random.Generator) -> list[Action]:
    """Half of the macros raise first, as a careful one does, so that much is proved as well as refused."""
    raised = [Action("to", {"z": round(random.uniform(-8, -1), 3)})] if random.random() < 0.5 else []
    return raised + [_action(random) for _ in range(random.integers(1, 5 if raised else 6))]


def _action(random: np.random.Generator) -> Action:
    kind = str(random.choice(KINDS))
    if kind == "arc":
        return _arc(random)
    if kind == "probe":
        axis = str(random.choice(["z", "z", "x", "y"]))
        return Action(kind, {axis: round(float(random.choice([-1, 1]) * random.uniform(1, 30)), 3)})
    chosen = [axis for axis in AXES if random.random() < 0.5] or ["z"]
    span = {
        "to": lambda a: random.uniform(TRAVEL[a].low + 1, TRAVEL[a].high - 1),
        "by": lambda a: random.uniform(-40, 40),
    }
    value = span.get(kind, lambda a: random.uniform(-30, 30))
    return Action(kind, {axis: round(float(value(axis)), 3) for axis in chosen})


def _arc(random: np.random.Generator) -> Action:
    radius, begins, sweep = random.uniform(2, 40), random.uniform(0, 6.28), random.uniform(-6.2, 6.2)
    centre = np.array([-radius * np.cos(begins), -radius * np.sin(begins)])
    end = centre + radius * np.array([np.cos(begins + sweep), np.sin(begins + sweep)])
    values = {"x": round(float(end[0]), 3), "y": round(float(end[1]), 3)}
    if random.random() < 0.3:
        values["z"] = round(random.uniform(-20, 20), 3)
    return Action("arc", values | {"i": float(centre[0]), "j": float(centre[1]), "sweep": float(sweep)})
