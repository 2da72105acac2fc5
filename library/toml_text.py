"""TOML as a text somebody wrote: read with clear errors, found again by key, and edited with its comments kept.

A path is a tuple of keys and, inside lists, indexes from 0: ``("axes", "x", "travel")``, ``("step", 2, "block")``.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from importlib import import_module
from types import ModuleType
from typing import Any

from library.errors import LibraryError

Path = tuple[str | int, ...]

LONGEST = 1_000_000
"""Characters; no sheet or macro comes near it, and a longer text would only hold up the page that shows it."""


class DocumentError(LibraryError):
    """A document that cannot be used; ``str()`` is one line: where, what, what to do.

    ``source`` names the document, ``line`` counts from 1 (None where no line can be named), ``key`` is the dotted key
    concerned ("" for the whole document), ``why`` the line without source and line number.
    """

    def __init__(self, why: str, *, source: str = "", line: int | None = None, key: str = "") -> None:
        self.source, self.line, self.key, self.why = source, line, key, " ".join(why.split())
        place = ", ".join(part for part in (source, f"line {line}" if line else "") if part)
        super().__init__(f"{place}: {self.why}" if place else self.why)


def dotted(path: Sequence[str | int]) -> str:
    """A path as people write it: ``axes.x.travel``, ``keep_out[2].name`` (list entries count from 1)."""
    text = ""
    for part in path:
        if isinstance(part, int):
            text += f"[{part + 1}]"
        else:
            shown = part if re.fullmatch(r"[A-Za-z0-9_-]+", part) else f'"{part}"'
            text += f".{shown}" if text else shown
    return text


def read(text: str, source: str = "") -> dict[str, Any]:
    """The plain data of a TOML text; raises DocumentError where it is empty, binary, too long or not TOML."""
    if not text.strip():
        raise DocumentError('the document is empty; it has to begin with a line such as format = "..."', source=source)
    if "\0" in text:
        raise DocumentError("this is not a text file (it holds zero bytes); a TOML document is wanted", source=source)
    if len(text) > LONGEST:
        raise DocumentError(f"the document is longer than {LONGEST} characters; shorten it", source=source)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        why, line, column = _place(str(error), text)
        raise DocumentError(
            f"not TOML at column {column}: {why}; fix this line, or the text before it", source=source, line=line
        ) from None
    except RecursionError:
        raise DocumentError("brackets are nested too deeply; a document needs three levels", source=source) from None
    except ValueError:
        raise DocumentError("a number or date in it cannot be read; write it shorter", source=source) from None


def _place(message: str, text: str) -> tuple[str, int, int]:
    found = re.fullmatch(r"(.*) \(at line (\d+), column (\d+)\)", message, re.DOTALL)
    if found:
        return found[1].lower(), int(found[2]), int(found[3])
    lines = text.rstrip("\n").split("\n")
    return message.removesuffix(" (at end of document)").lower(), len(lines), len(lines[-1]) + 1


def editor() -> ModuleType:
    """tomlkit, loaded when something is first written: to read a document takes none of it, and loading it time."""
    return import_module("tomlkit")


@dataclass(frozen=True, slots=True)
class Statement:
    """A header or a ``key = value`` of a TOML text, from ``begin`` to ``end`` in it; ``line`` counts from 1.

    ``table`` is the path of the header it stands under (its own path for a header), ``path`` its full path.
    """

    line: int
    begin: int
    end: int
    table: Path
    path: Path
    header: bool


_TOKEN = re.compile(
    r'"{3}(?:\\.|[^\\])*?"{3,5}' r"|'{3}.*?'{3,5}" r'|"(?:\\.|[^"\\\n])*"' r"|'[^'\n]*'" r"|#[^\n]*|[\[\]{}\n]",
    re.DOTALL,
)


def statements(text: str) -> Iterator[Statement]:
    """Every header and every key of a text that is TOML, in order; multi-line values are one statement."""
    table: Path = ()
    entries: dict[Path, int] = {}
    for line, begin, end in _logical_lines(text):
        content = text[begin:end].lstrip()
        if not content or content.startswith("#"):
            continue
        if content.startswith("["):
            table = _header(content, entries)
            yield Statement(line, begin, end, table, table, True)
        else:
            keys = _keys(_TOKEN_OR_EQUALS.match(content)[1])  # type: ignore[index]
            yield Statement(line, begin, end, table, table + keys, False)


_TOKEN_OR_EQUALS = re.compile(r"""((?:"(?:\\.|[^"\\])*"|'[^']*'|[^="'])*)=""")


