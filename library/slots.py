"""What the pendant sends for the macros on its slots, and what is wrong with the slots."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping

from library import stages
from library.bench import Bench
from library.build import Built, build
from library.macros import Macro
from library.numbering import Slot, numbers, slots
from library.room import JOG, PROGRAM_FLASH, PROGRAM_RAM
from library.sheets import PendantSheet
from library.sheets.plain import holds_what_was_stopped, tells_hold_over
from parser.findings import Finding, Severity
from parser.quantities import sentence_list

LINE_END_BYTES = 1  # our choice, as are the sizes below: those of our own header
"""What the microcontroller stores after each line to know where it ends."""

POINTER_BYTES = 4
SLOT_BYTES, MACRO_BYTES, STAGE_BYTES = 6, 4, 12
"""What the table takes beside the lines, on a microcontroller of 32 bits: for each line, slot, macro and stage."""


def sent(built: Built, macro: Macro, number: int, bench: Bench) -> tuple[stages.Lines, ...]:
    """What the pendant sends to run a macro, by stages: the call of a stored file, or its lines."""
    template = bench.controller.call
    if template:
        return ((stages.call(template, macro.id, number),),)
    return stages.stages(macro, built.text, bench)


def size(sent: Iterable[stages.Lines]) -> int:
    """Bytes that a macro takes up in the pendant's memory; each slot that it stands on adds ``SLOT_BYTES``."""
    return MACRO_BYTES + sum(STAGE_BYTES + sum(map(_bytes, lines)) for lines in sent)


def _bytes(line: str) -> int:
    return len(line.encode()) + LINE_END_BYTES + POINTER_BYTES


def clash(slot: Slot, bench: Bench) -> Finding | None:
    """Why a slot cannot be used, None where it can."""
    pendant = bench.pendant
    position = next((each for each in pendant.positions if each.label == slot.position), None)
    if position is None:
        has = ", ".join(each.label for each in pendant.positions)
        return _refusal("slot-clash", slot, f"the pendant has no position {slot.position!r}; it has {has}", _MOVE_IT)
    if not position.spare:
        what = f"drives the {position.drives.upper()} axis" if position.drives else "is dead"
        return _refusal("slot-clash", slot, f"position {slot.position} of the selector {what}", _MOVE_IT)
    if slot.increment not in pendant.increments:
        has = ", ".join(pendant.increments)
        return _refusal("slot-clash", slot, f"the pendant has no increment {slot.increment!r}; it has {has}", _MOVE_IT)
    if slot.macro not in bench.shelf:
        remedy = "Put another macro on the slot, clear it, or add the macro to the shelf."
        return _refusal("slot-clash", slot, f"there is no macro {slot.macro!r} on the shelf", remedy)
    return None


def check_pendant(bench: Bench) -> list[Finding]:
    """What is wrong with the slots: clashes, lines the pendant cannot hold, and more than its memory takes."""
    pendant = bench.pendant
    findings: list[Finding] = []
    good: dict[str, Slot] = {}
    sends: dict[str, tuple[stages.Lines, ...]] = {}
    total = 0
    for slot in slots(pendant):
        wrong = clash(slot, bench)
        if wrong is None:
            good.setdefault(slot.macro, slot)
            total += SLOT_BYTES
        else:
            findings.append(wrong)
    number = numbers(bench)
    for macro_id, slot in good.items():
        macro = bench.shelf[macro_id]
        sends[macro_id] = stages_sent = sent(build(macro, bench), macro, number[macro_id], bench)
        total += size(stages_sent)
        long = too_long(slot, stages_sent, pendant)
        findings += [long] if long else []
    longest = max((_length(line) for each in sends.values() for lines in each for line in lines), default=0)
    findings += too_big(total, longest, pendant) if good else ()
    blind = blind_sending({bench.shelf[id].name: each for id, each in sends.items()}, bench)
    held = held_after_stop(bench) if sends else None
    return [*findings, *filter(None, (blind, held))]


