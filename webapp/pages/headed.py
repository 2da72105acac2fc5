"""A macro as its file leaves: with all of its head, so that a line has one number on the bench and at the machine."""

from __future__ import annotations

from collections.abc import Mapping

from library.bench import Bench
from library.pack.macro_files import head
from library.proving import Proved
from webapp.pages import shelf as shelf_page

ISSUE = "given when it is taken"
ROUNDS = 4
"""How often it is proved anew because its verdict has changed how long its head is; more it never was."""
MOST = 200
"""Lines of a head that a page may say it has (our choice)."""

Proof = tuple[str, str, str, shelf_page.Others]
"""What a macro is proved on: the texts of the macro, the machine, the controller, and of the macros that it runs."""


def headed(proof: Proof, bench: Bench, dates: Mapping[str, str], guess: int) -> tuple[Proved, tuple[str, ...]]:
    """The macro proved with as many lines before its steps as its file has, and these lines.

    ``guess`` is how many there were last time: where that is right still, it is proved once. What the head says of the
    verdict is known after the proof only, so that it stands empty there; it is comments, and moves nothing. Raises
    DocumentError.
    """
    count = guess if 1 <= guess <= MOST else 1
    for _ in range(ROUNDS):
        proved = shelf_page.proved(*proof, count)
        lines = head(proved.macro, proved.report, bench, dates, ISSUE)
        if len(lines) == count:
            break
        count = len(lines)
    return proved, lines
