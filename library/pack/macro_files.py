"""A macro becomes what goes: its file with a head, and what the pendant sends for it, both proved as they are."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from library import names, proving, stages
from library import slots as slot_table
from library.bench import Bench
from library.build import Built, build, with_heading
from library.heading import heading
from library.macros import Macro
from library.numbering import Slot, numbers
from library.outgoing import PackError, SlowCopy, Stage, Taken, sent_key, slow_key
from library.pack import caveats, first_run
from library.proving import Proved
from library.room import PROGRAM_FLASH
from library.sheets import FIRST_RUN
from parser.progress import Progress, part, unheard
from parser.report import Report

ROUNDS = 4
"""How often a head is written anew: it may name lines of the file, whose numbers its own length shifts."""

PATIENCE, PATIENCE_FACTOR = 10.0, 1.5  # our choice
"""Seconds the pendant waits for an answer beyond the predicted time, and how far that prediction may be out."""

PATIENCE_FOR_EVENT = {
    "homing": 120.0,
    "call": 120.0,
    "motion-not-known": 120.0,
    "input": 120.0,
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
    bench: Bench,
    used: Iterable[Slot],
    left_out: dict[str, str],
    dates: Mapping[str, str],
    issue: str,
    progress: Progress = unheard,
) -> dict[str, Taken]:
    """The macros on the slots that are used, by id in the order of the slots; what does not go is put in ``left_out``.

    ``progress`` is told the share done; what it raises ends the work. Raises PackError where two macros would share one
    file.
    """
    number_of = numbers(bench)
    on: dict[str, list[Slot]] = {}
    for slot in used:
        on.setdefault(slot.macro, []).append(slot)
    found: dict[str, Taken] = {}
    owners: dict[str, str] = {}
    room = bench.pendant.memory.flash - PROGRAM_FLASH
    for number, (id, its_slots) in enumerate(on.items()):
        told = part(progress, number / len(on), (number + 1) / len(on))
        try:
            each = _one(bench.shelf[id], number_of, its_slots[0], bench, dates, issue, told)
            needs = slot_table.size(stage.lines for stage in each.stages) + len(its_slots) * slot_table.SLOT_BYTES
            if needs > room:
                spare = max(room, 0)
                raise _LeftOutError(f"its lines take {needs} bytes; the pendant has {spare} left beside its program")
        except _LeftOutError as error:
            left_out[id] = error.reason
            continue
        for file in (each.file, *(() if isinstance(each.slow, str) else (each.slow.file,))):
            if file.lower() in owners:
                raise PackError(
                    f"{owners[file.lower()]} and {id} would both be written to {file}; "
                    "put {slug} or {number} into file_name on the controller sheet"
                )
            owners[file.lower()] = id
        room -= needs
        found[id] = each
    return found


def _one(
    macro: Macro,
    number_of: Mapping[str, int],
    slot: Slot,
    bench: Bench,
    dates: Mapping[str, str],
    issue: str,
    progress: Progress,
) -> Taken:
    """A macro as it goes; raises _LeftOutError."""
    number = number_of[macro.id]
    proved = _headed(macro, build(macro, bench), bench, dates, issue, progress)
    sent = slot_table.sent(proved.built, macro, number, bench)
    long = slot_table.too_long(slot, sent, bench.pendant)
    if long:
        raise _LeftOutError(long.message)
    if not all(sent):
        raise _LeftOutError("it has no line that does anything, so the pendant would send nothing")
    stored = bool(bench.controller.call)
    reports = (proved.report,) if stored else prove_sent(macro, sent, bench)
    for report in reports:
        if report.refused:
            raise _LeftOutError(f"what the pendant would send for it is not proved. {proving.reason(report)}")
    file = names.file_name(bench.controller_sheet.file_name, macro.id, number)
    return Taken(
        proved,
        proved.built.text.encode(),
        file,
        number,
        tuple(
            Stage(lines, _patience(report), _motion(report), None if stored else report.second)
            for lines, report in zip(sent, reports, strict=True)
        ),
        _slow(proved, file, _believing(bench, macro.id, slow_key(macro.id)), number_of[FIRST_RUN + macro.id], issue),
    )


def _slow(proved: Proved, file: str, bench: Bench, number: int, issue: str) -> SlowCopy | str:
    try:
        return first_run.slow_copy(proved, file, bench, number, issue)
    except first_run.NotSlowedError as reason:
        return str(reason)


def _headed(
    macro: Macro, built: Built, bench: Bench, dates: Mapping[str, str], issue: str, progress: Progress
) -> Proved:
    """The macro with a head that says what was proved of the whole, head included; raises _LeftOutError."""
    proved = proving.prove_macro(macro, bench, built, progress=progress)
    for _ in range(ROUNDS):
        if not proved.exportable:
            raise _LeftOutError(proved.reason)
        whole = with_heading(built, head(macro, proved.report, bench, dates, issue), bench)
        if whole == proved.built:
            return proved
        proved = proving.prove_macro(macro, bench, whole)
    raise _LeftOutError("its head cannot say what was proved, because that changes with the head; shorten its name")


def head(
    macro: Macro, report: Report, bench: Bench, dates: Mapping[str, str], issue: str, word: str = ""
) -> tuple[str, ...]:
    """The lines of comments that the file of a macro begins with; ``word`` as in ``heading``."""
    warned = (f"{each}." for each in caveats.warnings(macro, report, bench.figures))
    return (*caveats.comments(warned, bench), *heading(macro, report, bench, dates, issue, word))


def _patience(report: Report) -> float:
    """The most seconds the pendant waits for one answer.

    All of a stage may have to be over before the controller has room for a line, so its whole time counts.
    """
    return PATIENCE + PATIENCE_FACTOR * report.plan.totals.seconds.most + _for_events(report)


def _motion(report: Report) -> float:
    """The most seconds from the last line to the end of what moves."""
    return report.plan.totals.seconds.most + _for_events(report)


def _for_events(report: Report) -> float:
    events = {event.kind for event in report.trace.events}
    return sum(seconds for kind, seconds in PATIENCE_FOR_EVENT.items() if kind in events)


def prove_sent(macro: Macro, sent: tuple[stages.Lines, ...], bench: Bench) -> tuple[Report, ...]:
    """The report on each stage: one that follows a gesture of its own from anywhere, a whole macro from its starts."""
    if len(sent) == 1:
        text = stages.as_text(sent[0], percent=bench.controller.percent)
        return (proving.prove_written(macro, text, _believing(bench, macro.id, sent_key(macro.id, 1))),)
    return tuple(
        stages.prove(macro, lines, _believing(bench, macro.id, sent_key(macro.id, gesture)))
        for gesture, lines in enumerate(sent, 1)
    )


def _believing(bench: Bench, id: str, key: str) -> Bench:
    """The bench on which of a macro that is believed which a second opinion has said of a part of it."""
    return replace(bench, said={id: bench.said[key]}) if key in bench.said else bench
