"""Faces as they are measured: a tool of known length and radius touched one at a reading, and what that comes to.

Machine Z reads the height of the spindle nose, so the tip of a tool of length L touches a top T when machine Z reads
T + L. What a box, an enclosure or the table top keeps is T. A work zero keeps the nose reading with the longest tool
on the sheet, so another tool's reading is set right by the difference of the two. A side is touched by the flank: its
place is half a tool off the reading.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from library.toml_edits import Rows
from parser.quantities import figure
from webapp.pages.forms import layout
from webapp.pages.forms.layout import Group, Shape, held
from webapp.pages.forms.measures import CellUnit, TypedError

PREFIX = "touch."
BOX = ("from.0", "from.1", "from.2", "to.0", "to.1", "to.2")
SIDES: Mapping[str, int] = {"from.0": 1, "from.1": 1, "to.0": -1, "to.1": -1}
"""Cells of the sides of a box, and whether the axis of the tool stood below its low side or above its high side."""

SAYS: Mapping[str, str] = {
    "from.0": "X side at the low end, touched from below it",
    "from.1": "Y side at the low end, touched from below it",
    "from.2": "What it stands on, touched with the tip",
    "to.0": "X side at the high end, touched from above it",
    "to.1": "Y side at the high end, touched from above it",
    "to.2": "Top, touched with the tip",
    "top": "Top, touched with the tip",
    "x.0": "X face, touched from its low side",
    "y.0": "Y face, touched from its low side",
    "z.0": "Z face, touched with the tip",
}


@dataclass(frozen=True, slots=True)
class TouchReading:
    """A field for what the machine read: ``name`` in the form, and the cell that is worked out from it."""

    name: str
    says: str
    value: str = ""
    error: str = ""

    @property
    def id(self) -> str:
        """Id of the field on the page."""
        return layout.field_id(self.name)


@dataclass(frozen=True, slots=True)
class Touch:
    """The fold beside the fields of a box, a zero or the table top."""

    name: str
    unit: str
    readings: tuple[TouchReading, ...]
    tools: tuple[tuple[str, str], ...]
    tool: str = ""
    length: str = ""
    radius: str = ""
    errors: Mapping[str, str] = field(default_factory=dict)

    @property
    def id(self) -> str:
        """Id of the fold on the page."""
        return layout.field_id(self.name)

    @property
    def open(self) -> bool:
        """Whether something has been typed into it."""
        return bool(self.tool or self.length or self.radius or any(one.value for one in self.readings))


@dataclass(frozen=True, slots=True)
class Worked:
    """The posted form with what was touched worked out. ``told`` says for each cell how, ``errors`` what is missing."""

    posted: Mapping[str, str]
    told: Mapping[str, str] = field(default_factory=dict)
    errors: Mapping[str, str] = field(default_factory=dict)


def cells_of(group: Group) -> tuple[str, ...]:
    """The cells of a group that can be touched, without the name of the group; none for a group of another kind."""
    own = {value.path[-1] for value in group.values}
    if {"from", "to"} <= own:
        return ("from.0", "from.1", "to.0", "to.1", "top") if "top" in own else BOX
    if own and own <= set("xyzabc") and "work." in group.name:
        return tuple(f"{axis}.0" for axis in "xyz" if axis in own)
    return ()


def touch_of(group: Group, shape: Shape, typed: Mapping[str, str], errors: Mapping[str, str]) -> Touch | None:
    """The fold of a group, None for one that has nothing to touch."""
    cells = cells_of(group)
    if not cells or shape.kind != "machine":
        return None
    base = f"{PREFIX}{group.name}"
    readings = tuple(
        TouchReading(f"{base}.{cell}", SAYS[cell], typed.get(f"{base}.{cell}", ""), errors.get(f"{base}.{cell}", ""))
        for cell in cells
    )
    names = {key: f"{base}.{key}" for key in ("tool", "length", "radius")}
    return Touch(
        base,
        CellUnit("mm", shape.units).shown,
        readings,
        tuple(_tools(shape)),
        typed.get(names["tool"], ""),
        typed.get(names["length"], ""),
        typed.get(names["radius"], ""),
        {key: errors[name] for key, name in names.items() if name in errors},
    )


def worked_out(shape: Shape, groups: Iterator[Group], posted: Mapping[str, str]) -> Worked:
    """The posted cells with those that were touched filled in."""
    made = dict(posted)
    told: dict[str, str] = {}
    errors: dict[str, str] = {}
    measure = CellUnit("mm", shape.units)
    for group in groups:
        base = f"{PREFIX}{group.name}"
        given = {cell: posted[f"{base}.{cell}"] for cell in cells_of(group) if posted.get(f"{base}.{cell}", "").strip()}
        for cell, typed in given.items():
            try:
                reading = measure.read(typed)
            except TypedError as wrong:
                errors[f"{base}.{cell}"] = str(wrong)
                continue
            key = "radius" if cell in SIDES or cell in ("x.0", "y.0") else "length"
            size = _size(shape, posted, base, key, measure, errors)
            if size is None:
                continue
            name = f"{group.name}.{cell}"
            value, made_of = _worked(shape, cell, reading, size)
            made[name] = measure.written(round(value, 6))
            told[name] = f"{made[name]} {measure.shown} = {made_of}"
            if cell in ("x.0", "y.0", "z.0"):
                made.setdefault(f"{name[:-2]}.1", "")
    return Worked(made, told, errors)


def _worked(shape: Shape, cell: str, reading: float, size: float) -> tuple[float, str]:
    """The place of a face, and how it comes about in words."""
    read, sized = figure(reading, 6), figure(size, 6)
    if cell in ("to.2", "from.2", "top"):
        return reading - size, f"nose reading {read} less the tool's length {sized}: the real height"
    if cell == "z.0":
        longest = held(shape.data, ("tool", "stick_out")) or 0.0
        told = f"nose reading {read} less the tool's length {sized}, plus the longest stick-out {figure(longest, 6)}"
        return reading - size + longest, f"{told}: the nose reading with the longest tool"
    if SIDES.get(cell, 1) > 0:
        return reading + size, f"reading {read} plus the tool's radius {sized}"
    return reading - size, f"reading {read} less the tool's radius {sized}"


def _size(
    shape: Shape, posted: Mapping[str, str], base: str, key: str, measure: CellUnit, errors: dict[str, str]
) -> float | None:
    """The length or radius of the tool that touched: as typed, or that of its number in the tool table."""
    typed = posted.get(f"{base}.{key}", "")
    if typed.strip():
        try:
            size = measure.read(typed)
        except TypedError as wrong:
            errors[f"{base}.{key}"] = str(wrong)
            return None
        if size < 0:
            errors[f"{base}.{key}"] = f"a tool's {key} is not below 0"
            return None
        return size
    number = posted.get(f"{base}.tool", "").strip()
    for entry in _entries(shape):
        if number and str(entry.get("number")) == number:
            return float(entry.get(key, 0.0))
    errors[f"{base}.{key}"] = f"the {key} of the tool that touched is missing; type it, or choose a tool of the table"
    return None


def _tools(shape: Shape) -> Iterator[tuple[str, str]]:
    unit = CellUnit("mm", shape.units).shown
    for entry in _entries(shape):
        yield (
            str(entry.get("number")),
            f"T{entry.get('number')}, {figure(float(entry.get('length', 0.0)), 6)} {unit} long",
        )


def _entries(shape: Shape) -> list[dict[str, Any]]:
    rows = shape.data.get("tools")
    return list(rows.entries.values()) if isinstance(rows, Rows) else []
