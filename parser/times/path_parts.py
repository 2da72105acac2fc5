"""A move as perpendicular parts: how far each goes over every start, and what limits it.

The parts of a straight move are its axes. The parts of an arc are the circle, of one fixed length, and the axes that
go along with it (the third axis of a helix, a rotary axis). All parts start and end together, so with s from 0 to 1 as
the share of the way done, a part that covers c runs at ``c s'``, accelerates at ``c s''`` and has the jerk ``c s'''``.
Whatever limits the move is therefore a cap ``speed / c`` on s', ``acceleration / c`` on s'' or ``jerk / c`` on s''',
and a feed rate is a cap ``feed / length``.

Every cap falls, or stays, as any c grows. A profile that is allowed for the longer parts is thus allowed for the
shorter ones, so the time from rest to rest never falls as a part grows: the least time is where every part is at its
least, the most where every part is at its most. Parts hold different axes and so different unknowns, so both cases do
happen.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, floor, hypot, inf, pi, radians, sin, sqrt
from operator import attrgetter

from parser.machine import Axis, Machine
from parser.motion.moves import Arc, Move
from parser.motion.places import Coordinate, bounds, minus, usual
from parser.times.double_s import DoubleS
from parser.times.timing import Spread, same

NEGLIGIBLE = 1e-9
"""Travel in mm (degrees) below which an axis stands still: far under any axis' resolution, above rounding."""


@dataclass(frozen=True, slots=True)
class MovePart:
    """One part of a move: mm covered, with its limits in mm/s, mm/s^2 and mm/s^3 (degrees for a rotary axis).

    ``jerk`` is infinite where there is no limit. ``shares`` is the largest share of the part's speed that each axis
    takes on the way; ``travels`` what each axis covers by it, to and fro.
    """

    covers: Spread
    speed: float
    acceleration: float
    jerk: float
    shares: tuple[tuple[str, float], ...]
    travels: tuple[tuple[str, Spread], ...]
    rotary: bool = False


def parts(move: Move, machine: Machine) -> tuple[MovePart, ...]:
    """The parts of a move that may go anywhere; none for a dwell."""
    circle = (_circle(move.arc, machine),) if move.arc is not None else ()
    plane = move.arc.axes if move.arc is not None else ()
    moving = (axis for axis in machine.axes if axis.name not in plane and move.start[axis.name] != move.end[axis.name])
    straight = (_along(axis, move) for axis in moving)
    return tuple(part for part in (*circle, *straight) if part.covers.most > NEGLIGIBLE)


def measured(pieces: Sequence[MovePart]) -> tuple[MovePart, ...]:
    """The parts that make up the length of the path: X, Y and Z where any of them may move, else the rotary ones.

    A feed rate is taken along these too: mm/min along the path of X, Y and Z as if no rotary axis moved, degrees/min
    where only rotary axes move.
    """
    return tuple(part for part in pieces if not part.rotary) or tuple(pieces)


def path_length(pieces: Sequence[MovePart]) -> Spread:
    """Length of the path where all parts go together."""
    return norm([part.covers for part in measured(pieces)])


def norm(spreads: Sequence[Spread]) -> Spread:
    """The size of what has some perpendicular parts."""
    return Spread(*(hypot(*map(attrgetter(which), spreads)) for which in ("least", "most", "typical")))


def pace(pieces: Sequence[MovePart], covers: Sequence[float], feed: float = inf, minutes: float = 0.0) -> DoubleS:
    """The profile of s from 0 to 1 where the parts cover ``covers``; its length is zero where nothing moves.

    ``feed`` is in mm/s along the path; ``minutes`` what the whole way takes at full speed, for inverse time.
    """
    along = _measure(pieces, covers)
    top = min(feed / along if along > 0.0 else inf, 1.0 / (60.0 * minutes) if minutes > 0.0 else inf)
    acceleration = jerk = inf
    for part, far in zip(pieces, covers, strict=True):
        if far > 0.0:
            top = min(top, part.speed / far)
            acceleration = min(acceleration, part.acceleration / far)
            jerk = min(jerk, part.jerk / far)
    return DoubleS(1.0, top, acceleration, jerk) if acceleration < inf else DoubleS(0.0, inf, 1.0)


