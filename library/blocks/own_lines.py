"""Own lines: text written by hand, read and checked like the rest."""

from __future__ import annotations

from collections.abc import Sequence

import parser
from library.blocks.block import Bench, Block, BlockError, Parameter, Values, Writer
from parser.language.words import G_GROUPS, canonical
from parser.motion.modes import MOTION


def write(values: Values, bench: Bench, out: Writer) -> None:
    lines = values.text("lines").replace("\r\n", "\n").strip("\n").split("\n")
    if any(line.strip() == "%" for line in lines):
        raise BlockError("a % line ends the file, and what follows it is not read; take it out", "lines")
    for line in lines:
        out.as_given(line)
    out.forget(_last_motion(lines, bench))


def _last_motion(lines: Sequence[str], bench: Bench) -> str | None:
    """The motion word that they end in, None where they have none."""
    program = parser.read("".join(f"{line}\n" for line in lines), bench.controller)
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
