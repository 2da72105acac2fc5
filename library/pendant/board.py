"""``board.c``: the pins of the pendant sheet written into a board, one for 8-bit chips and one for any other."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass

from library.pendant.parts import part
from library.pendant.tables import Table
from library.sheets import PendantSheet
from library.sheets.wiring import Group, Signal

PORT_AND_BIT = re.compile(r"P([A-L])([0-7])", re.IGNORECASE)
"""How the data sheets of 8-bit chips with avr-libc call a pin: PD2 is bit 2 of port D."""

OF_THE_PORT = ("PD0", "PD1")
"""The pins of the first serial port on most of these chips; on some it has others (memory)."""

_SAFE: tuple[Group, ...] = ("enable", "stop")
"""Groups of which every conductor counts: held only where all are closed, stopped where one is open."""


@dataclass(frozen=True, slots=True)
class _Contact:
    """Something that leads to a pin: its number and name in the program, what a reader calls it, and its conductor."""

    name: str
    called: str
    signal: Signal | None
    output: bool = False
    needed: bool = True
    """Whether the pendant cannot do without: a position that is off has often no conductor."""


def text(sheet: PendantSheet, table: Table) -> str:
    """The text of the board file; a contact without a conductor on the sheet is told in its place."""
    contacts = list(_contacts(sheet, {slot.position for slot in table.slots}))
    enables, stops = (len(_signals(sheet, group)) for group in _SAFE)
    pins = "\n".join(
        (
            f"/* The pins, as on the pendant sheet. Issue: {table.head.issue} */",
            *(f"#define CONTACT_{each.name} {number}u" for number, each in enumerate(contacts)),
            f"#define CONTACTS {len(contacts)}u",
            f"#define ENABLES {max(1, enables)}u /* all of them have to be closed */",
            f"#define HAS_STOP {int(stops > 0)}",
            f"#define STOPS {stops}u /* one that is open is enough */",
            f"#define HAS_LAMP {int(any(each.name == 'LAMP' for each in contacts))}",
        )
    )
    return (
        part("board_head.c").replace("@PINS@", pins)
        + "#if defined(__AVR__)\n\n"
        + part("board_8bit.c").replace("@LEVELS@", "\n".join(_eight_bit(contacts)))
        + "\n#else\n\n"
        + part("board_other.c").replace("@LEVELS@", "\n".join(_other(contacts)))
        + "\n#endif\n\n"
        + part("board_tail.c")
    )


def _contacts(sheet: PendantSheet, with_macros: Collection[int]) -> Iterator[_Contact]:
    for index, position in enumerate(sheet.positions):
        yield _Contact(
            f"POSITION_{index}",
            f"selector {_plain(position.label)}",
            _signal(sheet, "selector", position.label),
            needed=index in with_macros,
        )
    for index, increment in enumerate(sheet.increments if len(sheet.increments) > 1 else ()):
        yield _Contact(f"INCREMENT_{index}", f"increment {_plain(increment)}", _signal(sheet, "increments", increment))
    for letter in ("A", "B"):
        yield _Contact(f"WHEEL_{letter}", f"wheel {letter}", _signal(sheet, "wheel", letter))
    if not _signals(sheet, "enable"):
        yield _Contact("ENABLE", "enable", None)
    for group in _SAFE:
        signals = _signals(sheet, group)
        for index, signal in enumerate(signals):
            called = group if len(signals) == 1 else f"{group} {_plain(signal.is_)}"
            yield _Contact(f"{group.upper()}_{index}" if index else group.upper(), called, signal)
    lamp = _signal(sheet, "lamp")
    if lamp is not None:
        yield _Contact("LAMP", "lamp", lamp, output=True)


def _signals(sheet: PendantSheet, group: Group) -> tuple[Signal, ...]:
    return sheet.wiring.of(group) if sheet.wiring else ()


def _signal(sheet: PendantSheet, group: Group, label: str | None = None) -> Signal | None:
    return next((signal for signal in _signals(sheet, group) if label is None or signal.is_ == label), None)


def _plain(text: str) -> str:
    return re.sub(r"[^A-Za-z0-9 .+-]", " ", text)[:40].strip()


def _said(contact: _Contact) -> str:
    signal = contact.signal
    if signal is None:
        return f"{contact.called}: no conductor on the sheet"
    said = f"{contact.called}: {_plain(signal.wire)}, pin {_plain(signal.pin)}, closed {signal.closed}"
    floats = signal.closed == "high" and not contact.output
    return f"{said}: closes to supply, and needs a resistor from its pin to common" if floats else said


def _eight_bit(contacts: list[_Contact]) -> Iterator[str]:
    for contact in contacts:
        signal = contact.signal
        found = PORT_AND_BIT.fullmatch(signal.pin) if signal else None
        yield f"    case CONTACT_{contact.name}: /* {_said(contact)} */"
        if signal is not None and signal.pin.upper() in OF_THE_PORT:
            pin = f"pin {signal.pin.upper()} of {contact.called}"
            yield "#ifndef BOARD_PORT_IS_ELSEWHERE"
            yield (
                f'#error "{pin} belongs to the serial port: use another pin; '
                'or, if the port of your chip has others, build with -DBOARD_PORT_IS_ELSEWHERE"'
            )
            yield "#endif"
        if signal is not None and found is not None:
            port, bit = found[1].upper(), found[2]
            closed_high = int(signal.closed == "high")
            yield f"        return board_port(&PIN{port}, &DDR{port}, &PORT{port}, {bit}u, {closed_high}u, job);"
        else:
            if signal is not None:
                pin = f"pin {_plain(signal.pin)} of {contact.called}"
                yield f'#error "{pin}: write it on the pendant sheet as port and bit, such as PD2"'
            elif contact.needed:
                yield f'#error "{contact.called} has no conductor on the pendant sheet: add it under wiring"'
            yield "        return 0u;"


def _other(contacts: list[_Contact]) -> Iterator[str]:
    wired = any(contact.signal is not None for contact in contacts if contact.name.startswith("POSITION"))
    for contact in contacts:
        signal = contact.signal
        if wired and contact.needed and signal is None and contact.name.startswith("POSITION"):
            yield f'#error "{contact.called} has macros and no conductor on the pendant sheet: add it under wiring"'
        yield f"    case CONTACT_{contact.name}: /* {_said(contact)} */"
        known = signal is not None and re.fullmatch(r"\d{1,4}", signal.pin)
        closed_high = signal is not None and signal.closed == "high"
        pin = signal.pin if signal is not None and known else "BOARD_PIN_NOT_KNOWN"
        yield f"        return board_pin({pin}, {int(closed_high)}u, job);"