def blind_sending(sends: Mapping[str, tuple[stages.Lines, ...]], bench: Bench) -> Finding | None:
    """The finding on macros of several lines for a controller that answers none; ``sends`` is by name of the macro."""
    if bench.controller_sheet.acknowledge or bench.controller.call:
        return None
    several = [name for name, each in sends.items() if any(len(lines) > 1 for lines in each)]
    if not several:
        return None
    return Finding(
        "blind-sending",
        Severity.REFUSE,
        f"the controller answers nothing, and more than one line is sent for {sentence_list(several)}: after a line "
        "that it refuses, the others would still be sent",
        "Write what the controller answers into acknowledge on the controller sheet, and what it says to a wrong line "
        "into error_starts; or let it store macros and write the call. Macro files may be taken all the same.",
    )


def held_after_stop(bench: Bench) -> Finding | None:
    """The finding on a controller that holds what was stopped without telling the pendant; None where all is well."""
    sheet = bench.controller_sheet
    if not holds_what_was_stopped(sheet) or tells_hold_over(sheet):
        return None
    return Finding(
        "held-after-stop",
        Severity.CAUTION,
        "after letting go the controller holds what was stopped, and nothing tells the pendant whether it still does: "
        "the pendant then sends nothing more until it is switched off and on",
        "Clear what is held, or resume it, at the panel before the pendant is switched off and on; else it would run "
        "before the next macro. Better: write idle_ask and idle_answer, or settle, on the controller sheet.",
    )


def beside_axis(slot: Slot, bench: Bench, *, moves: Collection[str]) -> Finding | None:
    """The finding on a macro that is one detent from an axis and fires as that axis is jogged; None where all is well.

    ``moves`` are the axes that it moves.
    """
    pendant = bench.pendant
    carried = [axis.name for axis in bench.machine.axes if axis.name in moves and axis.carried_by == "table"]
    here = next((at for at, each in enumerate(pendant.positions) if each.label == slot.position), None)
    if here is None or not carried or len(pendant.gesture.runs) > 1:
        return None
    near = [each for at, each in enumerate(pendant.positions) if abs(at - here) == 1 and each.drives]
    if not near:
        return None
    return Finding(
        "slot-beside-axis",
        Severity.CAUTION,
        f"{bench.shelf[slot.macro].name} moves the table and is one detent from {near[0].label}: whoever means to jog "
        "and is one position too far runs it",
        f"Write turns = [{pendant.gesture.clicks}, -{pendant.gesture.clicks}] under gesture on the pendant sheet, "
        "which no jog makes by itself, or put another macro there.",
        case=f"slot {slot.label}",
    )


def too_long(slot: Slot, sent: Iterable[stages.Lines], pendant: PendantSheet) -> Finding | None:
    """The finding on the longest line where the pendant cannot hold it."""
    longest = max((line for lines in sent for line in lines), key=_length, default="")
    room = pendant.memory.longest_line
    if _length(longest) <= room:
        return None
    message = f"the line {longest[:40]!r} of {slot.macro} has {_length(longest)} characters; the pendant holds {room}"
    remedy = "Shorten the line, or raise memory.longest_line on the pendant sheet if the pendant really holds more."
    return _refusal("line-too-long-for-pendant", slot, message, remedy)


def _length(line: str) -> int:
    return len(line.encode())


def too_big(total: int, longest: int, pendant: PendantSheet) -> Iterator[Finding]:
    """The findings on tables of ``total`` bytes with a longest line of so many: flash and memory apart."""
    program = PROGRAM_RAM + JOG * pendant.jog.in_flight
    flash, ram = total + PROGRAM_FLASH, longest + program
    if flash > pendant.memory.flash:
        yield Finding(
            "table-too-big",
            Severity.REFUSE,
            f"the tables of all slots take {total} bytes and the program up to {PROGRAM_FLASH}; the pendant has "
            f"{pendant.memory.flash} bytes of flash",
            "Clear a slot or shorten a macro, or raise memory.flash on the pendant sheet if there really is more room.",
            figures={"bytes": float(total), "flash": float(flash)},
        )
    if ram > pendant.memory.ram:
        yield Finding(
            "table-too-big",
            Severity.REFUSE,
            f"the longest line takes {longest} bytes and the program up to {program}; the pendant has "
            f"{pendant.memory.ram} bytes of memory",
            "Shorten the longest line, or raise memory.ram on the pendant sheet if there really is more room.",
            figures={"ram": float(ram)},
        )


_MOVE_IT = "Move the macro to a spare position on the Pendant page."


def _refusal(rule: str, slot: Slot, message: str, remedy: str) -> Finding:
    return Finding(rule, Severity.REFUSE, message, remedy, case=f"slot {slot.label}")
