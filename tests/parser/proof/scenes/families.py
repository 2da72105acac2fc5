"""The families of scenes by name, and how a scene of each is made."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from parser.machine import Controller
from tests.parser.proof.scenes import curves, moves, offsets, pairs, probing
from tests.parser.proof.scenes.pen import Pen
from tests.parser.proof.scenes.plain import plain
from tests.parser.proof.scenes.scene import HEADER, Scene
from tests.parser.proof.scenes.sheets import Maker, Wanted

FOOTER = "G17 G21 G49 G54 G80 G90 G94 G98"


@dataclass(frozen=True)
class Family:
    """What a family wants of its machines, and the lines that it writes between those that set the modes."""

    wanted: Wanted
    write: Callable[[Pen], list[str]]


FAMILIES: Mapping[str, Family | None] = {
    "plain": None,
    "margins": Family(Wanted(large_margin=0.6, odd_bodies=0.5, frames=0.1, narrow=0.8), moves.straight),
    "setups": Family(Wanted(setups=3, keep_outs=(0, 2)), probing.fixed),
    "probes": Family(Wanted(setups=2, left_out=0.05, frames=0.05), probing.probes),
    "offsets": Family(Wanted(setups=2, left_out=0.05, frames=0.05), offsets.offsets),
    "cycles": Family(Wanted(setups=2, frames=0.1), curves.cycles),
    "arcs": Family(Wanted(frames=0.1, narrow=0.5), curves.curves),
    "frames": Family(Wanted(frames=1.0, keep_outs=(0, 2), odd_bodies=0.3, large_margin=0.3), moves.upright),
    "corners": Family(Wanted(corner="blend", frames=0.1, dogleg=0.05, narrow=0.5), moves.corners),
    "anew": Family(Wanted(frames=0.1), moves.anew),
    "pairs": Family(Wanted(setups=2, frames=0.0, narrow=0.0, limits=0.0, low=1.0, keep_outs=(0, 2)), pairs.second),
    "middles": Family(Wanted(setups=2, left_out=0.05, frames=0.05), probing.middles),
}
"""None: the first family, which draws its machines itself."""


def scene(name: str, random: np.random.Generator) -> Scene:
    """A random scene of a family."""
    family = FAMILIES[name]
    if family is None:
        return plain(random)
    maker = Maker(random, family.wanted)
    machine = maker.machine()
    controller, start = maker.controller(), maker.start(machine)
    if name == "anew":
        controller = _returning(controller, maker)
    pen = Pen(random, machine, start, whole=maker.whole)
    made = Scene(machine, controller, (HEADER, *family.write(pen), FOOTER), start)
    return second_again(first_again(made, random), random) if name == "pairs" else made


def _returning(controller: Controller, maker: Maker) -> Controller:
    """One on which G28 may home, or send only the axes that are named."""
    if maker.happens(0.2):
        return replace(controller, g28="home", homing=("G28", "G28 Z0"))
    return replace(controller, g28_axes="named" if maker.happens(0.3) else "all")


def first_again(made: Scene, random: np.random.Generator) -> Scene:
    """The same with another macro that runs before."""
    pen = Pen(random, made.machine, made.start, whole=False)
    return replace(made, before=(HEADER, *pairs.first(pen), FOOTER))


def second_again(made: Scene, random: np.random.Generator) -> Scene:
    """The same with another macro that runs after; some leave modes as they are, for a written reason."""
    pen = Pen(random, made.machine, made.start, whole=False)
    if pen.happens(0.7):
        return replace(made, lines=(HEADER, *pairs.second(pen), FOOTER), reasons={})
    words = " ".join(word for word in HEADER.split() if pen.happens(0.7))
    reasons = {"mode-assumed": "the mill is left so"}
    return replace(made, lines=(words or "G4 P0", *pairs.second(pen), FOOTER), reasons=reasons)
