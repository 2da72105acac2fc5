"""The parts of a sheet as its page shows them: what each is, and the day somebody confirmed it at the machine."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from library.sheets import ControllerSheet, MachineSheet, PendantSheet
from library.sheets.plain import sheet_parts
from parser.parts import day_in_words

ABOUT: dict[str, str] = {
    "axes": "travel, rapid rates, accelerations, home switches, limits",
    "operator": "which side is the front",
    "spindle": "nose, holder, speed, run-down",
    "tool": "the longest stick-out and the thickest tool in use",
    "safe": "at this height the longest tool crosses everything",
    "table": "its corners and its top",
    "work": "origins of the work systems, setups apart",
    "stored": "the points of G28 and G30",
    "tools": "lengths for G43",
    "motion": "how corners are taken, how late it brakes",
}
LISTED: Mapping[str, str] = {
    "keep_out": "box that is always there",
    "setup": "its boxes and its origins",
    "enclosure": "box fixed to the frame",
}
CONTROLLER: Mapping[str, str] = {
    "homing": "G28, homing lines, whether it moves before it is homed",
    "words": "machine coordinates, dwell, comments, pause, resting modes, rapids",
    "stored": "call, file names, endings",
    "answers": "to a line, to a wrong line, when idle",
    "release": "what letting go achieves",
    "jog": "what a click of the wheel sends",
}


PENDANT: Mapping[str, str] = {
    "selectors": "positions in their order, increments",
    "gesture": "what fires a macro",
    "wheel": "clicks of a turn, what a click sends",
    "memory": "room in its microcontroller",
    "wiring": "wires, pins and levels",
}


@dataclass(frozen=True, slots=True)
class PartRow:
    """A part of a sheet: ``day`` is "" where nobody has confirmed it."""

    part: str
    title: str
    about: str
    day: str


_OF_OTHERS: Mapping[type, Mapping[str, str]] = {ControllerSheet: CONTROLLER, PendantSheet: PENDANT}


def rows(sheet: object) -> tuple[PartRow, ...]:
    """The parts of a sheet, none where it has no such days."""
    if not isinstance(sheet, MachineSheet | ControllerSheet | PendantSheet):
        return ()
    abouts = ABOUT | _of_entries(sheet) if isinstance(sheet, MachineSheet) else _OF_OTHERS[type(sheet)]
    found = []
    for part in sheet_parts(sheet):
        title = f"{part.words[:1].upper()}{part.words[1:]}"
        found.append(PartRow(part.name, title, abouts[part.name], _day(part.day)))
    return tuple(found)


def _of_entries(sheet: MachineSheet) -> dict[str, str]:
    return {f"{kind} {entry.name}": about for kind, about in LISTED.items() for entry in getattr(sheet, kind)}


def _day(day: str) -> str:
    return day_in_words(day) if day else ""
