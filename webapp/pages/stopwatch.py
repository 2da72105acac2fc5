"""The stopwatch of the machine page: the timings as typed, what they come to, and the values to take over."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from markupsafe import Markup

from library import documents, stopwatch, toml_text
from library.stopwatch import Fit, Measured, Timed
from parser.machine import AXES, ROTARY
from parser.quantities import figure
from webapp.drawings import residuals
from webapp.pages.forms.measures import CellUnit
from webapp.pages.text_fields import number

ROWS = 6
"""Rows that the form offers."""
DIGITS = 4
"""Significant digits of a value that is taken over: more than any stopwatch gives."""
LARGEST_COUNT = 1000


@dataclass(frozen=True, slots=True)
class TimedRow:
    """One timing as typed: distance of a move, how many in a row, seconds for all of them; ``error`` if it is none."""

    number: int
    distance: str = ""
    moves: str = ""
    seconds: str = ""
    error: str = ""

    @property
    def blank(self) -> bool:
        return not (self.distance or self.moves or self.seconds)


@dataclass(frozen=True, slots=True)
class Figure:
    """A value that came out: the words of it, and the number as it would go into the sheet."""

    what: str
    words: str
    value: float
    before: str


@dataclass(frozen=True, slots=True)
class Stopwatch:
    """The section as the page shows it. ``figures`` are rate and acceleration; ``problem`` says why there are none."""

    axis: str
    axes: tuple[tuple[str, str], ...]
    unit: str
    rows: tuple[TimedRow, ...]
    hand: str
    problem: str = ""
    hand_error: str = ""
    figures: tuple[Figure, ...] = ()
    ramps: str = ""
    jerk: bool = False
    drawing: Markup | str = ""

    @property
    def determined(self) -> bool:
        return bool(self.figures)


def shown(text: str, typed: Mapping[str, str] | None = None) -> Stopwatch:
    """The section for a machine sheet, empty or worked out from what was typed. Raises DocumentError."""
    typed = typed or {}
    data = toml_text.read(text)
    axes = tuple((name, name.upper()) for name in AXES if name in data.get("axes", {}))
    axis = typed.get("axis", "")
    if axis not in dict(axes):
        axis = axes[0][0]
    rows = tuple(
        TimedRow(number, *(typed.get(f"{name}.{number}", "").strip() for name in ("distance", "moves", "seconds")))
        for number in range(1, ROWS + 1)
    )
    unit = CellUnit("mm", "inch" if data.get("units") == "inch" else "mm", rotary=axis in ROTARY).shown
    jerk = bool(data["axes"][axis].get("jerk"))
    empty = Stopwatch(axis, axes, unit, rows, typed.get("hand", figure(stopwatch.HAND, 3)), jerk=jerk)
    return _worked_out(empty, data["axes"][axis]) if typed else empty


def taken_over(text: str, section: Stopwatch) -> str:
    """The sheet with the rate and the acceleration put in, its comments kept. Raises DocumentError."""
    changes: Mapping[Sequence[str | int], object] = {
        ("axes", section.axis, key): figure.value
        for key, figure in zip(("rapid", "acceleration"), section.figures, strict=True)
    }
    return documents.write("machine", changes, text)


def _worked_out(section: Stopwatch, axis: Mapping[str, Any]) -> Stopwatch:
    rows, timings = [], []
    for row in section.rows:
        if row.blank:
            rows.append(row)
            continue
        timed, error = _timed(row)
        rows.append(replace(row, error=error))
        timings.append(timed)
    hand = number(section.hand)
    hand_error = "" if hand and 0.0 < hand <= 10.0 else "Write a time in seconds, such as 0.1"
    section = replace(section, rows=tuple(rows), hand_error=hand_error)
    sound = [timed for timed in timings if timed]
    if hand_error or not hand or len(sound) < len(timings):
        return replace(section, problem="The fields that are marked need another value.")
    try:
        found = stopwatch.fit(sound, hand)
    except stopwatch.UndeterminedError as error:
        return replace(section, problem=str(error))
    return _found(section, axis, sound, found)


def _found(section: Stopwatch, axis: Mapping[str, Any], timings: list[Timed], found: Fit) -> Stopwatch:
    unit = section.unit
    per_minute = Measured(found.rate.value * 60.0, found.rate.error * 60.0)
    names = [f"{figure(each.distance, 3)} {unit}" + (f" × {each.moves}" if each.moves > 1 else "") for each in timings]
    return replace(
        section,
        figures=(
            _figure("Rapid", per_minute, f"{unit}/min", axis.get("rapid")),
            _figure("Acceleration", found.acceleration, f"{unit}/s²", axis.get("acceleration")),
        ),
        ramps=f"{_rounded(found.ramps):g} {unit}",
        drawing=residuals.draw(names, found.residuals, found.scatter),
    )


def _figure(what: str, measured: Measured, unit: str, before: float | None) -> Figure:
    """Given with two standard errors, which hold the true value nineteen times in twenty."""
    value = _rounded(measured.value)
    places = max(0, 1 - math.floor(math.log10(2 * measured.error)))
    words = f"{figure(measured.value, places)} ± {figure(2 * measured.error, places)} {unit}"
    return Figure(what, words, value, "nothing" if before is None else f"{figure(before, 4)} {unit}")


def _rounded(value: float) -> float:
    return float(f"{value:.{DIGITS}g}")


def _timed(row: TimedRow) -> tuple[Timed | None, str]:
    """The timing of a row, or what is wrong with it."""
    distance, seconds = number(row.distance), number(row.seconds)
    if not distance or not seconds or distance < 0.0 or seconds < 0.0:
        return None, "Write a distance and a time above zero, such as 250 and 6.4"
    moves = number(row.moves or "1")
    if not moves or moves != int(moves) or not 1 <= moves <= LARGEST_COUNT:
        return None, f"The moves in a row are counted: a whole number from 1 to {LARGEST_COUNT}"
    return Timed(distance, seconds, int(moves)), ""
