"""The rows of a workshop's file: every revision, and which of them each document stands at.

What is read is checked, as a file may have been changed by hand or by a fault of the disk: what no call of ours writes
raises ``sqlite3.DataError``, which the store tells as damage.

A workshop may have several machines, each with a machine and a controller sheet and with what is fitted to it. Of these
the one in force is called "workshop" by everybody; which id that means stands in a document of its own and is looked up
here, so that nobody else has to know how many there are.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime

from library.acting import LONGEST_WHO, by
from library.fields import slug

FILE = "clickstop.sqlite"
"""The name of the file in the folder of a workshop."""

TABLES = """
CREATE TABLE revisions (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    kind TEXT NOT NULL,
    id TEXT NOT NULL,
    text TEXT,
    why TEXT NOT NULL,
    saved TEXT NOT NULL,
    who TEXT NOT NULL DEFAULT '',
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

SINGLETON = "workshop"
IN_FORCE = "in-force"
"""Kind of the one document that says which machine is in force, by its id."""
OF_A_MACHINE = ("machine", "controller", "fitted")
"""Kinds of which each machine has a document of its own."""

FAULTS = (sqlite3.Error, UnicodeDecodeError)
"""What is raised where a file cannot be read: the second where SQLite quotes a text in it that is no UTF-8."""

LONGEST_ID = 60
"""Characters of an id, as in the documents themselves (our choice)."""

_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


@dataclass(frozen=True, slots=True)
class LastChange:
    """Why, when (UTC in ISO 8601) and by whom a document came to stand as it does."""

    why: str
    saved: str
    who: str


def meant(connection: sqlite3.Connection, kind: str, id: str) -> str:
    """The id under which a document stands in the file: of what a machine has, "workshop" is the one in force."""
    if id != SINGLETON or kind not in OF_A_MACHINE:
        return id
    return row(connection, IN_FORCE, SINGLETON)[1] or SINGLETON


def ids(connection: sqlite3.Connection, kind: str, *, deleted: bool = False) -> tuple[str, ...]:
    """Ids of the documents of a kind that there are, or of those that were deleted, in order."""
    found = []
    in_force = meant(connection, kind, SINGLETON)
    for id, of_kind, text in connection.execute(
        "SELECT d.id, r.kind, r.text FROM documents d LEFT JOIN revisions r ON r.number = d.head AND r.id = d.id"
        " WHERE d.kind = ? ORDER BY d.id",
        (kind,),
    ):
        if not isinstance(id, str) or len(id) > LONGEST_ID or not _ID.fullmatch(id):
            raise sqlite3.DataError(f"the id of a {kind} is none")
        if of_kind != kind or not isinstance(text, str | None):
            raise sqlite3.DataError(f'the {kind} "{id}" stands at what is no revision of it')
        if (text is None) == deleted:
            found.append(SINGLETON if id == in_force else id)
    return tuple(found)


def standing(connection: sqlite3.Connection, kind: str) -> list[tuple[str, int, str, str]]:
    """Id, number, text and moment of every document of a kind that there is, in the order of the ids."""
    there = set(ids(connection, kind))
    found = connection.execute(
        "SELECT d.id, r.number, r.text, r.saved FROM documents d JOIN revisions r ON r.number = d.head"
        " WHERE d.kind = ? AND r.text IS NOT NULL ORDER BY d.id",
        (kind,),
    ).fetchall()
    for id, _, text, saved in found:
        if not isinstance(text, str) or not isinstance(saved, str):
            raise sqlite3.DataError(f'the {kind} "{id}" does not say when it was saved')
    return [each for each in found if each[0] in there]


def row(connection: sqlite3.Connection, kind: str, id: str) -> tuple[int | None, str | None]:
    """Number and text of the revision that counts, None each where there never was one; no text: it was deleted."""
    id = meant(connection, kind, id)
    found = connection.execute(
        "SELECT d.head, r.number, r.kind, r.id, r.text FROM documents d LEFT JOIN revisions r ON r.number = d.head"
        " WHERE d.kind = ? AND d.id = ?",
        (kind, id),
    ).fetchone()
    if found is None:
        return None, None
    head, number, *of, text = found
    if not isinstance(head, int) or head != number or of != [kind, id] or not isinstance(text, str | None):
        raise sqlite3.DataError(f'the {kind} "{id}" stands at what is no revision of it')
    return head, text


def still(connection: sqlite3.Connection, kind: str, id: str, seen: int | None) -> bool:
    """Whether a document is still as it was ``seen``, which None does not say."""
    return seen is None or row(connection, kind, id)[0] == seen


def text_of(connection: sqlite3.Connection, kind: str, id: str, number: int) -> str | None:
    """The text of a revision of a document, None where it has none or there is no such revision."""
    id = meant(connection, kind, id)
    found = connection.execute(
        "SELECT text FROM revisions WHERE number = ? AND kind = ? AND id = ?", (number, kind, id)
    ).fetchone()
    if found is None or found[0] is None:
        return None
    if not isinstance(found[0], str):
        raise sqlite3.DataError(f'a revision of the {kind} "{id}" is no text')
    return found[0]


def revisions(connection: sqlite3.Connection, kind: str, id: str) -> list[tuple[int, str | None, str, str, bool, str]]:
    """Number, text, why and when of every revision, the newest first, whether it counts now, and who saved it."""
    id = meant(connection, kind, id)
    kept = connection.execute(
        "SELECT r.number, r.text, r.why, r.saved, r.who, r.number = d.head FROM revisions r"
        " JOIN documents d ON d.kind = r.kind AND d.id = r.id"
        " WHERE r.kind = ? AND r.id = ? ORDER BY r.number DESC",
        (kind, id),
    ).fetchall()
    for _, text, *said, _ in kept:
        if not isinstance(text, str | None) or not all(isinstance(each, str) for each in said):
            raise sqlite3.DataError(f'a revision of the {kind} "{id}" does not say what it is')
    if kept and not any(current for *_, current in kept):
        raise sqlite3.DataError(f'the {kind} "{id}" stands at what is no revision of it')
    return [(number, text, why, saved, bool(current), who) for number, text, why, saved, who, current in kept]


def readable(connection: sqlite3.Connection) -> Iterator[tuple[str, str, str]]:
    """Kind, id and text of every document that can be read, whatever is amiss with the rest; never raises.

    One whose id is none gets a number in its place.
    """
    heads: list[tuple[bytes, bytes, object]] = []
    in_force = ""
    with suppress(*FAULTS):
        in_force = meant(connection, OF_A_MACHINE[0], SINGLETON)
    with suppress(*FAULTS):
        heads.extend(connection.execute("SELECT CAST(kind AS BLOB), CAST(id AS BLOB), head FROM documents"))
    for count, (kind, id, head) in enumerate(heads, start=1):
        with suppress(*FAULTS):
            found = connection.execute("SELECT CAST(text AS BLOB) FROM revisions WHERE number = ?", (head,)).fetchone()
            if found and found[0] is not None:
                of, named = ((each or b"").decode(errors="replace") for each in (kind, id))
                sound = len(named) <= LONGEST_ID and _ID.fullmatch(named)
                known = SINGLETON if of in OF_A_MACHINE and named == in_force else named
                yield of, known if sound else str(count), found[0].decode()


def save(connection: sqlite3.Connection, kind: str, id: str, text: str | None, why: str) -> None:
    """Keep a text as the newest revision of a document, None for one that is deleted; nothing where it is the same."""
    id = meant(connection, kind, id)
    head, before = row(connection, kind, id)
    if head is not None and before == text:
        return
    saved = datetime.now(UTC).isoformat(timespec="seconds")
    number = connection.execute(
        "INSERT INTO revisions (kind, id, text, why, saved, who, previous) VALUES (?, ?, ?, ?, ?, ?, ?)",
        (kind, id, text, why, saved, by.get()[:LONGEST_WHO], head),
    ).lastrowid
    connection.execute(
        "INSERT INTO documents (kind, id, head, newest) VALUES (?, ?, ?, ?)"
        " ON CONFLICT (kind, id) DO UPDATE SET head = excluded.head, newest = excluded.newest",
        (kind, id, number, number),
    )


def before(connection: sqlite3.Connection, kind: str, id: str) -> int | None:
    """The revision before the head, unless the document was not there then: undo takes nothing off the shelf."""
    row = connection.execute(
        "SELECT r.previous FROM documents d JOIN revisions r ON r.number = d.head"
        " JOIN revisions p ON p.number = r.previous WHERE d.kind = ? AND d.id = ? AND p.text IS NOT NULL",
        (kind, meant(connection, kind, id)),
    ).fetchone()
    return row[0] if row else None


def after(connection: sqlite3.Connection, kind: str, id: str) -> int | None:
    """The revision whose predecessor is the head, on the way from the newest one back, unless it takes it away."""
    row = connection.execute(
        "WITH RECURSIVE back (number, previous) AS ("
        "  SELECT r.number, r.previous FROM documents d JOIN revisions r ON r.number = d.newest"
        "  WHERE d.kind = :kind AND d.id = :id"
        "  UNION SELECT r.number, r.previous FROM back b JOIN revisions r ON r.number = b.previous)"
        " SELECT b.number FROM back b JOIN documents d ON d.kind = :kind AND d.id = :id"
        " JOIN revisions r ON r.number = b.number WHERE b.previous = d.head AND r.text IS NOT NULL",
        {"kind": kind, "id": meant(connection, kind, id)},
    ).fetchone()
    return row[0] if row else None


def move(connection: sqlite3.Connection, kind: str, id: str, to: int | None) -> bool:
    """Let a document stand at another of its revisions; False where there is none."""
    if to is None:
        return False
    id = meant(connection, kind, id)
    connection.execute("UPDATE documents SET head = ? WHERE kind = ? AND id = ?", (to, kind, id))
    return True


def latest(connection: sqlite3.Connection, kind: str, id: str) -> LastChange | None:
    """Why, when and by whom a document came to stand as it does, None where there is none."""
    found = connection.execute(
        "SELECT r.why, r.saved, r.who FROM documents d JOIN revisions r ON r.number = d.head"
        " WHERE d.kind = ? AND d.id = ?",
        (kind, meant(connection, kind, id)),
    ).fetchone()
    return LastChange(*found) if found and all(isinstance(each, str) for each in found) else None


def begin(connection: sqlite3.Connection, machine: str, why: str) -> None:
    """Let the machine sheet in this text be the first in force, before it is saved under an id that goes with its name.

    The id of a name that is none, or that is what everybody calls the one in force, is "machine".
    """
    found = re.search(r'^name *= *"([^"]*)"', machine, re.MULTILINE)
    id = slug(found[1])[:LONGEST_ID].strip("-") if found else ""
    save(connection, IN_FORCE, SINGLETON, id if id not in ("", SINGLETON) else "machine", why)


def upgrade(connection: sqlite3.Connection) -> None:
    """From version 1, which knew one machine and not who saved, to version 2; within a transaction."""
    connection.execute("ALTER TABLE revisions ADD COLUMN who TEXT NOT NULL DEFAULT ''")
    begin(connection, row(connection, "machine", SINGLETON)[1] or "", "the only machine there was")
    first = row(connection, IN_FORCE, SINGLETON)[1]
    for table in ("revisions", "documents"):
        for kind in OF_A_MACHINE:
            connection.execute(f"UPDATE {table} SET id = ? WHERE kind = ? AND id = ?", (first, kind, SINGLETON))
