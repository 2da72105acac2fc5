"""The file of a workshop: how it is opened, how it gets its name, and what goes wrong with it, in one line."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path, PurePath
from urllib.parse import quote

from library import rows
from library.errors import LibraryError

_WAIT = 4.0
"""Seconds to wait for another writer before giving up: many times what a save takes, and not yet a page that hangs
(our choice)."""

_ROOM = 1_000_000
"""Bytes that a save with all that SQLite keeps beside the file takes at most, many times over (our choice)."""

_ALONE = "mode=ro&immutable=1"
"""How a file is opened on a disk that can only be read: SQLite wants to put a file of its own beside it unless it is
told that nobody writes. Without a ``-wal`` beside it nobody does."""

_SAID = 100
"""Characters of what SQLite says that are told (our choice)."""

DAMAGED = "{} is damaged or not a workshop ({}); put a backup back with clickstop restore"


class StoreError(LibraryError):
    """A workshop that cannot be used or a document that is not in it; ``str()`` is one line."""


class DamagedError(StoreError):
    """A workshop whose file is damaged, in whole or in part; ``Workshop.readable`` has what can still be read."""


def opened(file: Path) -> sqlite3.Connection:
    """A connection to a workshop that is there, for reading only where its disk can only be read; raises StoreError."""
    if not file.is_file():
        raise StoreError(f"there is no workshop in {file.parent}; check the directory")
    mode = "mode=rw"
    if not (may_write(file) and may_write(file.parent)):
        mode = "mode=ro" if Path(f"{file}-wal").exists() else _ALONE
    connection = sqlite3.connect(f"{address(file.absolute())}?{mode}", uri=True, timeout=_WAIT, isolation_level=None)
    connection.execute("PRAGMA foreign_keys = ON")
    return connection


def address(file: PurePath) -> str:
    """The file as SQLite is told of it, by its full path on any system.

    A folder that is shared in a network begins with the name of its computer, ``//shop/cam``. That is part of the path
    here: SQLite refuses an address in which a computer is named apart, which is what ``as_uri`` would write.
    """
    path = file.as_posix()
    return "file://" + quote(path if path.startswith("/") else f"/{path}", safe="/:")


def may_write(path: Path) -> bool:
    """Whether a file or folder can be written by whoever runs this."""
    return os.access(path, os.W_OK, effective_ids=os.access in os.supports_effective_ids)


def _is_full(file: Path) -> bool:
    """Whether there is no room for a save where a file is."""
    try:
        return shutil.disk_usage(file.parent).free < _ROOM
    except OSError:
        return False


def shortened(told: str) -> str:
    """What SQLite says, the first of it: of a text that is no text it says all."""
    return told if len(told) <= _SAID else f"{told[:_SAID]}..."


@contextmanager
def said(file: Path) -> Iterator[None]:
    """What goes wrong in SQLite, in one line."""
    try:
        yield
    except rows.FAULTS as error:
        told = error.object.decode(errors="replace") if isinstance(error, UnicodeDecodeError) else str(error)
        if "locked" in told or "busy" in told:
            why = f"is in use by another program, which has not finished in {_WAIT:g} s; try again when it has"
            raise StoreError(f"{file} {why}") from None
        if "readonly" in told:
            why = "can only be read, so that nothing can be saved there; check the disk and the rights to the folder"
            raise StoreError(f"{file} {why}") from None
        if isinstance(error, sqlite3.OperationalError) and _is_full(file):
            raise StoreError(f"the disk that {file} is on is full; make room on it, then try again") from None
        if "locking protocol" in told or "I/O error" in told:
            why = "check the disk; most network drives cannot hold a workshop, so move it to a disk of this computer"
            raise StoreError(f"{file} cannot be used ({told}); {why}") from None
        if isinstance(error, sqlite3.OperationalError) and "UTF-8" not in told and "no such" not in told:
            raise StoreError(f"{file} cannot be used ({told}); check the disk and the rights to the folder") from None
        raise DamagedError(DAMAGED.format(file, shortened(told))) from None


def put(unfinished: Path, file: Path) -> None:
    """Give the finished file its name, unless another process was first."""
    try:
        os.link(unfinished, file)
    except FileExistsError:
        return
    except OSError:  # a disk without links
        unfinished.replace(file)
