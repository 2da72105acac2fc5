"""Centre the table: the middle of the X and Y travel under the spindle."""

from __future__ import annotations

from library.blocks import sides
from library.blocks.block import Bench, Block, Values, Writer


def write(values: Values, bench: Bench, out: Writer) -> None:
    out.machine_move({name: bench.evaluate(f"travel.{name}.middle", "length") for name in ("x", "y")})


BLOCK = Block(
    id="centre-table",
    title="Centre the table",
    sentence="Centre the table under the spindle",
    help="Takes X and Y together to the middle of their travel, so that the load hangs over neither end of the "
    "ways. It does not raise; put a raise before it.",
    family="Moves",
    place=30,
    write=write,
    note=sides.across,
)