def _logical_lines(text: str) -> Iterator[tuple[int, int, int]]:
    line, begin, depth, started = 1, 0, 0, 1
    for token in _TOKEN.finditer(text):
        what = token[0]
        if what == "\n":
            line += 1
            if depth == 0:
                yield started, begin, token.end()
                begin, started = token.end(), line
        elif what in "[{":
            depth += 1
        elif what in "]}":
            depth -= 1
        else:
            line += what.count("\n")
    if begin < len(text):
        yield started, begin, len(text)


def _keys(text: str) -> tuple[str, ...]:
    found: list[str] = []
    value: Any = tomllib.loads(f"{text.strip()} = 0")
    while isinstance(value, dict):
        key, value = next(iter(value.items()))
        found.append(key)
    return tuple(found)


def _header(content: str, entries: dict[Path, int]) -> Path:
    listed = content.startswith("[[")
    inner = re.match(r"""\[+((?:"(?:\\.|[^"\\])*"|'[^']*'|[^\]"'])*)\]""", content)
    keys = _keys(inner[1]) if inner else ()
    path: Path = ()
    for position, key in enumerate(keys):
        path = (*path, key)
        if listed and position == len(keys) - 1:
            entries[path] = entries.get(path, -1) + 1
        if path in entries:
            path = (*path, entries[path])
    return path


def line_of(text: str, path: Sequence[str | int]) -> int | None:
    """The line on which a key, or the nearest thing that holds it, is written; None where nothing is."""
    wanted = tuple(path)
    best: tuple[int, int] | None = None
    try:
        found = list(statements(text))
    except (tomllib.TOMLDecodeError, TypeError):
        return None
    for statement in found:
        own = statement.path
        if wanted[: len(own)] == own and own and (best is None or len(own) > best[0]):
            best = (len(own), statement.line)
        elif own[: len(wanted)] == wanted and best is None:
            best = (0, statement.line)
    return best[1] if best else None


def set_value(text: str, path: Sequence[str | int], value: object) -> str:
    """The text with one value set, comments and order kept; ``None`` takes the key out.

    What does not read back as it was meant is written anew where the value stood, and given up where that does not
    either.

    Tables that are missing are made; an index one past the end of a list adds an entry. Raises DocumentError where the
    path leads through something that is no table or list, or where the text is not TOML.
    """
    try:
        return _set_in_place(text, path, value)
    except DocumentError:
        if value is None or not isinstance(path[-1], str):
            raise
        return _set_in_place(_set_in_place(text, path, None), path, value)


def _set_in_place(text: str, path: Sequence[str | int], value: object) -> str:
    expected = read(text)
    value = unix_lines(value)
    added = None if there(expected, tuple(path)) else _new_key(text, tuple(path), value)
    assign(expected, tuple(path), value)
    if added is not None and reads_as(added, expected):
        return added
    result = assigned(text, {tuple(path): value})
    if not reads_as(result, expected):
        raise DocumentError(f"{dotted(path)} cannot be set in place in this text; edit the text", key=dotted(path))
    return result


def assigned(text: str, changes: Mapping[Path, object]) -> str:
    """The text with values put at their places, in order, by one reading and one writing, comments kept.

    Whether it reads back as it was meant is for the caller to see. Raises DocumentError where it cannot be written.
    """
    tomlkit = editor()
    try:
        document = tomlkit.parse(text)
        for path, value in changes.items():
            assign(document, path, tomlkit.value(inline(value)) if isinstance(value, str) else value)
        return str(tomlkit.dumps(document))
    except tomlkit.exceptions.TOMLKitError as error:
        place = dotted(next(iter(changes)))
        raise DocumentError(f"{place} cannot be written ({error}); edit the text", key=place) from None


