"""Which parts of a sheet were measured, and on which day: said by somebody, and lost by what changes.

A day stands for the figures that were there when somebody confirmed them at the machine. So wherever a text takes the
place of another, by a form, by hand, by the command or merged from two pages, each part is compared, and one that
changed loses its day. Only a day that was written together with the change, and is later than the one that stood there,
confirms the new figures. Going back with undo needs nothing: figures and days come back as they stood together. A new
document keeps the days that it comes with, for there is nothing that they could have been left over from.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date

from library import documents
from library.sheets import ControllerSheet, MachineSheet, PendantSheet
from library.sheets.facts import Facts, facts, same
from library.sheets.parts import KEY, PARTS, without_gone
from library.toml_text import DocumentError, set_value

Sheet = MachineSheet | ControllerSheet | PendantSheet


def settled(kind: str, before: str, after: str) -> str:
    """The text ``after``, which takes the place of ``before``, without the days that stand for figures of before.

    What is no good document is left as it is: nothing is proved on it. After one, every day has to be said again.
    """
    if kind not in PARTS or KEY not in after:
        return after
    try:
        was = _sheet(kind, before)
    except DocumentError:
        return _all_lost(kind, after)
    try:
        after = without_gone(kind, before, after)
        now = _sheet(kind, after)
    except DocumentError:
        return after
    old, new = facts(was), facts(now)
    converted = _units(was) != _units(now)
    lost = [
        part
        for part, day in now.measured.items()
        if not _unchanged(part, old, new, converted=converted) and not _confirmed(day, was.measured.get(part))
    ]
    return _without(after, lost)


def confirm(kind: str, text: str, parts: Mapping[str, date | None]) -> str:
    """The text with the day on which each of some parts was measured, None for invented; raises DocumentError."""
    return documents.write(kind, {(KEY, part): day for part, day in parts.items()}, text)


def changed(kind: str, before: str, after: str, parts: Iterable[str]) -> tuple[str, ...]:
    """Those of some parts whose figures differ in two texts; raises DocumentError where one is no good document."""
    one, other = (_sheet(kind, text) for text in (before, after))
    old, new = facts(one), facts(other)
    converted = _units(one) != _units(other)
    return tuple(part for part in parts if not _unchanged(part, old, new, converted=converted))


def invented(sheet: Sheet) -> tuple[str, ...]:
    """The parts of a sheet that nobody has confirmed, in its order."""
    return tuple(part for part in sheet.parts if part not in sheet.measured)


def _all_lost(kind: str, after: str) -> str:
    try:
        return _without(after, _sheet(kind, after).measured)
    except DocumentError:
        return after


def _unchanged(part: str, old: Facts, new: Facts, *, converted: bool) -> bool:
    return part in old and part in new and same(old[part], new[part], converted=converted)


def _confirmed(day: date, before: date | None) -> bool:
    return before is None or day > before


def _sheet(kind: str, text: str) -> Sheet:
    sheet = documents.parse(kind, text)
    assert isinstance(sheet, MachineSheet | ControllerSheet | PendantSheet)
    return sheet


def _units(sheet: Sheet) -> str:
    """Those of its figures; a pendant sheet has no choice of them."""
    return "mm" if isinstance(sheet, PendantSheet) else sheet.units


def _without(text: str, parts: Iterable[str]) -> str:
    for part in parts:
        text = set_value(text, (KEY, part), None)
    return text
