"""The common values of a machine sheet as a form: read out of the document, and written back with its comments kept.

A field shows what the document says, in the document's own units; a blank field is a key that is left out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from library import documents, toml_text
from library.sheets.parts import without_gone
from parser.machine import AXES, ROTARY

Path = tuple[str | int, ...]
CORNER_HEADINGS = ("X from", "Y from", "Z from", "X to", "Y to", "Z to")


@dataclass(frozen=True, slots=True)
class Value:
    """A key that the form edits: one cell for each label. ``path`` leads to it in the document.

    ``measures`` is what the number is ("length", "rate", "acceleration", "time"), "" for text.
    """

    path: Path
    labels: tuple[str, ...]
    measures: str = ""
    choices: tuple[str, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the form's cells."""
        plain = ".".join(str(part) for part in self.path)
        return (plain,) if len(self.labels) == 1 else tuple(f"{plain}.{index}" for index in range(len(self.labels)))


@dataclass(frozen=True, slots=True)
class Cell:
    """A field of the page."""

    name: str
    label: str
    value: str
    unit: str = ""
    numeric: bool = False
    choices: tuple[str, ...] = ()
    error: str = ""

    @property
    def id(self) -> str:
        return "f-" + self.name.replace(".", "-")


@dataclass(frozen=True, slots=True)
class Group:
    """Fields that belong together."""

    title: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class BoxRow:
    """A row of the table of keep-outs. ``remove`` names the box to tick, "" on the row that adds one."""

    title: str
    cells: tuple[Cell, ...]
    remove: str = ""


@dataclass(frozen=True, slots=True)
class Form:
    """The whole form as the page shows it."""

    groups: tuple[Group, ...]
    boxes: tuple[BoxRow, ...]
    length_unit: str

    @property
    def cells(self) -> tuple[Cell, ...]:
        """Every field, in the order of the page."""
        return tuple(cell for cells in self._parts().values() for cell in cells)

    @property
    def mistakes(self) -> Mapping[str, str]:
        """What is wrong, by the id of the field: where it stands and why."""
        return {
            cell.id: f"{title}, {cell.label}: {cell.error}" if title else f"{cell.label}: {cell.error}"
            for title, cells in self._parts().items()
            for cell in cells
            if cell.error
        }

    def _parts(self) -> Mapping[str, tuple[Cell, ...]]:
        boxes = tuple(cell for box in self.boxes for cell in box.cells)
        return {group.title: group.cells for group in self.groups} | {"": boxes}


@dataclass(frozen=True, slots=True)
class Change:
    """What came of a posted form: the new text where all is well, else the errors by name of the field.

    An error under "" belongs to no field in particular.
    """

    text: str
    errors: Mapping[str, str] = field(default_factory=dict)


NAME = Value(("name",), ("Name",))
GENERAL: Mapping[str, tuple[Value, ...]] = {
    "Tool and spindle": (
        Value(("tool", "stick_out"), ("Longest stick-out",), "length"),
        Value(("tool", "radius"), ("Thickest tool, radius",), "length"),
        Value(("spindle", "nose_radius"), ("Nose radius",), "length"),
        Value(("spindle", "run_down"), ("Run-down",), "time"),
    ),
    "Heights and sides": (
        Value(("safe", "z"), ("Safe Z",), "length"),
        Value(("operator", "stands_at"), ("Operator stands at",), choices=("-y", "+y", "-x", "+x")),
    ),
    "Table top": (
        Value(("table", "from"), ("X from", "Y from"), "length"),
        Value(("table", "to"), ("X to", "Y to"), "length"),
        Value(("table", "top"), ("Top, Z",), "length"),
    ),
}


def axis_values(name: str) -> tuple[Value, ...]:
    """What the form edits of one axis."""
    return (
        Value(("axes", name, "travel"), ("Travel from", "Travel to"), "length"),
        Value(("axes", name, "rapid"), ("Rapid",), "rate"),
        Value(("axes", name, "acceleration"), ("Acceleration",), "acceleration"),
        Value(("axes", name, "home"), ("Home switch",), choices=("min", "max", "none")),
        Value(("axes", name, "carried_by"), ("Carried by",), choices=("table", "head")),
    )


def box_values(index: int) -> tuple[Value, ...]:
    """What the form edits of one keep-out."""
    return (
        Value(("keep_out", index, "name"), ("Name",)),
        Value(("keep_out", index, "from"), CORNER_HEADINGS[:3], "length"),
        Value(("keep_out", index, "to"), CORNER_HEADINGS[3:], "length"),
    )


def units(data: Mapping[str, Any], measures: str, *, rotary: bool = False) -> str:
    """The unit a field is in, as it is written next to its label."""
    length = "deg" if rotary else "in" if data.get("units") == "inch" else "mm"
    return {"length": length, "rate": f"{length}/min", "acceleration": f"{length}/s²", "time": "s"}.get(measures, "")


