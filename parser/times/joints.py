"""Where a program has to stop between two moves, where it runs through, and where it may round the corner.

A machine whose sheet says that corners are stops comes to rest after every move. Otherwise:

* after a dwell, a wait, a homing cycle or a change of the spindle, on a probing move and on a dogleg it rests;
* exact stop (G61.1) on either side rests (NISTIR 6556, 3.5.14);
* moves of which one runs on in the direction of the other are run through;
* a corner between two straight feed moves of X, Y and Z is rounded, unless exact path (G61) is in force on either side;
* any other corner is a stop. A rapid positions: whether controllers round its corners differs, and the point it goes
  to is what clearances count on, so the longer time is taken. So it is beside an arc, for a rounded end of one has no
  simple shape, and where a rotary axis moves.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence

from parser.arrays import Array, Flags, Small, np
from parser.motion.moves import Move, Trace
from parser.times.corners import STRAIGHT, turn_between
from parser.times.path_planning import Joint

TANGENT = 2e-3
"""Turn in radians up to which an arc and its neighbour are taken to be tangent: ends written to a thousandth of a mm
are no better on arcs of a few tenths of a mm."""


def may_run_on(trace: Trace, pairs: Sequence[tuple[int, int]], *, at_all: bool = False) -> list[bool]:
    """Whether nothing but the angle can stop the machine between each pair of moves, given by their numbers.

    ``at_all`` counts what only may stop it for nothing, as the proof has to: an event that may be none (the table of
    ``EventKind`` says which), a dwell of no time, any word for the spindle, which may be in that state already or be
    switched on at no speed. An estimate of time takes them for stops.
    """
    dwells = [i for i, move in enumerate(trace.moves) if move.kind == "dwell" and (move.seconds > 0 or not at_all)]
    stops = [event for event in trace.events if (event.surely_stops if at_all else event.kind.interrupts)]
    rests = sorted([event.before for event in stops] + dwells)
    return [
        bisect_right(rests, one) == bisect_right(rests, other)
        and _flowing(trace.moves[one], trace.moves[other], at_all)
        for one, other in pairs
    ]


def _flowing(one: Move, other: Move, at_all: bool) -> bool:
    return (
        not (one.dogleg or other.dogleg)
        and one.kind != "probe" != other.kind
        and (at_all or one.spindle == other.spindle)
        and "G61.1" not in (one.path_control, other.path_control)
    )


def roundable(move: Move, turns: bool) -> bool:
    """Whether a corner at either end of a move may be rounded; ``turns`` tells that a rotary axis moves in it."""
    return move.kind == "feed" and not turns and move.path_control != "G61"


def joints(arrives: Array, leaves: Array, running: Flags, rounding: Flags, curved: Flags) -> Small:
    """The joint at each pair of unit vectors; what is allowed there and whether an arc takes part are told by rows."""
    turn = turn_between(arrives, leaves)
    through = turn <= np.where(curved, TANGENT, STRAIGHT)
    found = np.where(through, int(Joint.THROUGH), np.where(rounding, int(Joint.ROUND), int(Joint.STOP)))
    return np.where(running, found, int(Joint.STOP)).astype(np.int8)
