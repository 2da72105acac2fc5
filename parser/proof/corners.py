"""Corners that may be rounded: how far off the real way may be there, for every arc that keeps the tolerance."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import asin, atan2, cos, hypot, pi

from parser.machine import LINEAR, Interval, Machine
from parser.motion.moves import Move, Trace
from parser.motion.places import Afloat, bounds, minus
from parser.proof.axis_motion import Times
from parser.times.joints import may_run_on, roundable


@dataclass(frozen=True, slots=True)
class Corner:
    """A corner that may be rounded: how far its widest arc is off the corner, linear axes in their order, mm.

    The arc is that of a circle tangent to both moves: ``out`` and ``across`` span its plane, from the corner to the
    middle of the circle and along the chord; ``radius``, ``middle`` (of the circle from the corner) and ``half`` (the
    angle from the middle of the arc to its ends) are its measures.
    """

    out: tuple[float, ...]
    across: tuple[float, ...]
    radius: float
    middle: float
    half: float

    def off(self, low: Times, high: Times) -> list[Interval]:
        """Everywhere along each axis between two angles, for every arc from a smaller to a larger one, as a share."""
        found = []
        (first, last), (least, most) = low, high
        for out, across in zip(self.out, self.across, strict=True):
            # middle * out - radius * (cos * out + sin * across): a cosine about an angle of its own
            size, turn = self.radius * hypot(out, across), atan2(across, out)
            angles = [first, last, *(turn + pi * k for k in (-2, -1, 0, 1, 2) if first < turn + pi * k < last)]
            places = [self.middle * out - size * cos(angle - turn) for angle in angles]
            ends = [share * place for share in (least, most) for place in (min(places), max(places))]
            found.append(Interval(min(ends), max(ends)))
        return found


SHARP = Corner((), (), 0.0, 0.0, 0.0)
"""A corner that is not rounded."""


def corners(trace: Trace, machine: Machine) -> dict[int, Corner | None]:
    """The corners that may be rounded, by the number of the move that ends there; None where its shape is not known."""
    rotary = {axis.name for axis in machine.axes if axis.rotary}
    moving = [number for number, move in enumerate(trace.moves) if move.kind != "dwell"]
    pairs = list(pairwise(moving))
    found = {}
    for (one, other), may in zip(pairs, may_run_on(trace, pairs, at_all=True), strict=True):
        moves = trace.moves[one], trace.moves[other]
        if may and all(roundable(move, not rotary.isdisjoint(move.moving)) for move in moves):
            found[one] = _corner(*moves, machine.tolerance)
    return found


def past_what_may_stand_still(trace: Trace, machine: Machine) -> tuple[set[int], set[int]]:
    """The moves that may end, and those that may begin, in a corner with one that is not their neighbour.

    From some start all that lies between the two may have no length, and then they meet. Only how far off the corner
    the way may be is known then.
    """
    rotary = {axis.name for axis in machine.axes if axis.rotary}
    moving = [number for number, move in enumerate(trace.moves) if move.kind != "dwell"]
    may = {n for n in moving if roundable(trace.moves[n], not rotary.isdisjoint(trace.moves[n].moving))}
    still = {n for n in moving if _may_stand_still(trace.moves[n])}
    pairs = []
    for at, one in enumerate(moving):
        if one in may:
            for before, other in pairwise(moving[at + 1 :]):
                if before not in still:
                    break
                pairs += [(one, other)] if other in may else []
    met = [pair for pair, goes in zip(pairs, may_run_on(trace, pairs, at_all=True), strict=True) if goes]
    return {one for one, _ in met}, {other for _, other in met}


def _may_stand_still(move: Move) -> bool:
    """Whether a move has no length from some start."""
    if move.kind == "probe" or (move.arc is not None and abs(move.arc.sweep) > 0):
        return False
    return all(bounds(minus(move.end[axis], at)).contains(0.0) for axis, at in move.start.items())


def _corner(one: Move, other: Move, tolerance: float) -> Corner | None:
    """The widest arc that a corner may be rounded by: within the tolerance, taking no more than half of either move."""
    ways = []
    for move in (one, other):
        steps = [minus(move.end[axis], at) for axis, at in move.start.items() if axis in LINEAR]
        known = [step for step in steps if not isinstance(step, Afloat)]
        if len(known) < len(steps):
            return None
        ways.append(known)
    lengths = [hypot(*way) for way in ways]
    back = [-step / lengths[0] for step in ways[0]]
    ahead = [step / lengths[1] for step in ways[1]]
    apart = hypot(*(a - b for a, b in zip(ahead, back, strict=True))) / 2
    along = hypot(*(a + b for a, b in zip(ahead, back, strict=True))) / 2
    if apart <= STRAIGHT or along <= STRAIGHT:  # straight on, or straight back: there is no corner to cut
        return SHARP
    tangent = min(tolerance * along / (1 - apart), min(lengths) / 2)
    return Corner(
        tuple((a + b) / (2 * along) for a, b in zip(ahead, back, strict=True)),
        tuple((a - b) / (2 * apart) for a, b in zip(ahead, back, strict=True)),
        tangent * apart / along,
        tangent / along,
        asin(along),
    )


STRAIGHT = 1e-9
"""Sine of half an angle from which on two moves make a corner."""
