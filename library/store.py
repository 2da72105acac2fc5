"""The workshop: every saved revision of every document, in one SQLite file in a directory.

Undo and redo move a document's head along its revisions; nothing that was saved is ever erased. Each call opens the
file for itself, so that calls from any number of threads and processes are safe beside each other.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

from library import documents, starter
from library.bench import Bench
from library.errors import LibraryError
from library.macros import Macro

FILE = "clickstop.sqlite"
SINGLETON = "workshop"
SINGLETONS = ("machine", "controller", "pendant")

_MARK = 0x436C6B53
"""Application id in the header of the file, by which a workshop is told from any other SQLite file."""

_VERSION = 1

_WAIT = 15.0
"""Seconds to wait for another writer before giving up."""

_TABLES = """
CREATE TABLE revisions (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    kind TEXT NOT NULL,
    id TEXT NOT NULL,
    text TEXT,
    why TEXT NOT NULL,
    saved TEXT NOT NULL,
    previous INTEGER REFERENCES revisions (number)
);
CREATE INDEX revisions_of_a_document ON revisions (kind, id);
CREATE TABLE documents (
    kind TEXT NOT NULL,
    id TEXT NOT NULL,
    head INTEGER NOT NULL REFERENCES revisions (number),
    newest INTEGER NOT NULL REFERENCES revisions (number),
    PRIMARY KEY (kind, id)
);
"""


class StoreError(LibraryError):
    """A workshop that cannot be used or a document that is not in it; ``str()`` is one line."""


@dataclass(frozen=True, slots=True)
class Revision:
    """A saved text: ``number`` rises over the whole workshop, ``saved`` is UTC in ISO 8601, ``text`` None: deleted.

    ``current`` marks the one that counts now.
    """

    number: int
    text: str | None
    why: str
    saved: str
    current: bool


class Shelf(Mapping[str, Macro]):
    """The macros of a workshop by id, each read when it is asked for; one that cannot be read is not there."""

    def __init__(self, workshop: Workshop) -> None:
        self._workshop = workshop

    def __getitem__(self, id: str) -> Macro:
        try:
            return documents.parse("macro", self._workshop.text("macro", id), id)
        except (documents.DocumentError, StoreError) as error:
            raise KeyError(id) from error

    def __iter__(self) -> Iterator[str]:
        return iter(self._workshop.ids("macro"))

    def __len__(self) -> int:
        return len(self._workshop.ids("macro"))


class Workshop:
    """A directory with a workshop in it. Every method raises StoreError where the file cannot be read or written."""

    def __init__(self, path: str | Path) -> None:
        """The workshop that is already in directory ``path``."""
        self.path = Path(path)
        self.file = self.path / FILE
        with self._connected() as connection:
            mark = connection.execute("PRAGMA application_id").fetchone()[0]
            version = connection.execute("PRAGMA user_version").fetchone()[0]
        if mark != _MARK:
            raise StoreError(f"{self.file} is not a workshop of this program; choose another directory")
        if version > _VERSION:
            raise StoreError(f"{self.file} was written by a newer Clickstop; update the program")

    @classmethod
    def open(cls, path: str | Path) -> Workshop:
        """The workshop in a directory; in a missing or empty one it is made, with the starter documents."""
        directory = Path(path)
        file = directory / FILE
        try:
            directory.mkdir(parents=True, exist_ok=True)
            if not file.exists():
                others = [entry.name for entry in directory.iterdir() if not entry.name.startswith(FILE)]
                if others:
                    why = f"holds other files ({min(others)}) and no workshop"
                    raise StoreError(f"{directory} {why}; choose a new or empty directory")
                _make(file)
        except (FileExistsError, NotADirectoryError):
            raise StoreError(f"{directory} is not a directory; choose one for the workshop") from None
        except OSError as error:
            raise StoreError(f"{directory} cannot be used for a workshop ({error.strerror or error})") from None
        return cls(directory)

    def ids(self, kind: str) -> tuple[str, ...]:
        """Ids of the documents of a kind that there are, in order."""
        with self._connected() as connection:
            rows = connection.execute(
                "SELECT d.id FROM documents d JOIN revisions r ON r.number = d.head"
                " WHERE d.kind = ? AND r.text IS NOT NULL ORDER BY d.id",
                (kind,),
            )
            return tuple(row[0] for row in rows)

    def deleted(self, kind: str) -> tuple[str, ...]:
        """Ids of the documents of a kind that were deleted and that undo can bring back, in order."""
        with self._connected() as connection:
            rows = connection.execute(
                "SELECT d.id FROM documents d JOIN revisions r ON r.number = d.head"
                " WHERE d.kind = ? AND r.text IS NULL ORDER BY d.id",
                (kind,),
            )
            return tuple(row[0] for row in rows)

    def text(self, kind: str, id: str) -> str:
        """The text of a document as it stands; StoreError where there is none."""
        with self._connected() as connection:
            row = connection.execute(
                "SELECT r.text FROM documents d JOIN revisions r ON r.number = d.head WHERE d.kind = ? AND d.id = ?",
                (kind, id),
            ).fetchone()
        if row is None or row[0] is None:
            raise StoreError(
                f'there is no {kind} "{id}" in this workshop; it has {", ".join(self.ids(kind)) or "none"}'
            )
        return str(row[0])

    def save(self, kind: str, id: str, text: str, why: str) -> None:
        """Keep a text as the newest revision, even one that is no good document yet; ``why`` names the change."""
        with self._writing() as connection:
            _save(connection, kind, id, text, why)

    def delete(self, kind: str, id: str, why: str = "deleted") -> None:
        """Take a document out; its revisions stay, and undo brings it back."""
        self.text(kind, id)
        with self._writing() as connection:
            _save(connection, kind, id, None, why)

    def undo(self, kind: str, id: str) -> bool:
        """Go back to the revision before; False where there is none."""
        with self._writing() as connection:
            return _move(connection, kind, id, _before(connection, kind, id))

    def redo(self, kind: str, id: str) -> bool:
        """Go forward again to what was undone; False where nothing was, or something was saved since."""
        with self._writing() as connection:
            return _move(connection, kind, id, _after(connection, kind, id))

    def can_undo(self, kind: str, id: str) -> bool:
        """Whether there is a revision to go back to."""
        with self._connected() as connection:
            return _before(connection, kind, id) is not None

    def can_redo(self, kind: str, id: str) -> bool:
        """Whether something was undone and nothing saved since."""
        with self._connected() as connection:
            return _after(connection, kind, id) is not None

    def revisions(self, kind: str, id: str) -> tuple[Revision, ...]:
        """Every revision ever saved of a document, the newest first."""
        with self._connected() as connection:
            rows = connection.execute(
                "SELECT r.number, r.text, r.why, r.saved, r.number = d.head FROM revisions r"
                " JOIN documents d ON d.kind = r.kind AND d.id = r.id"
                " WHERE r.kind = ? AND r.id = ? ORDER BY r.number DESC",
                (kind, id),
            ).fetchall()
        return tuple(Revision(number, text, why, saved, bool(current)) for number, text, why, saved, current in rows)

    def bench(self) -> Bench:
        """The sheets as they stand, with the shelf; raises DocumentError where one is no good document."""
        machine, controller, pendant = (self.text(kind, SINGLETON) for kind in SINGLETONS)
        return documents.bench(machine, controller, pendant, Shelf(self))

    @contextmanager
    def _connected(self) -> Iterator[sqlite3.Connection]:
        with _said(self.file), closing(_connection(self.file)) as connection:
            yield connection

    @contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        """A connection that holds the write lock from the start, so that what it reads is still so when it writes."""
        with self._connected() as connection:
            connection.execute("BEGIN IMMEDIATE")
            with connection:
                yield connection


def _connection(file: Path) -> sqlite3.Connection:
    if not file.is_file():
        raise StoreError(f"there is no workshop in {file.parent}; check the directory")
    connection = sqlite3.connect(f"{file.absolute().as_uri()}?mode=rw", uri=True, timeout=_WAIT, isolation_level=None)
    connection.execute("PRAGMA foreign_keys = ON")
    return connection


@contextmanager
def _said(file: Path) -> Iterator[None]:
    """What goes wrong in SQLite, in one line."""
    try:
        yield
    except sqlite3.OperationalError as error:
        raise StoreError(f"{file} cannot be used ({error}); check the disk and the rights to the directory") from None
    except sqlite3.Error as error:
        raise StoreError(f"{file} is damaged or not a workshop ({error}); restore it from a backup") from None


def _make(file: Path) -> None:
    """A new workshop with the starter documents, made beside its place so that half a one is never found there."""
    unfinished = file.with_name(f"{FILE}.{uuid4().hex}.new")
    try:
        with _said(file), closing(sqlite3.connect(unfinished)) as connection:
            connection.executescript(_TABLES)
            for kind, id, text in starter.documents():
                _save(connection, kind, id, text, "starter workshop")
            connection.execute(f"PRAGMA application_id = {_MARK}")
            connection.execute(f"PRAGMA user_version = {_VERSION}")
            connection.commit()
            connection.execute("PRAGMA journal_mode = WAL")
        _put(unfinished, file)
    finally:
        unfinished.unlink(missing_ok=True)


def _put(unfinished: Path, file: Path) -> None:
    """Give the finished file its name, unless another process was first."""
    try:
        os.link(unfinished, file)
    except FileExistsError:
        return
    except OSError:  # a disk without links
        unfinished.replace(file)


def _save(connection: sqlite3.Connection, kind: str, id: str, text: str | None, why: str) -> None:
    row = connection.execute(
        "SELECT d.head, r.text FROM documents d JOIN revisions r ON r.number = d.head WHERE d.kind = ? AND d.id = ?",
        (kind, id),
    ).fetchone()
    if row is not None and row[1] == text:
        return
    saved = datetime.now(UTC).isoformat(timespec="seconds")
    number = connection.execute(
        "INSERT INTO revisions (kind, id, text, why, saved, previous) VALUES (?, ?, ?, ?, ?, ?)",
        (kind, id, text, why, saved, row[0] if row else None),
    ).lastrowid
    connection.execute(
        "INSERT INTO documents (kind, id, head, newest) VALUES (?, ?, ?, ?)"
        " ON CONFLICT (kind, id) DO UPDATE SET head = excluded.head, newest = excluded.newest",
        (kind, id, number, number),
    )


def _before(connection: sqlite3.Connection, kind: str, id: str) -> int | None:
    row = connection.execute(
        "SELECT r.previous FROM documents d JOIN revisions r ON r.number = d.head WHERE d.kind = ? AND d.id = ?",
        (kind, id),
    ).fetchone()
    return row[0] if row else None


def _after(connection: sqlite3.Connection, kind: str, id: str) -> int | None:
    """The revision whose predecessor is the head, on the way from the newest one back."""
    row = connection.execute(
        "WITH RECURSIVE back (number, previous) AS ("
        "  SELECT r.number, r.previous FROM documents d JOIN revisions r ON r.number = d.newest"
        "  WHERE d.kind = :kind AND d.id = :id"
        "  UNION ALL SELECT r.number, r.previous FROM back b JOIN revisions r ON r.number = b.previous)"
        " SELECT b.number FROM back b JOIN documents d ON d.kind = :kind AND d.id = :id WHERE b.previous = d.head",
        {"kind": kind, "id": id},
    ).fetchone()
    return row[0] if row else None


def _move(connection: sqlite3.Connection, kind: str, id: str, to: int | None) -> bool:
    if to is None:
        return False
    connection.execute("UPDATE documents SET head = ? WHERE kind = ? AND id = ?", (to, kind, id))
    return True
