"""What a form of a sheet shows: parts, in them groups of cells, and rows that may be added and taken out."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from library import documents
from library.fields import Part, Units
from library.toml_edits import Rows, with_rows
from library.toml_text import Path
from parser.machine import AXES
from webapp.pages.forms import models, presentation, values
from webapp.pages.forms.presentation import found
from webapp.pages.forms.values import Value

THERE, ABSENT, ROW, NEW, LISTED = "there", "absent", "row", "new", "listed"
MOST_NEW = 1000
"""Rows that one form may add to a list (our choice: far beyond what a document may hold)."""


@dataclass(frozen=True, slots=True)
class Cell:
    """A field of the page."""

    name: str
    label: str
    value: str
    kind: str
    unit: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    placeholder: str = ""
    help: str = ""
    find: str = ""
    error: str = ""
    numeric: bool = False

    @property
    def id(self) -> str:
        """Id of the field on the page."""
        return field_id(self.name)


@dataclass(frozen=True, slots=True)
class Group:
    """Values that belong together. ``state``: there, absent (a table that may be), a row, a new row, or a list of rows.

    ``name`` is that of the table or list in the posted form, ``row`` what an entry of a list is called.
    """

    title: str
    name: str
    values: tuple[Value, ...] = ()
    groups: tuple[Group, ...] = ()
    state: str = THERE
    row: str = ""
    cells: tuple[Cell, ...] = ()
    removable: bool = False

    @property
    def id(self) -> str:
        """Id of the group on the page."""
        return field_id(self.name or self.title)

    @property
    def of_corners(self) -> bool:
        """Whether its cells are the corners of a box, three axes each."""
        return [value.path[-1] for value in self.values][-2:] == ["from", "to"]

    @property
    def of_ranges(self) -> bool:
        """Whether its cells are pairs of a lowest and a highest."""
        return bool(self.values) and all(value.kind == values.RANGE for value in self.values)

    @property
    def plain(self) -> str:
        """What it is called where it is named alone: a row by its own name."""
        return self.title.partition(": ")[2] or self.title

    @property
    def typed(self) -> bool:
        """Whether anything stands in its cells."""
        return any(cell.value for _, cell in self.every_cell())

    @property
    def short(self) -> str:
        """What it is called among others of its kind: the system of a zero, the name of an axis."""
        last = self.name.split(".", self.name.count(".") - 1)[-1] if ".G59." in self.name else self.name.split(".")[-1]
        return self.title if last.islower() else last

    def every_value(self) -> Iterator[Value]:
        """Its values and those of all groups in it."""
        yield from self.values
        for group in self.groups:
            yield from group.every_value()

    def every_cell(self) -> Iterator[tuple[str, Cell]]:
        """Each cell with the title of what it stands in."""
        yield from ((self.title, cell) for cell in self.cells)
        for group in self.groups:
            yield from group.every_cell()


@dataclass(frozen=True, slots=True)
class FormPart:
    """What is saved at a time."""

    id: str
    title: str
    lead: str
    groups: tuple[Group, ...]

    def every_value(self) -> Iterator[Value]:
        """All values of the part."""
        for group in self.groups:
            yield from group.every_value()

    @property
    def mistakes(self) -> Mapping[str, str]:
        """What is wrong, by the id of the field: where it stands and why."""
        return {
            cell.id: f"{title}, {cell.label}: {cell.error}"
            for group in self.groups
            for title, cell in group.every_cell()
            if cell.error
        }


@dataclass(frozen=True, slots=True)
class Shape:
    """A document with what a form may add to it: the rows that were posted or asked for, by the name of their list."""

    kind: str
    data: dict[str, Any]
    units: Units = "mm"
    added: Mapping[str, Sequence[int]] = field(default_factory=dict)

    def parts(self) -> tuple[FormPart, ...]:
        """The parts of the form, without what its cells hold."""
        model = documents.KINDS[self.kind]
        laid = []
        for part in presentation.PARTS[self.kind]:
            own, groups = self._table(model, self.data, (), part.keys)
            first = (Group(part.title, "", tuple(own)),) if own else ()
            laid.append(FormPart(part.id, part.title, part.lead, (*first, *groups)))
        return tuple(laid)

    def _table(
        self, model: type[Part], data: Mapping[str, Any], path: Path, only: Sequence[str] | None = None
    ) -> tuple[list[Value], list[Group]]:
        """Values and groups of a table; ``only`` keys, in that order, where they are given."""
        fields = {item.alias or name: item for name, item in model.model_fields.items()}
        own: list[Value] = []
        groups: list[Group] = []
        for key in only if only is not None else fields:
            item, here = fields[key], (*path, key)
            if key in AXES and path[-2:-1] in (("work",), ("stored",)) and key not in self.data.get("axes", {}):
                continue
            rows, table = models.row_of(item.annotation), models.table_of(item.annotation)
            if rows is not None:
                groups.append(self._rows(rows, data.get(key), here, models.usual_of(item)))
            elif table is not None:
                groups.append(self._group(table, data.get(key), here, not item.is_required() and item.default is None))
            else:
                own.append(models.value_of(item, here, self.kind, self.units, {"increments": self._increments()}))
        return own, groups

    def _group(self, model: type[Part], data: Any, path: Path, optional: bool) -> Group:
        keys = models.keys_of(path)
        there = isinstance(data, dict)
        own, groups = self._table(model, data if there else {}, path)
        plain = keys[-1].replace("_", " ")
        title = (found(presentation.GROUPS, keys) or plain[:1].upper() + plain[1:]).format(keys[-1].upper())
        state = ABSENT if optional and not there else THERE
        return Group(title, _name(path), tuple(own), tuple(groups), state, removable=optional and there)

    def _rows(self, model: type[Part], data: Any, path: Path, usual: Any) -> Group:
        called = presentation.ROWS[models.keys_of(path)]
        entries = rows_at(data, usual).entries
        listed = [self._row(model, entries[place], (*path, place), called) for place in sorted(entries)]
        new = [place for place in self.added.get(_name(path), ()) if place not in entries]
        listed += [self._row(model, {}, (*path, place), called, new=True) for place in sorted(new)]
        return Group("", _name(path), (), tuple(listed), LISTED, row=called)

    def _row(self, model: type[Part], data: Any, path: Path, called: str, *, new: bool = False) -> Group:
        own, groups = self._table(model, data, path)
        title = next((str(data[key]) for key in ("name", "label", "is", "number") if key in data), "")
        number = f" {int(path[-1]) + 1}"
        heading = f"New {called}" if new else f"{called[:1].upper()}{called[1:]}{f': {title}' if title else number}"
        return Group(heading, _name(path), tuple(own), tuple(groups), NEW if new else ROW, called, (), not new)

    def usual_rows(self, path: Path) -> Any:
        """The rows that hold where the list at a path is left out, () for none."""
        item = documents.KINDS[self.kind].model_fields.get(str(path[0])) if len(path) == 1 else None
        return models.usual_of(item) if item is not None and models.row_of(item.annotation) else ()

    def _increments(self) -> tuple[str, ...]:
        given = self.data.get("increments")
        return tuple(given) if isinstance(given, list) else ("x1", "x10", "x100")


def rows_at(data: Any, usual: Any) -> Rows:
    """The rows of a list as they are shown: those that are usual where the document has none of its own."""
    if isinstance(data, Rows):
        return data
    if usual and data is None:
        rows = with_rows([entry.model_dump(mode="json", by_alias=True, exclude_defaults=True) for entry in usual])
        assert isinstance(rows, Rows)
        return rows
    return Rows()


def shape(kind: str, text: str, units: Units | None = None, posted: Mapping[str, str] | None = None) -> Shape:
    """The form of a document, with the rows that were posted or asked for. Raises DocumentError.

    ``units`` are those of the machine sheet, which the form of the pendant is in.
    """
    data = documents.of_today(kind, text)
    own: Units = "inch" if data.get("units") == "inch" else "mm"
    return Shape(kind, with_rows(data), units if kind == "pendant" and units else own, _added(posted or {}))


def _added(posted: Mapping[str, str]) -> Mapping[str, Sequence[int]]:
    """The places of rows that a posted form has, by the name of their list, and one more where "add" names it."""
    places: dict[str, set[int]] = {}
    for name in posted:
        parts = name.split(".")
        for at, part in enumerate(parts[1:-1], start=1):
            if part.isdecimal() and part.isascii() and len(part) <= 6:
                places.setdefault(".".join(parts[:at]), set()).add(int(part))
    wanted = posted.get("add", "")
    if wanted:
        own = places.setdefault(wanted, set())
        own.add(max(own, default=-1) + 1)
    return {name: sorted(own)[:MOST_NEW] for name, own in places.items()}


def filled(part: FormPart, data: Mapping[str, Any], typed: Mapping[str, str], errors: Mapping[str, str]) -> FormPart:
    """The part with its cells: what the document holds, or what was typed, and what is wrong with it."""
    groups = tuple(_filled(group, data, typed, errors) for group in part.groups)
    return FormPart(part.id, part.title, part.lead, groups)


def _filled(group: Group, data: Mapping[str, Any], typed: Mapping[str, str], errors: Mapping[str, str]) -> Group:
    cells = tuple(cell for value in group.values for cell in _cells(value, data, typed, errors))
    inner = tuple(_filled(each, data, typed, errors) for each in group.groups)
    return Group(group.title, group.name, group.values, inner, group.state, group.row, cells, group.removable)


def _cells(
    value: Value, data: Mapping[str, Any], typed: Mapping[str, str], errors: Mapping[str, str]
) -> Iterator[Cell]:
    standing = value.written(held(data, value.path))
    for index, (name, label, now) in enumerate(zip(value.names, value.labels, standing, strict=True)):
        choices = value.choices
        if choices and not value.anyway and (not value.required or not now):
            choices = (("", _left_out(value)), *choices)
        lines = value.kind in (values.LINES, values.PAIRS)
        yield Cell(
            name,
            label,
            typed.get(name, now),
            "choice" if choices else "lines" if lines else "text",
            value.measure.shown if value.numeric else "",
            choices,
            value.placeholder(index),
            _hint(value) if index == 0 and _first_of_its_kind(value) else "",
            value.find,
            errors.get(name, ""),
            value.numeric,
        )


def _hint(value: Value) -> str:
    """What a key is, in the words of a form where it has some of its own."""
    own = found(presentation.HINTS, models.keys_of(value.path))
    return value.help if own is None else own


def _first_of_its_kind(value: Value) -> bool:
    """Whether what a key is has not been said at the row or the axis before, nor by the labels of a corner."""
    rows = [part for part in value.path if isinstance(part, int)]
    axis = models.keys_of(value.path)[1:2] if value.path[0] == "axes" else ()
    return not any(rows) and axis in ((), ("x",)) and value.kind not in (values.SPAN, values.RANGE)


def _left_out(value: Value) -> str:
    """What it means to choose nothing."""
    own = found(presentation.NONE_CHOSEN, models.keys_of(value.path))
    if own:
        return own
    usual = str(value.usual).lower() if isinstance(value.usual, bool) else str(value.usual)
    called = dict(value.choices).get(usual)
    return f"not stated ({called} is taken)" if called and value.usual is not None else "choose"


def held(data: Any, path: Path) -> Any:
    """What a document with ``Rows`` holds at a path, None for nothing."""
    for part in path:
        if isinstance(data, Rows):
            data = data.entries.get(part) if isinstance(part, int) else None
        else:
            data = data.get(part) if isinstance(data, dict) else None
    return data


def field_id(name: str) -> str:
    """Id of a field by its name."""
    return "f-" + re.sub(r"[^A-Za-z0-9_]+", "-", name)


def _name(path: Path) -> str:
    return ".".join(str(part) for part in path)
