"""A macro as its file leaves: with all of its head, so that a line has one number on the bench and at the machine."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from library.bench import Bench
from library.pack.macro_files import head
from library.proving import Proved
from webapp.pages import shelf as shelf_page

ISSUE = "given when it is taken"
NOT_READY = "not ready"
"""The verdict of what cannot be written, as the bar has it: nothing of it was proved, and no file of it leaves."""
ROUNDS = 4
"""How often it is proved anew because its verdict has changed how long its head is; more it never was."""
MOST = 200
"""Lines of a head that a page may say it has (our choice)."""

Proof = tuple[str, str, str, shelf_page.Others]
"""What a macro is proved on: the texts of the macro, the machine, the controller, and of the macros that it runs."""


@dataclass(frozen=True, slots=True)
class Headed:
    """A macro proved so, the lines of its head, and ``known``: how many there are where it is not as many as usual."""

    proved: Proved
    lines: tuple[str, ...]
    known: int


def headed(proof: Proof, bench: Bench, dates: Mapping[str, str], known: int) -> Headed:
    """The macro proved with as many lines before its steps as its file has.

    ``known`` is as it was last time, 0 for as usual: where that is right still, it is proved once. What the head says
    of the verdict is known after the proof only, so that it stands empty there; it is comments, and moves nothing.
    Raises DocumentError.
    """
    known = known if 1 <= known <= MOST else 0
    for _ in range(ROUNDS):
        proved = shelf_page.proved(*proof, known)
        word = NOT_READY if proved.problems else ""
        lines = head(proved.macro, proved.report, bench, dates, ISSUE, word)
        if len(lines) == proved.built.head:
            break
        known = len(lines)
    return Headed(proved, lines, known)
