"""What is wrong with a document, in a line: of all that pydantic finds the first mistake, and what is wanted there."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any, cast, get_args

from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from library import toml_text
from library.fields import In, Part
from library.nearest import did_you_mean
from library.toml_text import DocumentError, dotted
from parser.machine import ROTARY

MOST_ERRORS = 20
"""Errors of a document among which the first in the text is looked for: one is shown, and each costs a reading."""


def first_mistake(
    errors: Sequence[ErrorDetails], model: type[Part], data: dict[str, Any], text: str, source: str
) -> DocumentError:
    """The error to show: a misspelt key before the key that is missing because of it, else the first in the text."""
    rank = {"extra_forbidden": 0, "missing": 2}
    gravest = sorted(errors, key=lambda error: rank.get(error["type"], 1))
    errors = gravest[:MOST_ERRORS]
    places = [place_of(error, data) for error in errors]
    lines = [toml_text.line_of(text, path) for path in places]
    order = sorted(range(len(errors)), key=lambda at: (rank.get(errors[at]["type"], 1), lines[at] or 0))
    chosen = order[0]
    path = places[chosen]
    here = [error for error, place in zip(errors, places, strict=True) if place == path]
    return DocumentError(
        f"{dotted(path)} {_why(here, model, path, data)}", source=source, line=lines[chosen], key=dotted(path)
    )


def place_of(error: ErrorDetails, data: Any) -> tuple[str | int, ...]:
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
    described = described_at(model, path)
    about = f" ({described.description})" if described and described.description else ""
    if first["type"] == "wrong":
        return str(first["ctx"]["why"])
    if first["type"] == "extra_forbidden":
        return _unknown_key(model, path, data)
    if first["type"] == "missing" and isinstance(first["loc"][-1], str):
        return f"is missing; add {_wants(described)}{about}"
    wants = list(dict.fromkeys(filter(None, (_WANTS.get(error["type"], _limits)(error) for error in errors))))
    unit = _unit(described, path, data)
    return f"is {as_written(first['input'])}; it has to be {' or '.join(wants)}{unit}{about}"


def briefly(errors: Sequence[ErrorDetails], model: type[Part], path: toml_text.Path, data: Any) -> str:
    """Why, without what the key is, which stands beside its field."""
    described = described_at(model, path)
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
        here = table_of(field.annotation) if field else None
    return here


def _field(model: type[Part] | None, key: str | int) -> FieldInfo | None:
    if model is None:
        return None
    return next((field for name, field in model.model_fields.items() if key in (field.alias or name, name)), None)


def table_of(annotation: Any) -> type[Part] | None:
    """The model of a table, or of the tables in a list or choice; None where a type holds none."""
    if isinstance(annotation, type) and issubclass(annotation, Part):
        return annotation
    return next(filter(None, map(table_of, get_args(annotation))), None)


def described_at(model: type[Part], path: Sequence[str | int]) -> FieldInfo | None:
    """The field of the innermost named key of a path."""
    keys = [at for at, part in enumerate(path) if isinstance(part, str)]
    while keys:
        at = keys.pop()
        field = _field(_model_at(model, path[:at]), path[at])
        if field:
            return field
    return None


def _unit(field: FieldInfo | None, path: Sequence[str | int], data: Any) -> str:
    units = units_in(field) if field else []
    if not units:
        return ""
    inches = isinstance(data, Mapping) and data.get("units") == "inch"
    rotary = any(part in ROTARY for part in path)
    return " in " + re.sub(r"^mm\b", "degrees" if rotary else "in" if inches else "mm", units[0])


def units_in(field: Any) -> list[str]:
    metadata = [*getattr(field, "metadata", ()), *getattr(field, "__metadata__", ())]
    found = [entry.unit for entry in metadata if isinstance(entry, In)]
    annotation = field.annotation if isinstance(field, FieldInfo) else field
    for inner in get_args(annotation):
        found += units_in(inner) if not isinstance(inner, In) else [inner.unit]
    return found


def _wants(field: FieldInfo | None) -> str:
    if field is None:
        return "it"
    table = table_of(field.annotation)
    if table is not None:
        return "it as a table"
    if getattr(field.annotation, "__origin__", None) is tuple:
        return "it as a list of numbers"
    choices = [choice for choice in get_args(field.annotation) if isinstance(choice, str)]
    return " or ".join(f'"{choice}"' for choice in choices) if choices else "it"


def as_written(value: object) -> str:
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
