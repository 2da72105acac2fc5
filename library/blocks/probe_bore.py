"""Probe a bore: both walls along X, then both along Y through the middle, and the zero in the middle."""

from __future__ import annotations

from library.blocks import touches
from library.blocks.block import Bench, Block, Parameter, Values, Writer


def write(values: Values, bench: Bench, out: Writer) -> None:
    how = touches.TwoTouches.of(values)
    reach = values.number("reach")
    touches.require_calculating(
        bench, "touch the walls one after another with zero-here steps, read both off the display, and halve them"
    )
    touches.begin(values, bench, out)
    for axis in "xy":
        touches.touch(out, how, axis, -reach)
        touches.keep(out, axis, touches.tripped(axis))
        out.step_by({axis: how.back})
        touches.touch(out, how, axis, 2 * reach)
        touches.keep(out, axis, f"[[{touches.kept(axis)}+{touches.tripped(axis)}]/2]")
        out.step_from_contact(axis, touches.KEPT[axis], values.number("feed"))
    out.absolute()
    out.machine_move({"z": values.number("retract")})
    less = {axis: values.number(f"{axis}_value") for axis in "xy"}
    out.set_origin_from_values(how.system, {axis: touches.kept(axis) for axis in "xy"}, less)


BLOCK = Block(
    id="probe-bore",
    title="Probe a bore",
    sentence="Probe the bore around here, at most {reach} to a wall, "
    + touches.HOW
    + ", to its middle at {feed}; the middle reads X {x_value} Y {y_value} in {system}. Before it stop the spindle and "
    "wait {wait}, afterwards go up to {retract}",
    help="Stand the tip in the bore, below its edge, anywhere near the middle. It stops the spindle and touches the "
    "walls towards -X and +X, goes to the middle between them, does the same in Y, goes up from the middle, and sets X "
    "and Y there. The thickness of the tip falls out, as it is the same on both sides. From wall to wall it looks "
    "twice as far as the reach. " + touches.NOT_COUNTED_ON,
    family="Work zero",
    place=266,
    parameters=(
        Parameter("reach", "length", "20 mm", "How far to look at most for the first wall.", least=touches.LEAST_REACH),
        Parameter("feed", "rate", "300 mm/min", "Rate of the ways to the middle.", least=0.001),
        Parameter("x_value", "length", "0 mm", "What the middle is to read in X."),
        Parameter("y_value", "length", "0 mm", "What the middle is to read in Y."),
        *touches.VALUES,
    ),
    write=write,
    caution=f"{touches.TRY_FIRST} {touches.NO_CONTACT}",
)
