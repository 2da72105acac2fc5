"""The first family, drawn just as ever so that seeds in which a long run once disagreed keep their scene.

One setup, small margins, one to five moves: in machine coordinates, by a step, in work coordinates at rapid and at a
feed, round a relative arc, and by a step that a probe ends.
"""

from __future__ import annotations

import numpy as np

from parser.machine import Axis, Box, Controller, Interval, Limit, Machine, Origin, Setup
from tests.parser.proof.scenes.scene import AXES, TRAVEL, Scene

KINDS = ["to", "to", "to", "by", "work", "feed", "arc", "probe"]
HEADS = {"to": "G53 G0", "by": "G91 G0", "work": "G90 G0", "feed": "G90 G1", "probe": "G91 G38.2"}


def plain(random: np.random.Generator) -> Scene:
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
    lines = ("G17 G21 G40 G49 G54 G90 G94", *_moves(random), "G80 G90")
    return Scene(machine, controller, lines, dict(TRAVEL))


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


def _moves(random: np.random.Generator) -> list[str]:
    """Half of the macros raise first, as a careful one does, so that much is proved as well as refused."""
    raised = [f"G53 G0 Z{round(random.uniform(-8, -1), 3):.3f}"] if random.random() < 0.5 else []
    return raised + [_move(random) for _ in range(random.integers(1, 5 if raised else 6))]


def _move(random: np.random.Generator) -> str:
    kind = str(random.choice(KINDS))
    if kind == "arc":
        return _arc(random)
    if kind == "probe":
        axis = str(random.choice(["z", "z", "x", "y"]))
        values = {axis: round(float(random.choice([-1, 1]) * random.uniform(1, 30)), 3)}
    else:
        chosen = [axis for axis in AXES if random.random() < 0.5] or ["z"]
        span = {
            "to": lambda a: random.uniform(TRAVEL[a].low + 1, TRAVEL[a].high - 1),
            "by": lambda a: random.uniform(-40, 40),
        }
        value = span.get(kind, lambda a: random.uniform(-30, 30))
        values = {axis: round(float(value(axis)), 3) for axis in chosen}
    return f"{HEADS[kind]} {_words(values)}" + (" F600" if kind in ("feed", "probe") else "")


def _words(values: dict[str, float]) -> str:
    return " ".join(f"{axis.upper()}{value:.3f}" for axis, value in values.items())


def _arc(random: np.random.Generator) -> str:
    radius, begins, sweep = random.uniform(2, 40), random.uniform(0, 6.28), random.uniform(-6.2, 6.2)
    centre = np.array([-radius * np.cos(begins), -radius * np.sin(begins)])
    end = centre + radius * np.array([np.cos(begins + sweep), np.sin(begins + sweep)])
    values = {"x": round(float(end[0]), 3), "y": round(float(end[1]), 3)}
    if random.random() < 0.3:
        values["z"] = round(random.uniform(-20, 20), 3)
    turn = "G2" if sweep < 0 else "G3"
    return f"G91 {turn} {_words(values)} I{centre[0]:.6f} J{centre[1]:.6f} F900"
