"""Times of single moves from rest to rest, as least, most and typical over the starts.

Straight moves keep each axis within its rate, acceleration and jerk and the path within the feed; arcs and helices
share the acceleration between turning and gaining speed (``parser.times.path_parts``). On a dogleg rapid each axis runs
its own profile and the move ends with the slowest. A feed move whose path is not known is timed as the straight line
between its ends. An inverse-time move runs at the speed that its minutes ask for. Dwells are as written.

Least and most of the seconds are exact, as ``parser.times.path_parts`` shows: an axis that goes farther never makes a
move quicker. Typical has every unknown at its middle. The length of a dogleg from an unknown start, and the top speed
of any move from one, are bracketed.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate
from math import hypot, inf, sqrt

from parser.arrays import np
from parser.machine import Controller, Machine
from parser.motion.moves import Move
from parser.times.double_s import DoubleS
from parser.times.path_parts import MovePart, measured, norm, pace, parts, path_length
from parser.times.timing import NOTHING, Spread, Timing, same

PANELS = 16
"""Panels of Simpson's rule between two changes of acceleration on a dogleg: good for a millionth of the length."""


def timing(move: Move, machine: Machine, controller: Controller) -> Timing:
    """Length, seconds and speeds of one move."""
    if move.kind == "dwell":
        return Timing(NOTHING, same(move.seconds), NOTHING)
    pieces = parts(move, machine)
    if not pieces:
        return Timing(NOTHING, NOTHING, NOTHING)
    if move.kind == "rapid" and move.dogleg:
        return _dogleg(pieces)
    return _together(pieces, feed_of(move, controller), move.minutes or 0.0)


def feed_of(move: Move, controller: Controller) -> float:
    """The feed in mm/s along the path; infinite where none holds the move back.

    A feed move without a feed is taken at the rate of the first run, so that the estimate still says something.
    """
    if move.kind == "rapid" or move.minutes is not None:
        return inf
    return (move.feed or controller.first_run_rate) / 60.0


def _together(pieces: Sequence[MovePart], feed: float, minutes: float) -> Timing:
    """A move whose parts start and end together."""
    least, most, typical = _covers(pieces)
    if least == most:
        done = pace(pieces, most, feed, minutes)
        speeds = [same(far * done.peak) for far in most]
        return built(pieces, path_length(pieces), same(done.seconds), _norm(pieces, speeds), speeds)
    turns_alone = may_turn_alone(pieces)
    # While X, Y and Z stand still the feed counts degrees, and the least movement of them lifts it off the rotary axes.
    lifted = inf if turns_alone else feed
    seconds = Spread(
        pace(pieces, least, lifted, minutes).seconds,
        pace(pieces, most, feed, minutes).seconds,
        pace(pieces, typical, feed, minutes).seconds,
    )
    if turns_alone:
        alone = [part.covers.most if part.rotary else 0.0 for part in pieces]
        seconds = Spread(seconds.least, max(seconds.most, pace(pieces, alone, feed, minutes).seconds), seconds.typical)
    # A part runs fastest where it goes farthest and the others, which hold it back, least far.
    usual = pace(pieces, typical, feed, minutes).peak
    speeds = [
        Spread(
            least[i] * pace(pieces, [*most[:i], least[i], *most[i + 1 :]], feed, minutes).peak,
            most[i] * pace(pieces, [*least[:i], most[i], *least[i + 1 :]], cap, minutes).peak,
            typical[i] * usual,
        )
        for i, cap in enumerate(lifted if part.rotary else feed for part in pieces)
    ]
    along = _norm(pieces, speeds)
    top = Spread(min(along.least, feed), min(along.most, feed), min(along.typical, feed))
    return built(pieces, path_length(pieces), seconds, top, speeds)


def may_turn_alone(pieces: Sequence[MovePart]) -> bool:
    """Whether, from some starts, only the rotary ones among the parts move."""
    linear = [part for part in pieces if not part.rotary]
    return 0 < len(linear) < len(pieces) and all(part.covers.least == 0.0 for part in linear)


def _dogleg(pieces: Sequence[MovePart]) -> Timing:
    """A rapid on which each axis runs its own profile."""
    near, far, usual = (
        [DoubleS(covers, part.speed, part.acceleration, part.jerk) for part, covers in zip(pieces, each, strict=True)]
        for each in _covers(pieces)
    )
    seconds = Spread(*(max(profile.seconds for profile in each) for each in (near, far, usual)))
    speeds = [Spread(*(profile.peak for profile in each)) for each in zip(near, far, usual, strict=True)]
    counted = measured(pieces)
    along = [i for i, part in enumerate(pieces) if part in counted]
    length, top = _path([usual[i] for i in along])
    if near == far:
        return built(pieces, same(length), seconds, same(top), speeds)
    reach = Spread(path_length(pieces).least, sum(pieces[i].covers.most for i in along), length)
    fastest = Spread(max(speeds[i].least for i in along), hypot(*(speeds[i].most for i in along)), top)
    return built(pieces, reach, seconds, fastest, speeds)


def _path(profiles: Sequence[DoubleS]) -> tuple[float, float]:
    """Length and top speed of the path that axes trace when each runs its own profile.

    Without jerk every speed is linear in time between two changes of acceleration, so the square of the path's is
    convex and highest at a change; with jerk the top speed is the highest of the points that measure the length.
    """
    changes = sorted({t for each in profiles for t in accumulate(seconds for seconds, _, _ in each.phases)} | {0.0})
    if len(changes) == 1:  # every axis stays where it is
        return 0.0, 0.0
    begins, ends = np.array(changes[:-1]), np.array(changes[1:])
    times = np.linspace(begins, ends, PANELS + 1)
    speeds = np.sqrt(sum(each.at(times.ravel())[1] ** 2 for each in profiles)).reshape(times.shape)
    weights = np.array([1.0, *[4.0, 2.0] * (PANELS // 2 - 1), 4.0, 1.0])
    return float((ends - begins) / (3.0 * PANELS) @ (weights @ speeds)), float(speeds.max())


def built(
    pieces: Sequence[MovePart], length: Spread, seconds: Spread, speed: Spread, speeds: Sequence[Spread]
) -> Timing:
    """A timing from its figures along the path and the speed of each part."""
    ramp, bend = _stop(pieces, speeds)
    return Timing(
        length,
        seconds,
        speed,
        axis_speed={
            name: share * top.most for part, top in zip(pieces, speeds, strict=True) for name, share in part.shares
        },
        travel={name: covers for part in pieces for name, covers in part.travels},
        ramp=ramp,
        bend=bend,
    )


def _stop(pieces: Sequence[MovePart], speeds: Sequence[Spread]) -> tuple[float, float]:
    """Seconds from the top speed to rest, and of each bend of it, all parts together: each may hold back another."""
    even = max(top.most / part.acceleration for part, top in zip(pieces, speeds, strict=True))
    bent = max(top.most / part.jerk for part, top in zip(pieces, speeds, strict=True))
    if bent > even**2:
        return 2.0 * sqrt(bent), sqrt(bent)
    bend = bent / even if even > 0.0 else 0.0
    return even + bend, bend


def _covers(pieces: Sequence[MovePart]) -> list[list[float]]:
    return [[getattr(part.covers, which) for part in pieces] for which in ("least", "most", "typical")]


def _norm(pieces: Sequence[MovePart], speeds: Sequence[Spread]) -> Spread:
    counted = measured(pieces)
    return norm([speed for part, speed in zip(pieces, speeds, strict=True) if part in counted])