def shown(text: str, typed: Mapping[str, str] | None = None, errors: Mapping[str, str] | None = None) -> Form:
    """The form for a document; ``typed`` and ``errors`` repeat what was refused. Raises DocumentError."""
    data = toml_text.read(text)
    typed, errors = typed or {}, errors or {}

    def cells(values: Sequence[Value], *, rotary: bool = False, where: str = "") -> tuple[Cell, ...]:
        found = []
        for value in values:
            now = written(_at(data, value.path), len(value.labels))
            for name, label, standing in zip(value.names, value.labels, now, strict=True):
                found.append(
                    Cell(
                        name,
                        f"{label}{where}",
                        typed.get(name, standing),
                        units(data, value.measures, rotary=rotary),
                        bool(value.measures),
                        ("", *value.choices) if value.choices and not standing else value.choices,
                        errors.get(name, ""),
                    )
                )
        return tuple(found)

    groups = [Group("Machine", cells([NAME]))]
    groups += [Group(f"Axis {name.upper()}", cells(axis_values(name), rotary=name in ROTARY)) for name in _axes(data)]
    groups += [Group(title, cells(values)) for title, values in GENERAL.items()]
    count = len(_boxes(data))
    boxes = [
        BoxRow(
            str(box.get("name", "")),
            cells(box_values(index), where=f", {box.get('name', f'keep-out {index + 1}')}"),
            f"remove.{index}",
        )
        for index, box in enumerate(_boxes(data))
    ]
    boxes.append(BoxRow("", cells(box_values(count), where=", new keep-out")))
    return Form(tuple(groups), tuple(boxes), units(data, "length"))


def changed(text: str, posted: Mapping[str, str]) -> Change:
    """The document with what the form says put into it; only keys that differ are touched."""
    before, data = text, toml_text.read(text)
    count = len(_boxes(data))
    errors: dict[str, str] = {}
    new_box: dict[str, object] = {}
    for value in _values(data, posted):
        try:
            wanted = _wanted(value, posted)
        except _UnreadableError as wrong:
            errors.update(wrong.errors)
            continue
        if value.path[:2] == ("keep_out", count):
            new_box[str(value.path[2])] = wanted
        elif wanted != _at(data, value.path):
            try:
                text = toml_text.set_value(text, value.path, wanted)
            except toml_text.DocumentError as error:
                errors[value.names[0]] = error.why
    if errors:
        return Change(text, errors)
    try:
        if new_box:
            given = {key: value for key, value in new_box.items() if value is not None}
            text = toml_text.add_entry(text, "keep_out", count, given)
        for index in reversed(range(count)):
            if posted.get(f"remove.{index}"):
                text = toml_text.remove_entry(text, "keep_out", index)
        text = without_gone("machine", before, text)
        documents.parse("machine", text)
    except toml_text.DocumentError as error:
        return Change(text, {_field_of(error.key, data, posted): error.why})
    return Change(text)


class _UnreadableError(Exception):
    def __init__(self, errors: Mapping[str, str]) -> None:
        super().__init__()
        self.errors = errors


def _values(data: Mapping[str, Any], posted: Mapping[str, str]) -> Iterator[Value]:
    """Every value that the posted form holds; a keep-out that is to be removed or was left blank holds none."""
    every = [NAME]
    every += [value for name in _axes(data) for value in axis_values(name)]
    every += [value for values in GENERAL.values() for value in values]
    count = len(_boxes(data))
    for index in range(count + 1):
        values = box_values(index)
        blank = not any(posted.get(name, "").strip() for value in values for name in value.names)
        if not posted.get(f"remove.{index}") and not (index == count and blank):
            every += values
    yield from (value for value in every if all(name in posted for name in value.names))


def _wanted(value: Value, posted: Mapping[str, str]) -> object:
    """What the document should hold for a value, None to leave the key out."""
    typed = {name: posted[name].strip() for name in value.names}
    if not any(typed.values()):
        return None
    if not value.measures:
        return typed[value.names[0]]
    numbers: list[float] = []
    errors: dict[str, str] = {}
    for name, one in typed.items():
        try:
            numbers.append(float(one.replace("\N{MINUS SIGN}", "-")))
            if not math.isfinite(numbers[-1]):
                raise ValueError
        except ValueError:
            errors[name] = f"“{one}” is not a number; write it like 12.5" if one else "A number is missing here"
    if errors:
        raise _UnreadableError(errors)
    return numbers if len(value.names) > 1 else numbers[0]


def _field_of(key: str, data: Mapping[str, Any], posted: Mapping[str, str]) -> str:
    """The name of the field that a document error is about, "" where the form has none for it."""
    return next((value.names[0] for value in _values(data, posted) if key.startswith(toml_text.dotted(value.path))), "")


def written(value: object, count: int) -> tuple[str, ...]:
    """A value of the document as the text of its fields."""
    if count > 1:
        listed = value if isinstance(value, list) else []
        return tuple(written(listed[index] if index < len(listed) else None, 1)[0] for index in range(count))
    if value is None:
        return ("",)
    return (repr(value).removesuffix(".0") if isinstance(value, float) else str(value),)


def _at(data: object, path: Path) -> object:
    for part in path:
        if isinstance(part, int):
            data = data[part] if isinstance(data, list) and part < len(data) else None
        else:
            data = data.get(part) if isinstance(data, dict) else None
    return data


def _axes(data: Mapping[str, Any]) -> tuple[str, ...]:
    return tuple(name for name in AXES if name in data.get("axes", {}))


def _boxes(data: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    return list(data.get("keep_out", []))
