"""The last pack of a workshop, kept beside it so that the next one can be compared with it."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from library import leftovers
from library.outgoing import PackError
from library.pack.contents import Pack
from library.pack.disk import pack, read

NAME = "last-pack.zip"


@dataclass(frozen=True, slots=True)
class Last:
    """The files of a pack by path, and when it was taken (ISO 8601, UTC)."""

    files: Mapping[str, bytes]
    taken: str


def remember(directory: Path, taken: Pack) -> None:
    """Keep a pack as the last of the workshop in ``directory``; it may still be taken where the disk refuses."""
    with suppress(OSError):
        handle, name = tempfile.mkstemp(prefix=leftovers.PACK_PREFIX, dir=directory)
        unfinished = Path(name)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(pack(taken.files))
            unfinished.replace(directory / NAME)
        finally:
            unfinished.unlink(missing_ok=True)


def last(directory: Path) -> Last | None:
    """The last pack of the workshop in ``directory``, None where there is none that can be read."""
    path = directory / NAME
    try:
        moment = datetime.fromtimestamp(path.stat().st_mtime, UTC)
        return Last(read(path), moment.isoformat(timespec="seconds"))
    except (OSError, PackError):
        return None
