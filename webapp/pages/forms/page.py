"""The parts of a sheet as its page shows them, with what was typed and refused, and the folds for what was touched."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from library.fields import Units
from library.toml_edits import Rows
from webapp.pages.forms import layout, touching
from webapp.pages.forms.layout import Cell, FormPart, Group, Shape
from webapp.pages.forms.touching import Touch


@dataclass(frozen=True, slots=True)
class TypedPart:
    """What was typed into one ``part`` and not saved: cells by name, errors by name, how a cell was worked out."""

    part: str = ""
    cells: Mapping[str, str] = field(default_factory=dict)
    errors: Mapping[str, str] = field(default_factory=dict)
    told: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class SheetForm:
    """All parts of a sheet; ``touches`` by the name of the group that they stand in.

    ``unsaved``: what is in the part that is open was typed and is not kept.
    """

    kind: str
    parts: tuple[FormPart, ...]
    units: Units
    touches: Mapping[str, Touch]
    told: Mapping[str, str]
    open: str
    base: str
    home: str
    notes: Mapping[str, str]
    middle: str
    unsaved: bool = False

    def action(self, part: str) -> str:
        """Where a part is posted to."""
        return f"{self.base}/{self.home or part}"

    def part(self, id: str) -> FormPart:
        """One part by its id; raises KeyError."""
        return {part.id: part for part in self.parts}[id]

    @property
    def mistakes(self) -> Mapping[str, str]:
        """What is wrong, by the id of the field."""
        found: dict[str, str] = {}
        for part in self.parts:
            found |= part.mistakes
        for touch in self.touches.values():
            found |= {f"{touch.id}-{key}": f"Touched with: {why}" for key, why in touch.errors.items()}
            found |= {one.id: f"{one.says}: {one.error}" for one in touch.readings if one.error}
        return found


def shown(
    kind: str, text: str, units: Units | None = None, typed: TypedPart | None = None, *, base: str = "", home: str = ""
) -> SheetForm:
    """The form of a document, its parts posted to addresses below ``base``, all to ``home`` where that is given.

    Raises DocumentError.
    """
    typed = typed or TypedPart()
    shape = layout.shape(kind, text, units, typed.cells)
    parts = tuple(layout.filled(part, shape.data, typed.cells, typed.errors) for part in shape.parts())
    touches = {
        group.name: touch
        for part in parts
        for group in every_group(part.groups)
        if (touch := touching.touch_of(group, shape, typed.cells, typed.errors))
    }
    return SheetForm(
        kind,
        parts,
        shape.units,
        touches,
        typed.told,
        typed.part,
        base,
        home,
        dict(_overrides(shape)),
        _middle(shape),
        bool(typed.cells),
    )


def _middle(shape: Shape) -> str:
    """Where a new box is put on the drawing, as JSON: a small one in the middle of travel, on the table. "" for none.

    How large it is, is our choice; it is there to be moved.
    """
    axes = shape.data.get("axes")
    if shape.kind != "machine" or not isinstance(axes, dict):
        return ""
    half, high = (1.0, 1.5) if shape.units == "inch" else (25.0, 40.0)
    x, y = (round((axes[name]["travel"][0] + axes[name]["travel"][1]) / 2, 3) for name in "xy")
    floor = shape.data.get("table", {}).get("top", axes["z"]["travel"][0] - high)
    return json.dumps({"from": [x - half, y - half, floor], "to": [x + half, y + half, floor + high]})


def _overrides(shape: Shape) -> Iterator[tuple[str, str]]:
    """Where a setup has a work zero of its own in place of the sheet's: what to say at both, by name of the group."""
    setups = shape.data.get("setup")
    own = shape.data.get("work", {})
    by_system: dict[str, list[str]] = {}
    for place, entry in setups.entries.items() if isinstance(setups, Rows) else ():
        for system, zero in entry.get("work", {}).items():
            axes = [axis.upper() for axis in zero if axis in own.get(system, {})]
            if axes:
                called = f"“{entry.get('name', '')}”"
                by_system.setdefault(system, []).append(f"{' '.join(axes)} in setup {called}")
                yield (
                    f"setup.{place}.work.{system}",
                    (f"In this setup these hold in place of the sheet's own {system}: {' '.join(axes)}."),
                )
    for system, where in by_system.items():
        yield f"work.{system}", f"A setup has its own, which holds there in place of this: {', '.join(where)}."


def worked_out(shape: Shape, posted: Mapping[str, str]) -> touching.Worked:
    """What was posted, with what was touched worked out."""
    groups = (group for part in shape.parts() for group in every_group(part.groups))
    return touching.worked_out(shape, groups, posted)


def cells_of(form: SheetForm) -> Iterator[Cell]:
    """Every cell of a form."""
    for part in form.parts:
        for group in part.groups:
            yield from (cell for _, cell in group.every_cell())


def every_group(groups: tuple[Group, ...]) -> Iterator[Group]:
    """Groups and all within them."""
    for group in groups:
        yield group
        yield from every_group(group.groups)
