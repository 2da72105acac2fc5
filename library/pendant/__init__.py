"""The pendant's program in C99: its tables, the gesture and the sending, the whole pendant, and a board."""

from __future__ import annotations

from library.outgoing import Outgoing
from library.pendant import board, gathering, writing
from library.pendant.parts import part

FOLDER = "pendant"
SLOTS = f"{FOLDER}/{writing.NAME}"
SENDER, PENDANT, BOARD = (f"{FOLDER}/{name}" for name in ("sender.h", "pendant.h", "board.c"))


def files(outgoing: Outgoing) -> dict[str, bytes]:
    """The program's files; raises PackError where there is more than its tables can number."""
    table = gathering.table(outgoing)
    texts = {
        SLOTS: writing.text(table),
        SENDER: part("sender.h"),
        PENDANT: part("pendant.h"),
        BOARD: board.text(outgoing.bench.pendant, table),
    }
    return {path: text.encode("ascii") for path, text in texts.items()}
