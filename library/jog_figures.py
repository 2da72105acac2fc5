"""Jog figures: how fast the wheel may be turned, what one turn a second comes to, and how far it runs on.

A click is a line of one step at the jog's rate, from rest to rest, timed by the same plan as macros. Clicks that come
while lines are under way are merged into the next, up to what the axis moves in ``LINE_SECONDS``; the rest is dropped.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import parser
from library.bench import Bench
from parser.machine import Axis, Controller, Interval

LINE_SECONDS = 0.1  # our choice
"""What one line of merged clicks may take at the jog's rate."""

MOST_MERGED = 1000  # our choice

PLAIN = Controller(percent=False)
"""Reads the line that stands for a click: its time is a matter of the machine alone."""


@dataclass(frozen=True, slots=True)
class JogFigures:
    """One axis at one increment; lengths mm or degrees, ``rate`` a minute.

    ``keeps_up`` is how many clicks a second are carried out one by one; ``turned`` how far a second one turn of the
    wheel a second moves, ``dropped`` how many clicks of that turn are lost. ``runs_on`` is what is still moved when the
    wheel stops at that pace, for so many ``seconds``.
    """

    axis: str
    increment: str
    step: float
    rate: float
    keeps_up: float
    turned: float
    dropped: float
    runs_on: float
    seconds: float


def clicks_in_a_line(step: float, rate: float) -> int:
    """How many clicks are merged into one line at most; ``step`` in mm or degrees, ``rate`` a minute."""
    return max(1, min(MOST_MERGED, math.floor(round(LINE_SECONDS * rate / 60.0 / step, 9))))


def jog_figures(bench: Bench) -> tuple[JogFigures, ...]:
    """The figures of every axis and increment that jogs, in the order of the pendant sheet."""
    if not bench.controller_sheet.jog:
        return ()
    found = []
    for name, increment, step in bench.pendant.jogs():
        axis = bench.machine.axis(name)
        if axis is not None:
            found.append(_figures(axis, increment, step, bench))
    return tuple(found)


def _figures(axis: Axis, increment: str, step: float, bench: Bench) -> JogFigures:
    jog, a_turn = bench.pendant.jog, bench.pendant.wheel.clicks_per_turn
    rate = min(jog.rate, axis.rapid)
    most = clicks_in_a_line(step, rate)
    # the fewest clicks a line that still keep up with one turn a second, or as many as a line takes
    merged = next((n for n in range(1, most) if n / _seconds(axis, n * step, rate, bench) >= a_turn), most)
    takes = _seconds(axis, merged * step, rate, bench)
    done = min(float(a_turn), merged / takes)
    lines = min(jog.in_flight, bench.controller.queue_depth + 1) + 1  # one more is merged in the pendant meanwhile
    return JogFigures(
        axis=axis.name,
        increment=increment,
        step=step,
        rate=rate,
        keeps_up=1.0 / _seconds(axis, step, rate, bench),
        turned=done * step,
        dropped=a_turn - done,
        runs_on=lines * merged * step,
        seconds=lines * takes,
    )


def _seconds(axis: Axis, distance: float, rate: float, bench: Bench) -> float:
    """How long a line of that length takes from rest to rest."""
    text = f"G21 G91 G94\nG1 {axis.name.upper()}{distance:.6f} F{rate:.6f}\n"
    start = {each.name: Interval(each.travel.middle, each.travel.middle) for each in bench.machine.axes}
    trace = parser.trace(parser.read(text, PLAIN), bench.machine, PLAIN, start=start)
    return parser.plan(trace, bench.machine, PLAIN).totals.seconds.most
