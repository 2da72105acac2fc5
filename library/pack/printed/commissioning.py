"""The commissioning sheet: from the conductors of a newly wired pendant to its first macro, a system at a time.

It is a blank to fill in where the pendant sheet says nothing of the wiring, and complete where it does.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from library import gestures, jogs
from library.outgoing import Outgoing
from library.pack import lamp
from library.pack.printed.filling import render
from library.sheets import ControllerSheet, PendantSheet
from library.sheets.plain import holds_what_was_stopped, tells_hold_over, tells_idle, waits_for_a_late_answer
from library.sheets.wiring import GROUPS, Conductor, Group, Signal, Wiring
from parser.machine import ROTARY
from parser.quantities import Figures, figure

BITS_OF_A_BYTE = 10
"""What a byte takes on the port: a start bit, eight, a stop bit (common practice)."""

LINE_BYTES = 24
"""Bytes of a usual line, its end included."""

RATES = (115_200, 9_600)
"""Bits a second at the two ends of what ports usually run at (common practice)."""

TITLES: dict[Group, str] = {
    "selector": "Axis selector",
    "increments": "Increment selector",
    "wheel": "Handwheel",
    "enable": "Enable button",
    "stop": "Emergency stop",
    "lamp": "Lamp",
    "serial": "Serial port",
}

USUAL: dict[Group, tuple[str, ...]] = {
    "wheel": ("A", "B"),
    "enable": ("pressed",),
    "stop": ("pressed",),
    "lamp": ("lamp",),
    "serial": ("to the controller", "from the controller"),
}
"""What the groups consist of where no sheet says so."""


@dataclass(frozen=True, slots=True)
class Wire:
    """A conductor: what it is, what tells it apart, where it leads ("" where to be filled in), what is measured."""

    what: str
    wire: str
    pin: str
    measured: str


@dataclass(frozen=True, slots=True)
class System:
    """A page of the sheet: its conductors, if it has any, and what is tried and ticked."""

    title: str
    lead: str
    wires: tuple[Wire, ...] = ()
    ticks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Trial:
    """Something that the controller is found to do: what to send, and what its sheet says that happens."""

    send: str
    says: str
    key: str


def page(goes: Outgoing) -> str:
    """The sheet of the pendant of a pack."""
    pendant, controller = goes.bench.pendant, goes.bench.controller_sheet
    return render(
        "commissioning.html",
        pendant=pendant.name,
        machine=goes.bench.machine.name,
        controller=controller.name,
        issue=goes.issue,
        invented=goes.invented,
        wired=pendant.wiring is not None,
        systems=tuple(systems(pendant)),
        power=tuple(_first_power(goes)),
        trials=tuple(trials(goes)),
        nothing=tuple(nothing_happens(pendant, controller)),
        blind=goes.blind is not None,
        told_idle=tells_idle(controller),
        lamp=(lamp.ISSUE, *lamp.codes()),
        gesture=gestures.line(pendant.gesture),
    )


def systems(pendant: PendantSheet) -> Iterator[System]:
    """The systems of the wiring in the order in which they are tested, power off."""
    yield _supply(pendant)
    for group in GROUPS:
        ticks = tuple(filled(text, pendant) for text in _TICKS[group])
        yield System(TITLES[group], _LEADS[group], tuple(_wires(pendant, group)), ticks)


def _supply(pendant: PendantSheet) -> System:
    wiring = pendant.wiring or Wiring()
    wires = (
        _conductor("supply", wiring.supply, "to the same pin at both ends; open to common"),
        _conductor("common", wiring.common, "to the return of every signal: one bus carries them all"),
    )
    return System(
        "Supply and common",
        "Power off and unplugged at both ends. A wrong polarity ends the microcontroller, not the test.",
        wires,
        (
            "Supply is isolated: no part of the pendant is fed from the drives or from the mains",
            "Polarity of supply and common marked, and the same at both ends",
            "No continuity between supply and common",
            "Bare metal and magnets under the board are insulated",
            "The cable is relieved of strain where it enters, and no conductor carries its weight",
            "Shield, if there is one, connected at one end",
        ),
    )


_LEADS: dict[Group, str] = {
    "selector": "Turn through every position. In each, measure every conductor against common.",
    "increments": "Turn through every increment. In each, measure every conductor against common.",
    "wheel": "Turn slowly, a click at a time.",
    "enable": "Press and let go, a few times, and from an angle.",
    "stop": "An emergency stop removes drive power through a circuit of its own. What leads to the microcontroller "
    "only tells it.",
    "lamp": "The lamp tells why nothing happens.",
    "serial": "Level and rate of the port are those of the controller, or an adapter is between them.",
}

_TICKS: dict[Group, tuple[str, ...]] = {
    "selector": (
        "In each position just the conductor of that position is closed, or none in a position that has no conductor",
        "Between two positions none is closed, or the one before until it opens: never two",
    ),
    "increments": ("In each increment just its conductor is closed", "Between two increments never two are closed"),
    "wheel": (
        "A and B change one after the other, never both at once",
        "Turned the other way they change in the other order",
        "After a click both rest: {clicks} clicks a turn, {edges} changes a click",
    ),
    "enable": (
        "Closed only while it is pressed; open when it is let go, from any angle",
        "It is an ordinary button: no certified enabling device, and nobody counts on it as one",
    ),
    "stop": (
        "Pressed, it opens its circuit and latches; pulled or turned, it closes",
        "The circuit that removes drive power has no microcontroller in it",
        "Plug of the pendant pulled: drive power is removed as well",
        "With it pressed, drive power off: the head stays up",
        "The contact that tells the microcontroller opens with it, so that a broken lead stops too",
    ),
    "lamp": ("Lit and dark as the pin is switched", "A resistor limits its current, as the board asks"),
    "serial": (
        "Signal level measured at both ends: {level}",
        "What is sent arrives where it is received, crossed over once",
        "Rate set alike at both ends; a line of {bytes} bytes takes {times}",
    ),
}


def _wires(pendant: PendantSheet, group: Group) -> Iterator[Wire]:
    """A row for everything a group has to have, filled in from the sheet where it says so."""
    given = {signal.is_: signal for signal in pendant.wiring.of(group)} if pendant.wiring else {}
    for what in dict.fromkeys((*_members(pendant, group), *given)):
        signal = given.get(what)
        yield Wire(what, signal.wire if signal else "", signal.pin if signal else "", _measured(what, group, signal))


def _members(pendant: PendantSheet, group: Group) -> Sequence[str]:
    if group == "selector":
        return [position.label for position in pendant.positions]
    if group == "increments":
        return pendant.increments
    given = pendant.wiring.of(group) if pendant.wiring else ()
    return [signal.is_ for signal in given] or USUAL[group]


def _measured(what: str, group: Group, signal: Signal | None) -> str:
    level = f"; reads {signal.closed} when closed" if signal else ""
    where = "common"
    if signal and signal.closed == "high":
        where, level = "supply", f"{level}; a resistor from the pin to common is fitted"
    if group in ("selector", "increments"):
        return f"closed to {where} at {what}, open everywhere else{level}"
    if group == "stop":
        return f"opens when it is pressed{level}"
    if group == "enable":
        return f"closed to {where} while it is pressed{level}"
    if group == "wheel":
        return f"opens and closes to {where} with each click{level}"
    return "from end to end; open to common and to supply"


def _conductor(what: str, given: Conductor | None, measured: str) -> Wire:
    return Wire(what, given.wire if given else "", given.pin if given else "", measured)


def filled(text: str, pendant: PendantSheet) -> str:
    """A tick with the figures of the pendant sheet, and those of the port, put in."""
    times = " and ".join(
        f"{figure(1000 * LINE_BYTES * BITS_OF_A_BYTE / rate, 1)} ms at {rate} bits a second" for rate in RATES
    )
    return text.format(
        clicks=pendant.wheel.clicks_per_turn,
        edges=pendant.wheel.edges_per_click,
        level="________",
        bytes=LINE_BYTES,
        times=times,
    )


def _first_power(goes: Outgoing) -> Iterator[str]:
    pendant, figures = goes.bench.pendant, goes.bench.figures
    if not goes.blind:
        yield "The pendant's program is loaded: README.txt, 2"
    yield "Drives off, spindle off, emergency stop pressed; then power"
    if not goes.blind:
        yield f"The lamp flashes the number of the issue, {goes.issue.number}, or the display shows it"
    for place, position in enumerate(pendant.positions):
        what = f"drives {position.drives.upper()}" if position.drives else "dead" if position.dead else "spare"
        yield f"Selector turned to {position.label} ({what}): {_echo(goes, 'selector', position.label, place)}"
    if len(pendant.increments) > 1:
        for place, increment in enumerate(pendant.increments):
            yield f"Increment turned to {increment}: {_echo(goes, 'increments', increment, place)}"
    if _flashes(goes):
        yield "Enable pressed: that flashing ends. Stop input pressed: eight flashes"
    else:
        yield "Enable and stop: the level at the pin of each changes when it is pressed"
    yield "Drives on, tool out, the table in the middle, the smallest step chosen"
    moves = {row.axis.name for row in jogs.wheel(goes.bench).values()}
    for axis, increment, step in pendant.jogs():
        if axis in moves and increment == pendant.increments[0]:
            yield (
                f"{axis.upper()} at {increment}, one click each way: {_far(axis, step, figures)}, "
                "and the way round that is wanted; if not, change over A and B"
            )
    if jogs.why_not(goes.bench):
        yield jogs.why_not(goes.bench)
    if moves and any("G91" in line.upper() for line in goes.bench.controller_sheet.jog):
        yield "Enable let go while the wheel still turns; then look at the panel: G91 may be in force. Send G90"


def _flashes(goes: Outgoing) -> bool:
    """Whether a lamp may tell: it is on the sheet, or nobody has said yet what is wired."""
    return not goes.blind and (goes.bench.pendant.wiring is None or lamp.wired(goes.bench.pendant))


def _echo(goes: Outgoing, group: Group, label: str, place: int) -> str:
    """How it shows, drives off and enable not pressed yet, that a selector is where it was turned to."""
    wiring = goes.bench.pendant.wiring
    led = wiring is None or any(each.is_ == label for each in wiring.of(group))
    if not _flashes(goes):
        return "its pin alone has the level of a closed contact" if led else "no pin has the level of a closed contact"
    number = f"{place + 1} flash{'es' if place else ''}"
    return f"{number}{', or dark without a contact' if wiring is None else ''}" if led else "dark"


def trials(goes: Outgoing) -> Iterator[Trial]:
    """What the controller is found to do by trial, with what its sheet says."""
    sheet, bench = goes.bench.controller_sheet, goes.bench
    number = "2000" if sheet.dwell.unit == "ms" else "2"
    yield Trial(f"G4 {sheet.dwell.word}{number}", "nothing happens for two seconds by the watch", "dwell")
    at = bench.machine.safe_z
    move = f"G53 G0 Z{figure(at)}" if at is not None else "G53 G0 Z..."
    refused = "refused before it is homed" if sheet.refuses_unhomed else "not refused before it is homed: HOME FIRST"
    says = f"understood; {refused}" if sheet.machine_moves else "refused: there are no moves in machine coordinates"
    yield Trial(move, says, "machine_moves, refuses_unhomed")
    yield Trial(sheet.pause or "M0", "waits for the operator" if sheet.pause else "refused", "pause")
    yield Trial("G28", _G28[sheet.g28], "g28")
    lacks = "G80" in {word.upper() for word in sheet.unsupported}
    yield Trial("G80", "refused" if lacks else "understood, nothing moves", "unsupported")
    yield Trial("G999, a wrong line", _error(sheet), "error_starts")
    yield Trial("G90, a good line", _answer(sheet), "acknowledge")
    if sheet.idle_ask:
        yield Trial(sheet.idle_ask, f"an answer that begins {sheet.idle_answer}, while nothing moves", "idle_ask")
    yield from _stops(sheet)
    if sheet.program_head:
        yield Trial(
            sheet.program_head,
            "stands at the head of each macro file, its number filled in: taken without an error",
            "program_head",
        )


def _stops(sheet: ControllerSheet) -> Iterator[Trial]:
    """The stop line, sent while a slow move runs and another waits behind it; then what resuming does."""
    held = holds_what_was_stopped(sheet)
    key = "release, stop_line, stop_keeps"
    if sheet.stop_line or sheet.release == "wired":
        what = "Two slow moves, one behind the other; during the first "
        what += visible(sheet.stop_line) if sheet.release != "wired" else "enable let go"
        yield Trial(what, f"{_STOPPED[sheet.release]}; the second is {'held' if held else 'dropped'}", key)
        if sheet.release != "nothing":
            resumed = "the rest of both moves is carried out: HAND ON THE STOP" if held else "nothing moves"
            yield Trial("Then resume at the panel, or start", resumed, "stop_keeps")
    if held and sheet.idle_ask:
        yield Trial(
            f"Stopped so again, {sheet.idle_ask} before it is resumed",
            f"no answer that begins {sheet.idle_answer}: it is not idle while it holds something",
            "idle_answer, stop_keeps",
        )
    elif held and tells_hold_over(sheet):
        yield Trial(
            f"Stopped so again, {sheet.settle} before it is resumed", "no answer before it is resumed", "settle"
        )


_STOPPED = {
    "nothing": "nothing is stopped, both moves end",
    "queued-line": "what is queued is run, then it stops",
    "immediate": "the move stops at once",
    "wired": "the move stops at once",
}

_G28 = {
    "return": "goes to the stored point: know where that is before you send it",
    "home": "runs the homing cycle",
    "none": "refused",
}


def _answer(sheet: ControllerSheet) -> str:
    if not sheet.acknowledge:
        return "nothing is answered"
    more = ", and more may follow" if sheet.acknowledge_match == "start" else " and nothing else"
    return f"answers {sheet.acknowledge}{more}"


def _error(sheet: ControllerSheet) -> str:
    starts = " or ".join(sheet.error_starts)
    return f"an answer that begins {starts}" if starts else "the sheet does not say: write down what it answers"


def visible(text: str) -> str:
    """A line with its control bytes as they are written on the sheet."""
    return "".join(sign if sign.isprintable() else f"\\u{ord(sign):04x}" for sign in text)


def nothing_happens(pendant: PendantSheet, controller: ControllerSheet) -> Iterator[str]:
    """Each way in which nothing may happen, to be tried with a macro on the slot, the drives on and the tool out.

    That a program runs can only be tried where something tells the pendant that the controller is idle.
    """
    gesture = pendant.gesture
    yield "The selector alone: turned to a slot and back, with and without enable held"
    if gesture.enable_held:
        yield "The wheel alone: the whole gesture without enable"
        yield "Enable held before the selector has rested, then the whole gesture"
        yield "Enable let go between two clicks of the gesture"
    yield f"A wrong turn: not {gestures.turning(gesture)}, but a click too many, and one too few"
    yield f"Too slow: the gesture in more than {figure(gesture.window)} s"
    if tells_idle(controller):
        yield "A program runs or waits, then the whole gesture"
    if holds_what_was_stopped(controller):
        yield "Let go midway through a macro, then the whole gesture before the controller is resumed or cleared"
    yield "The stop input pressed, then the whole gesture; released, without turning the selector away and back"
    for position in pendant.positions:
        if position.dead:
            yield f"The whole gesture at {position.label}"
    yield "Let go midway through a macro: no further line is sent; what the controller holds may still run"
    lost = "; an answer that was lost holds it until the pendant is switched off and on"
    lost = lost if waits_for_a_late_answer(controller) else ""
    yield f"Serial lead pulled midway through a macro: no further line is sent once it is plugged in again{lost}"


def _far(axis: str, far: float, figures: Figures) -> str:
    return f"{figure(far, 3)} deg" if axis in ROTARY else figures.length(far, 3)
