"""Times of a trace: of every move and of the whole, as least, most and typical over the starts, and the run-on.

A machine that stops at corners runs every move from rest to rest (``parser.times.rest_to_rest``). One that blends them
is planned with rounded corners and look-ahead (``parser.times.blending``). Pauses, tool changes and homing take no
time.
"""

from __future__ import annotations

from parser.machine import Controller, Machine
from parser.motion.moves import Move, Trace
from parser.times.rest_to_rest import timing
from parser.times.run_on import run_on
from parser.times.timing import Plan, Timing
from parser.times.totals import totals

__all__ = ["plan", "timing"]


def plan(trace: Trace, machine: Machine, controller: Controller) -> Plan:
    """Times of every move, the totals and the run-on."""

    def timed(move: Move) -> Timing:
        return timing(move, machine, controller)

    timings = tuple(map(timed, trace.moves))
    if machine.corner == "blend":
        from parser.times.blending import blended  # the only ones that need paths as arrays

        timings = blended(trace, timings, machine, controller)
        whole = totals(trace, timings, machine)
    else:
        whole = totals(trace, timings, machine, timed)
    return Plan(timings, whole, run_on(trace, timings, machine, controller))
