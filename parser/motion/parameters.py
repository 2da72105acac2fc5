"""Numbered parameters: those the program sets, and those that hold origins and stored points.

Numbers are those of NISTIR 6556, 3.2.1. A parameter the program has not set and the sheet does not give is not known.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from parser.language.words import whole
from parser.machine import AXES, LINEAR
from parser.motion.modes import SYSTEM, SYSTEMS, UNITS
from parser.motion.places import Afloat, Coordinate

if TYPE_CHECKING:
    from parser.motion.running import Run

LAST = 5399
STORED = {5161: "G28", 5181: "G30"}
G92_OFFSETS = 5211
SYSTEM_NUMBER = 5220
ORIGINS = 5221
ORIGIN_STEP = 20


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
        self._values: dict[int, float] = {}

    def read(self, index: float) -> float:
        """The value of a parameter; lengths in the units in force. Raises UnknownError or UnitsUnknownError."""
        number = whole(index)
        if number is None:
            raise UnknownError(0)
        if number in self._values:
            return self._values[number]
        found = self._held(number)
        if found is None:
            raise UnknownError(number)
        return found

    def set(self, number: int, value: float) -> None:
        """Give a parameter a value."""
        self._values[number] = value

    def forget(self, number: int | None = None) -> None:
        """One parameter, or all of them, may hold anything."""
        if number is None:
            self._values.clear()
        else:
            self._values.pop(number, None)

    def _held(self, number: int) -> float | None:
        """What the sheet or the offsets say of a parameter."""
        if number == SYSTEM_NUMBER:
            system = self._run.modes.get(SYSTEM)
            return None if system is None else float(SYSTEMS.index(system) + 1)
        for first, word in STORED.items():
            axis = self._axis(number, first)
            if axis:
                return self._in_units(number, axis, self._run.offsets.known_stored_point(word, axis))
        axis = self._axis(number, G92_OFFSETS)
        if axis:
            return self._in_units(number, axis, self._run.offsets.g92_offset(axis, self._run.line_number))
        system_number, place = divmod(number - ORIGINS, ORIGIN_STEP)
        if 0 <= system_number < len(SYSTEMS):
            axis = self._axis(ORIGINS + place, ORIGINS)
            if axis:
                return self._in_units(
                    number, axis, self._run.offsets.origin(SYSTEMS[system_number], axis, self._run.line_number)
                )
        return None

    def _axis(self, number: int, first: int) -> str | None:
        """The axis of this machine that a parameter of a block of six belongs to."""
        place = number - first
        return AXES[place] if 0 <= place < len(AXES) and AXES[place] in self._run.travel else None

    def _in_units(self, number: int, axis: str, at: Coordinate | None) -> float | None:
        if at is None or isinstance(at, Afloat):
            return None
        if axis not in LINEAR:
            return at
        units = self._run.modes.get(UNITS)
        if units is None:
            raise UnitsUnknownError(number)
        return at / 25.4 if units == "G20" else at
