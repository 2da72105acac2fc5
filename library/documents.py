"""Documents as TOML: read and checked with one clear line per error, written back with comments kept, described as JSON
Schema.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal, overload

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from library import measured, reading, toml_text
from library.bench import Bench
from library.fields import Part, Units, in_inches, in_mm
from library.limits import DOCUMENT_BYTES
from library.macros import Macro
from library.merging import differences
from library.mistakes import as_written, briefly, described_at, first_mistake, place_of, units_in
from library.sheets import ControllerSheet, MachineSheet, PendantSheet, plain_controller, plain_machine, preset_text
from library.sheets.limits import condition
from library.sheets.parts import without_gone
from library.toml_text import DocumentError as DocumentError
from library.toml_text import set_value as set_value
from parser.errors import SheetError
from parser.machine import ROTARY
from parser.quantities import figure

KINDS: Mapping[str, type[Part]] = {
    "machine": MachineSheet,
    "controller": ControllerSheet,
    "pendant": PendantSheet,
    "macro": Macro,
}

VERSIONS: Mapping[str, int] = {"machine": 1, "controller": 1, "pendant": 1, "macro": 1}

UPGRADES: dict[tuple[str, int], Callable[[dict[str, Any]], dict[str, Any]]] = {}
"""How the data of a kind and version becomes that of the next version; every version so far is the first."""


@overload
def parse(kind: Literal["machine"], text: str, source: str = "") -> MachineSheet: ...
@overload
def parse(kind: Literal["controller"], text: str, source: str = "") -> ControllerSheet: ...
@overload
def parse(kind: Literal["pendant"], text: str, source: str = "") -> PendantSheet: ...
@overload
def parse(kind: Literal["macro"], text: str, source: str = "") -> Macro: ...
@overload
def parse(kind: str, text: str, source: str = "") -> Part: ...


def parse(kind: str, text: str, source: str = "") -> Part:
    """The document of that kind in a TOML text; ``source`` names it in errors. Raises DocumentError, one line.

    A sheet that the parser would not take is refused here too, so that every other place can turn it into what the
    parser knows without a thought.
    """
    measured.require_text(text, source)
    data = _upgraded(kind, toml_text.read(text, source), text, source)
    measured.require_counts(kind, data, source)
    try:
        document = KINDS[kind].model_validate(data)
        if isinstance(document, MachineSheet):
            plain_machine(document)
        elif isinstance(document, ControllerSheet):
            plain_controller(document)
    except ValidationError as error:
        raise first_mistake(error.errors(), KINDS[kind], data, text, source) from None
    except SheetError as error:
        raise DocumentError(str(error), source=source) from None
    return document


def bench(
    machine: str,
    controller: str,
    pendant: str = "",
    shelf: Mapping[str, Macro] | None = None,
    *,
    sources: Mapping[str, str] | None = None,
) -> Bench:
    """The bench of sheets as texts; "": a pendant that holds nothing. ``sources`` names them in errors, by kind.

    Raises DocumentError.
    """
    named = {**_TITLES, **(sources or {})}
    made = _sheets(machine, controller, pendant, named["machine"], named["controller"], named["pendant"])
    return made if shelf is None else replace(made, shelf=shelf)


@lru_cache(maxsize=16)
def _sheets(machine: str, controller: str, pendant: str, *sources: str) -> Bench:
    """The bench of sheets, without a shelf: every page asks for it several times, and the sheets seldom change."""
    return Bench.of(
        parse("machine", machine, sources[0]),
        parse("controller", controller, sources[1]),
        parse("pendant", pendant, sources[2]) if pendant else None,
        None,
        {"machine": digest(machine), "controller": digest(controller), "pendant": digest(pendant)},
    )


def forget() -> None:
    """Forget the sheets that were read."""
    _sheets.cache_clear()


def controller_text(given: str) -> str:
    """The TOML text of a controller given as presets or as the path of a sheet; raises DocumentError."""
    if re.search(r"[\\/]|\.toml$", given, re.IGNORECASE) or Path(given).is_file():
        return read_file(given)
    return preset_text(given)


def read_file(path: str | Path) -> str:
    """The text of a file; raises DocumentError where it is missing, a directory, unreadable or not UTF-8 text."""
    try:
        return reading.content(path, DOCUMENT_BYTES).decode("utf-8-sig")
    except reading.ReadError as error:
        raise DocumentError(str(error), source=str(path)) from None
    except FileNotFoundError:
        raise DocumentError("there is no such file; check the name and the folder", source=str(path)) from None
    except IsADirectoryError:
        raise DocumentError("this is a folder; name a file in it", source=str(path)) from None
    except UnicodeDecodeError:
        raise DocumentError("this is not a text file in UTF-8; save it as one", source=str(path)) from None
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise DocumentError(f"the file cannot be read ({why})", source=str(path)) from None


def digest(text: str) -> str:
    """SHA-256 of a text in UTF-8, as 64 hexadecimal digits."""
    return hashlib.sha256(text.encode()).hexdigest()


def schema(kind: str) -> dict[str, Any]:
    """JSON Schema of a kind of document, with the description of every key and, for a macro, of every block."""
    made = KINDS[kind].model_json_schema(by_alias=True)
    if kind == "macro":
        from library.blocks import step_schemas  # to read a document takes no blocks

        made["properties"]["step"]["items"] = {"anyOf": step_schemas()}
        made["$defs"].pop("Step")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **made}


def write(kind: str, changes: Part | Mapping[Sequence[str | int], object], text: str) -> str:
    """The text with changes made, comments and order kept, and checked to be a document of that kind.

    ``changes`` is a whole document, of which only what differs is written, or values by path (None takes a key out).
    Raises DocumentError where the result would not be a good document; the text is then unchanged.
    """
    if isinstance(changes, BaseModel):
        wanted = _data(changes)
        if not text.strip():
            return str(toml_text.editor().dumps(wanted))
        pairs = list(differences(_data(parse(kind, text)), wanted))
    else:
        pairs = [(tuple(path), value) for path, value in changes.items()]
    before = text
    for path, value in pairs:
        text = set_value(text, path, value)
    text = without_gone(kind, before, text)
    parse(kind, text)
    return text


def of_today(kind: str, text: str) -> dict[str, Any]:
    """The data of a document with the keys of today where it has some of earlier days. Raises DocumentError."""
    document = parse(kind, text)
    data = toml_text.read(text)
    if all(key not in data.get(table, {}) for table, key in _EARLIER.get(kind, ())):
        return data
    return _data(document)


_EARLIER: Mapping[str, Sequence[tuple[str, str]]] = {"pendant": (("gesture", "clicks"), ("memory", "bytes"))}


def problems(kind: str, data: dict[str, Any]) -> tuple[tuple[toml_text.Path, str], ...]:
    """What is wrong with the data of a document: where, and why without naming it again; one for each place."""
    try:
        measured.require_counts(kind, data, "")
        document = KINDS[kind].model_validate(data)
        if isinstance(document, MachineSheet):
            plain_machine(document)
        elif isinstance(document, ControllerSheet):
            plain_controller(document)
    except ValidationError as error:
        by_place: dict[toml_text.Path, list[ErrorDetails]] = {}
        for each in error.errors():
            by_place.setdefault(place_of(each, data), []).append(each)
        inner = [path for path in by_place if not any(path == other[: len(path)] != other for other in by_place)]
        return tuple((path, briefly(by_place[path], KINDS[kind], path, data)) for path in inner)
    except DocumentError as error:
        return (((), error.why),)
    except SheetError as error:
        return (((), str(error)),)
    return ()


def lengths(kind: str, data: Any, path: toml_text.Path = ()) -> Iterator[tuple[toml_text.Path, float]]:
    """Every number of a document that is read in its units, by path."""
    for key, value in data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ():
        here = (*path, key)
        field = described_at(KINDS[kind], here)
        if isinstance(value, dict | list):
            yield from lengths(kind, value, here)
        elif field and any(unit.startswith("mm") for unit in units_in(field)) and not set(here) & set(ROTARY):
            yield here, value


def converted(kind: str, text: str, was: Units) -> str:
    """The text of a sheet whose units were switched, its figures as long as they were; raises DocumentError."""
    data = toml_text.read(text)
    changes: dict[Sequence[str | int], object] = {
        path: round(in_mm(value), 4) if was == "inch" else round(in_inches(value), 5)
        for path, value in lengths(kind, data)
    }
    for index, entry in enumerate(data.get("limit", ())):
        for key, written in entry.items():
            axis, sign, mm = condition(written, was, key)
            changes["limit", index, key] = f"{axis} {sign} {figure(mm, 6)} {'deg' if axis in ROTARY else 'mm'}"
    return write(kind, changes, text)


def _data(model: BaseModel) -> dict[str, Any]:
    """What a document would have to say, keys left at their default left out; days are days, not texts."""
    data = model.model_dump(mode="json", by_alias=True, exclude_unset=True, exclude_none=True)
    return data | {"measured": dict(model.measured)} if "measured" in data else data  # type: ignore[attr-defined]


_FORMAT = re.compile(r"clickstop-([a-z]+)/(\d{1,6})")


def _upgraded(kind: str, data: dict[str, Any], text: str, source: str) -> dict[str, Any]:
    """The data in the newest version of its kind; errors where the format is missing, strange, foreign or newer."""
    current = f"clickstop-{kind}/{VERSIONS[kind]}"

    def refused(why: str) -> DocumentError:
        return DocumentError(why, source=source, line=toml_text.line_of(text, ("format",)), key="format")

    if "format" not in data:
        raise refused(f'format is missing; begin the document with the line format = "{current}"')
    written = data["format"]
    found = _FORMAT.fullmatch(written) if isinstance(written, str) else None
    if found is None or found[1] not in KINDS:
        raise refused(
            f'format is {as_written(written)}, which is no format of this program; write format = "{current}"'
        )
    other, version = found[1], int(found[2])
    if other != kind:
        raise refused(f"this is a {_TITLES[other]}, and a {_TITLES[kind]} is wanted here (format {written})")
    if version > VERSIONS[kind]:
        raise refused(f"format {written} was written by a newer Clickstop; update the program")
    for step in range(version, VERSIONS[kind]):
        if (kind, step) not in UPGRADES:
            raise refused(f'format {written} was never in use; write format = "{current}"')
        data = UPGRADES[kind, step](data)
    return {**data, "format": current}


_TITLES = {"machine": "machine sheet", "controller": "controller sheet", "pendant": "pendant sheet", "macro": "macro"}
