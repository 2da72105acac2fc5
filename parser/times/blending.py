"""Times of a trace whose corners are rounded, as least, most and typical over the starts.

Typical is one concrete run, from the middle of every unknown. Where no move depends on an unknown that run is exact,
and least and most are the same. Otherwise both are bounds that hold for every start:

* A joint beside a move that depends on the start, and that the start may let run on, is loose. The moves between loose
  joints are planned together, once with any speed at those joints and the corner cut by what the tolerance may save
  (least), once with a stop there and only half of a move to get up to speed in, for a corner takes no more (most).
* A move that depends on the start itself takes no less than over its shortest way, at full speed at its loose ends,
  and no more than from rest to rest over its longest.
* Going round a rounded corner takes no longer than stopping at it, but for the way round: that is at most
  sqrt(8 tolerance / a), a being the weakest axis' acceleration, for the radius r of a turn of t radians is at most
  8 tolerance / t^2 and the square of the speed at least a r. Half of it is added to the most at each loose end.

Without a jerk limit these bounds follow from the passes of the look-ahead, which only ever lower a speed. With one, no
acceleration is left at a joint, and a slower start may then reach a given speed sooner; that they hold there too rests
on trial of random paths, not on proof.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import hypot, inf, sqrt

from parser.arrays import np
from parser.machine import Controller, Machine
from parser.motion.moves import Move, Trace
from parser.motion.places import Afloat, Name, bounds, minus
from parser.times.joints import may_run_on, roundable
from parser.times.path_parts import NEGLIGIBLE, measured, pace, parts, path_length
from parser.times.path_planning import Joint
from parser.times.rest_to_rest import built, feed_of, may_turn_alone
from parser.times.timed_path import TimedPath, timed_path
from parser.times.timing import Spread, Timing

ODD_SHARE = 0.6180339887
"""A share of a range at which nobody puts a point."""


def blended(trace: Trace, resting: Sequence[Timing], machine: Machine, controller: Controller) -> tuple[Timing, ...]:
    """The timings of every move, from those that it has from rest to rest."""
    loose = _loose(trace, resting, machine)
    usual = timed_path(trace, machine, controller, {})
    if any(loose):
        aside = _aside(trace)
        quick, slow = (
            timed_path(trace, machine, controller, aside, loose, instead) for instead in (Joint.FREE, Joint.HELD)
        )
    else:
        quick = slow = usual
    runs = [_figures(run) for run in (quick, slow, usual)]
    weakest = min((axis.acceleration for axis in machine.axes if not axis.rotary), default=inf)
    extra = sqrt(2.0 * machine.tolerance / weakest)
    made = []
    for i, (move, rest) in enumerate(zip(trace.moves, resting, strict=True)):
        ends = int(loose[i]) + int(loose[i + 1])
        figures = [Spread(*(run[what][i] for run in runs)) for what in range(3)]
        if not rest.travel or move.dogleg or (_depends(move) and ends == 0):
            made.append(rest)
        elif _depends(move):
            made.append(_bounded(move, rest, ends, extra, machine, controller, [each.typical for each in figures]))
        else:
            made.append(_known(move, ends, extra, machine, controller, *figures))
    return tuple(made)


def _loose(trace: Trace, resting: Sequence[Timing], machine: Machine) -> list[bool]:
    """Whether the start may change how each move is gone over into; one entry more, for after the last."""
    loose = [False] * (len(resting) + 1)
    going = [i for i, timing in enumerate(resting) if timing.travel]
    pairs = list(pairwise(going))
    for (one, other), may in zip(pairs, may_run_on(trace, pairs), strict=True):
        first, second = trace.moves[one], trace.moves[other]
        if may and (_depends(first) or _depends(second)) and _may_meet_smoothly(first, second, machine):
            loose[one + 1 : other + 1] = [True] * (other - one)
    return loose


def _aside(trace: Trace) -> dict[Name, float]:
    """Values of the unknowns from which no move that depends on one goes nowhere, as it may from the middle."""
    places = [place for move in trace.moves for place in (move.start, move.end)]
    unknowns = {at.unknown for place in places for at in place.values() if isinstance(at, Afloat)}
    return {each.name: each.range.low + ODD_SHARE * each.range.length for each in unknowns}


def _depends(move: Move) -> bool:
    """Whether the start, or another unknown, changes how far a move goes."""
    return any(isinstance(minus(move.end[axis], at), Afloat) for axis, at in move.start.items())


def _may_meet_smoothly(one: Move, other: Move, machine: Machine) -> bool:
    """Whether two moves may be rounded into each other, or run on in one direction."""
    if one.arc is not None or other.arc is not None:
        return True
    ways = [{axis: bounds(minus(move.end[axis], at)) for axis, at in move.start.items()} for move in (one, other)]
    turns = any(
        axis.rotary and max(abs(way[axis.name].low), abs(way[axis.name].high)) > NEGLIGIBLE
        for way in ways
        for axis in machine.axes
    )
    if roundable(one, turns) and roundable(other, turns):
        return True
    same_sense = [
        (ways[0][axis].high > 0.0 and ways[1][axis].high > 0.0) or (ways[0][axis].low < 0.0 and ways[1][axis].low < 0.0)
        for axis in one.start
    ]
    return any(same_sense)


def _figures(run: TimedPath) -> tuple[list[float], list[float], list[float]]:
    """Length, seconds and top speed of every move of a run."""
    speeds = np.zeros(len(run.moves))
    if run.paced is not None:
        for first, last, peak in zip(run.first.tolist(), run.last.tolist(), run.paced.peak.tolist(), strict=True):
            speeds[first : last + 1] = peak
    return run.lengths.tolist(), run.seconds.tolist(), speeds.tolist()


def _known(
    move: Move,
    ends: int,
    extra: float,
    machine: Machine,
    controller: Controller,
    length: Spread,
    seconds: Spread,
    speed: Spread,
) -> Timing:
    """A move that is the same from every start, but for how fast it is gone into and out of at its loose ends."""
    pieces = parts(move, machine)
    covers = [part.covers.typical for part in pieces]
    whole = path_length(pieces).typical
    if ends or seconds.least != seconds.most:
        top = pace(pieces, covers, feed_of(move, controller), move.minutes or 0.0).top
        speed = Spread(speed.least, top * whole, speed.typical)
    shares = [far / whole for far in covers]
    speeds = [Spread(speed.least * each, speed.most * each, speed.typical * each) for each in shares]
    longest = Spread(seconds.least, seconds.most + ends * extra, seconds.typical)
    return built(pieces, _in_order(length), _in_order(longest), _in_order(speed), speeds)


def _bounded(
    move: Move,
    rest: Timing,
    ends: int,
    extra: float,
    machine: Machine,
    controller: Controller,
    usual: Sequence[float],
) -> Timing:
    """A move that depends on the start and has loose ends; ``usual`` is its typical length, seconds and speed."""
    pieces = parts(move, machine)
    least = [part.covers.least for part in pieces]
    feed, minutes = feed_of(move, controller), move.minutes or 0.0
    # The least movement of X, Y or Z lifts the feed off rotary axes that may turn alone.
    lifted = inf if may_turn_alone(pieces) else feed
    near = pace(pieces, least, lifted, minutes)
    cut = min(rest.length.least, ends * machine.tolerance)
    left = 1.0 - cut / rest.length.least if rest.length.least > 0.0 else 0.0
    tops = [
        part.covers.most
        * pace(pieces, [*least[:i], part.covers.most, *least[i + 1 :]], lifted if part.rotary else feed, minutes).top
        for i, part in enumerate(pieces)
    ]
    length, seconds, speed = usual
    whole = path_length(pieces).typical or 1.0
    speeds = [Spread(0.0, top, speed * part.covers.typical / whole) for part, top in zip(pieces, tops, strict=True)]
    along = hypot(*(top for part, top in zip(pieces, tops, strict=True) if part in measured(pieces)))
    return built(
        pieces,
        _in_order(Spread(rest.length.least - cut, rest.length.most, length)),
        _in_order(
            Spread(
                _free(left * near.length, near.top, near.acceleration, ends), rest.seconds.most + ends * extra, seconds
            )
        ),
        _in_order(Spread(rest.speed.least * left, min(along, feed), speed)),
        speeds,
    )


def _free(length: float, top: float, acceleration: float, ends: int) -> float:
    """The least seconds over a length of which one end, or both, may be passed at any speed."""
    if length == 0.0:
        return 0.0
    if ends == 2:
        return length / top
    if length < top**2 / (2.0 * acceleration):
        return sqrt(2.0 * length / acceleration)
    return length / top + top / (2.0 * acceleration)


def _in_order(spread: Spread) -> Spread:
    """Bounds with the typical value between them, where rounding has put it a hair outside."""
    return Spread(min(spread.least, spread.typical), max(spread.most, spread.typical), spread.typical)
