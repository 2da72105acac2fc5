"""Sweep: back and forth along one axis at a feed, as for indicating a vise jaw."""

from __future__ import annotations

from library.blocks import sides
from library.blocks.block import Bench, Block, BlockError, Parameter, Values, Writer


def write(values: Values, bench: Bench, out: Writer) -> None:
    axis, times = values.text("axis"), values.number("times")
    if times != round(times):
        raise BlockError(f"times is {times:g}; it must be a whole number", "times")
    begin, end = values.number("begin"), values.number("finish")
    if begin == end:
        raise BlockError("the sweep begins where it ends; give it two places", "finish")
    out.machine_move({axis: begin})
    height = values.maybe("height")
    if height is not None:
        out.machine_move({"z": height}, values.number("feed"))
    for _ in range(round(times)):
        for at in (end, begin):
            out.machine_move({axis: at}, values.number("feed"))


BLOCK = Block(
    id="sweep",
    title="Sweep",
    sentence="Sweep {axis} between {begin} and {finish} at Z {height}, {times} times, at {feed}",
    help="Goes to one place along an axis at rapid, then back and forth to another at a feed, so that an indicator in "
    "the spindle runs along a vise jaw or a straight edge. With a height Z goes there first, at that feed.",
    family="Moves",
    place=80,
    parameters=(
        Parameter("axis", "choice", "x", "Axis to sweep along.", choices=("x", "y")),
        Parameter("begin", "length", "travel.x.middle - 50 mm", "Machine coordinate to begin at.", places=("axis",)),
        Parameter(
            "finish",
            "length",
            "travel.x.middle + 50 mm",
            "Machine coordinate to sweep to and come back from.",
            places=("axis",),
        ),
        Parameter(
            "height",
            "length",
            "",
            "Machine Z to sweep at: the reading of the spindle nose.",
            blank="where it stands",
            places=("z",),
        ),
        Parameter("times", "count", "2", "How often to go there and back.", least=1, most=100),
        Parameter("feed", "rate", "300 mm/min", "Rate of the sweep.", least=0.001),
    ),
    write=write,
    note=sides.along,
)
