"""One jog: the lines that clicks of the wheel come to, how many clicks go into one line, and how long it takes."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import parser
from library.bench import Bench
from library.blocks.numbers import fixed
from parser.machine import MM_PER_INCH, Axis, Controller, Interval

LINE_SECONDS = 0.1  # our choice
"""What one line of merged clicks may take at the jog's rate."""

MOST_MERGED = 1000  # our choice
PATIENCE, PATIENCE_FACTOR = 10.0, 1.5  # our choice, as for macros

PLAIN = Controller(percent=False)
"""Reads the line that stands for a click: its time is a matter of the machine alone."""


@dataclass(frozen=True, slots=True)
class Jogged:
    """What one axis does at one increment: ``step`` in mm or degrees, ``most`` clicks in a line.

    The longest times: ``extra`` milliseconds for starting and braking, ``through`` microseconds for each click at the
    rate, and ``once`` for a single one from rest to rest.
    """

    axis: Axis
    step: float
    most: int
    extra: int
    through: int
    once: int

    def takes(self, clicks: int) -> int:
        """The longest that a jog of so many clicks may take."""
        through = self.extra + clicks * self.through // 1000
        singly = clicks * self.once // 1000 if self.once // 1000 < through // clicks else through
        return min(singly, through) + 1


def rate_of(axis: Axis, rate: float) -> float:
    """What an axis makes of the rate that is asked for."""
    return min(rate, axis.rapid)


def clicks_in_a_line(step: float, rate: float) -> int:
    """How many clicks are merged into one line at most; ``step`` in mm or degrees, ``rate`` a minute."""
    return max(1, min(MOST_MERGED, math.floor(round(LINE_SECONDS * rate / 60.0 / step, 9))))


def may_jog(bench: Bench) -> bool:
    """Whether the wheel moves anything: a jog of several lines only where the controller answers each."""
    lines = bench.controller_sheet.jog
    return len(lines) == 1 or (len(lines) > 1 and bench.controller_sheet.acknowledge != "")


def why_not(bench: Bench) -> str:
    """Why the wheel moves nothing on a position that drives an axis, as a sentence; "" where it does."""
    if not any(position.drives for position in bench.pendant.positions) or may_jog(bench):
        return ""
    if not bench.controller_sheet.jog:
        return "The wheel moves nothing: the controller sheet has no lines for a jog."
    return (
        f"The wheel moves nothing: a jog is {len(bench.controller_sheet.jog)} lines, and the controller answers "
        "nothing. Write what it answers into acknowledge on the controller sheet, or a jog of one line."
    )


def seconds(axis: Axis, distance: float, rate: float, bench: Bench) -> float:
    """How long a line of that length takes from rest to rest, by the same plan as macros."""
    text = f"G21 G91 G94\nG1 {axis.name.upper()}{distance:.6f} F{rate:.6f}\n"
    start = {each.name: Interval(each.travel.middle, each.travel.middle) for each in bench.machine.axes}
    trace = parser.trace(parser.read(text, PLAIN), bench.machine, PLAIN, start=start)
    return parser.plan(trace, bench.machine, PLAIN).totals.seconds.most


def ramps(axis: Axis, rate: float) -> float:
    """What starting and braking add at most to the seconds that a distance takes at the rate."""
    return rate / 60.0 / axis.acceleration + (axis.acceleration / axis.jerk if axis.jerk else 0.0)


def lines_of(axis: Axis, distance: float, bench: Bench) -> tuple[str, ...]:
    """The lines of a jog as they are sent; ``distance`` in mm or degrees, with its sign."""
    sheet = bench.controller_sheet
    inch = "G20" in bench.controller.resting
    scale = MM_PER_INCH if inch and not axis.rotary else 1.0
    decimals = sheet.decimals.inch if inch else sheet.decimals.mm
    filled = {
        "{axis}": axis.name.upper(),
        "{step}": fixed(distance / scale, decimals),
        "{rate}": fixed(rate_of(axis, bench.pendant.jog.rate) / scale, decimals),
    }
    lines = list(sheet.jog)
    for place, text in filled.items():
        lines = [line.replace(place, text) for line in lines]
    return tuple(lines)


def jogged(bench: Bench, axis: Axis, step: float) -> Jogged:
    """What clicks of a step do; ``step`` in mm or degrees."""
    rate = rate_of(axis, bench.pendant.jog.rate)
    return Jogged(
        axis,
        step,
        clicks_in_a_line(step, rate),
        in_ms(ramps(axis, rate)),
        in_microseconds(step / rate * 60.0),
        in_microseconds(seconds(axis, step, rate, bench)),
    )


def wheel(bench: Bench) -> dict[tuple[int, int], Jogged]:
    """What the wheel does, by the places of position and increment; a place where it moves nothing is not there."""
    pendant, found = bench.pendant, {}
    if not may_jog(bench):
        return {}
    known: dict[tuple[str, float], Jogged] = {}
    for at, position in enumerate(pendant.positions):
        axis = bench.machine.axis(position.drives) if position.drives else None
        for increment, label in enumerate(pendant.increments):
            step = pendant.jog.step.get(label)
            if axis is not None and step is not None:
                key = axis.name, step
                found[at, increment] = known[key] = known.get(key) or jogged(bench, axis, step)
    return found


def patience(bench: Bench, rows: Iterable[Jogged]) -> float:
    """The most seconds that the answer to a line of a jog may take."""
    longest = max((each.extra / 1000 + each.most * each.through / 1e6 for each in rows), default=0.0)
    return PATIENCE + PATIENCE_FACTOR * bench.pendant.jog.in_flight * longest


def in_ms(time: float) -> int:
    """Whole milliseconds, rounded up."""
    return math.ceil(round(time * 1000, 6))


def in_microseconds(time: float) -> int:
    """Whole microseconds, rounded up."""
    return math.ceil(round(time * 1e6, 3))
