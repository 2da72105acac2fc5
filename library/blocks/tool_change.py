"""Tool change: up, spindle off, over a clear corner, and wait for the operator."""

from __future__ import annotations

from library.blocks import park, pause, raise_, spindle_off
from library.blocks.block import Bench, Block, Parameter, Values, Writer


def write(values: Values, bench: Bench, out: Writer) -> None:
    for part in (raise_, spindle_off, park, pause):
        part.write(values, bench, out)


BLOCK = Block(
    id="tool-change",
    title="Tool change",
    sentence="Raise to {to} at {feed}, stop the spindle and wait {wait}, go over the {corner} corner {margin} short of "
    "the ends, and wait for the operator: {text}",
    help="For changing the tool by hand: raises, stops the spindle, takes it over a corner of the table where there is "
    "room for a hand, and waits. A longer tool than before may meet what the shorter one cleared.",
    family="Waiting",
    place=225,
    parameters=(
        *raise_.BLOCK.parameters,
        *spindle_off.BLOCK.parameters,
        *park.BLOCK.parameters,
        Parameter("text", "text", "Change the tool", "What to tell the operator.", blank="resume when ready"),
    ),
    write=write,
    note=park.note,
)
