"""Where a macro of the shelf comes from: kept as a document of the workshop beside it when it is taken in."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import asdict, dataclass

from library import json_text
from library.merging import Keeping
from library.names import as_bytes
from library.store import StoreError, Workshop

KIND = "origin"
FORMAT = "clickstop-origin/1"


@dataclass(frozen=True, slots=True)
class CameFrom:
    """Where a macro comes from: the file, what that is, its SHA-256, the machine it tells of, the id and author there.

    ``taken`` is when it was taken in (UTC, ISO 8601), ``machine`` "" where the file tells of none.
    """

    source: str
    kind: str
    sha256: str
    machine: str
    author: str
    id: str
    taken: str


def of_all(shop: Workshop) -> Mapping[str, CameFrom]:
    """The origin of every macro that was taken in, by its id here; one that cannot be read is left out."""
    found = {}
    for id in shop.ids(KIND):
        with suppress(StoreError, ValueError, TypeError, KeyError):
            said = json_text.read(shop.text(KIND, id))
            if said.pop("format") == FORMAT:
                found[id] = CameFrom(**{key: str(value) for key, value in said.items()})
    return found


def of(shop: Workshop, id: str) -> CameFrom | None:
    """The origin of one macro, None where it was made here or that cannot be read."""
    with suppress(StoreError, ValueError, TypeError, KeyError):
        said = json_text.read(shop.text(KIND, id))
        if said.pop("format") == FORMAT:
            return CameFrom(**{key: str(value) for key, value in said.items()})
    return None


def change(shop: Workshop, id: str, origin: CameFrom, why: str) -> Keeping:
    """What keeps the origin of a macro, whatever was said of it before."""
    try:
        seen = shop.head(KIND, id).number
    except StoreError:
        seen = None
    return Keeping(KIND, id, as_bytes({"format": FORMAT, **asdict(origin)}).decode(), why, seen)
