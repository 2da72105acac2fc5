"""Warm up: the spindle through stages of speed and time."""

from __future__ import annotations

from library.blocks import spindle_off
from library.blocks.block import Bench, Block, BlockError, Columns, Parameter, Values, Writer

MOST_STAGES = 12  # our choice


def write(values: Values, bench: Bench, out: Writer) -> None:
    stages = values.rows("stages")
    for speed, seconds in stages:
        _judge(speed, seconds, bench)
    for speed, seconds in stages:
        if bench.machine.spindle_by_program:
            out.words(f"M3 S{round(speed)}")
        else:
            out.ask(f"SPINDLE TO {round(speed)} RPM AND ON BY HAND, THEN RESUME")
        out.dwell(seconds)
    spindle_off.write(values, bench, out)


def _judge(speed: float, seconds: float, bench: Bench) -> None:
    most = bench.machine.maximum_rpm
    if round(speed) < 1 or seconds <= 0:
        raise BlockError("a stage needs a speed of at least 1 rpm and a time above zero", "stages")
    if most is not None and speed > most:
        raise BlockError(f"a stage asks for {speed:g} rpm; the machine sheet allows {most:g}", "stages")


BLOCK = Block(
    id="warm-up",
    title="Warm up the spindle",
    sentence="Warm the spindle up by the stages {stages}, then stop it and wait {wait}",
    help="Runs the spindle clockwise through stages of speed and time, then stops it. Where the operator switches the "
    "spindle, it asks for each speed and waits. Nothing moves, but the spindle turns: keep the tool out of the work.",
    family="Spindle and coolant",
    place=115,
    parameters=(
        Parameter(
            "stages",
            "lines",
            "1000, 60 s\n2000, 60 s",
            "One stage a line: rpm, a comma, a time.",
            columns=Columns(("count", "time"), MOST_STAGES),
        ),
        *spindle_off.BLOCK.parameters,
    ),
    write=write,
)
