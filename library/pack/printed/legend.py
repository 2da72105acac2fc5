"""What the legend card says: which macro is on which slot, and what one has to know before firing it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from library import gestures, jogs
from library.fields import Units
from library.jog_figures import JogFigures, jog_figures
from library.outgoing import Outgoing, Taken
from library.pack import caveats
from library.sheets.plain import holds_what_was_stopped, tells_hold_over
from parser.findings import Finding
from parser.machine import ROTARY
from parser.quantities import Figures, figure, sentence_list

LETTING_GO_ALL = "LETTING GO DOES NOT STOP ANY OF THESE"
LETTING_GO_SOME = "LETTING GO DOES NOT STOP {names}"
HOME_AGAIN = "HOME AGAIN AFTER AN EMERGENCY STOP."
NOT_WHILE = "NOT WHILE A PROGRAM RUNS OR WAITS."
RESUMES = "AFTER A STOP, RESUME CONTINUES IT."
CLEAR_FIRST = "CLEAR THE CONTROLLER, THEN SWITCH THIS OFF AND ON."

AT_THE_PANEL = {
    "home-at-panel": "home it AT THE PANEL: its path is not checked",
    "home-afterwards": "once it has ended home it AT THE PANEL: its path is not checked",
    "pause": "let it go on AT THE PANEL",
    "tool-change": "change the tool, let it go on AT THE PANEL",
    "by-hand": "move it by hand, let it go on AT THE PANEL",
}
"""What has to be done at the controller's panel while a macro waits, or after it, by kind of event."""


MOST_ASKED = 3  # our choice
"""What the operator is asked for at pauses, where the controller shows no messages: so many of it go on the card."""


@dataclass(frozen=True, slots=True)
class Note:
    """What one has to know of a macro. ``kind``: "plain", "strong", "forward" (an arrow before it) or "plate"."""

    text: str
    kind: str = "plain"


@dataclass(frozen=True, slots=True)
class Entry:
    """A slot of the card: the name of its macro and the notes; no name where nothing is on it."""

    name: str = ""
    notes: tuple[Note, ...] = ()


@dataclass(frozen=True, slots=True)
class Legend:
    """What the card says: ``rows`` pairs a position of the selector with an entry for each increment.

    ``letting_go`` names what letting go does not stop, "" for nothing; ``always`` is what holds for every macro,
    ``rests_on`` the tools and fixtures of the proof, ``invented`` what of it nobody has measured, ``jog`` a
    line for each group of axes that jog alike.
    """

    title: str
    increments: tuple[str, ...]
    rows: tuple[tuple[str, tuple[Entry, ...]], ...]
    home_first: bool
    letting_go: str
    gesture: str
    issue: str
    always: str
    rests_on: str
    invented: str
    jog: tuple[str, ...]
    units: Units = "mm"


def legend(goes: Outgoing) -> Legend:
    """What the card of a pack says."""
    pendant = goes.bench.pendant
    figures = goes.bench.figures
    on = {(slot.position, slot.increment): goes.taken[slot.macro] for slot in goes.slots}
    spare = [position.label for position in pendant.spare()]
    rows = tuple(
        (
            label,
            tuple(_entry(on.get((label, increment)), figures) for increment in pendant.increments),
        )
        for label in spare
    )
    return Legend(
        title=goes.bench.machine.name,
        increments=pendant.increments,
        rows=rows,
        home_first=not goes.bench.controller.refuses_unhomed,
        letting_go=_letting_go(list(dict.fromkeys(slot.macro for slot in goes.slots)), goes),
        gesture=gestures.line(pendant.gesture),
        issue=f"Issue {goes.issue}",
        always=always(goes),
        rests_on=f"Proved for {rests_on(goes)}.",
        invented=goes.invented,
        jog=tuple(jog_lines(goes)),
        units=goes.bench.machine_sheet.units,
    )


def _letting_go(ids: Sequence[str], goes: Outgoing) -> str:
    """What letting go does not stop, told once for the card."""
    ids = [id for id in ids if any(move.kind != "dwell" for move in goes.taken[id].report.trace.moves)]
    going_on = [id for id in ids if _finding(goes.taken[id], "release-does-not-stop")]
    if not going_on or len(going_on) == len(ids):
        return LETTING_GO_ALL if going_on else ""
    return LETTING_GO_SOME.format(names=sentence_list([goes.taken[id].macro.name for id in going_on]))


def always(goes: Outgoing) -> str:
    """What holds for every macro of a pack, in a few words."""
    sheet = goes.bench.controller_sheet
    held = [RESUMES] if holds_what_was_stopped(sheet) else []
    clear = [CLEAR_FIRST] if held and not tells_hold_over(sheet) else []
    return " ".join([NOT_WHILE, HOME_AGAIN, *held, *clear])


