"""Present the table: bring the work to one side of the machine, where the operator can reach it."""

from __future__ import annotations

from library.blocks import sides
from library.blocks.block import Bench, Block, BlockError, Parameter, Values, Writer


def write(values: Values, bench: Bench, out: Writer) -> None:
    name, at = _towards(values, bench)
    targets = {name: at}
    other = "x" if name == "y" else "y"
    if values.text("across") == "middle":
        targets[other] = bench.evaluate(f"travel.{other}.middle", "length")
    elif values.text("across") == "work":
        targets[other] = _work_zero(other, bench, "across", "choose middle or keep")
    out.machine_move(targets)
    height = values.maybe("height")
    if height is not None:
        out.machine_move({"z": height})


def note(values: Values, bench: Bench) -> str:
    return sides.note([_tool_side(values)], bench)


def _towards(values: Values, bench: Bench) -> tuple[str, float]:
    """The axis that runs to the side, and where on it: at the end of travel, or where the work is within reach."""
    margin, reach = values.number("margin"), values.maybe("reach")
    name, end = sides.tool_over(_tool_side(values), margin, bench)
    if reach is None:
        return name, end
    other_end = sides.tool_over(values.text("side"), margin, bench)[1]
    zero = _work_zero(name, bench, "reach", "leave the reach empty")
    wanted = zero + (reach if end > other_end else -reach)
    return name, min(max(wanted, min(end, other_end)), max(end, other_end))


def _tool_side(values: Values) -> str:
    return sides.OPPOSITE[values.text("side")]


def _work_zero(name: str, bench: Bench, parameter: str, instead: str) -> float:
    try:
        return bench.evaluate(f"work.g54.{name}", "length")
    except BlockError as error:
        raise BlockError(
            f"the G54 zero in {name.upper()} is not one known number on the machine sheet; {instead}", parameter
        ) from error


BLOCK = Block(
    id="present-table",
    title="Present the table",
    sentence="Present the table to the {side}, across {across}, within reach {reach}, stopping {margin} short of the "
    "end, at height {height}",
    help="Brings the work to one side of the machine, as the operator sees it, to change or clean it. Where "
    "the head carries the axis the head clears the work instead: it is the same machine coordinate (ISO "
    "841). With a reach the G54 zero comes only so far out from under the spindle, and never further than the travel "
    "goes. With a height Z goes there at the end: where the table carries Z, that is the height of your hands. It does "
    "not raise; put a raise before it.",
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
        Parameter(
            "reach",
            "length",
            "",
            "How far out from under the spindle the G54 zero comes towards that side.",
            blank="as far as it goes",
            least=0.0,
        ),
        Parameter("margin", "length", "5 mm", "How far short of the end of travel to stop.", least=0.0),
        Parameter("height", "length", "", "Machine Z to end at, once it is there.", blank="as it is", places=("z",)),
    ),
    write=write,
    note=note,
)
