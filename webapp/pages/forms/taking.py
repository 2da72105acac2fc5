"""What is made of a posted part of a form: a new text, or the part again with all that was typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from library.fields import Units
from webapp.pages.forms import layout, page, posting, touching
from webapp.pages.forms.page import Typed


@dataclass(frozen=True, slots=True)
class TakenPart:
    """``text`` is the document with the part put in, None where nothing is to be saved.

    ``typed`` is to be shown again, ``told`` says what is wrong on the whole.
    """

    text: str | None
    typed: Typed
    told: str = ""


def taken(kind: str, text: str, posted: Mapping[str, str], part: str, units: Units | None = None) -> TakenPart:
    """What comes of a posted part. Raises DocumentError where the text itself is no good document."""
    form = dict(posted)
    worked = page.worked_out(layout.shape(kind, text, units, form), form)
    cells = {name: value for name, value in worked.posted.items() if name not in ("seen", "work-out")}
    if worked.errors:
        return TakenPart(None, Typed(part, cells, worked.errors), "A reading cannot be worked out")
    if "add" in form:
        return TakenPart(None, Typed(part, cells, {}, worked.told))
    if "work-out" in form:
        done = {f"{touching.PREFIX}{name}" for name in worked.told}
        left = {name: value for name, value in cells.items() if name not in done}
        return TakenPart(None, Typed(part, left, {}, worked.told))
    change = posting.changed(kind, text, cells, units)
    if change.errors:
        told = change.errors.get("", "Some values cannot be used")
        return TakenPart(None, Typed(part, cells, change.errors, worked.told), told)
    standing = {cell.name: cell.value for cell in page.cells_of(page.shown(kind, text, units))}
    own = {name: value for name, value in cells.items() if value != standing.get(name)}
    return TakenPart(change.text, Typed(part, own))
