"""A document measured before it is read: a text over a limit is refused in a sentence, at no cost.

A text is looked over once, whatever it holds; lists are counted before any entry of them is checked.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

from library.limits import COUNTS, DOCUMENT_BYTES, DOCUMENT_LINES, DOTTED, NESTING, SLOTS, TABLES
from library.toml_text import DocumentError, dotted
from parser.limits import Allowance

_STRING = re.compile(
    r'"{3}(?:\\.|[^\\"]|"{1,2}(?!"))*+(?:"{3,5}|\Z)'
    r"|'{3}(?:[^']|'{1,2}(?!'))*+(?:'{3,5}|\Z)"
    r'|"(?:\\.|[^"\\\n])*+"?'
    r"|'[^'\n]*+'?"
    r"|#[^\n]*+",
    re.DOTALL,
)
"""Texts and comments, also such as do not end: none is looked for twice from one place."""

_DOTTED = re.compile(r'(?<![\w-])(?:(?:[\w-]++|"")[ \t]*+\.[ \t]*+)' f"{{{DOTTED.most}}}")
_HEADER = re.compile(r"^[ \t]*+\[", re.MULTILINE)


def require_text(text: str, source: str = "") -> None:
    """Raise DocumentError where a text is over a limit: bytes, lines, brackets, parts of a key, tables."""
    size = len(text) if text.isascii() else len(text.encode(errors="replace"))
    if size > DOCUMENT_BYTES.most:
        raise _over(DOCUMENT_BYTES, f"it has {size:,} bytes", source)
    lines = text.count("\n")
    if lines > DOCUMENT_LINES.most:
        raise _over(DOCUMENT_LINES, f"it has {lines:,} lines", source)
    plain = _STRING.sub(_blank, text)
    headers = sum(1 for _ in _HEADER.finditer(plain))
    if headers > TABLES.most:
        raise _over(TABLES, f"it has {headers:,} lines that begin with a bracket", source)
    found = _DOTTED.search(plain)
    if found:
        raise _over(DOTTED, "one has more", source, _line(plain, found.start()))
    depth = 0
    for bracket in re.finditer(r"[\[\]{}]", plain):
        depth += 1 if bracket[0] in "[{" else -1
        if depth > NESTING.most:
            raise _over(NESTING, "here there are more", source, _line(plain, bracket.start()))


def require_counts(kind: str, data: Mapping[str, Any], source: str = "") -> None:
    """Raise DocumentError where a list of a document is longer than it may be."""
    for key, allowed in COUNTS[kind].items():
        for path, entries in _lists(data, key.split(".")):
            if len(entries) > allowed.most:
                raise DocumentError(
                    f"{dotted(path)} has {len(entries):,} entries; {allowed.of} takes at most {allowed}",
                    source=source,
                    key=dotted(path),
                )
    slots = data.get("slots")
    if kind == "pendant" and isinstance(slots, dict):
        used = sum(len(row) for row in slots.values() if isinstance(row, dict))
        if used > SLOTS.most:
            raise DocumentError(f"slots has {used:,} entries; {SLOTS.of} takes at most {SLOTS}", source=source)


def _lists(
    data: Any, keys: list[str], path: tuple[str | int, ...] = ()
) -> Iterator[tuple[tuple[str | int, ...], list[Any]]]:
    found = data.get(keys[0]) if isinstance(data, dict) else None
    if not isinstance(found, list):
        return
    if len(keys) == 1:
        yield (*path, keys[0]), found
        return
    for index, entry in enumerate(found):
        yield from _lists(entry, keys[1:], (*path, keys[0], index))


def _blank(found: re.Match[str]) -> str:
    """What stands for a text or a comment: quotes, and the line ends in it, so that lines keep their numbers."""
    return ("" if found[0][0] == "#" else '""') + "\n" * found[0].count("\n")


def _line(text: str, at: int) -> int:
    return text.count("\n", 0, at) + 1


def _over(allowed: Allowance, said: str, source: str, line: int | None = None) -> DocumentError:
    return DocumentError(f"{allowed.of} takes at most {allowed}, and {said}; shorten it", source=source, line=line)
