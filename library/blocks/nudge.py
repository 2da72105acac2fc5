"""Nudge: a little way along one axis, counted from where the machine stands."""

from __future__ import annotations

from library.blocks import sides
from library.blocks.block import Bench, Block, BlockError, Parameter, Values, Writer


def write(values: Values, bench: Bench, out: Writer) -> None:
    by = values.number("by")
    if by == 0:
        raise BlockError("a nudge of 0 mm goes nowhere; give it a distance", "by")
    out.relative_move({values.text("axis"): by}, values.maybe("feed"))


BLOCK = Block(
    id="nudge",
    title="Nudge",
    sentence="Nudge {axis} by {by} at {feed}",
    help="Moves one axis by a distance from wherever it stands. From the end of travel that goes too far, so the macro "
    'needs a start condition such as "z <= -10 mm"; the verdict says which starts are safe.',
    family="Moves",
    place=65,
    parameters=(
        Parameter("axis", "choice", "z", "Axis to move.", choices=("x", "y", "z")),
        Parameter("by", "length", "1 mm", "How far, and which way: a negative distance goes towards the lower end."),
        Parameter("feed", "rate", "", "Rate of the move; left empty it is a rapid.", blank="rapid", least=0.001),
    ),
    write=write,
    note=sides.along,
)
