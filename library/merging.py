"""Two changes of one text: put together where they concern different fields, and told apart where they do not."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from library import toml_text
from library.errors import LibraryError
from library.toml_text import DocumentError, dotted, set_value

UNITS: toml_text.Path = ("units",)
"""What every number of a document is in: a change of it goes together with no other change."""

COMMENTS = "comments"
"""Stands for the comments of a text among the fields that two changes have in common."""


class ClashError(LibraryError):
    """Two changes of the same fields; ``fields`` are the dotted keys, in the order of the second change.

    ``now`` is the text as somebody else has left it, ``mine`` the one that was to be saved.
    """

    def __init__(self, fields: tuple[str, ...], now: str, mine: str) -> None:
        self.fields, self.now, self.mine = fields, now, mine
        super().__init__(
            f"{', '.join(fields[:3])}{' and others' if len(fields) > 3 else ''} changed elsewhere meanwhile; "
            "choose which of the two is to hold"
        )


@dataclass(frozen=True, slots=True)
class Keeping:
    """A text to be kept with others, None to take the document out; ``seen`` is as in ``Workshop.save``."""

    kind: str
    id: str
    text: str | None
    why: str
    seen: int | None


def merged(base: str, now: str, mine: str) -> str:
    """The text ``mine``, made from ``base``, with what has become of ``base`` meanwhile (``now``) put in.

    Raises ClashError where both changed one field, where comments of either would be lost, or where one of the three is
    no TOML.
    """
    if mine == base:
        return now
    if now in (base, mine):
        return mine
    try:
        before, theirs, ours = (toml_text.read(text) for text in (base, now, mine))
        elsewhere, here = dict(differences(before, theirs)), dict(differences(before, ours))
        clashing = tuple(
            dotted(path) for path in here if any(_clash(path, here, other, elsewhere) for other in elsewhere)
        )
        if not clashing and UNITS in {*here, *elsewhere} and here != elsewhere:
            clashing = (dotted(UNITS),)
        if clashing:
            raise ClashError(clashing, now, mine)
        text = mine
        for path, value in elsewhere.items():
            text = set_value(text, path, value)
    except DocumentError:
        raise ClashError(("the text",), now, mine) from None
    if (_comments(now) | _comments(mine)) - _comments(base) - _comments(text):
        raise ClashError((COMMENTS,), now, mine)
    return text


def differences(
    before: Mapping[str, Any], after: Mapping[str, Any], path: toml_text.Path = ()
) -> Iterator[tuple[toml_text.Path, object]]:
    """What a change did to a document's data: each value by path, None for one that was taken out.

    Tables are compared key by key, and so are lists of as many tables that are called the same in the same order; any
    other list is one value.
    """
    for key in [*before, *(key for key in after if key not in before)]:
        yield from _difference(before.get(key), after.get(key), (*path, key))


def _difference(old: Any, new: Any, path: toml_text.Path) -> Iterator[tuple[toml_text.Path, object]]:
    if isinstance(old, dict) and isinstance(new, dict):
        yield from differences(old, new, path)
    elif _tables(old) and _tables(new) and _called(old) == _called(new):
        for index, pair in enumerate(zip(old, new, strict=True)):
            yield from _difference(*pair, (*path, index))
    elif type(old) is not type(new) or old != new:
        yield path, new


_NAMES = ("name", "number", "label", "rule", "block", "group", "is")


def _called(tables: list[dict[str, Any]]) -> list[tuple[object, ...]]:
    """What tells the tables of a list apart, such as its name or number."""
    return [tuple(each.get(key) for key in _NAMES) for each in tables]


def _tables(value: object) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(entry, dict) for entry in value)


def _clash(
    path: toml_text.Path, here: Mapping[toml_text.Path, object], other: toml_text.Path, elsewhere: Mapping[Any, object]
) -> bool:
    """Whether a change here and one elsewhere are of one thing, or of a thing and its part, and not the same."""
    shared = min(len(path), len(other))
    return path[:shared] == other[:shared] and (path != other or here[path] != elsewhere[other])


def _comments(text: str) -> Counter[str]:
    """The comments of a text, those behind a value too."""
    found: Counter[str] = Counter()
    for line in text.splitlines():
        _, mark, comment = line.partition("#")
        if mark:
            found[comment.strip()] += 1
    return found
