"""Verdicts that were worked out before, kept in a file beside the workshop, so that a restart proves no macro again.

A verdict is kept under the digest of all that it follows from: the macro, those that it runs, both sheets, and the
program that proved it, so that one of another text or of another version is never shown. What is kept is what the shelf
shows. Nothing that leaves the workshop is taken from here: a pack is always proved anew.

The file is no part of the workshop: no backup has it, and it may be thrown away. Where it cannot be written, verdicts
are kept for as long as the program runs. Whatever reads it trusts nothing in it: a file that is laid out otherwise is
thrown away, and a row that no call of ours writes is passed over, so that no markup of another's comes into a page.
"""

from __future__ import annotations

import hashlib
import json
import math
import platform
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import asdict, dataclass, fields
from functools import cache, lru_cache
from importlib.metadata import version
from pathlib import Path
from threading import Lock
from typing import Any

import library
import parser
import webapp
from library import json_text
from library.rows import FAULTS
from library.store import FILE
from webapp.drawings import thumbnail

SUFFIX = ".verdicts"
MOST_KEPT = 50_000
"""Verdicts in the file, about 100 MB of them; the oldest are forgotten first (our choice)."""
WAIT = 0.5
"""Seconds to wait for another program that writes the file: to prove again is quicker than a long wait (our choice)."""

_TABLE = """CREATE TABLE verdicts (
    key TEXT NOT NULL UNIQUE,
    verdict TEXT NOT NULL,
    seconds REAL,
    needs TEXT NOT NULL,
    told TEXT NOT NULL
)"""
_LAYOUT = "SELECT sql FROM sqlite_master WHERE name NOT LIKE 'sqlite_%'"
"""What a file is laid out like, which can be read without running anything that stands in it."""


@dataclass(frozen=True, slots=True)
class KeptVerdict:
    """What the shelf shows of a macro on one machine.

    ``verdict`` is one of the parser's, "unwritten" for steps that cannot be written, "unreadable" for a document that
    cannot be used; ``shape`` goes with its word. ``seconds`` is the typical time, None where there is none; ``picture``
    the path as SVG. ``needs`` are names of what it needs, ``lacks`` clauses on what of it is not there.
    """

    verdict: str
    shape: str
    word: str
    sentence: str
    time: str
    seconds: float | None
    reservations: tuple[str, ...] = ()
    picture: str = ""
    needs: tuple[str, ...] = ()
    lacks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Brief:
    """Of a kept verdict what a shelf is filtered and sorted by."""

    verdict: str
    seconds: float | None
    needs: tuple[str, ...]


