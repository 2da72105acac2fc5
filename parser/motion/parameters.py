"""Numbered parameters: those the program sets, and those that hold origins and stored points.

Numbers are those of NISTIR 6556, 3.2.1. A parameter the program has not set and the sheet does not give is not known.
"""

from __future__ import annotations

from parser.machine import AXES, LINEAR, MM_PER_INCH, SYSTEMS
from parser.motion.assumptions import (
    NOTHING,
    Assumption,
    Lasting,
    Rests,
    added,
    as_of,
    for_good,
    mode_of,
    parameter,
    stored_point_of,
)
from parser.motion.coordinates import Coordinates
from parser.motion.log import Log
from parser.motion.modal_state import ModalState
from parser.motion.modes import SYSTEM, UNITS
from parser.motion.offsets import Resting
from parser.motion.places import Place, minus
from parser.motion.ranges import Known, NumberedError, Ranged, counted, measured
from parser.wording import texts

LAST = 5399  # this and those below: NISTIR 6556, 3.2.1
PROBED = 5061
STORED = {5161: "G28", 5181: "G30"}
G92_OFFSETS = 5211
SYSTEM_NUMBER = 5220
ORIGINS = 5221
ORIGIN_STEP = 20
HELD = (range(5211, 5217), range(5220, 5387))
"""Parameters that hold G92 offsets and origins. When a value set here takes effect is not published, so none is."""


RESERVED = tuple(
    (range(int(numbers.split()[0]), int(numbers.split()[1]) + 1), why, remedy)
    for numbers, (why, remedy) in texts("parser.motion", "reserved.txt").items()
)
"""Parameters with a use of their own: why one may not be known, and what to do about it."""


def reserved_for(number: int) -> tuple[str, str] | None:
    """Why a reserved parameter is not known and what to do, None for a parameter without a use of its own."""
    return next(((reason, remedy) for numbers, reason, remedy in RESERVED if number in numbers), None)


def holding(about: Lasting) -> tuple[int, ...]:
    """The parameters that hold something lasting, itself where it is one."""
    match about.kind:
        case "parameter":
            return (about.number,)
        case "origin":
            return (ORIGINS + ORIGIN_STEP * SYSTEMS.index(about.word) + AXES.index(about.axis),)
        case "kept":
            return tuple(range(G92_OFFSETS, G92_OFFSETS + len(AXES)))
        case "stored":
            first = next(first for first, word in STORED.items() if word == about.word)
            return tuple(range(first, first + len(AXES)))
        case "mode" if about.number == SYSTEM:
            return (SYSTEM_NUMBER,)
        case _:
            return ()


class HeldError(NumberedError):
    """A parameter that holds an offset, which only words may change."""


class UnknownError(NumberedError):
    """A parameter whose value nobody knows."""


class UnitsUnknownError(NumberedError):
    """A parameter that holds a length, read while the units are not known."""


