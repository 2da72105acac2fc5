"""What is made of a posted part of a form: a new text, or the part again with all that was typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from library.fields import Units
from webapp.pages.forms import layout, page, posting, touching
from webapp.pages.forms.page import TypedPart


@dataclass(frozen=True, slots=True)
class TakenPart:
    """``text`` is the document with the part put in, None where nothing is to be saved.

    ``typed`` is to be shown again, ``told`` says what is wrong on the whole.
    """

    text: str | None
    typed: TypedPart
    told: str = ""


def taken(kind: str, text: str, posted: Mapping[str, str], part: str, units: Units | None = None) -> TakenPart:
    """What comes of a posted part. Raises DocumentError where the text itself is no good document."""
    form = dict(posted)
    worked = page.worked_out(layout.shape(kind, text, units, form), form)
    cells = {
        name: value for name, value in worked.posted.items() if name not in ("seen", "work-out", "earlier", "again")
    }
    if worked.errors:
        return TakenPart(None, TypedPart(part, cells, worked.errors), "A reading cannot be worked out")
    if "earlier" in form:
        return TakenPart(None, TypedPart(part, _earlier(cells, form["earlier"]), {}, worked.told))
    if "add" in form or "again" in form:
        return TakenPart(None, TypedPart(part, cells, {}, worked.told))
    if "work-out" in form:
        done = {f"{touching.PREFIX}{name}" for name in worked.told}
        left = {name: value for name, value in cells.items() if name not in done}
        return TakenPart(None, TypedPart(part, left, {}, worked.told))
    change = posting.changed(kind, text, cells, units)
    if change.errors:
        told = change.errors.get("", "Some values cannot be used")
        return TakenPart(None, TypedPart(part, cells, change.errors, worked.told), told)
    standing = {cell.name: cell.value for cell in page.cells_of(page.shown(kind, text, units))}
    own = {name: value for name, value in cells.items() if value != standing.get(name)}
    return TakenPart(change.text, TypedPart(part, own))


def _earlier(cells: Mapping[str, str], row: str) -> dict[str, str]:
    """The cells with those of a row, such as "positions.3", and of the one before in each other's place."""
    listed, _, place = row.rpartition(".")
    if not place.isdecimal() or int(place) == 0:
        return dict(cells)
    here, before = f"{row}.", f"{listed}.{int(place) - 1}."
    swapped = {}
    for name, value in cells.items():
        one, other = (here, before) if name.startswith(here) else (before, here)
        swapped[other + name.removeprefix(one) if name.startswith(one) else name] = value
    return swapped
