"""The pendant's program in C99: its tables, the gesture and the sending, the whole pendant, and a board."""

from __future__ import annotations

from library.outgoing import Outgoing
from library.pendant import board, gathering, writing
from library.pendant.parts import part

FOLDER = "pendant"
SLOTS = f"{FOLDER}/{writing.NAME}"
SENDER, PENDANT, BOARD = (f"{FOLDER}/{name}" for name in ("sender.h", "pendant.h", "board.c"))

GARBLED = (
    "Where one bit of one of the starter's lines is turned over on its way, 16.7 % would be carried out as something "
    "else (341 of all 2040 tried); the controller refuses 79.5 %, and then nothing more is sent; 3.8 % say the same. "
    "Nothing can notice the first on a line without a check: keep the lead short and shielded and the rate moderate, "
    "and store macros on the controller instead of sending their lines."
)
"""For README.txt and Help: what a disturbed line comes to, as ``tests/library/pendant/garbled.py`` counts it."""


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
