"""What the title block of a page says of the document that it shows: when it was changed last, from where, and why."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from library.store import SINGLETON, Workshop
from webapp.pages.shelf import when


@dataclass(frozen=True, slots=True)
class ChangeNote:
    """The last change in words; ``who`` is "" where that is not known."""

    saved: str
    who: str
    why: str


OF_PAGE: Mapping[str, tuple[str, str]] = {
    **dict.fromkeys(("bench.show", "bench.press", "bench.save", "bench.attempt"), ("macro", "macro_id")),
    "shelf.macro": ("macro", "name"),
    **dict.fromkeys(("pendant.show", "pendant.put"), ("pendant", "")),
}
"""Pages of one document: its kind, and which part of the address is its id."""


def last_change(shop: Workshop, endpoint: str, parts: Mapping[str, object]) -> ChangeNote | None:
    """The last change of the document that a page shows, None for a page of none."""
    if endpoint.startswith("sheets.") and "kind" in parts:
        kind, id = str(parts["kind"]), SINGLETON
    elif endpoint in OF_PAGE:
        kind, part = OF_PAGE[endpoint]
        id = str(parts.get(part, "")) if part else SINGLETON
    else:
        return None
    found = shop.last_change(kind, id)
    return ChangeNote(when(found.saved), found.who, found.why) if found else None
