"""Touch off a tool: over a fixed setter, down on it twice, and the zero in Z for the tool that is in."""

from __future__ import annotations

from library.blocks import touches
from library.blocks.block import Bench, Block, BlockError, Parameter, Values, Writer


def write(values: Values, bench: Bench, out: Writer) -> None:
    how = touches.TwoTouches.of(values)
    top, limit, height = values.number("retract"), values.number("limit"), values.number("height")
    if top - limit < touches.LEAST_REACH:
        raise BlockError(
            f"the limit at {limit:g} mm is no {touches.LEAST_REACH:g} mm below the height of {top:g} mm where it "
            "begins; give a lower one",
            "limit",
        )
    out.machine_move({"z": top})
    touches.begin(values, bench, out)
    out.machine_move({"x": values.number("x"), "y": values.number("y")})
    touches.touch(out, how, "z", limit - top)
    if not touches.calculates(bench):
        out.set_origin_here(how.system, "z", height)
    out.absolute()
    out.machine_move({"z": top})
    if touches.calculates(bench):
        out.set_origin_from_values(how.system, {"z": touches.tripped("z")}, {"z": height})


BLOCK = Block(
    id="touch-off-tool",
    title="Touch off a tool",
    sentence="Go up to {retract}, stop the spindle and wait {wait}, go over the setter at X {x} Y {y} and touch it, "
    "not below {limit}, " + touches.HOW + ", then go up again; its face is {height} above the zero of {system}",
    help="For a tool setter that is fixed to the table or the frame. It raises, stops the spindle, goes over the "
    "setter and feeds down until it trips, goes back and touches again slowly, raises, and sets the zero in Z so that "
    "the face of the setter reads its height. Measure the height once: touch the setter and then the work zero with "
    "one tool, and take the difference. It counts for the tool that is in, with no tool length offset. On a controller "
    "that does not calculate (expressions on the controller sheet) the zero is set where the probe stopped, by the "
    "line of zero-here. Draw the setter no higher than it may be met: "
    + touches.NOT_COUNTED_ON[0].lower()
    + touches.NOT_COUNTED_ON[1:],
    family="Work zero",
    place=268,
    parameters=(
        Parameter("x", "length", "", "Machine X of the setter.", places=("x",)),
        Parameter("y", "length", "", "Machine Y of the setter.", places=("y",)),
        Parameter(
            "limit", "length", "", "Machine Z below which it does not look, for the shortest tool.", places=("z",)
        ),
        Parameter("height", "length", "", "How high the face of the setter lies above the work zero."),
        *touches.VALUES,
    ),
    write=write,
    caution=f"A tool wider than the setter comes down on what is beside it. {touches.TRY_FIRST} {touches.NO_CONTACT}",
)
