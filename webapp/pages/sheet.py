"""What the page of a sheet shows: a summary in words, the form of the machine, the presets of the controller."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass

from markupsafe import Markup

from library import documents, gestures, toml_text
from library.bench import Bench
from library.fields import Units
from library.sheets import (
    UNDERFOOT,
    ControllerSheet,
    MachineSheet,
    PendantSheet,
    plain_controller,
    plain_machine,
)
from library.sheets.controller import canonical_word
from library.sheets.overriding import overrides
from library.sheets.sense import doubts
from parser.machine import Axis, Box, Controller, Interval, Machine
from parser.quantities import Figures, figure, seconds
from webapp.drawings import elevations

Sheet = MachineSheet | ControllerSheet | PendantSheet
TITLES: Mapping[str, str] = {"machine": "Machine", "controller": "Controller", "pendant": "Pendant"}

SIDES: Mapping[str, str] = {
    "-y": "at the lower end of Y (-y)",
    "+y": "at the upper end of Y (+y)",
    "-x": "at the lower end of X (-x)",
    "+x": "at the upper end of X (+x)",
}
G28: Mapping[str, str] = {
    "return": "goes to the stored point",
    "home": "runs the homing cycle",
    "none": "is not understood",
}
DWELLS: Mapping[tuple[str, str], str] = {
    ("P", "s"): "G4 P in seconds",
    ("P", "ms"): "G4 P in milliseconds",
    ("S", "s"): "G4 S in seconds",
    ("S", "ms"): "G4 S in milliseconds",
}
COMMENTS: Mapping[str, str] = {"parentheses": "in parentheses", "semicolon": "from a semicolon to the end of the line"}
RELEASE: Mapping[str, str] = {
    "nothing": "stops nothing that was sent",
    "queued-line": "stops after the line that is running",
    "immediate": "stops the motion at once",
    "wired": "stops the motion through a hard-wired circuit",
}
RAPIDS: Mapping[str, str] = {"straight": "in a straight line", "dogleg": "each axis at its own rate"}


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a summary."""

    what: str
    value: str


def read(kind: str, text: str) -> Sheet:
    """The sheet of that kind in a text; raises DocumentError."""
    sheet = documents.parse(kind, text)
    assert isinstance(sheet, MachineSheet | ControllerSheet | PendantSheet)
    return sheet


def summary(sheet: Sheet, units: Units = "mm") -> tuple[Row, ...]:
    """The sheet in words; ``units`` are those of the machine, in which the steps of a pendant are told."""
    if isinstance(sheet, MachineSheet):
        own = {box.name for setup in sheet.setup for box in setup.keep_out}
        return tuple(_machine(plain_machine(sheet), own, Figures(sheet.units)))
    if isinstance(sheet, ControllerSheet):
        return (*_controller(plain_controller(sheet), sheet), *_answers(sheet))
    return tuple(_pendant(sheet, Figures(units)))


def excerpt(text: str, line: int) -> tuple[tuple[int, str, bool], ...]:
    """The lines around a mistake with their numbers; True marks the line itself."""
    lines = text.split("\n")
    shown = range(max(line - 2, 1), min(line + 2, len(lines)) + 1)
    return tuple((number, lines[number - 1], number == line) for number in shown)


def drawing(sheet: Sheet) -> Markup:
    """The sheet drawn to scale, empty where there is nothing to draw."""
    if isinstance(sheet, MachineSheet):
        return elevations.draw_machine(plain_machine(sheet), units=sheet.units)
    return Markup()


def unstated(sheet: Sheet) -> tuple[str, ...]:
    """What a machine sheet leaves out, a sentence each."""
    return plain_machine(sheet).unstated if isinstance(sheet, MachineSheet) else ()


def to_look_at(sheet: Sheet) -> tuple[Row, ...]:
    """What a machine sheet is to be asked, by key, and what its setups override (without a key)."""
    if not isinstance(sheet, MachineSheet):
        return ()
    asked = [Row(doubt.key, doubt.text) for doubt in doubts(sheet)]
    return (*asked, *(Row("", f"{overridden}.") for overridden in overrides(sheet)))


