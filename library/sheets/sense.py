"""Figures of a machine sheet that are legal and unlikely: a table of what is asked, when, and why.

Nothing is refused for it. Each stays visible on the page of the sheet and is told on standard error wherever a command
uses the sheet, until the figure is another. All limits are our choice: wide enough for any mill of a home or school
workshop, and narrow enough for a slip of the point or of the units.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from library.sheets.machine import MachineSheet
from library.sheets.plain import own_origins, plain_machine
from parser.machine import LINEAR, Axis, Box, Machine
from parser.quantities import Figures, Length, Reading, Value, say

Found = Iterator[tuple[str, dict[str, Value]]]
"""The key that is asked about, and what stands in the question."""

LONGEST_TRAVEL, SHORTEST_TRAVEL = 2000.0, 20.0  # our choice
FASTEST, SLOWEST = 40_000.0, 100.0  # mm/min, our choice
MOST_TO_SPEED, LEAST_TO_SPEED = 3.0, 0.003  # seconds to the rapid rate, our choice
MOST_TO_FORCE, LEAST_TO_FORCE = 1.0, 1e-4  # seconds to the full acceleration, our choice
THICKEST_TOOL, WIDEST_NOSE = 80.0, 200.0  # radii in mm, our choice
LONGEST_RUN_DOWN, LATEST = 120.0, 2.0  # seconds, our choice
WIDEST_MARGIN = 50.0  # mm, our choice


@dataclass(frozen=True, slots=True)
class Ask:
    """A question: the text with what stands in it, why it is asked, and what finds where it is to be asked."""

    question: str
    why: str
    finds: Callable[[MachineSheet, Machine], Found]


@dataclass(frozen=True, slots=True)
class Doubt:
    """A figure that is asked about: the key it stands under, and the question with its reason, in the sheet's units."""

    key: str
    text: str


def doubts(sheet: MachineSheet) -> tuple[Doubt, ...]:
    """What is to be asked of a sheet."""
    machine, figures = plain_machine(sheet), Figures(sheet.units)
    return tuple(
        Doubt(key, figures.said(say(f"{ask.question} {ask.why}", **values)))
        for ask in TABLE
        for key, values in ask.finds(sheet, machine)
    )


def _linear(machine: Machine) -> Iterator[Axis]:
    return (axis for axis in machine.axes if axis.name in LINEAR)


def _long_travel(_: MachineSheet, machine: Machine) -> Found:
    for axis in _linear(machine):
        if axis.travel.length > LONGEST_TRAVEL:
            yield f"axes.{axis.name}.travel", {"axis": axis.name.upper(), "far": Length(axis.travel.length)}


def _short_travel(_: MachineSheet, machine: Machine) -> Found:
    for axis in _linear(machine):
        if axis.travel.length < SHORTEST_TRAVEL:
            yield f"axes.{axis.name}.travel", {"axis": axis.name.upper(), "far": Length(axis.travel.length)}


def _rapid(_: MachineSheet, machine: Machine) -> Found:
    for axis in _linear(machine):
        if not SLOWEST <= axis.rapid <= FASTEST:
            yield f"axes.{axis.name}.rapid", {"axis": axis.name.upper(), "rate": Length(axis.rapid)}


def _to_speed(_: MachineSheet, machine: Machine) -> Found:
    for axis in _linear(machine):
        seconds = axis.rapid / 60.0 / axis.acceleration
        if not LEAST_TO_SPEED <= seconds <= MOST_TO_SPEED:
            yield f"axes.{axis.name}.acceleration", {"axis": axis.name.upper(), "seconds": f"{seconds:.2g}"}


def _to_force(_: MachineSheet, machine: Machine) -> Found:
    for axis in _linear(machine):
        if axis.jerk and not LEAST_TO_FORCE <= axis.acceleration / axis.jerk <= MOST_TO_FORCE:
            seconds = f"{axis.acceleration / axis.jerk:.2g}"
            yield f"axes.{axis.name}.jerk", {"axis": axis.name.upper(), "seconds": seconds}


def _never_at_speed(_: MachineSheet, machine: Machine) -> Found:
    for axis in _linear(machine):
        needed = (axis.rapid / 60.0) ** 2 / axis.acceleration
        if needed > axis.travel.length:
            far = Length(axis.travel.length)
            yield (
                f"axes.{axis.name}.acceleration",
                {"axis": axis.name.upper(), "needs": Length(needed, 0), "far": far},
            )


def _stick_out(_: MachineSheet, machine: Machine) -> Found:
    z = machine.axis("z")
    if z is not None and machine.tool_stick_out > z.travel.length:
        yield "tool.stick_out", {"long": Length(machine.tool_stick_out), "far": Length(z.travel.length)}


def _thick(_: MachineSheet, machine: Machine) -> Found:
    if machine.tool_radius > THICKEST_TOOL:
        yield "tool.radius", {"thick": Length(2 * machine.tool_radius)}


def _nose(_: MachineSheet, machine: Machine) -> Found:
    if machine.nose_radius > WIDEST_NOSE:
        yield "spindle.nose_radius", {"thick": Length(2 * machine.nose_radius)}


def _run_down(_: MachineSheet, machine: Machine) -> Found:
    if machine.run_down > LONGEST_RUN_DOWN:
        yield "spindle.run_down", {"seconds": f"{machine.run_down:g}"}


def _latency(_: MachineSheet, machine: Machine) -> Found:
    if machine.latency > LATEST:
        yield "motion.latency", {"seconds": f"{machine.latency:g}"}


