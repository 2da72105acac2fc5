"""What the parser needs of a sheet: plain data, lengths in mm, words in their usual spelling."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields, replace
from typing import Any

from library.fields import Part, in_mm
from library.sheets.controller import ControllerSheet, canonical_word
from library.sheets.machine import AxisKeys, KeepOut, MachineSheet, Point, SetupKeys, Zeros
from library.sheets.pendant import PendantSheet
from parser.machine import (
    AXES,
    ROTARY,
    SYSTEMS,
    Axis,
    Box,
    Controller,
    Interval,
    Limit,
    Machine,
    Origin,
    Setup,
    SheetPart,
    Tool,
)
from parser.quantities import Figures

OBEYED_AT_ONCE = ("immediate", "wired")
"""Kinds of release that stop the machine whatever the controller still holds."""

UNDERFOOT = -10_000.0
"""Machine Z, mm, far below any table: where the keep-out under the table top ends."""


def plain_machine(sheet: MachineSheet) -> Machine:
    """The machine as the parser knows it, in mm, with a sentence for everything the sheet leaves out.

    Raises SheetError where no machine can be so.
    """
    boxes = own_boxes(sheet, sheet.keep_out, "keep_out")
    if sheet.table is not None:
        (x_low, y_low), (x_high, y_high) = sheet.table.from_, sheet.table.to
        high = _corner(sheet, (x_high, y_high, sheet.table.top))
        boxes = (Box("Table", (_mm(sheet, x_low), _mm(sheet, y_low), UNDERFOOT), high, "table"), *boxes)
    setups = on_table(sheet) or (SetupKeys.model_construct(name="", keep_out=(), work=Zeros()),)
    return Machine(
        name=sheet.name,
        axes=tuple(_axis(sheet, name, axis) for name, axis in sheet.axes.each()),
        setups=tuple(
            Setup(
                entry.name,
                (*boxes, *own_boxes(sheet, entry.keep_out, "setup", entry.name)),
                _origins(sheet, ("work", sheet.work), (f"setup {entry.name}", entry.work)),
            )
            for entry in setups
        ),
        operator_side=sheet.operator.stands_at,
        nose_radius=_mm(sheet, sheet.spindle.nose_radius),
        holder_radius=_mm(sheet, sheet.holder.radius),
        holder_length=_mm(sheet, sheet.holder.length),
        tool_stick_out=_mm(sheet, sheet.tool.stick_out),
        tool_radius=_given(sheet, sheet.tool, "radius"),
        keep_out_margin=_given(sheet, sheet.margins, "keep_out"),
        travel_margin=_given(sheet, sheet.margins, "travel"),
        safe_z=_safe_z(sheet),
        maximum_rpm=sheet.spindle.maximum_rpm,
        run_down=sheet.spindle.run_down,
        spindle_by_program=sheet.spindle.control == "program",
        stored={system: _coordinates(sheet, point) for system, point in sheet.stored.each()},
        tools=tuple(Tool(tool.number, _mm(sheet, tool.length), _mm(sheet, tool.radius)) for tool in sheet.tools),
        enclosures=own_boxes(sheet, sheet.enclosure, "enclosure"),
        limits=tuple(Limit(*entry.conditions(sheet.units)) for entry in sheet.limit),
        corner=sheet.motion.corner,
        tolerance=_given(sheet, sheet.motion, "tolerance"),
        latency=sheet.motion.latency,
        unstated=tuple(_unstated(sheet)),
        parts=sheet_parts(sheet),
    )


def on_table(sheet: MachineSheet) -> tuple[SetupKeys, ...]:
    """The setups that may be on the table: the one that is there today, all of them where none is said to be."""
    return tuple(entry for entry in sheet.setup if sheet.on_table in ("", entry.name))


def plain_controller(sheet: ControllerSheet) -> Controller:
    """The controller as the parser knows it: words in their usual spelling, rates in mm/min.

    Resting modes whose word the controller lacks are none: it is in no other mode, or has no such mode at all.
    """
    lacks = frozenset(_words(sheet.unsupported))
    other: dict[str, Any] = {
        "acknowledge_means": "done" if one_line_at_once(sheet) or answers_once_done(sheet) else "queued",
        "dwell_word": sheet.dwell.word,
        "dwell_unit": sheet.dwell.unit,
        "resting": tuple(word for word in _words(sheet.resting.split()) if word not in lacks),
        "ending": canonical_word(sheet.ending) or "",
        "extra_words": {canonical_word(word) or word: what for word, what in sheet.extra_words.items()},
        "unsupported": lacks,
        "first_run_rate": _given(sheet, sheet, "first_run_rate"),
        "parts": sheet_parts(sheet),
    }
    return Controller(
        **{each.name: getattr(sheet, each.name) for each in fields(Controller) if each.name not in other}, **other
    )


def with_machine_system(machine: Machine, sheet: ControllerSheet) -> Machine:
    """The machine with the work system at 0, 0, 0 that a controller without G53 keeps for machine coordinates.

    What the machine sheet itself says of that system stays: a step that needs it at 0 then says that it is not.
    """
    system = "" if sheet.machine_moves else sheet.machine_system
    if not system:
        return machine
    nothing = dict.fromkeys(machine.names, Interval(0.0, 0.0))
    setups = []
    for setup in machine.setups:
        given = setup.origins.get(system, Origin({}))
        origin = Origin({**nothing, **given.axes}, given.parts)
        setups.append(replace(setup, origins={**setup.origins, system: origin}))
    return replace(machine, setups=tuple(setups))


def sheet_parts(sheet: MachineSheet | ControllerSheet | PendantSheet) -> tuple[SheetPart, ...]:
    """The parts of a sheet, each with the day it was confirmed."""
    tried = isinstance(sheet, ControllerSheet)
    days = {part: day.isoformat() for part, day in sheet.measured.items()}
    return tuple(SheetPart(part, words, days.get(part, ""), tried) for part, words in sheet.named.items())


def answers_once_done(sheet: ControllerSheet) -> bool:
    """Whether the answer to a line says that it is done."""
    return sheet.acknowledge != "" and sheet.acknowledge_means == "done"


def tells_idle(sheet: ControllerSheet) -> bool:
    """Whether the sheet has a means to know that the controller is idle: its answers, a question, or a settle line.

    The answer to the settle line is what tells, so that it is no means where nothing is answered.
    """
    return sheet.idle_ask != "" or answers_once_done(sheet) or (sheet.acknowledge != "" and sheet.settle != "")


def holds_what_was_stopped(sheet: ControllerSheet) -> bool:
    """Whether the controller keeps what letting go stopped, and goes on with it once it is resumed."""
    return sheet.stop_keeps == "held" and sheet.release != "nothing"


def tells_hold_over(sheet: ControllerSheet) -> bool:
    """Whether something of the sheet tells that nothing is held any more: a question, or a settle line.

    An answer to a line is no means, even one that says that it is done: the stop line may have one too.
    """
    return sheet.idle_ask != "" or (sheet.acknowledge != "" and sheet.settle != "")


def waits_for_a_late_answer(sheet: ControllerSheet) -> bool:
    """Whether the pendant sends nothing behind a line without an answer, however late that is.

    A stop line may drop the line and its answer with it, and a question tells whether anything is left; else only the
    answer itself does.
    """
    stops = sheet.release != "nothing" and sheet.stop_line != "" and not holds_what_was_stopped(sheet)
    return sheet.acknowledge != "" and sheet.idle_ask == "" and not stops


def one_line_at_once(sheet: ControllerSheet) -> bool:
    """Whether the pendant sends a line only when the one before is done, whatever the answer to a line means.

    It does wherever it has to and something tells it. Without a means to know that the controller is idle it cannot,
    and the controller may hold its whole queue.
    """
    return tells_idle(sheet) and has_to_wait(sheet)


def has_to_wait(sheet: ControllerSheet) -> bool:
    """Whether no more than the line that runs ought to be left to run, for letting go stops nothing that is held."""
    return sheet.acknowledge == "" or sheet.release not in OBEYED_AT_ONCE


def origins(sheet: MachineSheet) -> Iterator[Mapping[str, Origin]]:
    """Origins by system, in mm: those of the sheet itself, then those of each setup that may be on the table."""
    yield own_origins(sheet, sheet.work)
    for entry in on_table(sheet):
        yield _origins(sheet, ("work", sheet.work), (f"setup {entry.name}", entry.work))


def _mm(sheet: MachineSheet | ControllerSheet, value: float, axis: str = "x") -> float:
    """A number of a sheet in mm; one that belongs to a rotary axis stays in degrees."""
    return value if axis in ROTARY else in_mm(value, sheet.units)


def _given(sheet: MachineSheet | ControllerSheet, table: Part, key: str) -> float:
    """A key's value in mm; a default that nobody wrote is in mm whatever the units of the sheet."""
    value: float = getattr(table, key)
    return _mm(sheet, value) if key in table.model_fields_set else value


