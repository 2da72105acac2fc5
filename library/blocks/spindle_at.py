"""Spindle at a speed for a time, then off: for an edge finder."""

from __future__ import annotations

from library.blocks import spindle_off
from library.blocks.block import Bench, Block, BlockError, Parameter, Values, Writer

WAYS = {"clockwise": "M3", "counter-clockwise": "M4"}
MOST_RPM = 100_000  # our choice, as is the longest time


def write(values: Values, bench: Bench, out: Writer) -> None:
    speed, most = round(values.number("speed")), bench.machine.maximum_rpm
    if most is not None and speed > most:
        raise BlockError(f"speed is {speed} rpm; the machine sheet allows {most:g} (spindle.maximum_rpm)", "speed")
    way = values.text("way")
    if bench.machine.spindle_by_program:
        out.words(f"{WAYS[way]} S{speed}")
    else:
        out.ask(f"SPINDLE TO {speed} RPM {way.upper()} AND ON BY HAND, THEN RESUME")
    out.dwell(values.number("time"))
    spindle_off.write(values, bench, out)


BLOCK = Block(
    id="spindle-at",
    title="Spindle at a speed",
    sentence="Run the spindle {way} at {speed} rpm for {time}, then stop it and wait {wait}",
    help="Starts the spindle, waits, and stops it again: for an edge finder, which is made for 600 to 1000 rpm (common "
    "practice), or to see whether a tool runs true. Where the operator switches the spindle, it asks for the speed and "
    "waits. Nothing moves meanwhile.",
    family="Spindle and coolant",
    place=112,
    parameters=(
        Parameter("way", "choice", "clockwise", "Which way it turns, seen from above.", choices=tuple(WAYS)),
        Parameter("speed", "count", "600", "Revolutions a minute.", least=1.0, most=MOST_RPM),
        Parameter("time", "time", "30 s", "How long it runs.", least=0.001, most=600.0),
        *spindle_off.BLOCK.parameters,
    ),
    write=write,
    caution="The spindle turns with nobody at the panel: keep the tool out of the work and hands away. Let go in "
    "between and it may go on turning.",
)