def reads_as(text: str, expected: object) -> bool:
    """Whether a text that was written for a document reads back as that, or at all."""
    try:
        return tomllib.loads(text) == expected
    except tomllib.TOMLDecodeError:
        return False


def assign(data: Any, path: Path, value: object) -> None:
    """Put a value at its place in plain data or a document of tomlkit, or take out what is there."""
    node = data
    for done, part in enumerate(path[:-1]):
        wanted: object = [] if isinstance(path[done + 1], int) else {}
        if isinstance(part, str) and isinstance(node, dict) and part not in node:
            node[part] = wanted if type(node) is dict else editor().item(wanted)
        node = _step(node, part, path)
    last = path[-1]
    if isinstance(node, list) and isinstance(last, int):
        if value is None:
            _step(node, last, path)
            del node[last]
        elif last == len(node):
            node.append(value)
        else:
            _step(node, last, path)
            node[last] = value
    elif isinstance(node, dict) and isinstance(last, str):
        if value is None:
            node.pop(last, None)
        else:
            node[last] = value
    else:
        raise DocumentError(f"{dotted(path)} is not a place in this document", key=dotted(path))


def at(data: Any, path: Path) -> Any:
    """What plain data hold at a path; raises KeyError, IndexError or TypeError where that leads nowhere."""
    for part in path:
        data = data[part]
    return data


def there(data: Any, path: Path) -> bool:
    """Whether plain data hold anything at a path."""
    try:
        at(data, path)
    except (KeyError, IndexError, TypeError):
        return False
    return True


def _step(node: Any, part: str | int, path: Path) -> Any:
    fits = isinstance(node, list) if isinstance(part, int) else isinstance(node, dict)
    if not fits or (isinstance(part, int) and not 0 <= part < len(node)):
        raise DocumentError(f"{dotted(path)} is not a place in this document", key=dotted(path))
    return node[part]


def _new_key(text: str, path: Path, value: object) -> str | None:
    """The text with a key added right under the last one of its table, where that table has a header; else None.

    tomlkit would put it below the comments that introduce the next table.
    """
    if value is None or not isinstance(path[-1], str):
        return None
    found = list(statements(text))
    within = [statement for statement in found if statement.table == path[:-1]]
    taken = any(statement.path == path[: len(statement.path)] for statement in within if not statement.header)
    if not within or taken or any(path == statement.path[: len(path)] for statement in found):
        return None
    end = within[-1].end
    before = text[:end] if text[:end].endswith("\n") else text[:end] + "\n"
    ending = "\r\n" if before.endswith("\r\n") else "\n"
    line = f"{key_text(path[-1])} = {inline(value)}{ending}"
    return before + line + text[end:]


def key_text(key: str) -> str:
    """A key as it is written, in quotes where it needs them."""
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else str(editor().string(key).as_string())


def inline(value: object) -> str:
    """A value as it is written behind its key."""
    if isinstance(value, dict):
        table = editor().inline_table()
        table.update(value)
        return str(table.as_string())
    if isinstance(value, list):
        return "[" + ", ".join(inline(entry) for entry in value) + "]"
    if isinstance(value, str) and "\n" in value:
        first = value.lstrip("\n")  # tomlkit doubles a line end that a text begins with
        escaped = str(editor().string(first, multiline=True).as_string()).removeprefix('"""')
        return '"""\n' + "\n" * (len(value) - len(first)) + escaped
    return str(editor().item(value).as_string())


