"""Home: the homing lines of the controller sheet, or the operator asked to do it."""

from __future__ import annotations

from library.blocks.block import Bench, Block, Values, Writer
from parser.machine import HOME_AT_PANEL


def write(values: Values, bench: Bench, out: Writer) -> None:
    if bench.controller.homing:
        for line in bench.controller.homing:
            out.as_given(line)
        return
    out.message(HOME_AT_PANEL)
    out.pause()


BLOCK = Block(
    id="home",
    title="Home",
    sentence="Home the machine",
    help="Sends the homing lines of the controller sheet. On a controller that has none it asks the operator "
    "to home at the panel and waits. Many controls cannot home while they wait at M0 (memory): make it the last step, "
    "so that the operator may end the program and home. The path to home is not known, so nothing is proved of it.",
    family="Moves",
    place=70,
    write=write,
)
