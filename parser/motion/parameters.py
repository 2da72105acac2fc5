"""Numbered parameters: those the program sets, and those that hold origins and stored points.

Numbers are those of NISTIR 6556, 3.2.1. A parameter the program has not set and the sheet does not give is not known.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from parser.machine import AXES, LINEAR, MM_PER_INCH
from parser.motion.loose import Loose, Value, counted, measured
from parser.motion.modes import SYSTEM, SYSTEMS, UNITS
from parser.motion.places import Coordinate, minus

if TYPE_CHECKING:
    from parser.motion.running import Run

LAST = 5399
PROBED = 5061
STORED = {5161: "G28", 5181: "G30"}
G92_OFFSETS = 5211
SYSTEM_NUMBER = 5220
ORIGINS = 5221
ORIGIN_STEP = 20
HELD = (range(5211, 5217), range(5220, 5387))
"""Parameters that hold G92 offsets and origins. When a value set here takes effect is not published, so none is."""


RESERVED = (
    (
        range(5061, 5067),
        "it holds where the last probe tripped, which nobody knows here",
        "Probe with G38.2 on a line before this one, with units, coordinate system and tool length offset set.",
    ),
    (
        range(5161, 5187),
        "it holds a stored point, which the machine sheet does not give",
        "Give the point under [stored.G28] or [stored.G30] on the machine sheet.",
    ),
    (
        range(5211, 5217),
        "it holds a G92 offset, which nothing here has set",
        "Set the offset with G92, or take it off with G92.1, on a line before this one.",
    ),
    (
        range(5221, 5387),
        "it holds an origin, which the machine sheet does not give",
        "Give the origin on the machine sheet as a number or a range, or set it with G10 L2.",
    ),
)
"""Parameters with a use of their own: why one may not be known, and what to do about it."""


def reserved_for(number: int) -> tuple[str, str] | None:
    """Why a reserved parameter is not known and what to do, None for a parameter without a use of its own."""
    return next(((reason, remedy) for numbers, reason, remedy in RESERVED if number in numbers), None)


class HeldError(Exception):
    """A parameter that holds an offset, which only words may change; ``number`` says which."""

    def __init__(self, number: int) -> None:
        super().__init__(f"#{number}")
        self.number = number


class UnknownError(Exception):
    """A parameter whose value nobody knows; ``number`` says which."""

    def __init__(self, number: int) -> None:
        super().__init__(f"#{number}")
        self.number = number


class UnitsUnknownError(Exception):
    """A parameter that holds a length, read while the units are not known; ``number`` says which."""

    def __init__(self, number: int) -> None:
        super().__init__(f"#{number}")
        self.number = number


class Parameters:
    """Values of parameters 1 to 5399 as far as they are known."""

    def __init__(self, run: Run) -> None:
        self._run = run
        self._values: dict[int, Value] = {}
        self._probed_in: dict[int, tuple[str, str]] = {}

    def read(self, index: float) -> Value:
        """The value of a parameter; lengths in the units in force. Raises UnknownError or UnitsUnknownError."""
        number = round(index)
        if number in self._probed_in:
            axis, system = self._probed_in[number]
            if self._run.offsets.says(system, axis):
                self._run.offsets.zero(axis, system, self._run.line_number)
        if number in self._values:
            return self._values[number]
        found = self._held(number)
        if found is None:
            raise UnknownError(number)
        return found

    def probed(self) -> None:
        """Put where the machine stands, in work coordinates, into the parameters of the probe (5061 to 5066).

        One that depends on a mode nothing has set is not known afterwards.
        """
        for place, axis in enumerate(AXES):
            number = PROBED + place
            self.forget(number)
            if axis not in self._run.travel:
                continue
            zero, units = self._run.known_zero(axis), self._run.modes.get(UNITS)
            if zero is None or (units is None and axis in LINEAR):
                continue
            self._values[number] = counted(minus(self._run.place[axis], zero), self._unit(number, axis))
            system = self._run.modes.get(SYSTEM)
            if system is not None:
                self._probed_in[number] = (axis, system)

    def unknown(self, value: Value) -> int | None:
        """The parameter of an origin that nothing gives, where a value is just that and a number; else None."""
        if not isinstance(value, Loose) or value.at.unknown.kind != "origin":
            return None
        system, axis = value.at.unknown.name.rsplit(".", 1)
        if self._run.offsets.says(system, axis):
            return None
        return ORIGINS + ORIGIN_STEP * SYSTEMS.index(system) + AXES.index(axis)

    def set(self, number: int, value: Value) -> str:
        """Give a parameter a value; returns what that changes ("#100", or "G28" for its stored point).

        Raises HeldError for a parameter that holds an offset, UnitsUnknownError for a length in unknown units.
        """
        if any(number in held for held in HELD):
            raise HeldError(number)
        stored = self._stored(number)
        if stored is None:
            self._probed_in.pop(number, None)
            self._values[number] = value
            return f"#{number}"
        word, axis = stored
        self._run.offsets.store_point(word, axis, measured(value, self._unit(number, axis)))
        return word

    def _stored(self, number: int) -> tuple[str, str] | None:
        """The word (G28 or G30) and the axis whose stored point a parameter holds."""
        for first, word in STORED.items():
            axis = self._axis(number, first)
            if axis:
                return word, axis
        return None

    def _unit(self, number: int, axis: str) -> float:
        """What one unit of a parameter that holds a coordinate is, in mm or degrees."""
        if axis not in LINEAR:
            return 1.0
        units = self._run.modes.get(UNITS)
        if units is None:
            raise UnitsUnknownError(number)
        return MM_PER_INCH if units == "G20" else 1.0

    def forget(self, number: int | None = None) -> None:
        """One parameter, or all of them, may hold anything."""
        if number is None:
            self._values.clear()
            self._probed_in.clear()
        else:
            self._probed_in.pop(number, None)
            self._values.pop(number, None)

    def _held(self, number: int) -> Value | None:
        """What the sheet or the offsets say of a parameter."""
        if number == SYSTEM_NUMBER:
            system = self._run.modes.get(SYSTEM)
            return None if system is None else float(SYSTEMS.index(system) + 1)
        stored = self._stored(number)
        if stored:
            word, held = stored
            return self._in_units(number, held, self._run.offsets.known_stored_point(word, held))
        line = self._run.line_number
        named = self._axis(number, G92_OFFSETS)
        if named:
            return self._in_units(number, named, self._run.offsets.g92_offset(named, line))
        system_number, place = divmod(number - ORIGINS, ORIGIN_STEP)
        axis = self._axis(ORIGINS + place, ORIGINS)
        if axis and 0 <= system_number < len(SYSTEMS):
            system = SYSTEMS[system_number]
            given = self._run.offsets.says(system, axis)
            return self._in_units(number, axis, self._run.offsets.origin(system, axis, line if given else None))
        return None

    def _axis(self, number: int, first: int) -> str | None:
        """The axis of this machine that a parameter of a block of six belongs to."""
        place = number - first
        return AXES[place] if 0 <= place < len(AXES) and AXES[place] in self._run.travel else None

    def _in_units(self, number: int, axis: str, at: Coordinate | None) -> Value | None:
        return None if at is None else counted(at, self._unit(number, axis))
