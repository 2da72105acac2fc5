"""Random straight scenes for a solver to decide: a machine, where it may stand, and a macro as a list of actions.

In half of them every number is whole and taken, as often as not, from a few places that matter (a face of a box, the
same face a radius and a margin off, an end of travel), so that edges coincide. In the other half numbers have three
decimals. Every number is the decimal that its text shows: ``exact`` gives it back as a fraction.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import pairwise

import numpy as np

from parser.machine import Axis, Box, Controller, Interval, Limit, Machine, Origin, Setup

AXES = "xyz"
TRAVEL = {"x": Interval(0.0, 200.0), "y": Interval(0.0, 120.0), "z": Interval(-100.0, 0.0)}
CONTROLLER = Controller(percent=False, rapid="straight")

FLOOR = -200.0
"""Low face of most keep-outs, mm: below everything on the frame."""

HEADS = {"to": "G53 G0", "by": "G91 G0", "work": "G90 G0", "feed": "G90 G1", "creep": "G91 G1"}
RELATIVE = ("by", "creep")


def exact(number: float) -> Fraction:
    """The decimal that is written for a number, as a fraction."""
    return Fraction(repr(float(number)))


@dataclass(frozen=True)
class Action:
    """One line of a macro.

    ``to`` goes to machine coordinates at rapid, ``by`` a step at rapid, ``work`` to work coordinates at rapid, ``feed``
    and ``creep`` the last two at a feed the other way round: to work coordinates, and a step. ``pause`` waits.
    """

    kind: str
    values: dict[str, float] = field(default_factory=dict)

    def text(self) -> str:
        if self.kind == "pause":
            return "M0"
        words = " ".join(f"{axis.upper()}{self.values[axis]:.3f}" for axis in AXES if axis in self.values)
        return f"{HEADS[self.kind]} {words}" + (" F600" if self.kind in ("feed", "creep") else "")


@dataclass(frozen=True)
class Place:
    """Where an axis stands: a number, beside where the macro started or the origin of G54 where it hangs on one."""

    number: Fraction
    on_start: bool = False
    on_origin: bool = False


@dataclass(frozen=True)
class Leg:
    """A move on a line, by axis: from, to, and what it is judged from: the start of the macro, or the last pause."""

    line: int
    judged_from: dict[str, Place]
    begin: dict[str, Place]
    end: dict[str, Place]

    def hangs_on(self, axis: str) -> bool:
        """Whether it depends on the origin of G54 along an axis."""
        return any(places[axis].on_origin for places in (self.judged_from, self.begin, self.end))


@dataclass(frozen=True)
class Scene:
    """A machine, the box of starts, and a macro; ``whole`` says that every number is whole."""

    machine: Machine
    start: dict[str, Interval]
    actions: tuple[Action, ...]
    whole: bool

    @property
    def text(self) -> str:
        """Modes, one line an action, modes again: what is left over at the end is not what is tried here."""
        return "\n".join(["G17 G21 G40 G49 G54 G90 G94", *(each.text() for each in self.actions), "G80 G90"]) + "\n"

    def legs(self) -> Iterator[Leg]:
        """Every move, the first line of the macro being line 2."""
        at = {axis: Place(Fraction(0), on_start=True) for axis in AXES}
        judged_from = at
        for line, action in enumerate(self.actions, 2):
            if action.kind == "pause":
                judged_from = at
                continue
            end = at | {axis: _target(action, axis, at[axis]) for axis in action.values}
            yield Leg(line, judged_from, at, end)
            at = end

    @property
    def families(self) -> Iterator[str]:
        """What is special about the scene, for counting."""
        machine = self.machine
        yield "whole numbers" if self.whole else "decimals"
        sizes = (machine.tool_stick_out, machine.tool_radius)
        traits = {
            "no margin": machine.keep_out_margin == 0,
            "margin above 10 mm": machine.keep_out_margin > 10,
            "tool without length or radius": 0 in sizes,
            "holder": bool(machine.holder_radius or machine.holder_length),
            "enclosure": bool(machine.enclosures),
            "rider": bool(machine.enclosures) and "table" in (each.carried_by for each in machine.axes[:2]),
            "tool wider than the nose, enclosure": bool(machine.enclosures) and sizes[1] > machine.nose_radius,
            "table carries Z": machine.axes[2].carried_by == "table",
            "limit": bool(machine.limits),
            "pause": any(each.kind == "pause" for each in self.actions),
            "several setups": len(machine.setups) > 1,
            "one start": all(side.length == 0 for side in self.start.values()),
            "narrowed": self.start != TRAVEL,
        }
        yield from (name for name, has in traits.items() if has)


def _target(action: Action, axis: str, at: Place) -> Place:
    value = exact(action.values[axis])
    if action.kind in RELATIVE:
        return replace(at, number=at.number + value)
    return Place(value, on_origin=action.kind in ("work", "feed"))


def scene(seed: int) -> Scene:
    """The scene of a seed; those of even seeds are whole."""
    draw = Draw(np.random.default_rng(seed), whole=seed % 2 == 0)
    carried = {"x": _carrier(draw, 0.5), "y": _carrier(draw, 0.5), "z": _carrier(draw, 0.95)}
    axes = tuple(Axis(axis, TRAVEL[axis], 2000.0, 200.0, carried_by=carried[axis]) for axis in AXES)  # type: ignore[arg-type]
    margin, nose = draw.size(0.3, 3, 40), draw.size(0.2, 30)
    length, radius = draw.size(0.15, 60), draw.size(0.15, 12, 40)
    for off in (0.0, margin, radius, margin + radius, nose + margin):
        draw.offsets.append(off)
    boxes = [_keep_out(draw, f"K{index}", length) for index in range(1 + draw.happens(0.4))]
    frames = [_enclosure(draw, carried, boxes[0], length)] if draw.happens(0.4) else []
    holder = draw.happens(0.35)
    machine = Machine(
        "Random",
        axes,
        tuple(_setups(draw, boxes, length)),
        nose_radius=nose,
        holder_radius=draw.size(0.15, 20) if holder else 0.0,
        holder_length=draw.size(0.15, 30) if holder else 0.0,
        tool_stick_out=length,
        tool_radius=radius,
        keep_out_margin=margin,
        travel_margin=draw.size(0.3, 3, 20),
        enclosures=tuple(frames),
        limits=(_limit(draw),) if draw.happens(0.25) else (),
    )
    return Scene(machine, _start(draw), tuple(_actions(draw)), draw.whole)


@dataclass
class Draw:
    """Random numbers for one scene, and the places on each axis that matter so far."""

    random: np.random.Generator
    whole: bool
    offsets: list[float] = field(default_factory=list)
    faces: dict[str, list[float]] = field(default_factory=lambda: {axis: [] for axis in AXES})

    def happens(self, share: float) -> bool:
        return bool(self.random.random() < share)

    def number(self, low: float, high: float) -> float:
        """Whole, or of three decimals."""
        return float(round(self.random.uniform(low, high), 0 if self.whole else 3)) + 0.0

    def size(self, none: float, *most: float) -> float:
        """0 in a share of cases, else up to one of the values."""
        return 0.0 if self.happens(none) else self.number(0.5, float(self.random.choice(most)))

    def place(self, axis: str, low: float | None = None, high: float | None = None) -> float:
        """A place on an axis, in travel unless told otherwise; in whole scenes often one that matters."""
        low, high = TRAVEL[axis].low if low is None else low, TRAVEL[axis].high if high is None else high
        known = [place for place in self.faces[axis] if low <= place <= high]
        if self.whole and known and self.happens(0.5):
            return float(self.random.choice(known))
        return self.number(low, high)

    def side(self, axis: str, low: float, high: float, shortest: float, longest: float) -> tuple[float, float]:
        """Two faces of a box, the lower one from ``low`` to ``high``."""
        first = self.place(axis, low, high)
        last = self.place(axis, first + shortest, first + longest)
        return first, last

    def knows(self, box: Box, length: float) -> Box:
        """The box; its faces are places that matter from now on."""
        for index, axis in enumerate("xy"):
            for off in self.offsets:
                self.faces[axis] += [box.low[index] - off, box.high[index] + off]
        self.faces["z"] += [box.high[2] + up + off for up in (0.0, length) for off in self.offsets[:2]]
        self.faces["z"] += [box.low[2] - off for off in self.offsets[:2]]
        return box


def _carrier(draw: Draw, head: float) -> str:
    return "head" if draw.happens(head) else "table"


def _keep_out(draw: Draw, name: str, length: float) -> Box:
    x, y = draw.side("x", -20, 180, 1, 100), draw.side("y", -20, 110, 1, 70)
    top = draw.place("z", -140, -5)
    low = FLOOR if draw.happens(0.8) else draw.number(top - 60, top - 1)
    return draw.knows(Box(name, (x[0], y[0], low), (x[1], y[1], top)), length)


def _enclosure(draw: Draw, carried: dict[str, str], box: Box, length: float) -> Box:
    """A box on the frame, in half of the cases where a keep-out may ride into it.

    Along an axis that the table carries it stands as seen from the spindle, along the others in machine coordinates.
    """
    beside = draw.happens(0.5)
    sides = []
    for index, (axis, high, long) in enumerate((("x", 180, 90), ("y", 110, 70))):
        if carried[axis] == "table":
            sides.append(draw.side(axis, -80, 60, 1, long))
        elif beside:
            sides.append(draw.side(axis, box.low[index] - 10, box.high[index], 1, long))
        else:
            sides.append(draw.side(axis, -40, high, 1, long))
    top = box.high[2]
    sides.append(draw.side("z", top - 20, top, 1, 60) if beside else draw.side("z", -90, -5, 1, 60))
    low, high = zip(*sides, strict=True)
    return draw.knows(Box("Frame", low, high), length)


def _setups(draw: Draw, boxes: list[Box], length: float) -> Iterator[Setup]:
    """One to three setups, each with the boxes that are always there; in some of them one more, elsewhere in each."""
    count = int(draw.random.choice([1, 1, 1, 2, 2, 3]))
    for number in range(count):
        own = [_keep_out(draw, f"Own {number}", length)] if count > 1 and draw.happens(0.5) else []
        yield Setup(f"S{number}" if count > 1 else "", (*boxes, *own), {"G54": Origin(_origin(draw))})


def _origin(draw: Draw) -> dict[str, Interval]:
    found = {}
    for axis in AXES:
        low = draw.place(axis)
        found[axis] = Interval(low, draw.number(low + 1, low + 20) if draw.happens(0.35) else low)
    return found


def _limit(draw: Draw) -> Limit:
    when, then = (str(axis) for axis in draw.random.choice(list(AXES), 2, replace=False))
    first, second = (str(op) for op in draw.random.choice(["<", "<=", ">", ">="], 2))
    return Limit((when, first, draw.place(when)), (then, second, draw.place(then)))  # type: ignore[arg-type]


def _start(draw: Draw) -> dict[str, Interval]:
    """Anywhere in half of the scenes, else a narrowed box, some of it a single place; now and then one start."""
    how = draw.random.random()
    if how < 0.5:
        return dict(TRAVEL)
    found = {}
    for axis in AXES:
        ends = sorted((draw.place(axis), draw.place(axis)))
        narrowed = Interval(ends[0], ends[0] if how > 0.9 or draw.happens(0.2) else ends[1])
        found[axis] = narrowed if how > 0.9 or draw.happens(0.6) else TRAVEL[axis]
    return found


def _actions(draw: Draw) -> Iterator[Action]:
    """One to four moves, in half of the macros a raise first, now and then a pause between two."""
    moves = [_move(draw) for _ in range(draw.random.integers(1, 5))]
    if draw.happens(0.5):
        moves[0] = Action("to", {"z": draw.place("z", -10, 0)})
    pause = int(draw.random.integers(1, len(moves))) if len(moves) > 1 and draw.happens(0.3) else 0
    for index, move in enumerate(moves):
        if index == pause > 0:
            yield Action("pause")
        yield move


def _move(draw: Draw) -> Action:
    kind = str(draw.random.choice(["to", "to", "to", "by", "by", "work", "work", "feed", "creep"]))
    axes = [axis for axis in AXES if draw.happens(0.5)] or [str(draw.random.choice(list(AXES)))]
    if kind == "to":
        return Action(kind, {axis: draw.place(axis) for axis in axes})
    most = 40 if kind in RELATIVE else 30
    return Action(kind, {axis: _step(draw, axis, most) for axis in axes})


def _step(draw: Draw, axis: str, most: float) -> float:
    """A step, or a place in work coordinates; in whole scenes often just from one place that matters to another."""
    known = sorted({place for place in draw.faces[axis] if TRAVEL[axis].contains(place)})
    gaps = [last - first for first, last in pairwise(known) if last - first <= most]
    if draw.whole and gaps and draw.happens(0.4):
        return float(draw.random.choice(gaps) * draw.random.choice([-1, 1]))
    return draw.number(-most, most)
