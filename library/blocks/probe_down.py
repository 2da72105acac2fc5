"""Probe down: feed down until the probe trips, back, down again slowly, then up."""

from __future__ import annotations

from library.blocks import spindle_off, touches
from library.blocks.block import Bench, Block, Parameter, Values, Writer
from parser.machine import SYSTEMS


def write(values: Values, bench: Bench, out: Writer) -> None:
    fast = values.number("feed")
    # A macro may have asked for less than the slow rate when there was one touch only: then both are as slow.
    slow = min(fast, values.number("slow"))
    how = touches.TwoTouches(values.text("system"), fast, slow, values.number("back"))
    touches.begin(values, bench, out)
    touches.touch(out, how, "z", -values.number("depth"))
    out.absolute()
    out.machine_move({"z": values.number("retract")})


BLOCK = Block(
    id="probe-down",
    title="Probe down",
    sentence="Probe down by at most {depth} at {feed}, back {back}, again at {slow}, in {system}. Before it stop the "
    "spindle and wait {wait}, afterwards go up to {retract}",
    help="Stops the spindle, feeds Z down from where it stands until the probe trips, goes back and touches again "
    "slowly, never faster than the first time, then raises at rapid. Afterwards that system is in force, with no tool "
    "length offset; a step that sets a work zero from the probe counts from the second touch. Raise to a known height "
    "first. " + touches.NOT_COUNTED_ON,
    family="Work zero",
    place=260,
    parameters=(
        Parameter("depth", "length", "10 mm", "How far down to look, from where Z stands.", least=touches.LEAST_REACH),
        Parameter("feed", "rate", "50 mm/min", "Rate of the first touch.", least=0.001),
        *(each for each in touches.PARAMETERS if each.name != "fast"),
        Parameter("system", "choice", "G54", "Work coordinate system the result counts in.", choices=SYSTEMS),
        *spindle_off.BLOCK.parameters,
        touches.RETRACT,
    ),
    write=write,
    caution=f"{touches.TRY_FIRST} {touches.NO_CONTACT}",
)
