"""The rows of a workshop's file: every revision, and which of them each document stands at.

What is read is checked, as a file may have been changed by hand or by a fault of the disk: what no call of ours writes
raises ``sqlite3.DataError``, which the store tells as damage.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator
from contextlib import suppress
from datetime import UTC, datetime

TABLES = """
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

LONGEST_ID = 60
"""Characters of an id, as in the documents themselves (our choice)."""

_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


def ids(connection: sqlite3.Connection, kind: str, *, deleted: bool = False) -> tuple[str, ...]:
    """Ids of the documents of a kind that there are, or of those that were deleted, in order."""
    found = []
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
            found.append(id)
    return tuple(found)


def row(connection: sqlite3.Connection, kind: str, id: str) -> tuple[int | None, str | None]:
    """Number and text of the revision that counts, None each where there never was one; no text: it was deleted."""
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
    found = connection.execute(
        "SELECT text FROM revisions WHERE number = ? AND kind = ? AND id = ?", (number, kind, id)
    ).fetchone()
    if found is None or found[0] is None:
        return None
    if not isinstance(found[0], str):
        raise sqlite3.DataError(f'a revision of the {kind} "{id}" is no text')
    return found[0]


def revisions(connection: sqlite3.Connection, kind: str, id: str) -> list[tuple[int, str | None, str, str, bool]]:
    """Number, text, why and when of every revision of a document, the newest first, and whether it counts now."""
    kept = connection.execute(
        "SELECT r.number, r.text, r.why, r.saved, r.number = d.head FROM revisions r"
        " JOIN documents d ON d.kind = r.kind AND d.id = r.id"
        " WHERE r.kind = ? AND r.id = ? ORDER BY r.number DESC",
        (kind, id),
    ).fetchall()
    for _, text, *said, _ in kept:
        if not isinstance(text, str | None) or not all(isinstance(each, str) for each in said):
            raise sqlite3.DataError(f'a revision of the {kind} "{id}" does not say what it is')
    if kept and not any(current for *_, current in kept):
        raise sqlite3.DataError(f'the {kind} "{id}" stands at what is no revision of it')
    return [(number, text, why, saved, bool(current)) for number, text, why, saved, current in kept]


def readable(connection: sqlite3.Connection) -> Iterator[tuple[str, str, str]]:
    """Kind, id and text of every document that can be read, whatever is amiss with the rest; never raises.

    One whose id is none gets a number in its place.
    """
    heads: list[tuple[bytes, bytes, object]] = []
    with suppress(sqlite3.Error):
        heads.extend(connection.execute("SELECT CAST(kind AS BLOB), CAST(id AS BLOB), head FROM documents"))
    for count, (kind, id, head) in enumerate(heads, start=1):
        with suppress(sqlite3.Error, UnicodeDecodeError):
            found = connection.execute("SELECT CAST(text AS BLOB) FROM revisions WHERE number = ?", (head,)).fetchone()
            if found and found[0] is not None:
                of, named = ((each or b"").decode(errors="replace") for each in (kind, id))
                sound = len(named) <= LONGEST_ID and _ID.fullmatch(named)
                yield of, named if sound else str(count), found[0].decode()


def save(connection: sqlite3.Connection, kind: str, id: str, text: str | None, why: str) -> None:
    """Keep a text as the newest revision of a document, None for one that is deleted; nothing where it is the same."""
    head, before = row(connection, kind, id)
    if head is not None and before == text:
        return
    saved = datetime.now(UTC).isoformat(timespec="seconds")
    number = connection.execute(
        "INSERT INTO revisions (kind, id, text, why, saved, previous) VALUES (?, ?, ?, ?, ?, ?)",
        (kind, id, text, why, saved, head),
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
        (kind, id),
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
        {"kind": kind, "id": id},
    ).fetchone()
    return row[0] if row else None


def move(connection: sqlite3.Connection, kind: str, id: str, to: int | None) -> bool:
    """Let a document stand at another of its revisions; False where there is none."""
    if to is None:
        return False
    connection.execute("UPDATE documents SET head = ? WHERE kind = ? AND id = ?", (to, kind, id))
    return True
