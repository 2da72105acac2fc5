"""Lengths, rates, places and times, and the one place that words them: in mm or in inches, as the reader has it.

Inside all lengths are mm. A text about them is ``Said``: it keeps its figures, and reads in mm as it stands or in other
units where it is asked for (``Figures.said``).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, Protocol

from parser.machine import MM_PER_INCH, ROTARY, Interval

Units = Literal["mm", "inch"]


def figure(value: float, places: int = 3) -> str:
    """``value`` with at most ``places`` decimals, useless zeros and a useless sign removed: -38.200 is "-38.2"."""
    text = f"{value:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def seconds(value: float) -> str:
    """ "2.3 s", "1 min 12 s"."""
    if value < 59.95:
        return f"{value:.1f} s"
    minutes, rest = divmod(round(value), 60)
    return f"{minutes} min {rest} s" if rest else f"{minutes} min"


def how_many(count: int, noun: str, plural: str = "") -> str:
    """ "1 refusal", "2 refusals"."""
    return f"{count} {noun if count == 1 else plural or noun + 's'}"


def sentence_list(parts: Sequence[str]) -> str:
    """ "a", "a and b", "a, b and c"; what is ``Said`` stays so."""
    if len(parts) < 2:
        return parts[0] if parts else ""
    return joined(" and ", [joined(", ", parts[:-1]), parts[-1]])


def counted(noun: str, items: Sequence[str]) -> str:
    """ "line 3", "lines 3 and 4"."""
    return f"{noun}{'s' if len(items) > 1 else ''} {sentence_list(items)}"


MOST_RUNS = 4
"""Runs of lines that are still told one by one."""


def lines_in_words(lines: Sequence[int]) -> str:
    """ "line 3", "line 3 or 4", "any of lines 2 to 4 and 7"; "some of lines 2 to 90" where there are gaps all over."""
    among = sorted(set(lines))
    if len(among) < 3:
        return f"line {' or '.join(map(str, among))}"
    firsts = [line for line in among if line - 1 not in among]
    lasts = [line for line in among if line + 1 not in among]
    if len(firsts) > MOST_RUNS:
        return f"some of lines {among[0]} to {among[-1]}"
    runs = [str(low) if low == high else f"{low} to {high}" for low, high in zip(firsts, lasts, strict=True)]
    return f"any of lines {sentence_list(runs)}"


class LeastAndMost(Protocol):
    """The least and the most of something."""

    @property
    def least(self) -> float: ...
    @property
    def most(self) -> float: ...


def seconds_spread(spread: LeastAndMost) -> str:
    """Least to most; one figure where they read the same."""
    least, most = seconds(spread.least), seconds(spread.most)
    return least if least == most else f"{least} to {most}"


@dataclass(frozen=True, slots=True)
class Figures:
    """Lengths in mm and places in machine coordinates, worded in ``units``. Angles are degrees in either."""

    units: Units = "mm"

    @property
    def unit(self) -> str:
        """The unit as it stands behind a length."""
        return "mm" if self.units == "mm" else "in"

    def bare(self, mm: float, places: int = 3) -> str:
        """A length without its unit, with one decimal more where it is in inches."""
        return figure(mm, places) if self.units == "mm" else figure(mm / MM_PER_INCH, places + 1)

    def length(self, mm: float, places: int = 1) -> str:
        """A length with its unit."""
        return f"{self.bare(mm, places)} {self.unit}"

    def length_spread(self, spread: LeastAndMost) -> str:
        """Least to most with the unit once; one figure where they read the same."""
        least, most = self.bare(spread.least, 1), self.bare(spread.most, 1)
        return f"{least} {self.unit}" if least == most else f"{least} to {most} {self.unit}"

    def coordinate(self, axis: str, value: float, places: int = 3) -> str:
        """A machine coordinate without its unit: a length, or degrees of a rotary axis."""
        return figure(value, places) if axis in ROTARY else self.bare(value, places)

    def unit_of(self, axis: str) -> str:
        """The unit that an axis is read in."""
        return "degrees" if axis in ROTARY else self.unit

    def limit(self, axis: str, value: float, *, least: bool) -> str:
        """The least or the greatest machine coordinate that is allowed, without its unit; never rounded outwards."""
        inches = self.units == "inch" and axis not in ROTARY
        scale = 10.0 ** (4 if inches else 3)
        # what is left beyond the ninth decimal or so is the arithmetic's
        scaled = round((value / MM_PER_INCH if inches else value) * scale, 6)
        return figure((math.ceil(scaled) if least else math.floor(scaled)) / scale, 4)

    def interval(self, axis: str, reach: Interval) -> str:
        """ "10 to 20" without a unit."""
        low, high = self.coordinate(axis, reach.low), self.coordinate(axis, reach.high)
        return low if low == high else f"{low} to {high}"

    def position(self, at: Mapping[str, float], places: int = 3) -> str:
        """A position as it stands on a readout: "X 130 Y 72.5 Z -40"."""
        return " ".join(f"{axis.upper()} {self.coordinate(axis, value, places)}" for axis, value in at.items())

    def speed(self, mm_s: float) -> str:
        """ "40 mm/s"."""
        return f"{self.bare(mm_s, 1)} {self.unit}/s"

    def rate(self, mm_min: float) -> str:
        """ "2400 mm/min"."""
        return f"{self.bare(mm_min, 1)} {self.unit}/min"

    def value(self, kind: str, value: float) -> str:
        """The value that a formula of that kind came to, with its unit."""
        match kind:
            case "length":
                return self.length(value, 3)
            case "rate":
                return self.rate(value)
            case "time":
                return f"{figure(value)} s"
            case "angle":
                return f"{figure(value)} deg"
            case _:
                return figure(value)

    def said(self, text: str) -> str:
        """A text in these units, where it keeps its figures; any other as it stands."""
        return Said(text.template, text.values, text.whole, self) if isinstance(text, Said) else text


MM = Figures()


class Quantity(Protocol):
    """A figure in a text, which is worded in the units of the reader."""

    def words(self, figures: Figures) -> str:
        """The figure in some units."""


@dataclass(frozen=True, slots=True)
class Length:
    """A length in mm, with its unit unless ``bare``."""

    mm: float
    places: int = 3
    bare: bool = False

    def words(self, figures: Figures) -> str:
        return figures.bare(self.mm, self.places) if self.bare else figures.length(self.mm, self.places)


@dataclass(frozen=True, slots=True)
class Speed:
    """A speed in mm/s."""

    mm_s: float

    def words(self, figures: Figures) -> str:
        return figures.speed(self.mm_s)


@dataclass(frozen=True, slots=True)
class PerMinute:
    """A rate in mm/min, or in degrees/min of a rotary axis."""

    value: float
    axis: str = ""

    def words(self, figures: Figures) -> str:
        return f"{figure(self.value, 1)} degrees/min" if self.axis in ROTARY else figures.rate(self.value)


@dataclass(frozen=True, slots=True)
class Reading:
    """Where an axis stands or between which places, mm or degrees; or how far along it, ``with_unit``."""

    axis: str
    at: float | Interval
    with_unit: bool = False
    places: int = 3

    def words(self, figures: Figures) -> str:
        at, places = self.at, self.places
        text = (
            figures.interval(self.axis, at) if isinstance(at, Interval) else figures.coordinate(self.axis, at, places)
        )
        return f"{text} {figures.unit_of(self.axis)}" if self.with_unit else text


@dataclass(frozen=True, slots=True)
class Bound:
    """The least or the greatest place that an axis may stand at, never rounded outwards, with its unit.

    ``formula`` has the unit as a formula does: deg for degrees.
    """

    axis: str
    at: float
    least: bool
    formula: bool = False

    def words(self, figures: Figures) -> str:
        unit = "deg" if self.formula and self.axis in ROTARY else figures.unit_of(self.axis)
        return f"{figures.limit(self.axis, self.at, least=self.least)} {unit}"


@dataclass(frozen=True, slots=True)
class Readout:
    """Where all axes stand, mm and degrees."""

    at: Mapping[str, float]
    places: int = 3

    def words(self, figures: Figures) -> str:
        return figures.position(self.at, self.places)


Value = Quantity | str | float


class Said(str):
    """A text that keeps its figures: in mm as it comes, and in other units where ``Figures.said`` asks.

    ``template`` names the ``values`` that stand in it: quantities, other texts, plain values. ``whole`` texts begin
    with a capital and end with a full stop.
    """

    __slots__ = ("figures", "template", "values", "whole")
    template: str
    values: Mapping[str, Value]
    whole: bool
    figures: Figures

    def __new__(cls, template: str, values: Mapping[str, Value], whole: bool = False, figures: Figures = MM) -> Said:
        """The text with these values in it."""
        text = template.format_map({name: _value(value, figures) for name, value in values.items()})
        made = super().__new__(cls, _whole(text) if whole else text)
        made.template, made.values, made.whole, made.figures = template, values, whole, figures
        return made


def say(template: str, **values: Value) -> str:
    """A text with figures: each ``{name}`` of the template is one of the values."""
    return Said(template, values)


def joined(separator: str, texts: Iterable[str]) -> str:
    """Texts one after the other; they keep their figures, and are in the units of the first."""
    parts = {f"part{number}": text for number, text in enumerate(texts)}
    figures = next((each.figures for each in parts.values() if isinstance(each, Said)), MM)
    return Said(separator.join(f"{{{name}}}" for name in parts), parts, figures=figures)


def as_sentence(text: str) -> str:
    """The text with a capital and a full stop, where it has none; "" stays so."""
    return Said(text.template, text.values, True, text.figures) if isinstance(text, Said) else _whole(text)


def _value(value: Value, figures: Figures) -> str | float:
    if isinstance(value, str):
        return figures.said(value)
    return value if isinstance(value, float | int) else value.words(figures)


def _whole(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}{'' if not text or text.endswith(('.', '!', '?')) else '.'}"
