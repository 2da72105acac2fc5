"""What a pendant holds beside the lines of its macros: parts that the sheets decide, and what is wanted on which slot.

It is worked out without a proof, so that every page can tell whether what is fitted is still what the workshop has.
"""

from __future__ import annotations

from dataclasses import asdict

from library.bench import Bench
from library.names import as_bytes
from library.numbering import slots
from library.outgoing import Issue, Outgoing, Printing
from library.pack import manifest
from library.pendant import gathering

Pairs = tuple[tuple[str, str], ...]


def parts(bench: Bench) -> Pairs:
    """Each part of the pendant's tables that the sheets decide by its name, with a digest of it.

    Raises PackError for jog figures that cannot be written.
    """
    table = gathering.table(Outgoing(bench, {}, {}, (), {}, Printing(), Issue("", "")))
    sends = {"answers": asdict(table.answers), "sent": asdict(table.sent), "call": bench.controller_sheet.call}
    held = {
        "the selector": [asdict(each) for each in table.positions],
        "the increment selector": list(table.increments),
        "the gesture": asdict(table.gesture),
        "the wheel": table.edges_per_click,
        "the jog": asdict(table.jog),
        "what is sent and answered": sends,
    }
    return tuple((name, manifest.digest(as_bytes({name: each}))) for name, each in held.items())


def wanted(bench: Bench) -> Pairs:
    """The label of each slot in use with the id of the macro that the pendant sheet has there."""
    return tuple((slot.label, slot.macro) for slot in slots(bench.pendant))
