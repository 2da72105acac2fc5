"""Park: the spindle over one corner of the table."""

from __future__ import annotations

from library.blocks import sides
from library.blocks.block import Bench, Block, Parameter, Values, Writer


def write(values: Values, bench: Bench, out: Writer) -> None:
    out.machine_move(dict(sides.tool_over(side, values.number("margin"), bench) for side in _sides(values)))


def note(values: Values, bench: Bench) -> str:
    return sides.note(_sides(values), bench)


def _sides(values: Values) -> list[str]:
    return values.text("corner").split("-")


BLOCK = Block(
    id="park",
    title="Park",
    sentence="Park with the spindle over the {corner} corner of the table, {margin} short of the ends",
    help="Takes X and Y together to a corner of the travel, as the operator sees the table. It does not raise; "
    "put a raise before it.",
    family="Moves",
    place=60,
    parameters=(
        Parameter(
            "corner",
            "choice",
            "back-left",
            "Corner of the table that the spindle ends over, as the operator sees it.",
            choices=("back-left", "back-right", "front-left", "front-right"),
        ),
        Parameter("margin", "length", "5 mm", "How far short of the ends of travel to stop.", least=0.0),
    ),
    write=write,
    note=note,
)
