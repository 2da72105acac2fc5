"""Index: a rotary axis on by a step, counted from where it stands."""

from __future__ import annotations

from library.blocks import sides
from library.blocks.block import Bench, Block, BlockError, Parameter, Values, Writer
from parser.machine import ROTARY


def write(values: Values, bench: Bench, out: Writer) -> None:
    axis, step = values.text("axis"), values.number("by")
    if bench.machine.axis(axis) is None:
        raise BlockError(
            f"this machine has no {axis.upper()} axis (axes.{axis} on the machine sheet); turn the work by hand at a "
            "pause step instead",
            "axis",
        )
    if step == 0:
        raise BlockError("a step of 0 degrees turns nothing; give it an angle", "by")
    out.relative_move({axis: step})


BLOCK = Block(
    id="index",
    title="Index",
    sentence="Turn {axis} on by {by}",
    help="Turns a rotary axis by a step from wherever it stands, at rapid: 90 degrees for the next side of a square, "
    "60 for that of a hexagon. From the end of its travel that goes too far, so the macro needs a start condition such "
    'as "a <= 270 deg"; the verdict says which starts are safe. It does not raise; put a raise before it.',
    family="Moves",
    place=67,
    parameters=(
        Parameter("axis", "choice", "a", "Axis to turn.", choices=ROTARY),
        Parameter(
            "by", "angle", "90 deg", "How far, and which way: a negative angle goes back.", least=-3600.0, most=3600.0
        ),
    ),
    write=write,
    note=sides.along,
    caution="What is clamped there sweeps round: the proof knows where the axis stands, not what turns with it.",
)
