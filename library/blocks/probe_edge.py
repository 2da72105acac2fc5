"""Probe an edge: sideways until the probe trips, twice, and the zero from there."""

from __future__ import annotations

from library.blocks import touches
from library.blocks.block import Bench, Block, Parameter, Values, Writer

WAYS = {"+x": ("x", 1), "-x": ("x", -1), "+y": ("y", 1), "-y": ("y", -1)}


def write(values: Values, bench: Bench, out: Writer) -> None:
    how = touches.TwoTouches.of(values)
    axis, sign = WAYS[values.text("towards")]
    # The middle of the tip lies half its diameter before the edge, which is to read the value.
    less = values.number("value") - sign * values.number("diameter") / 2
    touches.begin(values, bench, out)
    touches.touch(out, how, axis, sign * values.number("reach"))
    if not touches.calculates(bench):
        out.set_origin_here(how.system, axis, less)
    out.step_by({axis: -sign * how.back})
    out.absolute()
    out.machine_move({"z": values.number("retract")})
    if touches.calculates(bench):
        out.set_origin_from_values(how.system, {axis: touches.tripped(axis)}, {axis: less})


BLOCK = Block(
    id="probe-edge",
    title="Probe an edge",
    sentence="Probe the edge {towards} of here, at most {reach} away, "
    + touches.HOW
    + ", with a tip {diameter} thick; the edge reads {value} in {system}. Before it stop the spindle and wait {wait}, "
    "afterwards go up to {retract}",
    help="Stand the tip beside the edge, below its top. It stops the spindle, feeds towards the edge until the probe "
    "trips, goes back and touches again slowly; then it goes back once more, up, and sets the zero half a tip beyond "
    "the place: a 10 mm tip gives 5 mm (common practice, as are 100 and then 20 mm/min). On a controller that does not "
    "calculate (expressions on the controller sheet) the zero is set where the probe stopped, by the line of "
    "zero-here. " + touches.NOT_COUNTED_ON,
    family="Work zero",
    place=262,
    parameters=(
        Parameter("towards", "choice", "+x", "Which way the edge is.", choices=tuple(WAYS)),
        Parameter(
            "reach", "length", "10 mm", "How far to look at most, from where it stands.", least=touches.LEAST_REACH
        ),
        Parameter(
            "diameter", "length", "", "Diameter of the tip of the probe, as it was measured.", least=0.0, most=100.0
        ),
        Parameter("value", "length", "0 mm", "What the edge is to read."),
        *touches.VALUES,
    ),
    write=write,
    caution=f"{touches.TRY_FIRST} {touches.NO_CONTACT}",
)