class KeptVerdicts:
    """The verdicts beside one workshop, by key; no method raises for what is wrong with the file."""

    def __init__(self, beside: Path) -> None:
        self._file = beside / f"{FILE}{SUFFIX}"
        self._spare: dict[str, KeptVerdict] = {}
        self._claimed: set[str] = set()
        self._none: set[str] = set()
        self._lock = Lock()

    def found(self, keys: Iterable[str]) -> dict[str, KeptVerdict]:
        """What is kept under these keys."""
        wanted = list(keys)
        found = {key: self._spare[key] for key in wanted if key in self._spare}
        for key, told in self._rows("SELECT key, told FROM verdicts WHERE key IN ({})", wanted):
            try:
                found[key] = _read(json_text.read(told))
            except (ValueError, TypeError):
                self._none.add(key)
        return found

    def brief(self, keys: Iterable[str]) -> dict[str, Brief]:
        """Verdict and seconds of those that are kept under these keys."""
        wanted = list(keys)
        spare = {key: each for key in wanted if (each := self._spare.get(key))}
        found = {key: Brief(each.verdict, each.seconds, each.needs) for key, each in spare.items()}
        for key, verdict, seconds, needs in self._rows(
            "SELECT key, verdict, seconds, needs FROM verdicts WHERE key IN ({})", wanted
        ):
            sound = isinstance(verdict, str) and isinstance(needs, str) and _is_time(seconds)
            if sound and key not in self._none:
                found[key] = Brief(verdict, seconds, tuple(needs.split()))
        return found

    @contextmanager
    def claimed(self, key: str) -> Iterator[bool]:
        """Whether the verdict under a key is ours to work out: nobody else is at it, and nobody has been."""
        with self._lock:
            ours = key not in self._claimed
            self._claimed.add(key)
        try:
            yield ours and not self.found([key])
        finally:
            if ours:
                with self._lock:
                    self._claimed.discard(key)

    def keep(self, key: str, verdict: KeptVerdict) -> None:
        """Keep a verdict; it goes into the file with the next ``write``."""
        with self._lock:
            self._spare[key] = verdict
            self._none.discard(key)
            while len(self._spare) > MOST_KEPT:
                del self._spare[next(iter(self._spare))]

    def write(self) -> None:
        """Put what is kept into the file; where that cannot be written, it is kept on here."""
        with self._lock:
            fresh = dict(self._spare)
        rows = [
            (key, each.verdict, each.seconds, " ".join(each.needs), json.dumps(asdict(each)))
            for key, each in fresh.items()
        ]
        if not rows:
            return
        with suppress(*FAULTS, OSError):
            with self._opened() as connection, connection:
                if not connection.execute(_LAYOUT).fetchall():
                    connection.execute(_TABLE)
                connection.executemany("INSERT OR REPLACE INTO verdicts VALUES (?, ?, ?, ?, ?)", rows)
                connection.execute(
                    "DELETE FROM verdicts WHERE rowid <= (SELECT max(rowid) FROM verdicts) - ?", (MOST_KEPT,)
                )
            with self._lock:
                for key in fresh:
                    self._spare.pop(key, None)

    def _rows(self, query: str, keys: list[str]) -> Iterator[tuple[Any, ...]]:
        """The rows of a query on these keys, none where there is no file yet, or where it cannot be read."""
        rows: list[tuple[Any, ...]] = []
        with suppress(*FAULTS, OSError):
            if not keys or not self._file.is_file():
                return
            with self._opened() as connection:
                for begin in range(0, len(keys), 500):
                    some = keys[begin : begin + 500]
                    rows += connection.execute(query.format(", ".join("?" * len(some))), some).fetchall()
        yield from rows

    @contextmanager
    def _opened(self) -> Iterator[sqlite3.Connection]:
        """The file, and a new one in its place where it is damaged: all in it can be proved again."""
        try:
            with closing(sqlite3.connect(self._file, timeout=WAIT)) as connection:
                connection.execute("PRAGMA journal_mode = WAL")
                connection.execute("PRAGMA synchronous = NORMAL")
                if connection.execute(_LAYOUT).fetchall() not in ([], [(_TABLE,)]):
                    raise sqlite3.DatabaseError("it is laid out otherwise")
                yield connection
        except sqlite3.OperationalError:
            raise
        except (sqlite3.DatabaseError, UnicodeDecodeError):
            for suffix in ("", "-wal", "-shm"):
                Path(f"{self._file}{suffix}").unlink(missing_ok=True)
            raise


def _read(told: dict[str, Any]) -> KeptVerdict:
    """What was kept; raises TypeError where it is no verdict of ours."""
    lists = {name: tuple(each) for name, each in told.items() if isinstance(each, list)}
    given: dict[str, Any] = {**told, **lists}
    found = KeptVerdict(**given)
    for each in fields(found):
        value = getattr(found, each.name)
        texts = value if each.name in _LISTS else () if each.name == "seconds" else (value,)
        if not isinstance(texts, tuple) or not all(isinstance(text, str) for text in texts):
            raise TypeError(f"{each.name} of a kept verdict is none")
    if not _is_time(found.seconds) or not (found.picture == "" or thumbnail.is_one(found.picture)):
        raise TypeError("a kept verdict has a time or a picture that is none")
    return found


_LISTS = frozenset({"reservations", "needs", "lacks"})


def _is_time(seconds: object) -> bool:
    return seconds is None or (isinstance(seconds, int | float) and math.isfinite(seconds))


def key(machine: str, controller: str, macro: str, others: Iterable[tuple[str, str]] = ()) -> str:
    """What a verdict is kept under; the sheets and the macros that it runs are given as digests of their texts."""
    total = _on(machine, controller).copy()
    total.update(macro.encode())
    for id, digest in sorted(others):
        total.update(f" {id} {digest}".encode())
    return str(total.hexdigest())


@lru_cache(maxsize=64)
def _on(machine: str, controller: str) -> Any:
    return hashlib.sha256(f"{program()} {machine} {controller} ".encode())


@cache
def program() -> str:
    """The digest of all that decides on a verdict and words it: the program, and what it calculates with."""
    total = hashlib.sha256(f"{platform.python_version()} {version('numpy')}".encode())
    for package in (parser, library, webapp):
        folder = Path(str(package.__file__)).parent
        for file in sorted(folder.rglob("*")):
            if file.suffix in (".py", ".txt", ".peg", ".toml"):
                total.update(f"{file.relative_to(folder)}\0".encode() + file.read_bytes())
    return total.hexdigest()