def _safe_z(sheet: MachineSheet) -> float | None:
    """Machine Z for crossing the table; None where the sheet has none and the usual one is out of travel."""
    at = _given(sheet, sheet.safe, "z")
    low, high = (_mm(sheet, end) for end in sheet.axes.z.travel)
    return at if low <= at <= high else None


def _axis(sheet: MachineSheet, name: str, axis: AxisKeys) -> Axis:
    return Axis(
        name=name,
        travel=Interval(_mm(sheet, axis.travel[0], name), _mm(sheet, axis.travel[1], name)),
        rapid=_mm(sheet, axis.rapid, name),
        acceleration=_mm(sheet, axis.acceleration, name),
        jerk=_mm(sheet, axis.jerk, name),
        home=axis.home,
        carried_by=axis.carried_by,
    )


def own_boxes(sheet: MachineSheet, entries: Iterable[KeepOut], kind: str, of: str = "") -> tuple[Box, ...]:
    """Boxes of a sheet, in mm; each is a part of its own, or they all are of one setup."""
    return tuple(
        Box(entry.name, _corner(sheet, entry.from_), _corner(sheet, entry.to), f"{kind} {of or entry.name}")
        for entry in entries
    )


def own_origins(sheet: MachineSheet, zeros: Zeros) -> Mapping[str, Origin]:
    """Origins of a sheet, or of one of its setups alone, by system in mm."""
    return _origins(sheet, ("work", zeros))


