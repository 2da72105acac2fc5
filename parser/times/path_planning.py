"""Planning of one concrete path, as arrays with a row for each segment: limits, corners, joint speeds and seconds.

Lengths are mm along X, Y and Z, or degrees where only rotary axes move; all limits are along the path.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from enum import IntEnum
from math import inf

from parser.arrays import Array, Small, np
from parser.machine import Axis
from parser.times.corners import Corners, round_off
from parser.times.double_s import highest_speed
from parser.times.look_ahead import Course, joint_speeds
from parser.times.path_parts import jerk_of

BLOCK = 8192
"""Corners rounded at a time: what is worked on then stays in the processor's cache however long the program is."""


class Joint(IntEnum):
    """How one segment goes over into the next.

    FREE and HELD are for bounds. FREE: any speed before, any after, and the corner cut by as much as the tolerance may
    save. HELD: a stop, with no more than half of a move to get up to speed in, and all of it to be gone.
    """

    STOP = 0
    THROUGH = 1
    ROUND = 2
    FREE = 3
    HELD = 4


@dataclass(frozen=True, slots=True)
class Limits:
    """Length and limits of segments along their path; ``jerk`` is infinite where there is none."""

    length: Array
    top: Array
    acceleration: Array
    jerk: Array


@dataclass(frozen=True, slots=True)
class Segments:
    """The segments of a path in order. ``leaves`` and ``arrives`` are unit vectors over all axes, at start and end.

    ``joints`` has one entry less: a Joint between each segment and the next. So has ``shorter``, the length of the
    shorter of the two moves that meet there; None where every segment is one move.
    """

    limits: Limits
    leaves: Array
    arrives: Array
    joints: Small
    shorter: Array | None = None


@dataclass(frozen=True, slots=True)
class Paced:
    """A planned path. ``length`` is what the corners leave of each segment, ``begins`` and ``ends`` its joint speeds.

    ``cut`` is what the corner at a joint takes off the segments on either side. ``corner_acceleration`` and
    ``corner_seconds`` belong to the joints; a corner is run at its higher end speed but for the change between the two.
    """

    segments: Segments
    corners: Corners
    cut: Array
    length: Array
    begins: Array
    ends: Array
    peak: Array
    seconds: Array
    corner_acceleration: Array
    corner_jerk: Array
    corner_seconds: Array

    @property
    def shares(self) -> Array:
        """Seconds of each segment with half of each corner beside it."""
        halves = np.concatenate(([0.0], self.corner_seconds / 2.0, [0.0]))
        return self.seconds + halves[:-1] + halves[1:]


def straight(ways: Array, feeds: Array, axes: Sequence[Axis]) -> tuple[Limits, Array]:
    """Limits of straight moves and their directions as unit vectors, from the way of each axis, row by row.

    ``feeds`` are mm/s (degrees/s where only rotary axes move), infinite for a rapid. No row may be all zero.
    """
    far = np.abs(ways)
    turns = np.array([axis.rotary for axis in axes])
    linear = _norm(far[:, ~turns])
    length = np.where(linear > 0.0, linear, _norm(far[:, turns])) if turns.any() else linear
    with np.errstate(divide="ignore", invalid="ignore"):
        slowest = [_least(far, [rate(axis) for axis in axes]) for rate in (_rate, _acceleration, jerk_of)]
    top, acceleration, jerk = (length * each for each in slowest)
    whole = _norm(ways) if turns.any() else length
    return Limits(length, np.minimum(top, feeds), acceleration, jerk), ways / whole[:, None]


def _rate(axis: Axis) -> float:
    return axis.rapid / 60.0


def _acceleration(axis: Axis) -> float:
    return axis.acceleration


def _norm(ways: Array) -> Array:
    squares: Array = np.sqrt(np.einsum("ij,ij->i", ways, ways))
    return squares


def _least(far: Array, limits: Sequence[float]) -> Array:
    """The least of limit / way over the axes that have a limit; infinite where no such axis moves."""
    least = np.full(len(far), inf)
    for column, limit in zip(far.T, limits, strict=True):
        if limit < inf:
            np.minimum(least, limit / column, out=least)
    return least


def change_seconds(low: Array, high: Array, acceleration: Array, jerk: Array) -> Array:
    """Seconds to go between two speeds, row by row."""
    change = high - low
    even = change / acceleration
    if not np.isfinite(jerk).any():
        return even
    bend = acceleration / jerk
    return np.where(even >= bend, even + bend, 2.0 * np.sqrt(change / jerk))


def pace(segments: Segments, tolerance: float, axes: Sequence[Axis]) -> Paced:
    """The quickest run of a path from rest to rest, corners within ``tolerance`` of where the program has them."""
    limits = segments.limits
    corners = _corners(segments, tolerance, axes)
    cut = np.where(segments.joints == Joint.FREE, tolerance, corners.tangent)
    tangents = np.concatenate(([0.0], cut, [0.0]))
    length = np.maximum(0.0, limits.length - tangents[:-1] - tangents[1:])
    held = np.concatenate(([0.0], np.where(segments.joints == Joint.HELD, _shorter(segments) / 2.0, 0.0), [0.0]))
    run_up = np.maximum(0.0, length - held[:-1] - held[1:])
    begins, ends = _speeds(segments, corners, run_up, axes)
    peak = _peaks(limits, length, begins, ends)
    seconds = _seconds(length, begins, ends, peak, limits.acceleration, limits.jerk)
    jerk = _between(limits.jerk)
    acceleration = _corner_acceleration(corners, ends[:-1], begins[1:], axes)
    fastest = np.maximum(ends[:-1], begins[1:])
    around = _seconds(corners.length, ends[:-1], begins[1:], fastest, acceleration, jerk)
    around[~corners.rounded] = 0.0
    return Paced(segments, corners, cut, length, begins, ends, peak, seconds, acceleration, jerk, around)


