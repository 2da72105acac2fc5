"""What each part of a sheet says, in mm and whatever the words, so that two texts can be compared part by part."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import astuple, is_dataclass
from typing import Any

from library.sheets.controller import ControllerSheet
from library.sheets.machine import MachineSheet
from library.sheets.parts import PARTS
from library.sheets.pendant import PendantSheet
from library.sheets.plain import own_boxes, own_origins, plain_machine

ROUNDED = 5e-4
"""mm, or what is made of them: more than figures change by where a sheet is converted from mm to inches or back."""

Facts = Mapping[str, Any]


def facts(sheet: MachineSheet | ControllerSheet | PendantSheet) -> Facts:
    """What a sheet says, by part."""
    if not isinstance(sheet, MachineSheet):
        said = sheet.model_dump(mode="json", by_alias=True)
        kind = "controller" if isinstance(sheet, ControllerSheet) else "pendant"
        return {part: [said[key] for key in keys] for part, keys in PARTS[kind].items()}
    return dict(_machine(sheet))


def _machine(sheet: MachineSheet) -> Iterator[tuple[str, Any]]:
    machine = plain_machine(sheet)
    yield "axes", (machine.axes, machine.limits)
    yield "operator", machine.operator_side
    holder = machine.holder_radius, machine.holder_length
    yield (
        "spindle",
        (machine.nose_radius, holder, machine.maximum_rpm, machine.run_down, machine.spindle_by_program),
    )
    yield "tool", (machine.tool_stick_out, machine.tool_radius)
    yield "safe", machine.safe_z
    if sheet.table is not None:
        yield "table", machine.setups[0].keep_outs[0]
    yield "work", own_origins(sheet, sheet.work)
    yield "stored", machine.stored
    yield "tools", machine.tools
    yield "motion", (machine.corner, machine.tolerance, machine.latency)
    yield from ((f"keep_out {box.name}", box) for box in own_boxes(sheet, sheet.keep_out, "keep_out"))
    for entry in sheet.setup:
        yield (
            f"setup {entry.name}",
            (own_boxes(sheet, entry.keep_out, "setup", entry.name), own_origins(sheet, entry.work)),
        )
    yield from ((f"enclosure {box.name}", box) for box in machine.enclosures)


def same(one: Any, other: Any, *, converted: bool = False) -> bool:
    """Whether two facts are the same; where figures were ``converted``, but for what rounding them leaves."""
    return _alike(_plain(one), _plain(other), ROUNDED if converted else 0.0)


def _plain(fact: Any) -> Any:
    return astuple(fact) if is_dataclass(fact) and not isinstance(fact, type) else fact


def _alike(one: Any, other: Any, slack: float) -> bool:
    one, other = _plain(one), _plain(other)
    if isinstance(one, float) and isinstance(other, float):
        return math.isclose(one, other, rel_tol=0.0, abs_tol=slack)
    if isinstance(one, Mapping) and isinstance(other, Mapping):
        return one.keys() == other.keys() and all(_alike(each, other[key], slack) for key, each in one.items())
    if isinstance(one, tuple | list) and isinstance(other, tuple | list):
        return len(one) == len(other) and all(map(_alike, one, other, [slack] * len(one)))
    return bool(one == other)
