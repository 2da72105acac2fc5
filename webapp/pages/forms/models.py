"""The models of the sheets as values of a form: what kind a key is, its unit, its choices, what is usual."""

from __future__ import annotations

import types
from collections.abc import Mapping
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined

from library.fields import In, Part, Units
from library.sheets.controller import Signs
from library.toml_text import Path
from parser.machine import ROTARY
from webapp.pages.forms import presentation, values
from webapp.pages.forms.measures import CellUnit
from webapp.pages.forms.presentation import Keys, found
from webapp.pages.forms.questions import QUESTIONS
from webapp.pages.forms.values import Value

_SIGNS = {id(each) for each in get_args(Signs)[1:]}


def table_of(annotation: Any) -> type[Part] | None:
    """The model of a table, or of an optional one; None where the type is no table."""
    if isinstance(annotation, type) and issubclass(annotation, Part):
        return annotation
    if get_origin(annotation) in (Union, types.UnionType):
        return next(filter(None, map(table_of, get_args(annotation))), None)
    return table_of(get_args(annotation)[0]) if get_origin(annotation) is Annotated else None


def row_of(annotation: Any) -> type[Part] | None:
    """The model of the rows of a list of tables; None where the type is no such list."""
    if get_origin(annotation) is tuple:
        return table_of(get_args(annotation)[0])
    return None


def keys_of(path: Path) -> Keys:
    """The keys of a path without the numbers of rows."""
    return tuple(part for part in path if isinstance(part, str))


def usual_of(field: FieldInfo) -> Any:
    """What holds where the key is left out, as a document writes it; None where it has to be there."""
    if field.default_factory is not None:
        return field.get_default(call_default_factory=True, validated_data={})
    return None if field.default is PydanticUndefined else field.default


def value_of(field: FieldInfo, path: Path, kind: str, units: Units, lists: Mapping[str, tuple[str, ...]]) -> Value:
    """The value that a form edits for a key that is no table; ``lists`` are the increments of a pendant."""
    keys = keys_of(path)
    usual = usual_of(field)
    if isinstance(usual, tuple):
        usual = list(usual)
    form, cells = _kind(field, keys)
    unit = _unit(field)
    if kind == "pendant" and keys == ("jog", "step"):
        unit = "mm"
    if kind == "pendant" and keys == ("jog", "rate"):
        unit = "mm/min"
    measure = CellUnit(
        unit,
        units,
        rotary=bool(set(keys) & set(ROTARY)),
        kept="mm" if kind == "pendant" and unit.startswith("mm") else None,
    )
    names: tuple[str, ...] = ()
    if form == values.STEPS:
        names = lists["increments"]
        labels = tuple(f"Step at {name}" for name in names)
    else:
        labels = _labels(kind, keys, cells)
    if form == values.PAIRS:
        names = ("M98 = call",) if keys == ("extra_words",) else ("present-part = 1",)
    question = QUESTIONS.get(keys) if kind == "controller" else None
    return Value(
        path,
        labels,
        form,
        measure,
        _choices(field, keys),
        usual,
        field.is_required(),
        found(presentation.HELP, keys) or field.description or "",
        question.find if question else "",
        names,
        kind != "machine" and form in (values.FLAG, values.CHOICE) and usual is not None,
    )


def _labels(kind: str, keys: Keys, cells: int) -> tuple[str, ...]:
    if kind == "controller":
        return (QUESTIONS[keys].asks,)
    named = found(presentation.LABELS, keys)
    if named is None and cells > 1:
        named = found(presentation.LABELS, ("*", keys[-1]))
    plain = keys[-1].replace("_", " ")
    return (named or (plain[:1].upper() + plain[1:],))[:cells]


def _kind(field: FieldInfo, keys: Keys) -> tuple[str, int]:
    """The kind of a key, and how many cells it has."""
    if any(id(each) in _SIGNS for each in field.metadata):
        return values.SIGNS, 1
    annotation = _plain(field.annotation)
    origin, inner = get_origin(annotation), get_args(annotation)
    if origin in (Union, types.UnionType):
        return values.RANGE, 2
    if origin is dict:
        return (values.STEPS, 0) if keys == ("jog", "step") else (values.PAIRS, 1)
    if origin is tuple:
        if inner[-1] is not Ellipsis:
            return values.SPAN, len(inner)
        return (values.CLICKS if _plain(inner[0]) is int else values.LINES), 1
    if origin is Literal:
        return values.CHOICE, 1
    return {bool: values.FLAG, int: values.WHOLE, float: values.NUMBER}.get(annotation, values.TEXT), 1


def _plain(annotation: Any) -> Any:
    """A type without what is annotated, and without the None of what may be left out."""
    while get_origin(annotation) is Annotated:
        annotation = get_args(annotation)[0]
    if get_origin(annotation) in (Union, types.UnionType):
        others = [each for each in get_args(annotation) if each is not type(None)]
        if len(others) == 1:
            return _plain(others[0])
    return annotation


def _unit(annotation: Any) -> str:
    metadata = getattr(annotation, "metadata", ()) if isinstance(annotation, FieldInfo) else ()
    own = next((each.unit for each in metadata if isinstance(each, In)), "")
    inner = annotation.annotation if isinstance(annotation, FieldInfo) else annotation
    for each in get_args(inner):
        if own:
            break
        own = each.unit if isinstance(each, In) else _unit(each)
    return own


def _choices(field: FieldInfo, keys: Keys) -> tuple[tuple[str, str], ...]:
    annotation = _plain(field.annotation)
    if annotation is bool:
        return ((values.YES, "yes"), (values.NO, "no"))
    if get_origin(annotation) is not Literal:
        return ()
    called = found(presentation.CHOICES, keys) or {}
    return tuple((str(each), called.get(str(each), str(each))) for each in get_args(annotation))