def _margin(_: MachineSheet, machine: Machine) -> Found:
    if machine.keep_out_margin > WIDEST_MARGIN:
        yield "margins.keep_out", {"wide": Length(machine.keep_out_margin)}


def _table_high(sheet: MachineSheet, machine: Machine) -> Found:
    z = machine.axis("z")
    if sheet.table is not None and z is not None:
        top = machine.setups[0].keep_outs[0].high[2]
        if top > z.travel.low:
            yield "table.top", {"top": Reading("z", top), "low": Reading("z", z.travel.low)}


def _boxes(sheet: MachineSheet, machine: Machine) -> Iterator[tuple[str, Box]]:
    """Every box of the sheet once, with the key it stands under."""
    seen: set[str] = set()
    for setup in machine.setups:
        for box in setup.keep_outs:
            if box.part not in ("table", *(() if box.part.startswith("setup") else seen)):
                seen.add(box.part)
                yield (f"keep_out {box.name}" if box.part == f"keep_out {box.name}" else f"{box.part}, {box.name}"), box
    yield from ((f"enclosure {box.name}", box) for box in machine.enclosures)


def _beside(sheet: MachineSheet, machine: Machine) -> Found:
    """Boxes that nothing of the machine can come to, wherever it stands: beside its reach or below it."""
    wide = max(machine.nose_radius, machine.holder_radius, machine.tool_radius) + machine.keep_out_margin
    travel = {axis.name: axis.travel for axis in _linear(machine)}
    for key, box in _boxes(sheet, machine):
        aside = any(
            box.high[at] < travel[axis].low - wide or box.low[at] > travel[axis].high + wide
            for at, axis in enumerate("xy")
            if axis in travel
        )
        longest = max(machine.tool_stick_out, machine.holder_length) + machine.keep_out_margin
        below = "z" in travel and box.high[2] < travel["z"].low - longest
        if aside or below:
            yield key, {"box": box.name}


def _crossing_low(sheet: MachineSheet, machine: Machine) -> Found:
    """The highest box that the longest tool does not clear at the height for crossing."""
    if machine.safe_z is None:
        return
    tip = machine.safe_z - max(machine.tool_stick_out, machine.holder_length)
    over = [box for _, box in _boxes(sheet, machine) if box not in machine.enclosures and box.high[2] > tip]
    if over:
        box = max(over, key=lambda each: each.high[2])
        at = {"safe": Reading("z", machine.safe_z), "tip": Reading("z", tip), "top": Reading("z", box.high[2])}
        yield "safe.z", {**at, "box": box.name}


def _zeros_outside(sheet: MachineSheet, machine: Machine) -> Found:
    travel = {axis.name: axis.travel for axis in _linear(machine)}
    layers = [("", sheet.work), *((f"setup {entry.name}, ", entry.work) for entry in sheet.setup)]
    for where, zeros in layers:
        for system, origin in own_origins(sheet, zeros).items():
            for axis, at in origin.axes.items():
                if axis in travel and not at.meets(travel[axis]):
                    places = {"at": Reading(axis, at), "ends": Reading(axis, travel[axis])}
                    yield f"{where}work.{system}.{axis}", {"system": system, "axis": axis.upper(), **places}


_UNITS = "Figures in inches under units = mm, or the other way round, look so."

TABLE: tuple[Ask, ...] = (
    Ask("{axis} travels {far}?", _UNITS, _long_travel),
    Ask("{axis} travels only {far}?", _UNITS, _short_travel),
    Ask(
        "The rapid rate of {axis} is {rate} a minute?", "That is beyond what a small mill does; see the point.", _rapid
    ),
    Ask(
        "{axis} takes {seconds} s to its rapid rate?",
        "Rate and acceleration do not go together; see the point of each.",
        _to_speed,
    ),
    Ask(
        "{axis} would need {needs} to reach its rapid rate and stop again, and travels {far}?",
        "It would never run at that rate; see the acceleration.",
        _never_at_speed,
    ),
    Ask("{axis} takes {seconds} s to its full acceleration?", "See the point of the jerk.", _to_force),
    Ask("{long} of tool on {far} of Z travel?", "It could not be raised clear of what it cuts.", _stick_out),
    Ask("A tool {thick} thick?", "radius is half of its thickness.", _thick),
    Ask("A spindle nose {thick} across?", "nose_radius is half of its width.", _nose),
    Ask("The spindle takes {seconds} s to run down?", "Times are in seconds, and every macro waits for it.", _run_down),
    Ask("The machine brakes {seconds} s after letting go?", "latency is in seconds.", _latency),
    Ask("{wide} of room around everything that is drawn?", "Hardly any place is left to move in.", _margin),
    Ask(
        "The table top is at Z {top}, and the nose itself goes down to {low}?",
        "top is the reading of the nose if it stood on the table, without a tool.",
        _table_high,
    ),
    Ask("Nothing of the machine ever comes to {box}?", "Corners are in machine coordinates.", _beside),
    Ask(
        "At safe Z {safe} the tip of the longest tool is at {tip}, and {box} is up to {top}?",
        "Crossing the table is allowed at that height, and it would meet it.",
        _crossing_low,
    ),
    Ask(
        "{axis} of {system} is {at}, and {axis} travels from {ends}?",
        "It is what the machine reads there, and no place to be at.",
        _zeros_outside,
    ),
)
"""What is asked, in the order of the sheet."""
