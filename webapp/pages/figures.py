"""The one place where the pages turn numbers into text.

Everything comes in mm, mm/s, mm/min, degrees and seconds; lengths go out in the units of the machine sheet.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from parser.machine import MM_PER_INCH, ROTARY, Interval
from parser.motion.places import Coordinate, bounds
from parser.quantities import figure
from parser.times.timing import Spread

Units = Literal["mm", "inch"]

WORDS_FOR_UNKNOWNS = {
    "start": "as it was",
    "homed": "as homed",
    "trip": "as probed",
}


def trimmed(value: float, decimals: int) -> str:
    """Fixed decimals without useless zeros, and never "-0"."""
    return figure(value, decimals)


def how_many(count: int, noun: str, plural: str = "") -> str:
    """ "1 refusal", "2 refusals"."""
    return f"{count} {noun if count == 1 else plural or noun + 's'}"


def seconds(value: float) -> str:
    """ "2.3 s", "1 min 12 s"."""
    if value < 59.95:
        return f"{value:.1f} s"
    minutes, rest = divmod(round(value), 60)
    return f"{minutes} min {rest} s" if rest else f"{minutes} min"


def seconds_spread(spread: Spread) -> str:
    """Least to most; one figure where they read the same."""
    least, most = seconds(spread.least), seconds(spread.most)
    return least if least == most else f"{least} to {most}"


@dataclass(frozen=True, slots=True)
class Figures:
    """Lengths and places in the units of the machine sheet."""

    units: Units = "mm"

    @property
    def unit(self) -> str:
        """The unit as it stands behind a length."""
        return "mm" if self.units == "mm" else "in"

    def bare(self, mm: float, decimals: int | None = None) -> str:
        """A length without its unit; 3 decimals of a mm or 4 of an inch unless told otherwise."""
        if self.units == "inch":
            return trimmed(mm / MM_PER_INCH, 4 if decimals is None else decimals + 1)
        return trimmed(mm, 3 if decimals is None else decimals)

    def length(self, mm: float, decimals: int | None = 1) -> str:
        """A length with its unit, to a tenth of a mm (a hundredth of an inch) unless told otherwise."""
        return f"{self.bare(mm, decimals)} {self.unit}"

    def length_spread(self, spread: Spread) -> str:
        """Least to most with the unit once; one figure where they read the same."""
        least, most = self.bare(spread.least, 1), self.bare(spread.most, 1)
        return f"{least} {self.unit}" if least == most else f"{least} to {most} {self.unit}"

    def coordinate(self, axis: str, value: float) -> str:
        """A machine coordinate without its unit: a length, or degrees of a rotary axis."""
        return trimmed(value, 3) if axis in ROTARY else self.bare(value)

    def interval(self, axis: str, reach: Interval) -> str:
        """ "10 to 20" without a unit."""
        low, high = self.coordinate(axis, reach.low), self.coordinate(axis, reach.high)
        return low if low == high else f"{low} to {high}"

    def position(self, axis: str, at: Coordinate) -> str:
        """Where an axis stands: a number, or in words what its place depends on."""
        if not isinstance(at, float | int):
            words = WORDS_FOR_UNKNOWNS.get(at.unknown.kind)
            if words and not at.base:
                return words
            if at.unknown.kind == "start":
                return f"{'+' if at.base > 0 else '-'}{self.coordinate(axis, abs(at.base))} from where it was"
        return self.interval(axis, bounds(at))

    def speed(self, mm_s: float) -> str:
        """ "40 mm/s"."""
        return f"{self.bare(mm_s, 1)} {self.unit}/s"

    def value(self, kind: str, value: float) -> str:
        """The value a formula of that kind came to, with its unit."""
        match kind:
            case "length":
                return self.length(value, None)
            case "rate":
                return f"{self.bare(value, 1)} {self.unit}/min"
            case "time":
                return f"{trimmed(value, 3)} s"
            case "angle":
                return f"{trimmed(value, 3)} deg"
            case _:
                return trimmed(value, 3)
