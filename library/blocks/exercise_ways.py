"""Exercise the ways: full strokes of X and Y that spread the oil."""

from __future__ import annotations

from library.blocks import sides
from library.blocks.block import Bench, Block, BlockError, Parameter, Values, Writer

AXES = {"x-then-y": "xy", "x": "x", "y": "y"}


def write(values: Values, bench: Bench, out: Writer) -> None:
    strokes = values.number("strokes")
    if strokes != round(strokes):
        raise BlockError(f"strokes is {strokes:g}; it must be a whole number", "strokes")
    for name in AXES[values.text("axes")]:
        low, high = _ends(name, values.number("margin"), bench)
        for _ in range(round(strokes)):
            for at in (low, high):
                out.machine_move({name: at}, values.maybe("feed"))


def _ends(name: str, margin: float, bench: Bench) -> tuple[float, float]:
    axis = bench.machine.axis(name)
    if axis is None:
        raise BlockError(f"this machine has no {name.upper()} axis", "axes")
    sides.require_margin(margin, bench)
    if 2 * margin >= axis.travel.length:
        raise BlockError(
            f"a margin of {margin:g} mm at both ends leaves nothing of the {name.upper()} travel of "
            f"{axis.travel.length:g} mm",
            "margin",
        )
    return axis.travel.low + margin, axis.travel.high - margin


def note(values: Values, bench: Bench) -> str:
    return sides.carriers(AXES[values.text("axes")], bench)


BLOCK = Block(
    id="exercise-ways",
    title="Exercise the ways",
    sentence="Run {axes} from end to end, {strokes} times, turning {margin} short of the ends, at {feed}",
    help="Full strokes that spread the way oil before the first part. One axis after the other. It does not raise; put "
    "a raise before it.",
    family="Moves",
    place=85,
    parameters=(
        Parameter("axes", "choice", "x-then-y", "Which axes to run.", choices=tuple(AXES)),
        Parameter("strokes", "count", "3", "How often to go to both ends.", least=1, most=100),
        Parameter("margin", "length", "5 mm", "How far short of the ends of travel to turn back.", least=0.0),
        Parameter("feed", "rate", "", "Rate of the strokes; left empty they are rapids.", blank="rapid", least=0.001),
    ),
    write=write,
    note=note,
)