def middle_limits(move: Move, machine: Machine, feed: float, minutes: float = 0.0) -> tuple[float, DoubleS]:
    """Length of a move that goes somewhere, and its profile as a share of it, with every unknown at its middle."""
    pieces = parts(move, machine)
    covers = [part.covers.typical for part in pieces]
    return _measure(pieces, covers), pace(pieces, covers, feed, minutes)


def _measure(pieces: Sequence[MovePart], covers: Sequence[float]) -> float:
    linear = hypot(*(far for part, far in zip(pieces, covers, strict=True) if not part.rotary))
    return linear or hypot(*covers)


def _along(axis: Axis, move: Move) -> MovePart:
    covers = _apart(minus(move.end[axis.name], move.start[axis.name]))
    return MovePart(
        covers,
        axis.rapid / 60.0,
        axis.acceleration,
        jerk_of(axis),
        ((axis.name, 1.0),),
        ((axis.name, covers),),
        rotary=axis.rotary,
    )


def jerk_of(axis: Axis) -> float:
    """The jerk limit of an axis, infinite where the sheet sets none."""
    return axis.jerk or inf


def _apart(difference: Coordinate) -> Spread:
    reach = bounds(difference)
    near, far = sorted((abs(reach.low), abs(reach.high)))
    least = 0.0 if reach.contains(0.0) else near
    return Spread(*(value if value > NEGLIGIBLE else 0.0 for value in (least, far, abs(usual(difference)))))


def _circle(arc: Arc, machine: Machine) -> MovePart:
    """The circle of an arc or helix.

    The acceleration is split between holding the circle and gaining speed: v^2/r and the tangential acceleration are
    at most a / sqrt 2 each, so that together they stay within a, the smaller of the two axes' accelerations. Jerk
    limits how the speed along the circle changes, not the turning.
    """
    first, second = (next(axis for axis in machine.axes if axis.name == name) for name in arc.axes)
    acceleration = min(first.acceleration, second.acceleration) / sqrt(2.0)
    # The tangent at angle w is (-sin w, cos w), and a cosine is a sine a quarter turn on.
    turned = ((first, arc.begins), (second, arc.begins + 90.0))
    shares = tuple((axis.name, largest_sine(begins, arc.sweep)) for axis, begins in turned)
    travels = tuple((axis.name, same(arc.radius * sine_swept(begins, arc.sweep))) for axis, begins in turned)
    speeds = (axis.rapid / 60.0 / share for (axis, _), (_, share) in zip(turned, shares, strict=True) if share > 0.0)
    speed = min(sqrt(acceleration * arc.radius), *speeds)
    jerk = min(jerk_of(first), jerk_of(second))
    return MovePart(same(arc.radius * radians(abs(arc.sweep))), speed, acceleration, jerk, shares, travels)


def largest_sine(begins: float, sweep: float) -> float:
    """The largest ``|sin w|`` while w goes from ``begins`` through ``sweep``, both in degrees."""
    low, high = sorted((begins, begins + sweep))
    if floor((high - 90.0) / 180.0) > floor((low - 90.0) / 180.0):
        return 1.0
    return max(abs(sin(radians(low))), abs(sin(radians(high))))


def sine_swept(begins: float, sweep: float) -> float:
    """The integral of ``|sin w|`` over w in radians, from ``begins`` through ``sweep``, both in degrees."""
    return abs(_sine_area(radians(begins + sweep)) - _sine_area(radians(begins)))


def _sine_area(angle: float) -> float:
    halves = floor(angle / pi)
    return 2.0 * halves + 1.0 - cos(angle - halves * pi)