def rests_on(goes: Outgoing) -> str:
    """The tools and fixtures that every proof of a pack takes for granted."""
    machine, figures = goes.bench.machine, goes.bench.figures
    boxes = dict.fromkeys(box.name for setup in machine.setups for box in setup.keep_outs)
    boxes |= dict.fromkeys(box.name for box in machine.enclosures)
    tools = (
        f"tools up to {figures.length(machine.tool_stick_out)} long and {figures.length(2 * machine.tool_radius)} thick"
        if machine.tool_stick_out
        else "no tool in the spindle"
    )
    chosen = goes.bench.machine_sheet.on_table
    only = f", only with {chosen} on the table" if chosen and len(goes.bench.machine_sheet.setup) > 1 else ""
    drawn = f"{sentence_list(list(boxes))} as drawn" if boxes else "nothing on the table"
    return f"{tools}, and {drawn}{only}"


def jog_lines(goes: Outgoing) -> Iterator[str]:
    """How fast the wheel may be turned, in a sentence for each group of axes that jog alike; they stand together."""
    figures = goes.bench.figures
    axes: dict[str, list[JogFigures]] = {}
    for each in jog_figures(goes.bench):
        axes.setdefault(each.axis, []).append(each)
    alike: dict[str, list[str]] = {}
    for axis, rows in axes.items():
        told = ", ".join(
            f"{each.increment} {figure(each.keeps_up, 1 if each.keeps_up < 20 else 0)} clicks/s, a turn/s "
            f"{_far(axis, each.turned, figures)}/s, runs on {_far(axis, each.runs_on, figures)}"
            for each in rows
        )
        alike.setdefault(told, []).append(axis.upper())
    for number, (told, names) in enumerate(alike.items()):
        yield f"{'' if number else 'Jog '}{' '.join(names)}: {told}."
    if jogs.why_not(goes.bench):
        yield "The wheel jogs no axis."


def _far(axis: str, far: float, figures: Figures) -> str:
    places = 2 if far < 1.0 else 1
    return f"{figure(far, places)} deg" if axis in ROTARY else figures.length(far, places)


def _entry(each: Taken | None, figures: Figures) -> Entry:
    return Entry() if each is None else Entry(each.macro.name, tuple(notes(each, figures)))


def notes(each: Taken, figures: Figures) -> Iterator[Note]:
    """What one has to know before firing a macro, beside what holds for all of them."""
    macro, report = each.macro, each.report
    accepted = caveats.accepted(macro, report)
    if accepted:
        yield Note(caveats.NOT_PROVED, "plate")
    for acceptance in accepted:
        yield Note(caveats.because(acceptance), "strong")
    for only in caveats.only_from(macro, report, figures):
        yield Note(only, "strong")
    if report.hand_rate is not None:
        yield Note(f"no axis faster than {figures.rate(report.hand_rate)}")
    events = list(dict.fromkeys(event.kind for event in report.trace.events))
    forward = comes_forward(each, figures)
    if forward:
        yield Note(forward, "forward")
    if "homing" in events:
        yield Note("it homes: its path is not checked", "strong")
    yield from (Note(AT_THE_PANEL[event], "strong") for event in events if event in AT_THE_PANEL)
    asked = list(dict.fromkeys(each.proved.built.asked))
    if asked and not report.controller.message:
        more = " and so on" if len(asked) > MOST_ASKED else ""
        yield Note(f"it cannot say so: {'; '.join(asked[:MOST_ASKED])}{more}", "strong")
    if len(each.stages) > 1:
        yield Note(f"in {len(each.stages)} parts: the gesture again for each")


def comes_forward(each: Taken, figures: Figures) -> str:
    """What comes towards the operator and how far, homing included, "" for nothing.

    The path of homing is the controller's own: where its switch is at the far side it may come forward all the same.
    """
    machine = each.report.machine
    axis = machine.axis(machine.operator_side[1])
    if axis is None:
        return ""
    part = axis.carried_by.upper()
    if any(event.kind.homes for event in each.report.trace.events):
        nearer = axis.home == machine.nearer_end(axis)
        far = figures.length(axis.travel.length)
        return f"{part} COMES FORWARD up to {far}" if nearer else f"{part} MAY COME FORWARD"
    forward = _finding(each, "moves-towards-operator")
    return f"{part} COMES FORWARD {figures.length(forward.figures['up_to_mm'])}" if forward else ""


def _finding(each: Taken, rule: str) -> Finding | None:
    return next((finding for finding in each.report.findings if finding.rule == rule), None)
