"""Look-ahead: the speeds at the joints of a path, so that every segment can be run between its two.

A pass backwards lowers each joint to what can still be slowed down from, a pass forwards to what has been reached by
then. What is left is the highest speed that every joint can have. The path begins and ends at rest.

Between one segment and the next lies a corner, which may have no length. Without a jerk limit the work is done on
squares of speeds, which grow evenly along a segment.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import inf

from parser.arrays import Array, np
from parser.times.double_s import reachable_speed

Gain = Callable[[int, float], float]
"""How far the square of the speed, or the speed, may rise over a segment or corner, from its number and the value."""


@dataclass(frozen=True, slots=True)
class Course:
    """A path of segments with a corner between each and the next.

    ``arriving`` and ``leaving`` are the highest speeds at the two ends of each corner. ``gains`` and ``losses`` hold A
    and B by corner and axis: going round may raise the square of the speed w by A - B w at most, the least over the
    axes. ``corner_jerks`` are the jerk limits on the corners. Jerk is infinite where there is no limit.
    """

    lengths: Array
    accelerations: Array
    jerks: Array
    arriving: Array
    leaving: Array
    corner_lengths: Array
    corner_jerks: Array
    gains: Array
    losses: Array


def joint_speeds(course: Course) -> tuple[Array, Array]:
    """The highest speeds at the start and at the end of each segment from which and to which all can be run."""
    bent = bool(np.isfinite(course.jerks).any())
    arriving, leaving = ((caps if bent else caps**2).tolist() for caps in (course.arriving, course.leaving))
    along, around = (_along_bent(course), _around_bent(course)) if bent else (None, _around(course))
    corners = range(len(arriving))
    gains = (2.0 * course.accelerations * course.lengths).tolist() if along is None else []
    for backwards in (True, False):
        first, second = (leaving, arriving) if backwards else (arriving, leaving)
        order = corners[::-1] if backwards else corners
        if along is None:
            _lower_even(order, gains[1:] if backwards else gains, first, second, around)
        else:
            _lower_bent(order, int(backwards), along, first, second, around)
    speeds = (np.array(leaving), np.array(arriving)) if bent else (np.sqrt(leaving), np.sqrt(arriving))
    return np.concatenate(([0.0], speeds[0])), np.concatenate((speeds[1], [0.0]))


def _lower_even(order: range, gains: list[float], arriving: list[float], leaving: list[float], around: Gain) -> None:
    """Lower the squares of the speeds on both ends of each corner to what those before allow."""
    square = 0.0
    for i in order:
        square += gains[i]
        cap = arriving[i]
        if square < cap:
            arriving[i] = square
        else:
            square = cap
        cap = leaving[i]
        if square < cap:
            square += around(i, square)
            if square < cap:
                leaving[i] = square
                continue
        square = cap


def _lower_bent(
    order: range, shift: int, along: Gain, arriving: list[float], leaving: list[float], around: Gain
) -> None:
    """The same for speeds, no acceleration being left at a joint."""
    speed = 0.0
    for i in order:
        cap = arriving[i]
        if speed < cap:
            speed = along(i + shift, speed)
            if speed < cap:
                arriving[i] = speed
        speed = min(speed, cap)
        cap = leaving[i]
        if speed < cap:
            speed = around(i, speed)
            if speed < cap:
                leaving[i] = speed
        speed = min(speed, cap)


def _along_bent(course: Course) -> Gain:
    lengths, accelerations, jerks = course.lengths.tolist(), course.accelerations.tolist(), course.jerks.tolist()

    def along(i: int, speed: float) -> float:
        return reachable_speed(lengths[i], accelerations[i], jerks[i], begins=speed)

    return along


def _around(course: Course) -> Gain:
    axes = course.gains.shape[1]
    # Most corners are taken at their cap and never asked for, so nothing is made into lists beforehand.
    gains, losses = (np.ascontiguousarray(table).ravel().data for table in (course.gains, course.losses))

    def around(i: int, square: float) -> float:
        row = slice(i * axes, (i + 1) * axes)
        each = (gain - loss * square for gain, loss in zip(gains[row], losses[row], strict=True))
        return max(0.0, min(each, default=0.0))

    return around


def _around_bent(course: Course) -> Gain:
    squares, lengths, jerks = _around(course), course.corner_lengths.tolist(), course.corner_jerks.tolist()

    def around(i: int, speed: float) -> float:
        length = lengths[i]
        gain = squares(i, speed * speed)
        if gain in (0.0, inf):
            return speed + gain
        return reachable_speed(length, gain / (2.0 * length), jerks[i], begins=speed)

    return around
