"""Zero here: the place where an axis stands reads a value in a work system, less half of the tool that touches."""

from __future__ import annotations

from library.blocks.block import Bench, Block, BlockError, Parameter, Values, Writer
from parser.machine import AXES, ROTARY, SYSTEMS

SIDES = {"on-it": 0, "minus-side": -1, "plus-side": 1}
"""Where the tool stands -> how many of its radii its middle lies beyond what it touches."""


def write(values: Values, bench: Bench, out: Writer) -> None:
    axis = values.text("axis")
    if bench.machine.axis(axis) is None:
        raise BlockError(f"this machine has no {axis.upper()} axis (axes.{axis} on the machine sheet)", "axis")
    if not bench.controller.origin_here and "G92" in bench.controller.unsupported:
        raise BlockError(
            "this controller has no line for that: give origin_here on the controller sheet, or set the zero on its "
            "offsets page by hand"
        )
    out.set_origin_here(values.text("system"), axis, _reading(values, axis))


def _reading(values: Values, axis: str) -> float:
    """What the axis is to read where it stands."""
    if axis in ROTARY:
        return values.number("angle")
    radii = SIDES[values.text("side")]
    diameter = values.maybe("diameter")
    if not radii:
        return values.number("value")
    if diameter is None:
        raise BlockError("how thick is what touches? give its diameter, or choose on-it", "diameter")
    if axis == "z":
        raise BlockError("along Z the tip touches, not its side: choose on-it", "side")
    return values.number("value") + radii * diameter / 2


BLOCK = Block(
    id="zero-here",
    title="Zero here",
    sentence="Make {axis} read {value} here in {system}, the tool {side} of what it touches and {diameter} thick, "
    "a rotary axis {angle}",
    help="For touching off by hand: what the tool or edge finder touches reads the value afterwards, and half of its "
    "diameter is taken off where it touches with its side: a 10 mm edge finder on the minus side of an edge that reads "
    "0 stands at -5 (common practice). Along Z give the thickness of the block below the tip as the value: 25.4, 50.8 "
    "or 76.2 mm for a 1-2-3 block (common practice), and nothing is moved. It is written with the line of origin_here "
    "on the controller sheet; where that is empty with G92, an offset that holds in all nine systems and stays until "
    "G92.1 takes it off (NISTIR 6556, 3.5.18). Z is meant with no tool length offset.",
    family="Work zero",
    place=255,
    parameters=(
        Parameter("axis", "choice", "x", "Axis whose reading is set.", choices=AXES),
        Parameter("value", "length", "0 mm", "What that which is touched is to read."),
        Parameter("system", "choice", "G54", "Work coordinate system in which it reads so.", choices=SYSTEMS),
        Parameter(
            "side",
            "choice",
            "on-it",
            "Where the tool stands: on it (its tip or its middle), or beside it towards lower or higher readings.",
            choices=tuple(SIDES),
        ),
        Parameter(
            "diameter",
            "length",
            "",
            "Diameter of the tool or edge finder that touches with its side.",
            blank="its middle counts",
            least=0.0,
            most=500.0,
        ),
        Parameter("angle", "angle", "0 deg", "What a rotary axis is to read.", only_with=ROTARY),
    ),
    write=write,
    caution="The zero stays so after the macro: it changes where every later program goes.",
)
