"""Slots: which macro stands on which spare position at which increment, and what the pendant sends for it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from library import stages
from library.bench import Bench
from library.build import Built, build
from library.macros import Macro
from library.sheets import PendantSheet
from parser.findings import Finding, Severity

LINE_END_BYTES = 1  # our choice, as are the sizes below: those of our own header
"""What the microcontroller stores after each line to know where it ends."""

POINTER_BYTES = 4
SLOT_BYTES, MACRO_BYTES, STAGE_BYTES = 6, 4, 8
"""What the table takes beside the lines, on a microcontroller of 32 bits: for each line, slot, macro and stage."""


@dataclass(frozen=True, slots=True)
class Slot:
    """One selector position at one increment, by their labels, and the id of the macro put on it."""

    position: str
    increment: str
    macro: str

    @property
    def label(self) -> str:
        return f"{self.position} {self.increment}"


def slots(pendant: PendantSheet) -> tuple[Slot, ...]:
    """The slots in use, in the order of the selector and its increments; what is not on the pendant comes last."""
    positions = [position.label for position in pendant.positions]
    used = [
        Slot(position, increment, macro)
        for position, row in pendant.slots.items()
        for increment, macro in row.items()
        if macro
    ]
    return tuple(
        sorted(used, key=lambda slot: (_index(slot.position, positions), _index(slot.increment, pendant.increments)))
    )


def numbers(bench: Bench) -> dict[str, int]:
    """The number of each macro on a slot, counted from the controller's first; the same macro has one number."""
    ids = dict.fromkeys(slot.macro for slot in slots(bench.pendant))
    return {macro: number for number, macro in enumerate(ids, start=bench.controller_sheet.first_number)}


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
        stages_sent = sent(build(macro, bench), macro, number[macro_id], bench)
        total += size(stages_sent)
        long = too_long(slot, stages_sent, pendant)
        findings += [long] if long else []
    if total > pendant.memory.flash:
        findings.append(too_big(total, pendant))
    return findings


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


def too_big(total: int, pendant: PendantSheet) -> Finding:
    """The finding on a table that needs ``total`` bytes."""
    return Finding(
        "table-too-big",
        Severity.REFUSE,
        f"the lines of all slots take {total} bytes; the pendant has room for {pendant.memory.flash}",
        "Clear a slot or shorten a macro, or raise memory.flash on the pendant sheet if there really is more room.",
        figures={"bytes": float(total)},
    )


_MOVE_IT = "Move the macro to a spare position on the Pendant page."


def _refusal(rule: str, slot: Slot, message: str, remedy: str) -> Finding:
    return Finding(rule, Severity.REFUSE, message, remedy, case=f"slot {slot.label}")


def _index(label: str, labels: Iterable[str]) -> int:
    known = list(labels)
    return known.index(label) if label in known else len(known)
