"""The slot table: what the pendant sends for each slot, for its microcontroller (JSON) and for people (CSV)."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable
from dataclasses import dataclass

from library.sheets import ControllerSheet, PendantSheet
from library.slots import Slot
from library.takeaway.names import cell

COLUMNS = ("position", "increment", "macro", "name", "file", "number", "sends")


@dataclass(frozen=True, slots=True)
class Row:
    """One slot of the table: the macro's name and file, and the exact lines to send."""

    slot: Slot
    name: str
    file: str
    number: int
    lines: tuple[str, ...]


def as_csv(rows: Iterable[Row]) -> bytes:
    """The table with a heading line; the lines to send stand in one cell, one below the other."""
    out = io.StringIO(newline="")
    table = csv.writer(out, lineterminator="\r\n")
    table.writerow(COLUMNS)
    for row in rows:
        texts = (row.slot.position, row.slot.increment, row.slot.macro, row.name, row.file)
        table.writerow([*map(cell, texts), row.number, cell("\n".join(row.lines))])
    return out.getvalue().encode()


def as_json(rows: Iterable[Row], pendant: PendantSheet, controller: ControllerSheet) -> bytes:
    """The table with what the sender has to know: the gesture, what is answered, and what letting go means."""
    table = {
        "format": "clickstop-slots/1",
        "pendant": pendant.name,
        "gesture": pendant.gesture.model_dump(mode="json"),
        "line_ending": controller.line_ending,
        "acknowledge": controller.acknowledge,
        "acknowledge_means": controller.acknowledge_means,
        "queue_depth": controller.queue_depth,
        "release": controller.release,
        "stop_line": controller.stop_line,
        "slots": [
            {
                "position": row.slot.position,
                "increment": row.slot.increment,
                "macro": row.slot.macro,
                "name": row.name,
                "file": row.file,
                "number": row.number,
                "lines": list(row.lines),
            }
            for row in rows
        ],
    }
    return as_bytes(table)


def as_bytes(data: object) -> bytes:
    """JSON that is the same for the same data."""
    return (json.dumps(data, indent=2, ensure_ascii=False) + "\n").encode()