class Parameters:
    """Values of parameters 1 to 5399 as far as they are known."""

    def __init__(self, axes: tuple[str, ...], coordinates: Coordinates, modes: ModalState, log: Log) -> None:
        self._axes, self._coordinates, self._modes, self._log = axes, coordinates, modes, log
        self._values: dict[int, Known] = {}

    def read(self, index: float) -> Known:
        """The value of a parameter; lengths in the units in force. Raises UnknownError or UnitsUnknownError."""
        number = round(index)
        found = self._values[number] if number in self._values else self._held(number)
        if found is None:
            raise UnknownError(number)
        return found

    def all_by_hand(self) -> None:
        """What has been set so far is no doing of the program: somebody has said that it is so."""
        for number, (value, _) in self._values.items():
            self._values[number] = (value, for_good([Assumption(parameter(number), "by hand")]))

    def probed(self, tripped: Place) -> None:
        """Put where a probe has tripped, in work coordinates, into the parameters of the probe (5061 to 5066).

        They rest on the zero that these are counted from now, whatever is set later. One that depends on a mode nothing
        has set is not known afterwards.
        """
        for number, axis in enumerate(AXES, PROBED):
            self.forget(number)
            zero = self._coordinates.known_zero(axis) if axis in tripped else None
            if zero is None or (axis in LINEAR and self._modes.words.get(UNITS) is None):
                continue
            found = minus(tripped[axis], zero[0]), added(NOTHING, zero[1], -1.0)
            self._values[number] = self._in_units(number, axis, found)

    def unknown(self, found: Known) -> int | None:
        """The parameter of an origin that nothing gives, where a value is just that and a number; else None."""
        value, rests = found
        if not isinstance(value, Ranged) or value.at.unknown.kind != "origin":
            return None
        return next((holding(each.about)[0] for each in rests if each.taken == "anywhere"), None)

    def set(self, number: int, found: Known) -> Lasting:
        """Give a parameter a value; returns what that changes, itself or a stored point.

        Raises HeldError for a parameter that holds an offset, UnitsUnknownError for a length in unknown units.
        """
        if any(number in held for held in HELD):
            raise HeldError(number)
        stored = self._stored(number)
        if stored is None:
            self._values[number] = found
            return parameter(number)
        word, axis = stored
        unit, in_units = self._unit(number, axis)
        value, rests = found
        self._log.count_on({**rests, **in_units})
        self._coordinates.offsets.store_point(word, axis, measured(value, unit))
        return stored_point_of(word)

    def _stored(self, number: int) -> tuple[str, str] | None:
        """The word (G28 or G30) and the axis whose stored point a parameter holds."""
        for first, word in STORED.items():
            axis = self._axis(number, first)
            if axis:
                return word, axis
        return None

    def _unit(self, number: int, axis: str) -> tuple[float, Rests]:
        """What one unit of a parameter that holds a coordinate is, in mm or degrees."""
        if axis not in LINEAR:
            return 1.0, NOTHING
        units = self._modes.words.get(UNITS)
        if units is None:
            raise UnitsUnknownError(number)
        return MM_PER_INCH if units == "G20" else 1.0, self._modes.by_hand(mode_of(UNITS))

    def forget(self, number: int | None = None) -> None:
        """One parameter, or all of them, may hold anything."""
        if number is None:
            self._values.clear()
        else:
            self._values.pop(number, None)

    def _held(self, number: int) -> Known | None:
        """What the sheet or the offsets say of a parameter."""
        if number == SYSTEM_NUMBER:
            system = self._modes.words.get(SYSTEM)
            return None if system is None else (SYSTEMS.index(system) + 1.0, self._modes.by_hand(mode_of(SYSTEM)))
        stored = self._stored(number)
        if stored:
            word, axis = stored
            point = self._coordinates.offsets.known_stored_point(word, axis)
            return None if point is None else self._in_units(number, axis, point)
        named = self._axis(number, G92_OFFSETS)
        if named:
            offset = self._coordinates.offsets.g92_offset(named)
            return None if offset is None else self._in_units(number, named, offset)
        system_number, place = divmod(number - ORIGINS, ORIGIN_STEP)
        along = self._axis(ORIGINS + place, ORIGINS)
        if along and 0 <= system_number < len(SYSTEMS):
            return self._in_units(number, along, self._coordinates.offsets.origin(SYSTEMS[system_number], along))
        return None

    def _axis(self, number: int, first: int) -> str | None:
        """The axis of this machine that a parameter of a block of six belongs to."""
        place = number - first
        return AXES[place] if 0 <= place < len(AXES) and AXES[place] in self._axes else None

    def _in_units(self, number: int, axis: str, found: Resting) -> Known:
        unit, in_units = self._unit(number, axis)
        at, rests = found
        return counted(at, unit), as_of(self._log.line, {**added(NOTHING, rests, 1 / unit), **in_units})
