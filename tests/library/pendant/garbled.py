"""What comes of a line that is garbled on its way: every bit of every byte of the starters' lines, one at a time.

What arrives is followed by the parser as the controller would read it. Where the line is refused, the sender sends
nothing more, and what the line was to move does not move. Where it says the same, as in a comment, nothing is lost.
Where it says something else, nothing on a line without a check can notice that: these are counted.

By hand: .venv/bin/python -m tests.library.pendant.garbled        every one of them, with its figures
"""

from __future__ import annotations

import sys
from collections import Counter
from dataclasses import dataclass

import parser
from library import stages, starter
from library.outgoing import Gathered
from library.pack import contents

REFUSED, SAME, OTHER = "refused", "same", "other"
LINE_RULES = frozenset(
    (
        "unreadable-line", "line-too-long", "repeated-word", "same-group-twice", "too-many-m-words", "missing-word",
        "word-out-of-range", "unknown-word", "arc-does-not-close", "axis-words-twice", "no-motion-mode",
        "bad-arithmetic", "word-not-supported",
    )
)  # fmt: skip
"""What a controller refuses a line for, as published: not what a proof would refuse it for."""


@dataclass(frozen=True)
class Sent:
    """What the pendant sends for a macro of the starter, and its bench."""

    macro: str
    lines: tuple[str, ...]


def starters():
    """The bench of a new workshop, and what is sent for each macro on its slots."""
    found = list(starter.documents())
    sheets = {kind: text for kind, _, text in found if kind != "macro"}
    macros = {id: text for kind, id, text in found if kind == "macro"}
    goes = contents.outgoing(Gathered(sheets["machine"], sheets["controller"], sheets["pendant"], macros))
    sent = [Sent(id, stage.lines) for id, each in goes.taken.items() for stage in each.stages]
    return goes.bench, sent


def garblings(line):
    """The line with one bit of one byte turned over, its end included, as the controller takes it in."""
    whole = line.encode() + b"\n"
    for place in range(len(whole)):
        for bit in range(8):
            changed = bytearray(whole)
            changed[place] ^= 1 << bit
            yield bytes(changed)


def effect(lines, bench):
    """What lines do: moves with their ends and rates, events, modes after each; None where one of them is refused."""
    text = stages.as_text(lines, percent=bench.controller.percent)
    report = parser.examine(text, bench.machine, bench.controller, parser.Question(seek_start=False))
    if any(finding.rule in LINE_RULES for finding in report.findings):
        return None
    trace = report.trace
    moves = [(move.kind, move.end, move.feed, move.seconds, move.spindle) for move in trace.moves]
    events = [(event.kind, getattr(event, "text", None)) for event in trace.events]
    final = trace.final
    left = (final.modes, final.spindle, final.coolant, final.feed, final.speed, final.changed, final.origins)
    return moves, events, left


def came_of(sent, number, garbled, bench, meant):
    """What comes of the macro where line ``number``, counted from 0, arrives so."""
    text = garbled.decode("latin-1")
    rest = [*sent.lines[number + 1 :]]
    if not text.endswith(("\n", "\r")):
        # the end is lost: the controller goes on reading, and the sender waits for an answer that does not come
        return REFUSED
    arrived = [part for part in text.replace("\r", "\n").split("\n") if part]
    if any(not part.isprintable() or not part.isascii() for part in arrived):
        return REFUSED  # no sign of the language outside of a comment, and in a comment a controller may refuse it
    result = effect([*sent.lines[:number], *arrived, *rest], bench)
    if result is None:
        return REFUSED
    return SAME if result == meant else OTHER


def count(every=1):
    """How many came to what; with ``every``, only one of so many is tried."""
    bench, all_sent = starters()
    found = Counter()
    index = 0
    for sent in all_sent:
        meant = effect(sent.lines, bench)
        for number, line in enumerate(sent.lines):
            for garbled in garblings(line):
                index += 1
                if index % every == 0:
                    found[came_of(sent, number, garbled, bench, meant)] += 1
    return found


def told(found):
    total = sum(found.values())
    return ", ".join(f"{what} {found[what]} ({100 * found[what] / total:.1f} %)" for what in (REFUSED, SAME, OTHER))


if __name__ == "__main__":
    print(told(count(int(sys.argv[1]) if len(sys.argv) > 1 else 1)))
