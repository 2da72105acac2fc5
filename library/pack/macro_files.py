"""A macro becomes what goes: its file with a head, and what the pendant sends for it, both proved as they are."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from library import proving, stages
from library import slots as slot_table
from library.build import Built, build, with_heading
from library.heading import heading
from library.macros import Macro
from library.pack import caveats, first_run, names
from library.pack.model import Documents, PackError, Stage, Taken
from library.proving import Proved
from library.slots import Slot
from library.store import Sheets
from parser.quantities import Figures
from parser.report import Report

ROUNDS = 4
"""How often a head is written anew: it may name lines of the file, whose numbers its own length shifts."""

PATIENCE, PATIENCE_FACTOR = 10.0, 1.5  # our choice
"""Seconds the pendant waits for an answer beyond the predicted time, and how far that prediction may be out."""

PATIENCE_FOR_EVENT = {
    "homing": 120.0,
    "call": 120.0,
    "motion-not-known": 120.0,
    "pause": 600.0,
    "home-at-panel": 600.0,
    "by-hand": 600.0,
    "tool-change": 600.0,
}
"""Seconds more for what takes no predictable time (our choice)."""


class _LeftOutError(Exception):
    """Why a macro does not go."""

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason


def taken(
    having: Documents, used: Iterable[Slot], left_out: dict[str, str], dates: Mapping[str, str]
) -> dict[str, Taken]:
    """The macros on the slots that are used, by id in the order of the slots; what does not go is put in ``left_out``.

    Raises PackError where two macros would share one file.
    """
    number_of = slot_table.numbers(having.sheets.pendant, having.sheets.controller)
    on: dict[str, list[Slot]] = {}
    for slot in used:
        on.setdefault(slot.macro, []).append(slot)
    found: dict[str, Taken] = {}
    owners: dict[str, str] = {}
    room = having.sheets.pendant.memory.bytes
    for id, its_slots in on.items():
        try:
            each = _one(having.macros[id], number_of[id], its_slots[0], having.sheets, dates)
            needs = slot_table.size(stage.lines for stage in each.stages) + len(its_slots) * slot_table.SLOT_BYTES
            if needs > room:
                raise _LeftOutError(f"its lines take {needs} bytes; the pendant's memory has {room} left")
        except _LeftOutError as error:
            left_out[id] = error.reason
            continue
        if each.file.lower() in owners:
            raise PackError(
                f"{owners[each.file.lower()]} and {id} would both be written to {each.file}; "
                "put {slug} or {number} into file_name on the controller sheet"
            )
        owners[each.file.lower()] = id
        room -= needs
        found[id] = each
    return found


def _one(macro: Macro, number: int, slot: Slot, sheets: Sheets, dates: Mapping[str, str]) -> Taken:
    """A macro as it goes; raises _LeftOutError."""
    proved = _headed(macro, build(macro, sheets), sheets, dates)
    sent = slot_table.sent(proved.built, macro, number, sheets)
    long = slot_table.too_long(slot, sent, sheets.pendant)
    if long:
        raise _LeftOutError(long.message)
    if not all(sent):
        raise _LeftOutError("it has no line that does anything, so the pendant would send nothing")
    reports = (proved.report,) if sheets.controller.call else prove_sent(macro, sent, sheets)
    for report in reports:
        if report.refused:
            raise _LeftOutError(f"what the pendant would send for it is not proved. {proving.reason(report)}")
    file = names.file_name(sheets.controller.file_name, macro.id, number)
    return Taken(
        proved,
        proved.built.text.encode(),
        file,
        number,
        tuple(Stage(lines, _patience(report)) for lines, report in zip(sent, reports, strict=True)),
        _slow(proved, file, sheets),
    )


def _slow(proved: Proved, file: str, sheets: Sheets) -> first_run.SlowCopy | str:
    try:
        return first_run.slow_copy(proved, file, sheets)
    except first_run.NotSlowedError as reason:
        return str(reason)


def _headed(macro: Macro, built: Built, sheets: Sheets, dates: Mapping[str, str]) -> Proved:
    """The macro with a head that says what was proved of the whole, head included; raises _LeftOutError."""
    proved = proving.prove_built(macro, built, sheets)
    for _ in range(ROUNDS):
        if not proved.exportable:
            raise _LeftOutError(proved.reason)
        warned = caveats.warnings(macro, proved.report, Figures(sheets.machine.units))
        head = (
            *caveats.comments((f"{each}." for each in warned), macro, sheets),
            *heading(macro, proved.report, sheets, sheets.pendant, dates),
        )
        whole = with_heading(built, head, sheets.controller)
        if whole == proved.built:
            return proved
        proved = proving.prove_built(macro, whole, sheets)
    raise _LeftOutError("its head cannot say what was proved, because that changes with the head; shorten its name")


def _patience(report: Report) -> float:
    """The most seconds the pendant waits for one answer.

    All of a stage may have to be over before the controller has room for a line, so its whole time counts.
    """
    events = {event.kind for event in report.trace.events}
    more = sum(seconds for kind, seconds in PATIENCE_FOR_EVENT.items() if kind in events)
    return PATIENCE + PATIENCE_FACTOR * report.plan.totals.seconds.most + more


def prove_sent(macro: Macro, sent: tuple[stages.Lines, ...], sheets: Sheets) -> tuple[Report, ...]:
    """The report on each stage: one that follows a gesture of its own from anywhere, a whole macro from its starts."""
    if len(sent) == 1:
        text = stages.as_text(sent[0], percent=sheets.controller.percent)
        return (proving.prove_written(macro, text, sheets),)
    return tuple(stages.prove(macro, lines, sheets) for lines in sent)