def switched_from(kind: str, before: str, after: str) -> Units | None:
    """The units that a sheet had, where they are switched and not one of its figures; else None."""
    old, new = toml_text.read(before), toml_text.read(after)
    was: Units = "inch" if old.get("units") == "inch" else "mm"
    figures = [{path: value for path, value in documents.lengths(kind, data) if value} for data in (old, new)]
    return was if was != new.get("units", "mm") and figures[0] == figures[1] != {} else None


def mixed_units(bench: Bench) -> str:
    """What to say where the machine sheet and the controller are in different units, "" where they are not."""
    here, word, other = ("inches", "G21", "mm") if bench.machine_sheet.units == "inch" else ("mm", "G20", "inches")
    if word not in bench.controller.resting:
        return ""
    return (
        f"The machine sheet is in {here}, and the controller rests in {word}: lines are written in {other}. "
        "If the controller rests in the units of the sheet, change resting on the controller sheet."
    )


def _machine(machine: Machine, own: Collection[str], figures: Figures) -> Iterator[Row]:
    """Rows of the machine; ``own`` are the boxes that are there in one setup only, by their names."""
    for axis in machine.axes:
        yield Row(f"Axis {axis.name.upper()}", _axis(axis, figures))
    yield Row("Operator", f"stands {SIDES[machine.operator_side]}")
    longest = f"up to {figures.length(machine.tool_stick_out, 3)} long"
    yield Row("Tools", f"{longest}, {figures.length(2 * machine.tool_radius, 3)} across")
    run_down = f", run-down {seconds(machine.run_down)}" if machine.run_down else ""
    yield Row("Spindle", f"nose {figures.length(2 * machine.nose_radius, 3)} across{run_down}")
    if machine.holder_radius:
        across = figures.length(2 * machine.holder_radius, 3)
        yield Row("Holder", f"{across} across, {figures.length(machine.holder_length, 3)} long")
    if machine.safe_z is not None:
        yield Row("Safe Z", f"{figures.length(machine.safe_z, 3)} or above")
    yield Row(
        "Margins",
        f"{figures.length(machine.keep_out_margin, 3)} from keep-outs, "
        f"{figures.length(machine.travel_margin, 3)} from the ends of travel",
    )
    for box in machine.enclosures:
        yield Row(f"Enclosure: {box.name}", _box(box, figures))
    for box in machine.setups[0].keep_outs:
        if box.name not in own:
            yield Row(f"Always: {box.name}", _box(box, figures))
    for setup in machine.setups:
        name = setup.name or "Always"
        for box in setup.keep_outs:
            if box.name in own:
                yield Row(f"{name}: {box.name}", _box(box, figures))
        for system, origin in setup.origins.items():
            yield Row(f"{name}: zero of {system}", _places(origin.axes, figures))
    for word, place in machine.stored.items():
        yield Row(f"Point of {word}", _places({axis: Interval(at, at) for axis, at in place.items()}, figures))


def _axis(axis: Axis, figures: Figures) -> str:
    unit = "deg" if axis.rotary else figures.unit
    rate, slope = (
        (figure(axis.rapid, 1), figure(axis.acceleration, 1))
        if axis.rotary
        else (figures.bare(axis.rapid, 1), figures.bare(axis.acceleration, 1))
    )
    switch = "no home switch" if axis.home == "none" else f"home switch at {axis.home}"
    reach = f"{figures.interval(axis.name, axis.travel)} {unit}"
    return f"{reach}; rapid {rate} {unit}/min, {slope} {unit}/s²; {switch}; carried by the {axis.carried_by}"


def _box(box: Box, figures: Figures) -> str:
    sides = zip("XYZ", box.low, box.high, strict=True)
    reach = (
        f"{name} up to {figures.coordinate(name.lower(), high)}"
        if low <= UNDERFOOT
        else f"{name} {figures.interval(name.lower(), Interval(low, high))}"
        for name, low, high in sides
    )
    return f"{', '.join(reach)} {figures.unit}"


def _places(axes: Mapping[str, Interval], figures: Figures) -> str:
    return ", ".join(f"{name.upper()} {figures.interval(name, reach)}" for name, reach in axes.items())


def _machine_coordinates(sheet: ControllerSheet) -> str:
    if sheet.machine_moves:
        return "G53 is understood"
    kept = sheet.machine_system
    return f"G53 is not understood; {kept} is kept at 0, 0, 0 for them" if kept else "G53 is not understood"


