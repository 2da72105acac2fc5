"""Probe a corner: two edges from outside, at one height, and the zero where they meet."""

from __future__ import annotations

from library.blocks import touches
from library.blocks.block import Bench, Block, BlockError, Parameter, Values, Writer
from library.blocks.sides import SEEN_FROM

CORNERS = ("front-left", "front-right", "back-left", "back-right")


def write(values: Values, bench: Bench, out: Writer) -> None:
    how = touches.TwoTouches.of(values)
    reach, beside, radius = values.number("reach"), values.number("beside"), values.number("diameter") / 2
    least = max(reach, how.back) + radius
    if beside <= least:
        raise BlockError(
            f"beside is {beside:g} mm; it has to be more than {least:g} mm, the reach and half of the tip, or a face "
            "may be missed",
            "beside",
        )
    touches.require_calculating(bench, "probe both edges with probe-edge steps instead, each of which sets one axis")
    inwards = _inwards(values.text("corner"), bench)
    touches.begin(values, bench, out)
    for axis, other in (("x", "y"), ("y", "x")):
        # Along the face first, then towards it; the way back is the same, so that the next face is free as before.
        out.step_by({other: inwards[other] * beside}, values.number("feed"))
        touches.touch(out, how, axis, inwards[axis] * reach)
        touches.keep(out, axis, touches.tripped(axis))
        out.step_by({axis: -inwards[axis] * how.back})
        if axis == "x":
            out.step_by({other: -inwards[other] * beside}, values.number("feed"))
    out.absolute()
    out.machine_move({"z": values.number("retract")})
    less = {axis: values.number(f"{axis}_value") - inwards[axis] * radius for axis in "xy"}
    out.set_origin_from_values(how.system, {axis: touches.kept(axis) for axis in "xy"}, less)


def _inwards(corner: str, bench: Bench) -> dict[str, float]:
    """Which way the work lies from its corner, along X and Y."""
    seen = SEEN_FROM[bench.machine.operator_side]
    outwards = [seen[side] for side in corner.split("-")]
    return {way[1]: 1.0 if way[0] == "-" else -1.0 for way in outwards}


BLOCK = Block(
    id="probe-corner",
    title="Probe a corner",
    sentence="Probe the {corner} corner of the work, at most {reach} away, {beside} beside it at {feed}, "
    + touches.HOW
    + ", with a tip {diameter} thick; the corner reads X {x_value} Y {y_value} in {system}. Before it stop the spindle "
    "and wait {wait}, afterwards go up to {retract}",
    help="Stand the tip outside the corner, off both faces by less than the reach and by more than half its diameter, "
    "below the top. It stops the spindle, goes along one face and touches it twice, comes back, and does the same at "
    "the other; then it goes up and sets X and Y, each half a tip beyond the place. All of it is at the height where "
    "it stands, and the room beside both faces has to be free. The corner is named as the operator sees it. "
    + touches.NOT_COUNTED_ON,
    family="Work zero",
    place=264,
    parameters=(
        Parameter("corner", "choice", "front-left", "Corner of the work, as the operator sees it.", choices=CORNERS),
        Parameter(
            "reach", "length", "10 mm", "How far to look at most, from where it stands.", least=touches.LEAST_REACH
        ),
        Parameter("beside", "length", "20 mm", "How far to go along a face before it is touched.", least=1.0),
        Parameter("feed", "rate", "300 mm/min", "Rate of the ways along the faces.", least=0.001),
        Parameter(
            "diameter", "length", "", "Diameter of the tip of the probe, as it was measured.", least=0.0, most=100.0
        ),
        Parameter("x_value", "length", "0 mm", "What the corner is to read in X."),
        Parameter("y_value", "length", "0 mm", "What the corner is to read in Y."),
        *touches.VALUES,
    ),
    write=write,
    caution=f"{touches.TRY_FIRST} {touches.NO_CONTACT}",
)
