"""Present the table: bring the work to one side of the machine, where the operator can reach it."""

from __future__ import annotations

from library.blocks import sides
from library.blocks.block import Bench, Block, BlockError, Parameter, Values, Writer


def write(values: Values, bench: Bench, out: Writer) -> None:
    name, at = sides.tool_over(_tool_side(values), values.number("margin"), bench)
    targets = {name: at}
    other = "x" if name == "y" else "y"
    if values.text("across") == "middle":
        targets[other] = bench.evaluate(f"travel.{other}.middle", "length")
    elif values.text("across") == "work":
        targets[other] = _work_zero(other, bench)
    out.machine_move(targets)


def note(values: Values, bench: Bench) -> str:
    return sides.note([_tool_side(values)], bench)


def _tool_side(values: Values) -> str:
    return sides.OPPOSITE[values.text("side")]


def _work_zero(name: str, bench: Bench) -> float:
    try:
        return bench.evaluate(f"work.g54.{name}", "length")
    except BlockError as error:
        raise BlockError(
            f"the G54 zero in {name.upper()} is not one known number on the machine sheet; choose middle or keep",
            "across",
        ) from error


BLOCK = Block(
    id="present-table",
    title="Present the table",
    sentence="Present the table to the {side}, across {across}, stopping {margin} short of the end",
    help="Brings the work to one side of the machine, as the operator sees it, to change or clean it. Where "
    "the head carries the axis the head clears the work instead: it is the same machine coordinate (ISO "
    "841). It does not raise; put a raise before it.",
    family="Moves",
    place=20,
    parameters=(
        Parameter("side", "choice", "front", "Side of the machine, as the operator sees it.", choices=sides.SIDES),
        Parameter(
            "across",
            "choice",
            "middle",
            "The other axis: to the middle of its travel, kept where it is, or in line with the G54 work zero.",
            choices=("middle", "keep", "work"),
        ),
        Parameter("margin", "length", "5 mm", "How far short of the end of travel to stop.", least=0.0),
    ),
    write=write,
    note=note,
)