def _corner(sheet: MachineSheet, corner: tuple[float, float, float]) -> tuple[float, float, float]:
    x, y, z = corner
    return _mm(sheet, x), _mm(sheet, y), _mm(sheet, z)


def _coordinates(sheet: MachineSheet, point: Point) -> dict[str, float]:
    values = {name: getattr(point, name) for name, _ in sheet.axes.each()}
    return {name: _mm(sheet, value, name) for name, value in values.items() if value is not None}


def _origins(sheet: MachineSheet, *layers: tuple[str, Zeros]) -> dict[str, Origin]:
    """Origins in mm; a later layer overrides those before it, axis by axis. Each comes with the part that it is."""
    found: dict[str, dict[str, Interval]] = {}
    parts: dict[str, dict[str, str]] = {}
    for part, zeros in layers:
        for system, zero in zeros.each():
            for axis in AXES:
                value = getattr(zero, axis)
                if value is not None:
                    low, high = value if isinstance(value, tuple) else (value, value)
                    found.setdefault(system, {})[axis] = Interval(_mm(sheet, low, axis), _mm(sheet, high, axis))
                    parts.setdefault(system, {})[axis] = part
    return {system: Origin(found[system], parts[system]) for system in SYSTEMS if system in found}


def _unstated(sheet: MachineSheet) -> Iterator[str]:
    """One sentence for each thing left out that a verdict then rests on."""
    figures = Figures(sheet.units)
    if sheet.on_table and len(sheet.setup) > 1:
        yield f"{sheet.on_table} is on the table today: no other setup of the sheet was looked at"
    if "stick_out" not in sheet.tool.model_fields_set:
        yield "no tool length is on the sheet: only the spindle nose is checked, as if no tool were in it"
    elif "radius" not in sheet.tool.model_fields_set:
        yield f"the thickest tool is not on the sheet: a radius of {figures.length(sheet.tool.radius, 3)} is taken"
    if "nose_radius" not in sheet.spindle.model_fields_set:
        yield "the spindle nose has no size on the sheet: nothing above the tool is checked"
    if not sheet.holder.model_fields_set:
        yield "no collet nut or holder is on the sheet"
    if sheet.table is None:
        yield "the table is not on the sheet"
    if not sheet.keep_out and not any(entry.keep_out for entry in sheet.setup):
        yield "no keep-out is on the sheet: no vise, clamp or workpiece is checked"
    if "z" not in sheet.safe.model_fields_set:
        safe_z = _safe_z(sheet)
        taken = "none is taken" if safe_z is None else f"machine Z {figures.length(safe_z, 3)} is taken"
        yield f"no height for crossing the table is on the sheet (safe.z): {taken}"
    if "stands_at" not in sheet.operator.model_fields_set:
        yield "where the operator stands is not on the sheet: the -Y side is taken"
    if "run_down" not in sheet.spindle.model_fields_set:
        yield "the run-down of the spindle is not on the sheet: 5 s is taken"
    if "latency" not in sheet.motion.model_fields_set:
        yield "how late the machine brakes is not on the sheet (motion.latency): 0.1 s is taken"


def _words(texts: Iterable[str]) -> Iterator[str]:
    for text in texts:
        yield canonical_word(text) or text
