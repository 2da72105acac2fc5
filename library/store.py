"""The workshop: every saved revision of every document, in one SQLite file in a directory.

Undo and redo move a document's head along its revisions; nothing that was saved is ever erased. Each call opens the
file for itself, so that calls from any number of threads and processes are safe beside each other.

There is one rule for saving. Whoever changes a document says which revision was seen: ``save`` by its number,
``change`` by working on the text that it is given. Comparing and saving are one transaction, and SQLite admits one
writer at a time, whichever process it is in; there is no other lock. A save on a revision that is no longer the newest
is merged where the fields differ, and refused with both texts (``merging.ClashError``) where they do not.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from itertools import count
from pathlib import Path, PurePath
from urllib.parse import quote

from library import confirming, documents, leftovers, rows, starter
from library.bench import Bench
from library.errors import LibraryError
from library.limits import MACROS
from library.macros import Macro
from library.merging import ClashError, Keeping, merged

FILE = rows.FILE
SINGLETON = rows.SINGLETON
SINGLETONS = ("machine", "controller", "pendant")

_MARK = 0x436C6B53
"""Application id in the header of the file, by which a workshop is told from any other SQLite file."""

_VERSION = 2

_WAIT = 4.0
"""Seconds to wait for another writer before giving up: many times what a save takes, and not yet a page that hangs
(our choice)."""


_ROOM = 1_000_000
"""Bytes that a save with all that SQLite keeps beside the file takes at most, many times over (our choice)."""

_ALONE = "mode=ro&immutable=1"
"""How a file is opened on a disk that can only be read: SQLite wants to put a file of its own beside it unless it is
told that nobody writes. Without a ``-wal`` beside it nobody does."""

_DAMAGED = "{} is damaged or not a workshop ({}); put a backup back with clickstop restore"


class StoreError(LibraryError):
    """A workshop that cannot be used or a document that is not in it; ``str()`` is one line."""


class DamagedError(StoreError):
    """A workshop whose file is damaged, in whole or in part; ``Workshop.readable`` has what can still be read."""


class TakenError(StoreError):
    """An id under which there is a document already."""


class FullError(StoreError):
    """A workshop that holds as many macros as one may."""


@dataclass(frozen=True, slots=True)
class Head:
    """The revision of a document that counts now: its number and its text."""

    number: int
    text: str


@dataclass(frozen=True, slots=True)
class StoredText:
    """A document as it stands: its id and text, and the number and moment (UTC in ISO 8601) of its revision."""

    id: str
    number: int
    text: str
    saved: str


@dataclass(frozen=True, slots=True)
class Revision:
    """A saved text: ``number`` rises over the whole workshop, ``saved`` is UTC in ISO 8601, ``text`` None: deleted.

    ``current`` marks the one that counts now. ``who`` says from where it was saved, "" where that is not known.
    """

    number: int
    text: str | None
    why: str
    saved: str
    current: bool
    who: str = ""


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
        if version < _VERSION:
            self._upgrade()

    @classmethod
    def open(cls, path: str | Path) -> Workshop:
        """The workshop in a directory; in a missing or empty one it is made, with the starter documents."""
        directory = Path(path)
        file = directory / FILE
        try:
            directory.mkdir(parents=True, exist_ok=True)
            leftovers.tidy(directory)
            if not file.exists():
                names = [entry.name for entry in directory.iterdir()]
                others = [name for name in names if not name.startswith(FILE) and not leftovers.is_working(name)]
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
            return rows.ids(connection, kind)

    def standing(self, kind: str) -> tuple[StoredText, ...]:
        """Every document of a kind as it stands, by id: read at once, which a thousand are in a few milliseconds."""
        with self._connected() as connection:
            return tuple(StoredText(*each) for each in rows.standing(connection, kind))

    def last_change(self, kind: str, id: str) -> rows.LastChange | None:
        """How a document came to stand as it does, None where there is none."""
        with self._connected() as connection:
            return rows.latest(connection, kind, id)

    def sheets(self) -> tuple[str, str, str]:
        """The texts of the machine, the controller and the pendant sheet, all as they were at one moment."""
        with self._connected() as connection:
            connection.execute("BEGIN")
            machine, controller, pendant = (self._head(connection, kind, SINGLETON).text for kind in SINGLETONS)
            return machine, controller, pendant

    def deleted(self, kind: str) -> tuple[str, ...]:
        """Ids of the documents of a kind that were deleted and that undo can bring back, in order."""
        with self._connected() as connection:
            return rows.ids(connection, kind, deleted=True)

    def text(self, kind: str, id: str) -> str:
        """The text of a document as it stands; StoreError where there is none."""
        return self.head(kind, id).text

    def head(self, kind: str, id: str) -> Head:
        """The revision of a document that counts now; StoreError where there is none."""
        with self._connected() as connection:
            return self._head(connection, kind, id)

    def seen(self, kind: str, id: str, number: int) -> str:
        """The text of a revision of a document by its number; StoreError where there is none."""
        with self._connected() as connection:
            return self._seen(connection, kind, id, number)

    def save(self, kind: str, id: str, text: str, why: str, *, seen: int | None) -> Head:
        """Keep a text as the newest revision, even one that is no good document yet; ``why`` names the change.

        ``seen`` is the number of the revision that the text was made from, None for a document that is new. What was
        saved meanwhile is merged into it. Returns what counts now. Raises ClashError where both changed one field,
        FullError where there may be no further macro, TakenError where a new document's id is taken, StoreError where
        ``seen`` is no revision of it.
        """
        with self._writing() as connection:
            if seen is None:
                if rows.row(connection, kind, id)[1] is not None:
                    raise TakenError(f'there is a {kind} "{id}" already; choose another id')
                _require_room(connection, kind)
            else:
                now = self._head(connection, kind, id)
                if now.number != seen:
                    text = _merged(kind, self._seen(connection, kind, id, seen), now.text, text)
            _save(connection, kind, id, text, why)
            return self._head(connection, kind, id)

    def change(self, kind: str, id: str, edit: Callable[[Head], tuple[str, str]]) -> Head:
        """Keep what ``edit`` makes of the newest revision: its text and why. Returns what counts now.

        The file is locked for writers while ``edit`` works, so it is to be quick, and to take nothing from the store.
        What it raises is passed on with nothing saved.
        """
        with self._writing() as connection:
            _save(connection, kind, id, *edit(self._head(connection, kind, id)))
            return self._head(connection, kind, id)

    def save_all(self, changes: Iterable[Keeping]) -> None:
        """Keep several texts, all or none. Raises as ``save`` does, but merges nothing: not as seen is a clash."""
        with self._writing() as connection:
            for each in changes:
                number, text = rows.row(connection, each.kind, each.id)
                if each.seen is None and text is not None:
                    raise TakenError(f'there is a {each.kind} "{each.id}" already; choose another id')
                if each.seen is not None and number != each.seen:
                    raise ClashError((f"the {each.kind} {each.id}",), text or "", each.text or "")
                if text is None and each.text is not None:
                    _require_room(connection, each.kind)
                _save(connection, each.kind, each.id, each.text, each.why)

    def create(self, kind: str, name: str, write: Callable[[str], str], why: str) -> str:
        """Keep what ``write`` makes of an id that was never used, ``name`` or ``name-2`` and so on; returns the id.

        Raises FullError where there may be no further macro.
        """
        with self._writing() as connection:
            used = {row[0] for row in connection.execute("SELECT id FROM documents WHERE kind = ?", (kind,))}
            free = next(each for number in count(1) if (each := numbered(name, number)) not in used)
            _require_room(connection, kind)
            rows.save(connection, kind, free, write(free), why)
            return free

    def delete(self, kind: str, id: str, why: str = "deleted", *, seen: int | None = None) -> None:
        """Take a document out; its revisions stay, and undo brings it back.

        Raises ClashError where it is no longer as it was ``seen``, if that is given.
        """
        with self._writing() as connection:
            now = self._head(connection, kind, id)
            if seen is not None and now.number != seen:
                raise ClashError((f"the {kind}",), now.text, "")
            rows.save(connection, kind, id, None, why)

    def undo(self, kind: str, id: str, *, seen: int | None = None) -> bool:
        """Go back to the revision before; False where there is none, or where it is no longer as it was ``seen``.

        Raises FullError where that brings back a macro and there may be no further one.
        """
        with self._writing() as connection:
            if not rows.still(connection, kind, id, seen):
                return False
            if rows.row(connection, kind, id)[1] is None:
                _require_room(connection, kind)
            return rows.move(connection, kind, id, rows.before(connection, kind, id))

    def redo(self, kind: str, id: str, *, seen: int | None = None) -> bool:
        """Go forward again to what was undone; False where nothing was, or something was saved since."""
        with self._writing() as connection:
            if not rows.still(connection, kind, id, seen):
                return False
            return rows.move(connection, kind, id, rows.after(connection, kind, id))

    def can_undo(self, kind: str, id: str) -> bool:
        """Whether there is a revision to go back to."""
        with self._connected() as connection:
            return rows.before(connection, kind, id) is not None

    def can_redo(self, kind: str, id: str) -> bool:
        """Whether something was undone and nothing saved since."""
        with self._connected() as connection:
            return rows.after(connection, kind, id) is not None

    def revisions(self, kind: str, id: str) -> tuple[Revision, ...]:
        """Every revision ever saved of a document, the newest first."""
        with self._connected() as connection:
            return tuple(Revision(*each) for each in rows.revisions(connection, kind, id))

    def bench(self) -> Bench:
        """The sheets as they stand, with the shelf; raises DocumentError where one is no good document."""
        machine, controller, pendant = self.sheets()
        return documents.bench(machine, controller, pendant, Shelf(self))

    def copy(self, to: Path) -> None:
        """Copy all of the workshop to a file that is not there yet, also while others save."""
        with self._connected() as connection, _said(to), closing(sqlite3.connect(to)) as target:
            connection.backup(target)
            target.execute("PRAGMA journal_mode = DELETE")

    def readable(self) -> Iterator[tuple[str, str, str]]:
        """Kind, id and text of every document that can still be read, from a damaged file too; never raises."""
        with suppress(StoreError), self._connected() as connection:
            yield from (each for each in rows.readable(connection) if each[0] in (*SINGLETONS, "macro"))

    def _head(self, connection: sqlite3.Connection, kind: str, id: str) -> Head:
        number, text = rows.row(connection, kind, id)
        if (number is None or text is None) and kind in SINGLETONS and id == SINGLETON:
            raise DamagedError(_DAMAGED.format(self.file, f"there is no {kind} sheet in it"))
        if number is None or text is None:
            raise StoreError(
                f'there is no {kind} "{id}" in this workshop; it has {", ".join(self.ids(kind)) or "none"}'
            )
        return Head(number, str(text))

    @staticmethod
    def _seen(connection: sqlite3.Connection, kind: str, id: str, seen: int) -> str:
        if not 0 < seen < 2**63:
            raise StoreError(f'the {kind} "{id}" has no such revision; load the page again')
        text = rows.text_of(connection, kind, id, seen)
        if text is None and kind in rows.OF_A_MACHINE and id == SINGLETON:
            raise StoreError(
                "nothing was saved, as another machine is in force by now; go back for what you typed, put the machine "
                f"that it is for in force, and load its {kind} sheet again"
            )
        if text is None:
            raise StoreError(f'the {kind} "{id}" has no revision {seen}; load the page again')
        return text

    def _upgrade(self) -> None:
        """Bring the file of an older version up to this one, a copy of it kept beside; unless another process has."""
        if not (_may_write(self.file) and _may_write(self.file.parent)):
            raise StoreError(
                f"{self.file} was written by an older Clickstop and has to be brought up to this one, but it can only "
                "be read; copy its folder to where it can be written"
            )
        kept = self.file.with_name(f"{FILE}.version-1")
        unfinished = self.file.with_name(f"{FILE}.{os.urandom(16).hex()}.new")
        try:
            if not kept.exists():
                self.copy(unfinished)
                _put(unfinished, kept)
        finally:
            unfinished.unlink(missing_ok=True)
        with self._writing() as connection:
            if connection.execute("PRAGMA user_version").fetchone()[0] < _VERSION:
                rows.upgrade(connection)
                connection.execute(f"PRAGMA user_version = {_VERSION}")

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
    mode = "mode=rw"
    if not (_may_write(file) and _may_write(file.parent)):
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


def _may_write(path: Path) -> bool:
    return os.access(path, os.W_OK, effective_ids=os.access in os.supports_effective_ids)


def _is_full(file: Path) -> bool:
    """Whether there is no room for a save where a file is."""
    try:
        return shutil.disk_usage(file.parent).free < _ROOM
    except OSError:
        return False


@contextmanager
def _said(file: Path) -> Iterator[None]:
    """What goes wrong in SQLite, in one line."""
    try:
        yield
    except sqlite3.Error as error:
        told = str(error)
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
        raise DamagedError(_DAMAGED.format(file, told)) from None


def _make(file: Path) -> None:
    """A new workshop with the starter documents, made beside its place so that half a one is never found there."""
    unfinished = file.with_name(f"{FILE}.{os.urandom(16).hex()}.new")
    try:
        with _said(file), closing(sqlite3.connect(unfinished)) as connection:
            connection.executescript(rows.TABLES)
            rows.begin(connection, starter.text("machine.toml"), "starter workshop")
            for kind, id, text in starter.documents():
                rows.save(connection, kind, id, text, "starter workshop")
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


def _merged(kind: str, base: str, now: str, mine: str) -> str:
    """Both changes in one text, which has to be a good document where each of the two is."""
    text = confirming.settled(kind, mine, merged(base, now, mine))
    try:
        documents.parse(kind, text)
    except documents.DocumentError as error:
        raise ClashError((error.key or "the text",), now, mine) from None
    return text


def numbered(name: str, number: int) -> str:
    """An id with a number behind it, cut so that it is still one (60 characters, our choice)."""
    return name if number == 1 else f"{name[: 59 - len(str(number))].rstrip('-')}-{number}"


def _save(connection: sqlite3.Connection, kind: str, id: str, text: str | None, why: str) -> None:
    """Keep a text as the newest revision, without the days on which what it changed was measured."""
    before = rows.row(connection, kind, id)[1]
    if before is not None and text is not None:
        text = confirming.settled(kind, before, text)
    rows.save(connection, kind, id, text, why)


def _require_room(connection: sqlite3.Connection, kind: str) -> None:
    """Raise FullError where there may be no further document of a kind."""
    if kind != "macro":
        return
    held = connection.execute(
        "SELECT count(*) FROM documents d JOIN revisions r ON r.number = d.head"
        " WHERE d.kind = ? AND r.text IS NOT NULL",
        (kind,),
    ).fetchone()[0]
    if held >= MACROS.most:
        raise FullError(
            f"the shelf is full: {MACROS.of} takes at most {MACROS}, and it holds {held:,}; take some off the shelf "
            "first, or begin another workshop"
        )
