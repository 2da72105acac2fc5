"""The one place where a pack turns figures into text, lengths in the units of the machine sheet."""

from __future__ import annotations

import math
from dataclasses import dataclass

from library.fields import Units, in_inches
from parser.machine import ROTARY
from parser.motion.places import Coordinate, bounds
from parser.quantities import figure, unit_of

WORDS_FOR_UNKNOWNS = {"homed": "as homed", "trip": "as probed"}


@dataclass(frozen=True, slots=True)
class Figures:
    """Lengths come in mm, and go out in the units of a sheet."""

    units: Units

    @property
    def unit(self) -> str:
        """The unit as it stands behind a length."""
        return "mm" if self.units == "mm" else "in"

    def length(self, mm: float) -> str:
        """A length with its unit, to a tenth of a mm or a hundredth of an inch."""
        return f"{figure(mm, 1)} mm" if self.units == "mm" else f"{figure(in_inches(mm), 2)} in"

    def coordinate(self, axis: str, value: float) -> str:
        """A machine coordinate without its unit, degrees where the axis turns."""
        return figure(in_inches(value), 4) if self.units == "inch" and axis not in ROTARY else figure(value)

    def limit(self, axis: str, value: float, *, least: bool) -> str:
        """The least or the greatest machine coordinate that is allowed, with its unit; never rounded outwards."""
        turns = axis in ROTARY
        inches = self.units == "inch" and not turns
        scale = 10.0 ** (4 if inches else 3)
        # what is left beyond the ninth decimal or so is the arithmetic's
        counted = round((in_inches(value) if inches else value) * scale, 6)
        inwards = (math.ceil(counted) if least else math.floor(counted)) / scale
        return f"{figure(inwards, 4)} {unit_of(axis) if turns else self.unit}"

    def place(self, axis: str, at: Coordinate) -> str:
        """Where an axis stands: a figure, a range of them, or a word where only the machine can tell."""
        if not isinstance(at, float | int) and at.unknown.kind in WORDS_FOR_UNKNOWNS:
            return WORDS_FOR_UNKNOWNS[at.unknown.kind]
        low, high = (self.coordinate(axis, end) for end in (bounds(at).low, bounds(at).high))
        return low if low == high else f"{low} to {high}"

    def rate(self, mm_min: float) -> str:
        """A rate with its unit."""
        return f"{figure(mm_min, 1)} mm/min" if self.units == "mm" else f"{figure(in_inches(mm_min), 2)} in/min"