def _resting(sheet: ControllerSheet, controller: Controller) -> str:
    """The resting modes, with those that were left out because the controller lacks their word."""
    lacks = [word for word in map(canonical_word, sheet.resting.split()) if word in controller.unsupported]
    left_out = f"; without {' '.join(map(str, lacks))}, which it lacks" if lacks else ""
    return f"{' '.join(controller.resting)}{left_out}"


def _controller(controller: Controller, sheet: ControllerSheet) -> Iterator[Row]:
    axes = " with all axes" if controller.g28 == "return" and controller.g28_axes == "all" else ""
    yield Row("G28", G28[controller.g28] + axes)
    yield Row("Homing", " then ".join(controller.homing) or "at the panel")
    yield Row("Machine coordinates", _machine_coordinates(sheet))
    yield Row("Dwell", DWELLS[controller.dwell_word, controller.dwell_unit])
    yield Row("Comments", COMMENTS[controller.comments])
    yield Row("Waiting for the operator", controller.pause or "not possible")
    yield Row("Rapids", RAPIDS[controller.rapid])
    yield Row("Resting modes (the words of a safe-start line)", _resting(sheet, controller))
    yield Row("Macros", f"called by {controller.call}" if controller.call else "sent line by line")
    if controller.ending:
        yield Row("Last word", controller.ending)
    yield Row("Letting go of the button", RELEASE[controller.release])
    yield Row("Brackets and parameters", "understood" if controller.expressions else "not understood")
    yield Row("Words it lacks", " ".join(sorted(controller.unsupported)) or "none")


def _answers(sheet: ControllerSheet) -> Iterator[Row]:
    """What passes between the pendant and the controller beside the lines."""
    more = ", and more may follow" if sheet.acknowledge_match == "start" else ""
    yield Row("Answer to a line", f"{sheet.acknowledge}{more}" if sheet.acknowledge else "none: one line may be sent")
    yield Row("Answer to a refused line", ", ".join(f"begins {each}" for each in sheet.error_starts) or "not known")
    yield Row("Idle", f"told by {sheet.idle_answer} when asked" if sheet.idle_ask else "not asked for")
    yield Row("After a stop", "it goes on when resumed" if sheet.stop_keeps == "held" else "what was stopped is gone")
    yield Row("A click of the wheel sends", ", then ".join(sheet.jog) or "nothing")


def _pendant(pendant: PendantSheet, figures: Figures) -> Iterator[Row]:
    driving = ", ".join(f"{each.label} drives {each.drives.upper()}" for each in pendant.positions if each.drives)
    spare = [each.label for each in pendant.spare()]
    dead = [each.label for each in pendant.positions if each.dead]
    yield Row("Axes", driving or "none")
    yield Row("Spare positions", ", ".join(spare) or "none")
    if dead:
        yield Row("Dead positions", ", ".join(dead))
    yield Row("Increments", ", ".join(pendant.increments))
    yield Row("Slots", f"{len(spare) * len(pendant.increments)}")
    yield Row("To run a macro", f"{gestures.turning(pendant.gesture)} within {seconds(pendant.gesture.window)}")
    yield Row("A click of the wheel", _jog(pendant, figures))
    yield Row(
        "Room in the microcontroller",
        f"{pendant.memory.flash} bytes for tables and program, {pendant.memory.ram} bytes of memory, "
        f"lines up to {pendant.memory.longest_line} characters",
    )
    yield Row("Wiring", f"{len(pendant.wiring.signal)} signals" if pendant.wiring else "not on the sheet")
    if pendant.numbers:
        yield Row("Numbers", ", ".join(f"{number} {id}" for id, number in pendant.numbers.items()))


def _jog(pendant: PendantSheet, figures: Figures) -> str:
    """How far a click goes at each increment that jogs."""
    steps = [
        f"{figures.bare(pendant.jog.step[each], 5)} at {each}"
        for each in pendant.increments
        if each in pendant.jog.step
    ]
    degrees = " (mm or degrees)" if figures.unit == "mm" else f" {figures.unit} (degrees: as on the sheet)"
    rate = figures.bare(pendant.jog.rate, 1)
    return f"{', '.join(steps)}{degrees}, at {rate} a minute" if steps else "does not jog"


def gesture(pendant: PendantSheet) -> tuple[str, ...]:
    """What the operator does to fire a macro, a sentence for each part."""
    return gestures.steps(pendant.gesture)
