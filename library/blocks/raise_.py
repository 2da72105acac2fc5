"""Raise: Z to a height in machine coordinates, and nothing else."""

from __future__ import annotations

from library.blocks.block import Bench, Block, Parameter, Values, Writer


def write(values: Values, bench: Bench, out: Writer) -> None:
    out.machine_move({"z": values.number("to")}, values.maybe("feed"))


BLOCK = Block(
    id="raise",
    title="Raise",
    sentence="Raise to {to} at {feed}",
    help="Takes Z to a height in machine coordinates. Put it before anything that crosses the table: a macro "
    "fires from wherever the tool happens to be, also from inside the vise.",
    family="Moves",
    place=10,
    parameters=(
        Parameter("to", "length", "safe.z", "Machine Z to go to: the reading of the spindle nose.", places=("z",)),
        Parameter("feed", "rate", "", "Rate of the move; left empty it is a rapid.", blank="rapid", least=0.001),
    ),
    write=write,
)
