"""What every page says where the machine still holds a macro that is refused by now, differs or is gone."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from library import pack
from library.errors import LibraryError
from library.pack import Fitted, FittedChange, Gathered
from library.store import Workshop


def still_held(shop: Workshop) -> str:
    """One sentence, "" where nothing is fitted or all of it is as it should be."""
    try:
        now = pack.fitted(shop)
        return pack.told(now, changes(shop, now)) if now else ""
    except LibraryError as error:
        return f"Whether what is on the machine is still proved cannot be said: {error}"


def changes(shop: Workshop, now: Fitted) -> tuple[FittedChange, ...]:
    """What of the fitted issue is not as it should be; worked out anew only where a document has changed."""
    gathered = pack.gather(shop)
    sheets = gathered.machine, gathered.controller, gathered.pendant
    return _changes(now, *sheets, tuple(sorted(gathered.macros.items())))


@lru_cache(maxsize=8)
def _changes(
    now: Fitted, machine: str, controller: str, pendant: str, macros: tuple[tuple[str, str], ...]
) -> tuple[FittedChange, ...]:
    return pack.changes(now, Gathered(machine, controller, pendant, dict(macros)))


def choices(shop: Workshop) -> Mapping[str, str]:
    """The issues that were taken, the latest first: what is shown by what is sent back."""
    return {each.issue.number: str(each.issue) for each in pack.known(shop)}
