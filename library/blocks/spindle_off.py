"""Spindle off, and a wait until it has run down."""

from __future__ import annotations

from library.blocks.block import Bench, Block, Parameter, Values, Writer

BY_HAND = "SPINDLE OFF BY HAND, THEN RESUME"


def write(values: Values, bench: Bench, out: Writer) -> None:
    if not bench.machine.spindle_by_program:
        out.ask(BY_HAND)
        return
    out.words("M5")
    out.dwell(values.maybe("wait") or 0.0)


BLOCK = Block(
    id="spindle-off",
    title="Spindle off",
    sentence="Switch the spindle off and wait {wait}",
    help="Stops the spindle and waits until it has run down. On a machine whose spindle the operator switches, "
    "it asks for that and waits for the operator, who sees whether it stands: no time is waited besides.",
    family="Spindle and coolant",
    place=110,
    parameters=(
        Parameter("wait", "time", "spindle.run_down", "How long to wait for it to stop.", blank="no wait", least=0.0),
    ),
    write=write,
)
