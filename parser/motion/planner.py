"""Times of a trace: of every move and of the whole, as least, most and typical over the starts, and the run-on.

A machine that stops at corners runs every move from rest to rest (``parser.motion.resting``). One that blends them is
planned with rounded corners and look-ahead (``parser.motion.blending``). Pauses, tool changes and homing take no time.

Totals add the moves up: exact, unless one unknown makes one move longer and another shorter, and then a bracket.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import reduce
from operator import add

from parser.machine import LINEAR, ROTARY, Controller, Machine
from parser.motion.blending import blended
from parser.motion.moves import Trace
from parser.motion.resting import timing
from parser.motion.runon import WAITS_FOR_OPERATOR, run_on
from parser.motion.timing import NOTHING, Plan, Spread, Timing, Totals

__all__ = ["plan", "timing"]


def plan(trace: Trace, machine: Machine, controller: Controller) -> Plan:
    """Times of every move, the totals and the run-on."""
    timings = tuple(timing(move, machine, controller) for move in trace.moves)
    if machine.corner == "blend":
        timings = blended(trace, timings, machine, controller)
    return Plan(timings, _totals(trace, timings, machine), run_on(trace, timings, machine, controller))


def _totals(trace: Trace, timings: Sequence[Timing], machine: Machine) -> Totals:
    paths = [(move.kind == "rapid", each.path_mm) for move, each in zip(trace.moves, timings, strict=True)]
    return Totals(
        seconds=_sum(each.seconds for each in timings),
        rapid_mm=_sum(path for rapid, path in paths if rapid),
        feed_mm=_sum(path for rapid, path in paths if not rapid),
        by_axis_mm=_by_axis(timings, [name for name in machine.names if name in LINEAR]),
        by_axis_deg=_by_axis(timings, [name for name in machine.names if name in ROTARY]),
        operator_pauses=sum(event.kind in WAITS_FOR_OPERATOR for event in trace.events),
    )


def _by_axis(timings: Sequence[Timing], names: Iterable[str]) -> Mapping[str, Spread]:
    return {name: _sum(each.travel.get(name, NOTHING) for each in timings) for name in names}


def _sum(spreads: Iterable[Spread]) -> Spread:
    return reduce(add, spreads, NOTHING)
