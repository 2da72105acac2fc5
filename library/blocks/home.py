"""Home: the homing lines of the controller sheet, or the operator asked to do it once the macro has ended."""

from __future__ import annotations

from library.blocks import sides
from library.blocks.block import Bench, Block, Values, Writer
from parser.machine import HOME_AT_PANEL


def write(values: Values, bench: Bench, out: Writer) -> None:
    for line in bench.controller.homing:
        out.as_given(line)
    if not bench.controller.homing:
        out.close_with(HOME_AT_PANEL)


def note(values: Values, bench: Bench) -> str:
    """Which way each part goes on its way home."""
    return sides.homewards(bench)


BLOCK = Block(
    id="home",
    title="Home",
    sentence="Home the machine",
    help="Sends the homing lines of the controller sheet; write those of Z first there. On a controller that has none "
    "the macro ends and asks the operator to home at the panel, for many controls cannot home while a program waits "
    "(memory): so it has to be the last step. The path to home is not known, so nothing is proved of it.",
    family="Moves",
    place=70,
    write=write,
    note=note,
)