def _between(limits: Array) -> Array:
    """The lower limit of the segments on either side of each joint."""
    return np.minimum(limits[:-1], limits[1:])


def _shorter(segments: Segments) -> Array:
    return _between(segments.limits.length) if segments.shorter is None else segments.shorter


def _corners(segments: Segments, tolerance: float, axes: Sequence[Axis]) -> Corners:
    linear = [i for i, axis in enumerate(axes) if not axis.rotary]
    room = np.where(segments.joints == Joint.ROUND, _shorter(segments) / 2.0, 0.0)
    tops = _between(segments.limits.top)
    rates = np.array([_rate(axes[i]) for i in linear])
    accelerations = np.array([axes[i].acceleration for i in linear])
    arrives, leaves = segments.arrives[:-1, linear], segments.leaves[1:, linear]
    blocks = [
        round_off(arrives[rows], leaves[rows], room[rows], tops[rows], tolerance, rates, accelerations)
        for rows in (slice(begin, begin + BLOCK) for begin in range(0, max(1, len(room)), BLOCK))
    ]
    return Corners(*(np.concatenate([getattr(block, field.name) for block in blocks]) for field in fields(Corners)))


def _speeds(segments: Segments, corners: Corners, length: Array, axes: Sequence[Axis]) -> tuple[Array, Array]:
    """Speeds at the start and at the end of every segment."""
    limits = segments.limits
    caps = _between(limits.top)
    caps = np.where(corners.rounded, np.minimum(caps, corners.top), caps)
    sharp = np.isin(segments.joints, (Joint.STOP, Joint.HELD)) | ((segments.joints == Joint.ROUND) & ~corners.rounded)
    caps[sharp] = 0.0
    gains, losses = _gains(corners, axes)
    free = segments.joints == Joint.FREE
    gains[free] = inf
    return joint_speeds(
        Course(
            length,
            limits.acceleration,
            limits.jerk,
            np.where(free, limits.top[:-1], caps),
            np.where(free, limits.top[1:], caps),
            corners.length,
            _between(limits.jerk),
            gains,
            losses,
        )
    )


def _gains(corners: Corners, axes: Sequence[Axis]) -> tuple[Array, Array]:
    """The most by which the square of the speed may grow on each corner: A - B w, by corner and axis.

    It is 2 b length with the b that keeps b T + w N / r within the limit to the very end, where w is highest.
    """
    allowed = np.array([axis.acceleration for axis in axes if not axis.rotary])
    twice = 2.0 * corners.length[:, None]
    with np.errstate(divide="ignore", invalid="ignore"):
        turning = corners.normal / corners.radius[:, None]
        spread = corners.along + twice * turning
        gain, loss = twice * allowed / spread, twice * turning / spread
    takes_part = spread > 0.0
    gain, loss = np.where(takes_part, gain, inf), np.where(takes_part, loss, 0.0)
    gain[~corners.rounded] = 0.0
    loss[~corners.rounded] = 0.0
    return gain, loss


def _corner_acceleration(corners: Corners, begins: Array, ends: Array, axes: Sequence[Axis]) -> Array:
    """What is left to change the speed on each corner at the faster of its ends, and no less than the change needs."""
    allowed = np.array([axis.acceleration for axis in axes if not axis.rotary])
    square = np.maximum(begins, ends) ** 2
    with np.errstate(divide="ignore", invalid="ignore"):
        left = ((allowed - corners.normal * (square / corners.radius)[:, None]) / corners.along).min(
            axis=1, initial=inf
        )
        needed = abs(ends**2 - begins**2) / (2.0 * corners.length)
    best: Array = np.where(corners.rounded, np.fmax(np.fmax(left, needed), 1e-12), 1.0)
    return best


def _peaks(limits: Limits, length: Array, begins: Array, ends: Array) -> Array:
    acceleration, jerk = limits.acceleration, limits.jerk
    even = np.sqrt(acceleration * length + (begins**2 + ends**2) / 2.0)
    peak: Array = np.minimum(limits.top, np.maximum(even, np.maximum(begins, ends)))
    if not np.isfinite(jerk).any():
        return peak
    needs = sum(
        (speed + limits.top) / 2.0 * change_seconds(speed, limits.top, acceleration, jerk) for speed in (begins, ends)
    )
    peak = limits.top.copy()
    short = np.flatnonzero(needs > length)
    columns = (column[short].tolist() for column in (length, acceleration, jerk, begins, ends))
    peak[short] = [
        highest_speed(far, even, bent, begins=first, ends=last)
        for far, even, bent, first, last in zip(*columns, strict=True)
    ]
    return np.minimum(peak, limits.top)


def _seconds(length: Array, begins: Array, ends: Array, peak: Array, acceleration: Array, jerk: Array) -> Array:
    up = change_seconds(begins, peak, acceleration, jerk)
    down = change_seconds(ends, peak, acceleration, jerk)
    level = np.maximum(0.0, length - (begins + peak) / 2.0 * up - (ends + peak) / 2.0 * down)
    return up + down + np.divide(level, peak, out=np.zeros_like(level), where=peak > 0.0)