def unix_lines(value: object) -> Any:
    """The value with the line ends that a form sends turned into those a TOML text keeps."""
    if isinstance(value, dict):
        return {key: unix_lines(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [unix_lines(entry) for entry in value]
    return value.replace("\r\n", "\n").replace("\r", "\n") if isinstance(value, str) else value


def move_entry(text: str, name: str, index: int, to: int) -> str:
    """The text with entry ``index`` of the ``[[name]]`` tables moved to place ``to``, its comments with it.

    Raises DocumentError where there is no such entry or, as the next two do, where the text cannot be changed in place
    so that it reads back as was meant.
    """
    pieces, places = _entries(text, name)
    order = list(places)
    order.insert(_within(to, places, name), order.pop(_within(index, places, name)))
    moved = list(pieces)
    for place, taken in zip(places, order, strict=True):
        moved[place] = pieces[taken]
    listed = list(read(text)[name])
    listed.insert(to, listed.pop(index))
    return _meant(text, _joined(moved), name, listed)


def remove_entry(text: str, name: str, index: int) -> str:
    """The text without entry ``index`` of the ``[[name]]`` tables and the comments right above it."""
    pieces, places = _entries(text, name)
    del pieces[places[_within(index, places, name)]]
    listed = list(read(text)[name])
    del listed[index]
    return _meant(text, _joined(pieces), name, listed)


def add_entry(text: str, name: str, index: int, values: dict[str, object]) -> str:
    """The text with a new ``[[name]]`` table so that it becomes entry ``index`` (their number: at the end)."""
    pieces, places = _entries(text, name)
    piece = table_text(name, values)
    last = places[-1] + 1 if places else len(pieces)
    pieces.insert(last if index == len(places) else places[_within(index, places, name)], piece)
    listed = list(read(text).get(name, []))
    listed.insert(index, unix_lines(values))
    return _meant(text, _joined(pieces), name, listed)


def _meant(before: str, after: str, name: str, listed: list[Any]) -> str:
    """The text after an edit, if it reads as the one before with these entries of ``[[name]]``."""
    wanted = {**read(before), name: listed}
    if not listed:
        del wanted[name]
    if not reads_as(after, wanted):
        raise DocumentError(f"{name} cannot be changed in place in this text; edit the text", key=name)
    return after


def _within(index: int, places: list[int], name: str) -> int:
    if not 0 <= index < len(places):
        raise DocumentError(f"there is no {name} {index + 1}; there are {len(places)}", key=name)
    return index


def _joined(pieces: list[str]) -> str:
    """The pieces one after the other, each on a line of its own even where the last of the text had no line end."""
    return "".join(piece if piece.endswith("\n") or not piece else piece + "\n" for piece in pieces)


def _entries(text: str, name: str) -> tuple[list[str], list[int]]:
    """The text in pieces, and which of them are entries of ``[[name]]`` with the comment lines right above them."""
    data = read(text)
    listed = data.get(name, [])
    found = list(statements(text))
    if listed and not any(statement.header and statement.path == (name, 0) for statement in found):
        text = _spelled_out(text, name, listed)
        found = list(statements(text))
    cuts: list[tuple[int, bool]] = [(0, False)]
    above = 0
    for statement in found:
        own = statement.header and statement.path[:1] == (name,)
        if own and len(statement.path) == 2:
            cuts.append((with_comments(text, statement.begin, above), True))
        elif statement.header and not own and cuts[-1][1]:
            cuts.append((with_comments(text, statement.begin, above), False))
        above = statement.end
    pieces = [text[begin:end] for (begin, _), (end, _) in zip(cuts, [*cuts[1:], (len(text), False)], strict=True)]
    return pieces, [place for place, (_, entry) in enumerate(cuts) if entry]


def _spelled_out(text: str, name: str, listed: list[dict[str, object]]) -> str:
    """The text with a list of inline tables rewritten as ``[[name]]`` tables at its end."""
    text = set_value(text, (name,), None)
    return _joined([text, *(table_text(name, entry) for entry in listed)])


def table_text(name: str, values: dict[str, object]) -> str:
    """An entry of ``[[name]]``."""
    lines = [f"[[{name}]]", *(f"{key_text(key)} = {inline(unix_lines(value))}" for key, value in values.items())]
    return "\n".join(lines) + "\n"


def with_comments(text: str, begin: int, above: int) -> int:
    """Where the comments right over a place begin, but not before the end ``above`` of what is written over them.

    A line within a text of several lines may look like a comment: a parameter setting begins with the same sign.
    """
    while begin > above:
        previous = text.rfind("\n", 0, begin - 1) + 1
        if not text[previous:begin].lstrip().startswith("#"):
            break
        begin = previous
    return begin
