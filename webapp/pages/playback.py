"""Playback as the bench shows it: the start in fields, the run for the script, the speeds to be drawn."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from urllib.parse import urlencode

from markupsafe import Markup

from parser.machine import MM_PER_INCH, ROTARY
from parser.quantities import Figures
from parser.report import Report
from webapp.drawings import speeds
from webapp.pages import path_words, playback_samples
from webapp.pages.path_words import PathInWords
from webapp.pages.text_fields import number

NAME = "at-"
"""What the names of the fields of the start begin with in a form or an address."""


@dataclass(frozen=True, slots=True)
class StartField:
    """One axis of the start: its value in the units of the machine sheet, as typed where it could not be used."""

    axis: str
    value: str
    unit: str
    hint: str
    problem: str = ""

    @property
    def name(self) -> str:
        return f"{NAME}{self.axis}"


@dataclass(frozen=True, slots=True)
class Playback:
    """The section. ``run`` is for the script; ``seconds`` is how long it plays; ``path`` says in words what is drawn.

    ``speeds`` draws them, which is a view of its own.

    ``side`` is True where the view from the right is drawn too, ``finding`` the key of the finding that is.
    """

    fields: tuple[StartField, ...]
    chosen: bool
    run: str
    seconds: str
    speeds: Callable[[], Markup]
    path: PathInWords
    side: bool = False
    finding: str = ""

    def query(self, elevation: str | None = None) -> str:
        """What an address says after its question mark to show this again, with another choice of views or the same."""
        views = ("side" if self.side else "") if elevation is None else elevation
        shown = {"shown": self.finding} if self.finding else {}
        if self.chosen and not shown:
            shown = {field.name: field.value for field in self.fields}
        return urlencode(({"elevation": views} if views else {}) | shown)

    @property
    def moves(self) -> bool:
        """Whether there is anything to play."""
        return float(self.seconds) > 0.0


@dataclass(frozen=True, slots=True)
class Asked:
    """A start that was asked for: coordinates in mm or degrees by axis, and what was typed that is no number."""

    start: Mapping[str, float]
    unreadable: Mapping[str, str]


def asked(values: Mapping[str, str], report: Report, figures: Figures) -> Asked | None:
    """The start that an address or a form asks for; None where it names no axis."""
    typed = {axis: values[f"{NAME}{axis}"].strip() for axis in report.trace.start if values.get(f"{NAME}{axis}")}
    if not any(typed.values()):
        return None
    start, unreadable = {}, {}
    for axis, words in typed.items():
        value = number(words)
        if value is not None:
            start[axis] = value * _size(axis, figures)
        elif words:
            unreadable[axis] = words
    return Asked(start, unreadable)


def shown(
    report: Report, figures: Figures, wanted: Asked | None = None, *, side: bool = False, finding: str = ""
) -> tuple[Playback, Mapping[str, float]]:
    """The section for a report, and the start it plays from; the typical start where none is asked for."""
    played = playback_samples.run(report, wanted.start if wanted else None)
    fields = tuple(_field(axis, played, wanted, figures) for axis in played.start)
    section = Playback(
        fields=fields,
        chosen=played.chosen,
        run=playback_samples.as_json(played, figures.units),
        seconds=f"{played.seconds:.4f}",
        speeds=partial(speeds.draw, played, figures.units),
        path=path_words.told(report, figures, played.start if played.chosen else None),
        side=side,
        finding=finding,
    )
    return section, played.start


def _field(axis: str, played: playback_samples.Played, wanted: Asked | None, figures: Figures) -> StartField:
    unit = "deg" if axis in ROTARY else figures.unit
    reach = f"{figures.interval(axis, played.box[axis])} {unit}"
    given = wanted.start.get(axis) if wanted else None
    value = figures.coordinate(axis, played.start[axis])
    hint = ""
    if given is not None and not math.isclose(given, played.start[axis], abs_tol=1e-6):
        hint = f"{axis.upper()} {figures.coordinate(axis, given)} is outside of where this macro may start ({reach})."
    if wanted and axis in wanted.unreadable:
        words = wanted.unreadable[axis]
        return StartField(axis, words, unit, "", f"“{words}” is not a number; write it like 12.5")
    return StartField(axis, value, unit, hint)


def _size(axis: str, figures: Figures) -> float:
    return MM_PER_INCH if figures.units == "inch" and axis not in ROTARY else 1.0
