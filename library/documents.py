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
from typing import Any, Literal, cast, get_args, overload

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from library import measured, reading, toml_text
from library.bench import Bench
from library.fields import In, Part, Units, in_inches, in_mm
from library.limits import DOCUMENT_BYTES
from library.macros import Macro
from library.merging import differences
from library.nearest import did_you_mean
from library.sheets import ControllerSheet, MachineSheet, PendantSheet, plain_controller, plain_machine, preset_text
from library.sheets.limits import condition
from library.sheets.parts import without_gone
from library.toml_text import DocumentError as DocumentError
from library.toml_text import dotted
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

MOST_ERRORS = 20
"""Errors of a document among which the first in the text is looked for: one is shown, and each costs a reading."""

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
        raise _first(error.errors(), KINDS[kind], data, text, source) from None
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
            by_place.setdefault(_path(each, data), []).append(each)
        inner = [path for path in by_place if not any(path == other[: len(path)] != other for other in by_place)]
        return tuple((path, _briefly(by_place[path], KINDS[kind], path, data)) for path in inner)
    except DocumentError as error:
        return (((), error.why),)
    except SheetError as error:
        return (((), str(error)),)
    return ()


def lengths(kind: str, data: Any, path: toml_text.Path = ()) -> Iterator[tuple[toml_text.Path, float]]:
    """Every number of a document that is read in its units, by path."""
    for key, value in data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ():
        here = (*path, key)
        field = _describe(KINDS[kind], here)
        if isinstance(value, dict | list):
            yield from lengths(kind, value, here)
        elif field and any(unit.startswith("mm") for unit in _units_in(field)) and not set(here) & set(ROTARY):
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
        raise refused(f'format is {_shown(written)}, which is no format of this program; write format = "{current}"')
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


def _first(
    errors: Sequence[ErrorDetails], model: type[Part], data: dict[str, Any], text: str, source: str
) -> DocumentError:
    """The error to show: a misspelt key before the key that is missing because of it, else the first in the text."""
    rank = {"extra_forbidden": 0, "missing": 2}
    gravest = sorted(errors, key=lambda error: rank.get(error["type"], 1))
    errors = gravest[:MOST_ERRORS]
    places = [_path(error, data) for error in errors]
    lines = [toml_text.line_of(text, path) for path in places]
    order = sorted(range(len(errors)), key=lambda at: (rank.get(errors[at]["type"], 1), lines[at] or 0))
    chosen = order[0]
    path = places[chosen]
    here = [error for error, place in zip(errors, places, strict=True) if place == path]
    return DocumentError(
        f"{dotted(path)} {_why(here, model, path, data)}", source=source, line=lines[chosen], key=dotted(path)
    )


def _path(error: ErrorDetails, data: Any) -> tuple[str | int, ...]:
    """Where in the document an error is, without the names that pydantic gives to the branches of a choice."""
    path: list[str | int] = []
    node = data
    where = list(error["loc"]) + list(error.get("ctx", {}).get("path", []))
    for part in where:
        if (isinstance(node, Mapping) and part in node) or (
            isinstance(node, list) and isinstance(part, int) and part < len(node)
        ):
            node = node[part]
        elif not isinstance(node, Mapping):
            continue
        else:
            node = None
        path.append(part)
    return tuple(path)


def _why(errors: Sequence[ErrorDetails], model: type[Part], path: tuple[str | int, ...], data: Any) -> str:
    first = errors[0]
    described = _describe(model, path)
    about = f" ({described.description})" if described and described.description else ""
    if first["type"] == "wrong":
        return str(first["ctx"]["why"])
    if first["type"] == "extra_forbidden":
        return _unknown_key(model, path, data)
    if first["type"] == "missing" and isinstance(first["loc"][-1], str):
        return f"is missing; add {_wants(described)}{about}"
    wants = list(dict.fromkeys(filter(None, (_WANTS.get(error["type"], _limits)(error) for error in errors))))
    unit = _unit(described, path, data)
    return f"is {_shown(first['input'])}; it has to be {' or '.join(wants)}{unit}{about}"


def _briefly(errors: Sequence[ErrorDetails], model: type[Part], path: toml_text.Path, data: Any) -> str:
    """Why, without what the key is, which stands beside its field."""
    described = _describe(model, path)
    return _why(errors, model, path, data).removesuffix(f" ({described.description})" if described else "")


def _unknown_key(model: type[Part], path: tuple[str | int, ...], data: Any) -> str:
    holder = _model_at(model, path[:-1])
    key = str(path[-1])
    if path[-2:-1] and f"{path[-2]}.{key}" in _known(holder, _model_at(model, path[:-2])):
        return f'is not a key; a name with a point in it is written in quotes: "{path[-2]}.{key}"'
    known = _known(holder)
    near = did_you_mean(key, known)
    listed = f"; known here: {', '.join(known)}" if known and not near else ""
    return f"is not a key that is known here{near}{listed}"


