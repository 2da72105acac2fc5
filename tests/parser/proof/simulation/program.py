"""Lines carried out one after the other, for every start at once, as the ways that the axes go.

Numbers in brackets are sections of NISTIR 6556. A start from which a line is in error (an arc that does not close, a
probe too near to its target, R below the depth) stands still from there on and is no longer ``alive``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import pairwise
from math import ceil
from typing import Protocol

import numpy as np
import numpy.typing as npt

from parser.machine import Controller, Interval, Machine, Setup
from tests.parser.proof.simulation.corners import rounded
from tests.parser.proof.simulation.legs import Bend, Leg
from tests.parser.proof.simulation.words import Number, Values, Words, read

AXES = "xyz"
INCH = 25.4
SYSTEMS = ("G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3")
CYCLES = ("G81", "G82", "G83", "G85", "G89")
PLANES = {"G17": (0, 1, 2), "G18": (2, 0, 1), "G19": (1, 2, 0)}
"""The two axes of a plane in right-handed order, and its normal (3.5.6)."""

GROUPS: Mapping[str, str] = {
    word: group
    for group, words in {
        "motion": ("G0", "G1", "G2", "G3", "G38.2", "G80", *CYCLES),
        "plane": tuple(PLANES),
        "distance": ("G90", "G91"),
        "units": ("G20", "G21"),
        "length": ("G43", "G49"),
        "return": ("G98", "G99"),
        "system": SYSTEMS,
        "path": ("G61", "G61.1", "G64"),
    }.items()
    for word in words
}
BY_END = {"motion": "G1", "plane": "G17", "distance": "G90", "system": "G54"}
"""What M2 puts back (3.6.1); it also takes G92 offsets off as G92.2 does."""

NEAREST_PROBE = 0.254
"""mm (0.01 inch) that a probe has to be from its target (3.5.9)."""

CLOSES = {"G21": 0.002, "G20": 0.0002 * INCH}
"""mm by which the end of an arc may lie off its circle (3.5.3.2)."""

BACKED_OFF = 0.254
"""mm above the bottom at which a peck ends its rapid: "a bit" (3.5.16.4)."""

SAME = 1e-9
ANYTHING = Interval(-50.0, 50.0)
"""What an earlier program may have left in a parameter, mm."""

WAITING = {"G4", "M0", "M1", "M3", "M4", "M5", "M6", "M60"}


class Fate(Protocol):
    """What the macro cannot know, for each start."""

    def within(self, reach: Interval) -> Values:
        """A place somewhere in a range: an origin, a stored point."""

    def tripped(self) -> Values:
        """The share of the way at which a probe trips."""

    def homed(self, axis: int) -> Values:
        """Where an axis stands once it has been homed."""

    def tools(self, place: Values) -> Values:
        """The length and radius (2, n) of what is in the spindle, the machine standing at a place."""

    def gains(self) -> Values:
        """How much sooner each axis gets there than the slowest (3, n, at least 1)."""

    def rounding(self) -> Values:
        """The share of the largest radius by which a corner is rounded."""


class Running:
    """Everything that the lines so far have set; ``legs`` are the ways that they have made the axes go."""

    def __init__(self, machine: Machine, controller: Controller, setup: Setup, place: Values, fate: Fate) -> None:
        self.machine, self.controller, self.setup, self.fate = machine, controller, setup, fate
        self.place = self.since = place
        self.tools = fate.tools(place)
        self.alive: npt.NDArray[np.bool_] = np.ones(place.shape[1], bool)
        self.modes: dict[str, str] = {}
        self.legs: list[Leg] = []
        self.origins: dict[str, Values] = {}
        self.points: dict[str, Values] = {}
        self.shift = np.zeros(place.shape)
        self._kept: Values | None = None
        self.numbers: dict[int, Number] = {}
        self.length = 0.0
        self.cycle: dict[str, Number] = {}
        self.waits = self.told = self.ended = False

    def follow(self, lines: Iterable[str]) -> list[Leg]:
        """Carry out some lines, counted from 1; gives the ways of just these."""
        self.legs, self.ended = [], False
        for number, line in enumerate(lines, start=1):
            if not self.ended:
                self._carry_out(number, read(line, _Parameters(self)))
        _round_corners(self.legs, self.machine, self.fate)
        return self.legs

    def begin_anew(self) -> None:
        """Judge what follows from here: the tool may have been changed."""
        self.since, self.tools = self.place, self.fate.tools(self.place)

    # What is where

    @property
    def kept(self) -> Values:
        """Parameters 5211 to 5213; until they are set they hold whatever an earlier program has left there."""
        if self._kept is None:
            self._kept = np.stack([self.fate.within(ANYTHING) for _ in AXES])
        return self._kept

    def _somewhere(self, given: Mapping[str, Interval]) -> Values:
        """A place within the ranges that the sheet gives; within the margins of travel where it gives none."""
        reaches = []
        for axis in self.machine.axes:
            kept = min(self.machine.travel_margin, axis.travel.length / 2)
            reaches.append(given.get(axis.name, Interval(axis.travel.low + kept, axis.travel.high - kept)))
        return np.stack([self.fate.within(reach) for reach in reaches])

    def origin(self, system: str) -> Values:
        """The origin of a work coordinate system."""
        if system not in self.origins:
            given = self.setup.origins.get(system)
            self.origins[system] = self._somewhere(given.axes if given else {})
        return self.origins[system]

    def stored(self, word: str) -> Values:
        """The point of G28 or G30."""
        if word not in self.points:
            given = self.machine.stored.get(word, {})
            self.points[word] = self._somewhere({axis: Interval(at, at) for axis, at in given.items()})
        return self.points[word]

    def zero(self) -> Values:
        """Where work coordinates have their zero: origin, G92 offset and tool length offset add up."""
        found: Values = self.origin(self.modes["system"]) + self.shift
        found[2] += self.length
        return found

    @property
    def scale(self) -> float:
        return INCH if self.modes["units"] == "G20" else 1.0

    def _target(self, words: Words, *, in_machine: bool = False) -> Values:
        """Where the axis words of a line send the machine (3.5.12, 3.5.17)."""
        end = self.place.copy()
        relative = self.modes.get("distance") == "G91" and not in_machine
        for index, axis in enumerate(AXES):
            if axis.upper() in words.letters:
                value = words.letters[axis.upper()] * self.scale
                base: Number = 0.0 if in_machine else self.place[index] if relative else self.zero()[index]
                end[index] = base + value
        return end

    def _go(self, number: int, end: Values, *, rapid: bool = False, smooth: bool = False, bend: Bend | None = None):
        end = np.where(self.alive & (np.abs(end - self.place) > SAME), end, self.place)
        moving = (end != self.place).any(axis=1)
        if not bend and not moving.any():
            return
        apart = rapid and self.controller.rapid == "dogleg" and moving.sum() > 1
        gains = self.fate.gains() if apart else None
        smooth = smooth and self.modes.get("path") not in ("G61", "G61.1")
        self.legs.append(
            Leg(number, self.place, end, self.since, self.tools, bend, gains, smooth=smooth, waits=self.waits)
        )
        self.place, self.waits, self.told = end, False, False

    # What a line does, in the order of 3.8

    def _carry_out(self, number: int, words: Words) -> None:
        codes = words.codes
        self.told = self.told or any("HOME AT THE PANEL" in each.upper() for each in words.comments)
        self.waits = self.waits or not WAITING.isdisjoint(codes)
        if "M6" in codes:
            self.begin_anew()
        for code in codes:
            if code in GROUPS:
                if GROUPS[code] == "motion" and self.modes.get("motion") != code:
                    self.cycle = {}
                self.modes[GROUPS[code]] = code
        if "G43" in codes or "G49" in codes:
            lengths = {0: 0.0} | {tool.number: tool.length for tool in self.machine.tools}
            self.length = lengths[round(float(words.letters["H"]))] if "G43" in codes else 0.0
        self._axes(number, words)
        for parameter, value in words.settings:
            self._set(parameter, value)
        if not {"M0", "M1", "M60"}.isdisjoint(codes):
            if self.told:
                self._home(range(3))
                self.told = False
            self.begin_anew()
        if "M2" in codes:
            self.modes |= BY_END
            self.shift = np.zeros(self.place.shape)
            self.ended = True

    def _axes(self, number: int, words: Words) -> None:
        """The one thing that a line does with its axis words."""
        named = [index for index, axis in enumerate(AXES) if axis.upper() in words.letters]
        for code in words.codes:
            if code in ("G28", "G30"):
                self._return(number, words, code, named)
            elif code == "G10":
                system = SYSTEMS[round(float(words.letters["P"])) - 1]
                at = self.origin(system).copy()
                for index in named:
                    at[index] = words.letters[AXES[index].upper()] * self.scale
                self.origins[system] = at
            elif code == "G92":
                # this point gets the coordinates given; all offsets are stored, present ones too (3.5.18)
                shift, here = self.shift.copy(), self.place - self.zero()
                for index in named:
                    shift[index] += here[index] - words.letters[AXES[index].upper()] * self.scale
                self.shift = self._kept = shift
            elif code in ("G92.1", "G92.2"):
                self.shift = np.zeros(self.place.shape)
                if code == "G92.1":
                    self._kept = self.shift
            elif code == "G92.3":
                self.shift = self.kept
            else:
                continue
            return
        if named and "G4" not in words.codes:
            self._move(number, words)

    def _return(self, number: int, words: Words, word: str, named: list[int]) -> None:
        """G28, G30 (3.5.8): through the point given, if any, to the stored one; or the controller's homing cycle."""
        if word == "G28" and self.controller.g28 == "home":
            self._home(named or range(3))
            return
        if named:
            self._go(number, self._target(words), rapid=True)
        end = self.place.copy()
        for index in named if named and self.controller.g28_axes == "named" else range(3):
            end[index] = self.stored(word)[index]
        self._go(number, end, rapid=True)

    def _home(self, axes: Iterable[int]) -> None:
        """Some axes are homed: where they then stand nobody knows, and the tool may have been changed."""
        place = self.place.copy()
        for index in axes:
            place[index] = self.fate.homed(index)
        self.place, self.waits = place, True
        self.begin_anew()

    def _move(self, number: int, words: Words) -> None:
        motion = self.modes["motion"]
        if motion in CYCLES:
            self._drill(number, words, motion)
        elif motion in ("G2", "G3"):
            self._go_round(number, words, clockwise=motion == "G2")
        elif motion == "G38.2":
            self._probe(number, words)
        elif motion in ("G0", "G1"):
            end = self._target(words, in_machine="G53" in words.codes)
            self._go(number, end, rapid=motion == "G0", smooth=motion == "G1")

    def _probe(self, number: int, words: Words) -> None:
        """G38.2 (3.5.9): straight towards the target until the probe trips, which is told by parameters 5061 on."""
        way = self._target(words) - self.place
        self.alive = self.alive & (np.linalg.norm(way, axis=0) >= NEAREST_PROBE - 1e-6)
        self._go(number, self.place + way * self.fate.tripped())
        for index, at in enumerate((self.place - self.zero()) / self.scale):
            self.numbers[5061 + index] = at

    # Arcs (3.5.3)

    def _go_round(self, number: int, words: Words, *, clockwise: bool) -> None:
        first, second, _ = PLANES[self.modes["plane"]]
        end = self._target(words)
        across = (end - self.place)[[first, second]]
        if "R" in words.letters:
            centre = self._centre_of(across, words.letters["R"] * self.scale, clockwise)
        else:
            offsets = [words.letters.get("IJK"[index], 0.0) * self.scale for index in (first, second)]
            centre = np.stack([np.broadcast_to(each, self.alive.shape) for each in offsets])
        radius, last = np.hypot(*centre), np.hypot(*(across - centre))
        give = CLOSES[self.modes["units"]]
        self.alive = self.alive & (np.abs(radius - last) <= give + SAME) & (radius > SAME)
        begins, ends = np.arctan2(*-centre[::-1]), np.arctan2(*(across - centre)[::-1])
        turn = np.mod(begins - ends if clockwise else ends - begins, 2 * np.pi)
        turn = np.where((np.hypot(*across) <= SAME) | (turn == 0.0), 2 * np.pi, turn)
        circle = (centre, radius, last, begins, -turn if clockwise else turn)
        centre, radius, last, begins, sweep = (np.where(self.alive, each, 0.0) for each in circle)
        middle = self.place[[first, second]] + centre
        self._go(number, end, bend=Bend((first, second), middle, (radius, last), begins, sweep, give))

    def _centre_of(self, across: Values, radius: Number, clockwise: bool) -> Values:
        """Centre of an arc of a radius, from its start; a negative radius turns by more than half (3.5.3.1)."""
        chord = np.hypot(*across)
        size = np.abs(radius)
        self.alive = self.alive & (chord > SAME) & (chord <= 2 * size * (1 + 1e-9))
        aside = np.sqrt(np.maximum(size**2 - chord**2 / 4, 0.0)) / np.maximum(chord, SAME)
        to_the_left = clockwise == (np.asarray(radius) < 0)  # seen along the chord
        side = np.where(to_the_left, aside, -aside)
        found: Values = np.stack([across[0] / 2 - across[1] * side, across[1] / 2 + across[0] * side])
        return found

    # Canned cycles (3.5.16)

    def _drill(self, number: int, words: Words, motion: str) -> None:
        normal = PLANES[self.modes["plane"]][2]
        depth = AXES[normal].upper()
        self.cycle |= {letter: words.letters[letter] for letter in (depth, "R", "Q") if letter in words.letters}
        relative = self.modes["distance"] == "G91"
        old = self.place[normal]
        base = old if relative else self.zero()[normal]
        top = base + self.cycle["R"] * self.scale
        bottom = (top if relative else base) + self.cycle[depth] * self.scale
        self.alive = self.alive & (bottom <= top + SAME)
        level = np.maximum(old, top)
        out = top if self.modes["return"] == "G99" else level
        self._along(number, normal, level, rapid=True)
        for _ in range(round(float(words.letters.get("L", 1.0)))):
            end = self._target(words)
            end[normal] = self.place[normal]
            self._go(number, end, rapid=True)
            self._along(number, normal, top, rapid=True)
            if motion == "G83":
                self._peck(number, normal, top, bottom)
            self._along(number, normal, bottom)
            self.waits = self.waits or motion in ("G82", "G89")
            self._along(number, normal, out, rapid=motion not in ("G85", "G89"))

    def _along(self, number: int, axis: int, to: Values, *, rapid: bool = False) -> None:
        end = self.place.copy()
        end[axis] = to
        self._go(number, end, rapid=rapid)

    def _peck(self, number: int, normal: int, top: Values, bottom: Values) -> None:
        """G83 (3.5.16.4), but for the last of its strokes."""
        step = float(self.cycle["Q"]) * self.scale
        for peck in range(1, ceil(float((top - bottom)[self.alive].max(initial=0.0)) / step - 1e-9)):
            reached = np.maximum(top - peck * step, bottom)
            self._along(number, normal, reached)
            self._along(number, normal, top, rapid=True)
            self._along(number, normal, np.minimum(reached + BACKED_OFF, top), rapid=True)

    def _set(self, parameter: int, value: Number) -> None:
        """A parameter setting; those of 5161 and 5181 and following are stored points (3.2.1)."""
        for first, word in ((5161, "G28"), (5181, "G30")):
            if first <= parameter < first + 3:
                at = self.stored(word).copy()
                at[parameter - first] = value * self.scale
                self.points[word] = at
                return
        self.numbers[parameter] = value


class _Parameters(dict[int, Number]):
    """Parameters as a line reads them (3.2.1): lengths in the units in force."""

    def __init__(self, run: Running) -> None:
        super().__init__(run.numbers)
        self.run = run

    def __missing__(self, number: int) -> Number:
        run = self.run
        for first, held in ((5161, "G28"), (5181, "G30"), (5211, "")):
            if first <= number < first + 3:
                at = run.stored(held) if held else run.kept
                return at[number - first] / run.scale
        system, axis = divmod(number - 5221, 20)
        if 0 <= system < len(SYSTEMS) and axis < 3:
            return run.origin(SYSTEMS[system])[axis] / run.scale
        return run.fate.within(ANYTHING)  # nobody has set it


def _round_corners(legs: list[Leg], machine: Machine, fate: Fate) -> None:
    """Round the corners between two straight feed moves where the controller does that and nothing waits there."""
    if machine.corner != "blend":
        return
    for one, other in pairwise(legs):
        if one.smooth and other.smooth and not other.waits and one.since is other.since:
            corner = rounded(one.begin, one.end, other.end, machine.tolerance, fate.rounding())
            one.after = other.before = corner
