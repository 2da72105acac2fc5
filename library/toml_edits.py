"""Many edits of one TOML text at once: read once, written once, comments kept, and checked to be what was meant.

A table is a dict, a list of tables is ``Rows``: its entries by the place they have in the text, so that a row that is
taken out or added moves no other.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from tomllib import TOMLDecodeError
from typing import Any

from library import toml_text
from library.toml_text import DocumentError, Path, dotted


@dataclass(slots=True)
class Rows:
    """The tables of a list by their place in the text; one that is new has a place past the last."""

    entries: dict[int, Any] = field(default_factory=dict)

    def __bool__(self) -> bool:
        return bool(self.entries)


@dataclass(frozen=True, slots=True)
class Edit:
    """One change: ``value`` is set at ``path``, or what is there is taken out where it is None.

    ``added``: the value is a new last entry of the list at ``path``.
    """

    path: Path
    value: object
    added: bool = False


def with_rows(data: Any) -> Any:
    """Plain data with its lists of tables as ``Rows``."""
    if isinstance(data, dict):
        return {key: with_rows(value) for key, value in data.items()}
    if isinstance(data, list) and data and all(isinstance(entry, dict) for entry in data):
        return Rows({index: with_rows(entry) for index, entry in enumerate(data)})
    return list(data) if isinstance(data, list) else data


def plain(data: Any) -> Any:
    """The data as they are without ``Rows``; a list that has lost its last row is left out."""
    if isinstance(data, Rows):
        return [plain(data.entries[place]) for place in sorted(data.entries)]
    if isinstance(data, dict):
        return {key: plain(value) for key, value in data.items() if not isinstance(value, Rows) or value}
    return data


def edits(old: Any, new: Any, path: Path = ()) -> Iterator[Edit]:
    """What turns the one into the other; rows are taken out from the last to the first, then those that are new."""
    if isinstance(old, Rows) and isinstance(new, Rows) and new.entries:
        for place in sorted(set(old.entries) & set(new.entries)):
            yield from edits(old.entries[place], new.entries[place], (*path, place))
        for place in sorted(set(old.entries) - set(new.entries), reverse=True):
            yield Edit((*path, place), None)
        for place in sorted(set(new.entries) - set(old.entries)):
            yield Edit(path, plain(new.entries[place]), added=True)
    elif isinstance(old, dict) and isinstance(new, dict):
        for key in [*old, *(key for key in new if key not in old)]:
            if key not in new:
                yield Edit((*path, key), None)
            elif key not in old:
                yield Edit((*path, key), plain(new[key]))
            else:
                yield from edits(old[key], new[key], (*path, key))
    elif isinstance(old, list) and isinstance(new, list) and old and new and not any(map(_nested, (*old, *new))):
        for at, (one, other) in enumerate(zip(old, new, strict=False)):
            if type(one) is not type(other) or one != other:
                yield Edit((*path, at), other)
        for at in reversed(range(len(new), len(old))):
            yield Edit((*path, at), None)
        for one in new[len(old) :]:
            yield Edit(path, one, added=True)
    elif type(old) is not type(new) or old != new:
        yield Edit(path, plain(new) or None if isinstance(new, Rows) else plain(new))


def _nested(value: object) -> bool:
    return isinstance(value, dict | list)


def edited(text: str, old: Any, new: Any) -> str:
    """The text, which reads as ``old``, so that it reads as ``new``; both with ``Rows``.

    Raises DocumentError where that cannot be done in place.
    """
    wanted = list(edits(old, new))
    if not wanted:
        return text
    meant = toml_text.unix_lines(plain(new))
    for way in (_together, _one_by_one, _by_whole_keys):
        try:
            result = way(text, wanted, meant)
        except (DocumentError, TOMLDecodeError, IndexError, KeyError, TypeError, ValueError):
            continue
        if toml_text.reads_as(result, meant):
            return result
    place = dotted(wanted[0].path)
    raise DocumentError(f"{place} cannot be changed in place in this text; edit the text", key=place)


def _together(text: str, wanted: Sequence[Edit], meant: object) -> str:
    """One reading and one writing for all that is there, then what goes as whole lines."""
    data = toml_text.read(text)
    headers = {statement.path for statement in toml_text.statements(text) if statement.header}
    fresh = [
        edit for edit in wanted if edit.value is not None and not edit.added and not toml_text.there(data, edit.path)
    ]
    whole = [edit for edit in wanted if edit.value is None and headers & {edit.path, (*edit.path, 0)}]
    rows = [edit for edit in wanted if edit.added and (*edit.path, 0) in headers and len(edit.path) == 1]
    within = [edit for edit in wanted if edit not in (*fresh, *whole, *rows)]
    if within:
        text = toml_text.assigned(text, dict(_places(within, data)))
    for edit in whole:
        was = toml_text.at(data, edit.path)
        other = next((one for one in fresh if one.path[:-1] == edit.path[:-1] and one.value == was), None)
        if other is not None and all(isinstance(part, str) for part in other.path):
            text = renamed_table(text, edit.path, str(other.path[-1]))
            fresh.remove(other)
        else:
            text = without_table(text, edit.path)
    for edit in rows:
        assert isinstance(edit.value, dict)
        text = _with_row(text, str(edit.path[0]), edit.value)
    for edit in fresh:
        text = with_new(text, edit.path, edit.value)
    return text


def _places(within: Sequence[Edit], data: Any) -> Iterator[tuple[Path, object]]:
    """Path and value of each edit; entries that are added to a list come behind one another."""
    added: dict[Path, int] = {}
    for edit in within:
        if edit.added:
            place = added.setdefault(edit.path, len(toml_text.at(data, edit.path)))
            added[edit.path] += 1
            yield (*edit.path, place), edit.value
        else:
            yield edit.path, edit.value


def _one_by_one(text: str, wanted: Sequence[Edit], meant: object) -> str:
    for edit in wanted:
        path = (*edit.path, len(toml_text.at(toml_text.read(text), edit.path))) if edit.added else edit.path
        text = toml_text.set_value(text, path, edit.value)
    return text


def _by_whole_keys(text: str, wanted: Sequence[Edit], meant: object) -> str:
    assert isinstance(meant, Mapping)
    for key in dict.fromkeys(edit.path[0] for edit in wanted):
        text = toml_text.set_value(text, (key,), meant.get(str(key)))
    return text


def set_values(text: str, changes: Mapping[Path, object]) -> str:
    """The text with values set by path, each as ``set_value`` does, but those that are there already all in one go."""
    there = toml_text.read(text)
    together = {
        path: toml_text.unix_lines(value)
        for path, value in changes.items()
        if value is not None and toml_text.there(there, path)
    }
    if len(together) > 1:
        with suppress(DocumentError):
            for path, value in together.items():
                toml_text.assign(there, path, value)
            written = toml_text.assigned(text, together)
            if toml_text.reads_as(written, there):
                text = written
                changes = {path: value for path, value in changes.items() if path not in together}
    for path, value in changes.items():
        text = toml_text.set_value(text, path, value)
    return text


def without_table(text: str, path: Path) -> str:
    """The text without a table that has a header, what is below it, and the comments right over it.

    Comments over the next header stay, which tomlkit would take along.
    """
    kept, above, done = [], 0, 0
    for statement in toml_text.statements(text):
        if statement.path[: len(path)] == path:
            begin = toml_text.with_comments(text, statement.begin, above) if statement.header else statement.begin
            kept.append(text[done:begin])
            done = statement.end
        above = statement.end
    rest = text[done:]
    while rest.startswith("\n") and (not kept[-1] or kept[-1].endswith("\n\n")):
        rest = rest[1:]
    return "".join(kept) + rest


def renamed_table(text: str, path: Path, name: str) -> str:
    """The text with a table that has a header called otherwise, its comments kept."""
    made, done = [], 0
    for statement in toml_text.statements(text):
        if statement.header and statement.path[: len(path)] == path:
            keys = (*path[:-1], name, *statement.path[len(path) :])
            header = f"[{'.'.join(toml_text.key_text(str(key)) for key in keys)}]"
            made += [text[done : statement.begin], header]
            done = statement.begin + text[statement.begin : statement.end].rindex("]", 0, _comment(text, statement)) + 1
    return "".join([*made, text[done:]])


def _comment(text: str, statement: toml_text.Statement) -> int:
    """Where the comment behind a header begins, counted from its own beginning; its end where there is none."""
    found = re.search(r"\]\s*#", text[statement.begin : statement.end])
    return found.start() + 1 if found else statement.end - statement.begin


def with_new(text: str, path: Path, value: object) -> str:
    """The text with a key or a table that is not there: below what it belongs to, else at the end."""
    found = list(toml_text.statements(text))
    if any(path[: len(each.path)] == each.path for each in found if not each.header):
        return toml_text.set_value(text, path, value)
    keys = [str(part) for part in path]
    listed = isinstance(value, list) and bool(value) and all(isinstance(entry, dict) for entry in value)
    if listed and len(path) == 1:
        assert isinstance(value, list)
        return "\n".join([_ended(text), *(toml_text.table_text(keys[0], entry) for entry in value)])
    family = [each for each in found if each.header and each.path[:-1] == path[:-1] and len(path) > 1]
    if isinstance(value, dict) and keys == list(path) and (len(path) == 1 or family):
        lines = "".join(f"{toml_text.key_text(key)} = {toml_text.inline(one)}\n" for key, one in value.items())
        block = f"\n[{'.'.join(map(toml_text.key_text, keys))}]\n{lines}"
        end = max((each.end for each in found if family and each.path[: len(path) - 1] == path[:-1]), default=len(text))
        return _ended(text[:end]) + block + text[end:]
    header = max(
        (each.path for each in found if each.header and path[: len(each.path)] == each.path), key=len, default=()
    )
    rest = path[len(header) :]
    if not all(isinstance(part, str) for part in rest):
        return toml_text.set_value(text, path, value)
    if not header and not any(not each.table for each in found):
        raise DocumentError("there is no place above the first table", key=dotted(path))
    end = max(each.end for each in found if each.table == header)
    key = ".".join(toml_text.key_text(str(part)) for part in rest)
    return f"{_ended(text[:end])}{key} = {toml_text.inline(value)}\n{text[end:]}"


def _with_row(text: str, name: str, values: dict[str, object]) -> str:
    """The text with one more ``[[name]]`` right below the last."""
    end = max(each.end for each in toml_text.statements(text) if each.path[:1] == (name,))
    return f"{_ended(text[:end])}\n{toml_text.table_text(name, values)}{text[end:]}"


def _ended(text: str) -> str:
    return text if not text or text.endswith("\n") else text + "\n"