def _known(*models: type[Part] | None) -> list[str]:
    return [field.alias or name for model in models if model for name, field in model.model_fields.items()]


def _model_at(model: type[Part], path: Sequence[str | int]) -> type[Part] | None:
    here: type[Part] | None = model
    for part in path:
        if isinstance(part, int):
            continue
        field = _field(here, part)
        here = _table_of(field.annotation) if field else None
    return here


def _field(model: type[Part] | None, key: str | int) -> FieldInfo | None:
    if model is None:
        return None
    return next((field for name, field in model.model_fields.items() if key in (field.alias or name, name)), None)


def _table_of(annotation: Any) -> type[Part] | None:
    """The model of a table, or of the tables in a list or choice; None where a type holds none."""
    if isinstance(annotation, type) and issubclass(annotation, Part):
        return annotation
    return next(filter(None, map(_table_of, get_args(annotation))), None)


def _describe(model: type[Part], path: Sequence[str | int]) -> FieldInfo | None:
    """The field of the innermost named key of a path."""
    keys = [at for at, part in enumerate(path) if isinstance(part, str)]
    while keys:
        at = keys.pop()
        field = _field(_model_at(model, path[:at]), path[at])
        if field:
            return field
    return None


def _unit(field: FieldInfo | None, path: Sequence[str | int], data: Any) -> str:
    units = _units_in(field) if field else []
    if not units:
        return ""
    inches = isinstance(data, Mapping) and data.get("units") == "inch"
    rotary = any(part in ROTARY for part in path)
    return " in " + re.sub(r"^mm\b", "degrees" if rotary else "in" if inches else "mm", units[0])


def _units_in(field: Any) -> list[str]:
    metadata = [*getattr(field, "metadata", ()), *getattr(field, "__metadata__", ())]
    found = [entry.unit for entry in metadata if isinstance(entry, In)]
    annotation = field.annotation if isinstance(field, FieldInfo) else field
    for inner in get_args(annotation):
        found += _units_in(inner) if not isinstance(inner, In) else [inner.unit]
    return found


def _wants(field: FieldInfo | None) -> str:
    if field is None:
        return "it"
    table = _table_of(field.annotation)
    if table is not None:
        return "it as a table"
    if getattr(field.annotation, "__origin__", None) is tuple:
        return "it as a list of numbers"
    choices = [choice for choice in get_args(field.annotation) if isinstance(choice, str)]
    return " or ".join(f'"{choice}"' for choice in choices) if choices else "it"


def _shown(value: object) -> str:
    """A value of a document as a person would name it, cut where it is long."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple):
        return f"a list of {len(value)}"
    if isinstance(value, str):
        return f'the text "{value if len(value) <= 40 else value[:37] + "..."}"'
    if isinstance(value, int) and abs(value) >= 10**20:
        return "a number beyond all measure"
    return str(value)


def _limits(error: ErrorDetails) -> str:
    return _LIMITS.get(error["type"], "something else").format(**error.get("ctx", {}))


_WANTS: Mapping[str, Callable[[ErrorDetails], str]] = {
    "float_type": lambda _: "a number",
    "int_type": lambda _: "a whole number",
    "int_from_float": lambda _: "a whole number",
    "string_type": lambda _: "a text in quotes",
    "bool_type": lambda _: "true or false",
    "tuple_type": lambda _: "a list in [ ]",
    "list_type": lambda _: "a list in [ ]",
    "dict_type": lambda _: "a table",
    "model_type": lambda _: "a table",
    "model_attributes_type": lambda _: "a table",
    "finite_number": lambda _: "a finite number",
    "string_pattern_mismatch": lambda error: _patterns(str(error["ctx"]["pattern"])),
    "literal_error": lambda error: str(error["ctx"]["expected"]).replace("'", '"'),
    "missing": lambda error: f"a list of at least {int(cast(int, error['loc'][-1])) + 1}",
}

_LIMITS: Mapping[str, str] = {
    "greater_than": "more than {gt:g}",
    "greater_than_equal": "at least {ge:g}",
    "less_than_equal": "at most {le:g}",
    "too_long": "a list of {max_length}",
    "too_short": "a list of at least {min_length}",
    "string_too_short": "a text that is not empty",
    "string_too_long": "at most {max_length} characters long",
}


def _patterns(pattern: str) -> str:
    if pattern == r"\S":
        return "a text that is not blank"
    return "lower-case letters and digits, words joined by hyphens"
