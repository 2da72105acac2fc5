"""The slot table: what the pendant sends for each slot, for programs (JSON) and for people (CSV)."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping

from library import verdicts
from library.names import as_bytes, cell
from library.numbering import Slot
from library.outgoing import Outgoing, Taken
from library.sending import Sending
from library.sheets.plain import tells_idle

COLUMNS = ("position", "increment", "macro", "name", "file", "number", "stage", "sends", "verdict", "start")
JSON, CSV = "slots.json", "slots.csv"


def files(outgoing: Outgoing) -> dict[str, bytes]:
    """The table in both forms."""
    return {JSON: as_json(outgoing), CSV: as_csv(outgoing)}


def as_csv(outgoing: Outgoing) -> bytes:
    """The table with a heading line and a row for each stage; its lines stand in one cell, one below the other."""
    out = io.StringIO(newline="")
    table = csv.writer(out, lineterminator="\r\n")
    table.writerow(COLUMNS)
    for slot in outgoing.slots:
        each = outgoing.taken[slot.macro]
        texts = (slot.position, slot.increment, slot.macro, each.macro.name, each.file)
        for number, stage in enumerate(each.stages, start=1):
            judged = (verdicts.in_words(each.report), each.macro.start)
            sends = cell("\n".join(stage.lines))
            table.writerow([*map(cell, texts), each.number, number, sends, *map(cell, judged)])
    return out.getvalue().encode()


def as_json(outgoing: Outgoing) -> bytes:
    """The table with what the sender has to know: the gesture, what is answered, and what letting go means."""
    pendant, controller = outgoing.bench.pendant, outgoing.bench.controller_sheet
    sending = Sending.of(controller)
    table = {
        "format": "clickstop-slots/1",
        "issue": str(outgoing.issue),
        "invented": [part.name for part in outgoing.rests_on if part.invented],
        "pendant": pendant.name,
        "positions": [position.label for position in pendant.positions],
        "increments": list(pendant.increments),
        "gesture": pendant.gesture.model_dump(mode="json"),
        "line_ending": controller.line_ending,
        "acknowledge": controller.acknowledge,
        "acknowledge_means": controller.acknowledge_means,
        "queue_depth": controller.queue_depth,
        "unanswered_lines": 1,
        "waits_for_idle": sending.waits_for_idle and tells_idle(controller),
        "idle_for_seconds": sending.quiet,
        "release": controller.release,
        "stop_line": sending.stop_line,
        "memory": {
            "bytes_used": outgoing.bytes_used,
            "bytes": pendant.memory.flash,
            "longest_line_used": outgoing.longest_line,
            "longest_line": pendant.memory.longest_line,
        },
        "slots": [_slot(slot, outgoing.taken[slot.macro]) for slot in outgoing.slots],
    }
    return as_bytes(table)


def _slot(slot: Slot, each: Taken) -> Mapping[str, object]:
    return {
        "position": slot.position,
        "increment": slot.increment,
        "macro": slot.macro,
        "name": each.macro.name,
        "file": each.file,
        "number": each.number,
        "verdict": each.report.verdict,
        "start": each.macro.start,
        "stages": [{"patience_seconds": round(stage.patience, 3), "lines": list(stage.lines)} for stage in each.stages],
    }
