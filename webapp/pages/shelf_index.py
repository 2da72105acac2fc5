"""What a shelf is found, filtered and sorted by: each macro in short, read without checking all of its document."""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections import OrderedDict
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from threading import Lock
from typing import Any

from library import documents, measured
from library.blocks.run_macro import BLOCK, run_by
from library.macros import Macro
from library.store import StoredText, Workshop

MOST_REMEMBERED = 20_000
"""Texts of which the facts are remembered: some hundred bytes each (our choice)."""


@dataclass(frozen=True, slots=True)
class Facts:
    """The head of a macro's document, and ids of the macros that it runs. ``name`` is "" where it says none."""

    name: str
    purpose: str
    author: str
    licence: str
    tags: tuple[str, ...]
    runs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Listed:
    """A macro on the shelf as it is found; ``digest`` is of its text, ``saved`` when that was saved."""

    id: str
    facts: Facts
    digest: str
    text: str
    saved: str

    @property
    def name(self) -> str:
        """What it is called, its id where its document says nothing."""
        return self.facts.name or self.id

    @property
    def words(self) -> str:
        """All that a search looks through, in small letters."""
        facts = self.facts
        said = (self.id, facts.name, facts.purpose, facts.author, *facts.tags)
        return "\n".join((*said, self.text)).casefold()


def listed(shop: Workshop) -> dict[str, Listed]:
    """Every macro on the shelf, by id."""
    return {each.id: _listed(each) for each in shop.standing("macro")}


def _listed(each: StoredText) -> Listed:
    digest = documents.digest(each.text)
    return Listed(each.id, facts(each.text, digest), digest, each.text, each.saved)


def runs(macro: Listed, shelf: Mapping[str, Listed]) -> tuple[tuple[str, str], ...]:
    """Id and digest of the macros of the shelf that a macro runs, and of those that these run."""
    return tuple((each.id, each.digest) for each in _run(macro, shelf))


def texts_run(macro: Listed, shelf: Mapping[str, Listed]) -> tuple[tuple[str, str], ...]:
    """Id and text of the same macros, of the shelf as it was when it was listed; those that can be read."""
    return tuple((each.id, each.text) for each in _run(macro, shelf) if _readable(each))


def _run(macro: Listed, shelf: Mapping[str, Listed]) -> Iterator[Listed]:
    found: set[str] = set()
    waiting = [macro]
    while waiting:
        for id in waiting.pop().facts.runs:
            if id in shelf and id not in found:
                found.add(id)
                waiting.append(shelf[id])
                yield shelf[id]


def _readable(macro: Listed) -> bool:
    try:
        documents.parse("macro", macro.text, macro.id)
    except documents.DocumentError:
        return False
    return True


_remembered: OrderedDict[str, Facts] = OrderedDict()
_lock = Lock()


def facts(text: str, digest: str = "") -> Facts:
    """The facts of a text, remembered by its digest."""
    digest = digest or hashlib.sha256(text.encode()).hexdigest()
    with _lock:
        if digest in _remembered:
            _remembered.move_to_end(digest)
            return _remembered[digest]
    found = _read(text)
    with _lock:
        _remembered[digest] = found
        while len(_remembered) > MOST_REMEMBERED:
            _remembered.popitem(last=False)
    return found


def forget() -> None:
    """Forget the facts of every text."""
    with _lock:
        _remembered.clear()


_LICENCE = Macro.model_fields["licence"].default
"""That of a macro which names none, as it is told in a bundle."""


def _read(text: str) -> Facts:
    head = _head(text)
    ran: tuple[str, ...] = ()
    if BLOCK.id in text:
        with suppress(documents.DocumentError):
            ran = run_by(documents.parse("macro", text))
    return Facts(
        name=_line(head.get("name")),
        purpose=_line(head.get("purpose")),
        author=_line(head.get("author")),
        licence=_line(head.get("licence", _LICENCE if head else "")),
        tags=tuple(_each_text(head.get("tags"))),
        runs=ran,
    )


def _head(text: str) -> Mapping[str, Any]:
    """What stands before the first table of a document; empty where it is no TOML."""
    head = text.split("\n[", 1)[0]
    plain = _plain(head)
    if plain is not None:
        return plain
    for part in (head, text):  # what looks like a table may stand within a long text or list
        with suppress(documents.DocumentError, tomllib.TOMLDecodeError, RecursionError):
            measured.require_text(part)
            return tomllib.loads(part)
    return {}


_TEXT = r'"([^"\\\x00-\x1f\x7f]*)"'
_PLAIN = re.compile(
    rf"[ \t]*(?:([a-z_]+)[ \t]*=[ \t]*(?:{_TEXT}|\[((?:{_TEXT}(?:,[ ]?)?)*)\])[ \t]*)?(?:#[^\n]*)?(?:\n|\Z)"
)
"""A line as nearly all heads have them: blank, a comment, or a key with a text without escapes or a list of such."""


def _plain(head: str) -> Mapping[str, Any] | None:
    """The keys of a head of plain lines only, which takes an eighth of reading it as TOML; None for any other."""
    found: dict[str, Any] = {}
    at = 0
    while at < len(head):
        line = _PLAIN.match(head, at)
        if line is None:
            return None
        key, text, entries = line.group(1, 2, 3)
        if key is not None:
            found[key] = text if entries is None else re.findall(_TEXT, entries)
        at = line.end()
    return found


def _line(value: object) -> str:
    return " ".join(value.split()) if isinstance(value, str) else ""


def _each_text(value: object) -> Iterator[str]:
    if isinstance(value, list):
        yield from (word for each in value if (word := _line(each)))
