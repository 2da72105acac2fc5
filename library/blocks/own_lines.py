"""Own lines: text written by hand, read and checked like the rest."""

from __future__ import annotations

import parser
from library.blocks.block import Bench, Block, BlockError, Parameter, Values, Writer
from parser.language.program import Line, Program
from parser.language.words import G_GROUPS, canonical
from parser.machine import SYSTEMS
from parser.motion.modes import MOTION

OFFSETS = ("G52", "G92", "G92.1", "G92.2", "G92.3")
"""Words that move the zero of every work system at once; G52 is none of the standard (common practice)."""


def write(values: Values, bench: Bench, out: Writer) -> None:
    lines = values.text("lines").replace("\r\n", "\n").strip("\n").split("\n")
    if any(line.strip() == "%" for line in lines):
        raise BlockError("a % line ends the file, and what follows it is not read; take it out", "lines")
    for line in lines:
        out.as_given(line)
    program = parser.read("".join(f"{line}\n" for line in lines), bench.controller)
    moved = {system for line in program.lines for system in _zeros_moved(line, bench)}
    out.forget(_last_motion(program), zeros_of=moved)


def _zeros_moved(line: Line, bench: Bench) -> tuple[str, ...]:
    """The work systems whose zeros a line may move: it sets one, an offset of all, or nobody can see what it does."""
    spelled = [(word.letter, word.value) for word in line.words]
    if any(letter in "GM" and not isinstance(value, float) for letter, value in spelled):
        return SYSTEMS
    codes = [canonical(letter, value) for letter, value in spelled if letter in "GM" and isinstance(value, float)]
    if "G10" in codes:
        set_one = [system for number, system in enumerate(SYSTEMS, start=1) if ("P", float(number)) in spelled]
        return tuple(set_one) if ("L", 2.0) in spelled and set_one else SYSTEMS
    unseen = any(code in OFFSETS or bench.controller.extra_words.get(code) == "call" for code in codes)
    return SYSTEMS if unseen else ()


def _last_motion(program: Program) -> str | None:
    """The motion word that they end in, None where they have none."""
    words = (word for line in reversed(program.lines) for word in line.words if word.letter == "G")
    spelled = (canonical("G", word.value) for word in words if isinstance(word.value, float))
    return next((word for word in spelled if G_GROUPS.get(word) == MOTION), None)


BLOCK = Block(
    id="own-lines",
    title="Own lines",
    sentence="Run these lines: {lines}",
    help="Lines written by hand, sent as they are. They are read and checked like all others; modes that they "
    "change they have to put back themselves.",
    family="By hand",
    place=310,
    parameters=(Parameter("lines", "lines", "", "RS-274 text, one line each."),),
    write=write,
)
