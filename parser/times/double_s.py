"""The double-S speed profile: seven phases of constant jerk from one speed to another along a given length.

Without a jerk limit it is the trapezoid. Biagiotti and Melchiorri, Trajectory Planning for Automatic Machines and
Robots, 2008, section 3.4. The acceleration is zero at both ends.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import asinh, cbrt, inf, sinh, sqrt

from parser.arrays import Array, np

ROUNDING = 1e-9
"""Share by which a length may fall short of what a change of speed needs, or a time be past the end, by rounding."""

STANDING = 1e-150
"""Square of a time, from a speed and a jerk, that is nothing beside any other."""

SETTLED = 1e-15
"""Relative step at which Newton's method has found a root."""


@dataclass(frozen=True, slots=True)
class DoubleS:
    """The quickest way over ``length`` from the speed ``begins`` to the speed ``ends``, never backing up.

    Any one unit of length, with ``top`` per second, ``acceleration`` per second squared and ``jerk`` per second cubed
    (infinite: no limit). A negative length, a limit that is not above zero, an end faster than the top, or a length
    too short for the change of speed raises ValueError.
    """

    length: float
    top: float
    acceleration: float
    jerk: float = inf
    begins: float = 0.0
    ends: float = 0.0

    def __post_init__(self) -> None:
        possible = self.length >= 0.0 and self.top > 0.0 and self.acceleration > 0.0 and self.jerk > 0.0
        if not (possible and 0.0 <= self.begins <= self.top and 0.0 <= self.ends <= self.top):
            raise ValueError(
                f"no profile over {self.length} from {self.begins} to {self.ends} at {self.top}, {self.acceleration} "
                f"and {self.jerk}"
            )
        low, high = sorted((self.begins, self.ends))
        if change_length(low, high, self.acceleration, self.jerk) > self.length * (1.0 + ROUNDING) + ROUNDING**2:
            raise ValueError(f"{self.length} is too short to go from {self.begins} to {self.ends}")

    @property
    def peak(self) -> float:
        """The highest speed that is reached."""
        return min(
            self.top, highest_speed(self.length, self.acceleration, self.jerk, begins=self.begins, ends=self.ends)
        )

    @property
    def seconds(self) -> float:
        """Seconds for the whole length."""
        peak = self.peak
        if peak == 0.0:
            return 0.0
        up = change_seconds(self.begins, peak, self.acceleration, self.jerk)
        down = change_seconds(self.ends, peak, self.acceleration, self.jerk)
        level = self.length - (self.begins + peak) / 2.0 * up - (self.ends + peak) / 2.0 * down
        return up + down + max(0.0, level) / peak

    @property
    def phases(self) -> tuple[tuple[float, float, float], ...]:
        """Seven times (seconds, acceleration at the beginning, jerk)."""
        peak = self.peak
        if peak == 0.0:
            return ((0.0, 0.0, 0.0),) * 7
        up_bend, up, faster = self._ramp_to(peak, self.begins)
        down_bend, down, slower = self._ramp_to(peak, self.ends)
        changing = (self.begins + peak) / 2.0 * (2.0 * up_bend + up) + (self.ends + peak) / 2.0 * (2 * down_bend + down)
        jerk = self.jerk if self.jerk < inf else 0.0
        return (
            (up_bend, 0.0, jerk),
            (up, faster, 0.0),
            (up_bend, faster, -jerk),
            (max(0.0, self.length - changing) / peak, 0.0, 0.0),
            (down_bend, 0.0, -jerk),
            (down, -slower, 0.0),
            (down_bend, -slower, jerk),
        )

    def _ramp_to(self, peak: float, speed: float) -> tuple[float, float, float]:
        """Seconds of constant jerk, seconds of constant acceleration, and that acceleration."""
        change = peak - speed
        if self.jerk == inf:
            return 0.0, change / self.acceleration, self.acceleration
        if change >= self.acceleration**2 / self.jerk:
            bend = self.acceleration / self.jerk
            return bend, change / self.acceleration - bend, self.acceleration
        bend = sqrt(change / self.jerk)
        return bend, 0.0, self.jerk * bend

    def at(self, times: Array) -> tuple[Array, Array, Array]:
        """Position, speed and acceleration at each of ``times``, seconds after the start; at rest outside the move."""
        phases = np.array(self.phases)
        seconds, bends, jerks = phases[:, 0], phases[:, 1], phases[:, 2]
        at_begin = np.concatenate(([0.0], np.cumsum(seconds)))
        gains = bends * seconds + jerks * seconds**2 / 2.0
        speeds = self.begins + np.concatenate(([0.0], np.cumsum(gains)[:-1]))
        ways = speeds * seconds + bends * seconds**2 / 2.0 + jerks * seconds**3 / 6.0
        lengths = np.concatenate(([0.0], np.cumsum(ways)[:-1]))
        within = np.clip(times, 0.0, at_begin[-1])
        i = np.clip(np.searchsorted(at_begin, within, side="right") - 1, 0, len(seconds) - 1)
        t = within - at_begin[i]
        position = lengths[i] + t * (speeds[i] + t * (bends[i] / 2.0 + t * jerks[i] / 6.0))
        speed = speeds[i] + t * (bends[i] + t * jerks[i] / 2.0)
        moving = (times >= 0.0) & (times <= at_begin[-1] * (1.0 + ROUNDING))
        return (
            np.clip(position, 0.0, self.length),
            np.where(moving, np.clip(speed, 0.0, self.top), 0.0),
            np.where(moving, bends[i] + t * jerks[i], 0.0),
        )

    def when(self, position: float) -> float:
        """Seconds after the start at which ``position`` is reached; an end for a position outside the move."""
        whole = self.seconds
        if position <= 0.0 or position >= self.length:
            return 0.0 if position <= 0.0 else whole
        early, late = 0.0, whole
        while True:
            middle = (early + late) / 2.0
            if not early < middle < late:
                return middle
            if self.at(np.array([middle]))[0][0] < position:
                early = middle
            else:
                late = middle


def change_seconds(low: float, high: float, acceleration: float, jerk: float = inf) -> float:
    """Seconds to go between two speeds."""
    change = high - low
    if jerk == inf:
        return change / acceleration
    if change >= acceleration**2 / jerk:
        return change / acceleration + acceleration / jerk
    return 2.0 * sqrt(change / jerk)


def change_length(low: float, high: float, acceleration: float, jerk: float = inf) -> float:
    """Length it takes to go between two speeds: the curve is symmetric, so the mean speed is the middle one."""
    return (low + high) / 2.0 * change_seconds(low, high, acceleration, jerk)


def reachable_speed(length: float, acceleration: float, jerk: float = inf, *, begins: float) -> float:
    """The highest speed that ``length`` allows to be reached from ``begins``, with no acceleration left at its end."""
    if jerk == inf:
        return sqrt(begins**2 + 2.0 * acceleration * length)
    bend = acceleration**2 / jerk
    if length >= (2.0 * begins + bend) * acceleration / jerk:
        return (sqrt((bend - 2.0 * begins) ** 2 + 8.0 * acceleration * length) - bend) / 2.0
    # With x the seconds of each bend: jerk x^3 + 2 begins x = length, which has one real root.
    slow = 2.0 * begins / (3.0 * jerk)
    if slow <= STANDING:
        return begins + jerk * cbrt(length / jerk) ** 2
    x = 2.0 * sqrt(slow) * sinh(asinh(length / (2.0 * jerk * slow**1.5)) / 3.0)
    return begins + jerk * x**2


def highest_speed(length: float, acceleration: float, jerk: float = inf, *, begins: float, ends: float) -> float:
    """The peak between two speeds where no top speed is in the way.

    In closed form where both ramps reach the acceleration or both ends have the same speed; otherwise the only
    positive root of a quartic that is convex, which Newton's method finds from above without fail.
    """
    if jerk == inf:
        return max(begins, ends, sqrt(acceleration * length + (begins**2 + ends**2) / 2.0))
    low, high = min(begins, ends), max(begins, ends)
    bend = acceleration**2 / jerk
    full = high + bend

    def length_to(peak: float) -> float:
        return change_length(low, peak, acceleration, jerk) + change_length(high, peak, acceleration, jerk)

    if length >= length_to(full):
        rest = bend * (low + high) / 2.0 - (low**2 + high**2) / 2.0 - acceleration * length
        return (sqrt(bend**2 - 4.0 * rest) - bend) / 2.0
    if low == high:
        return reachable_speed(length / 2.0, acceleration, jerk, begins=low)
    if low + bend <= high or length >= length_to(low + bend):
        return max(high, _one_ramp_bends(length, acceleration, jerk, low, high))
    return max(high, _both_ramps_bend(length, jerk, low, high))


def _one_ramp_bends(length: float, acceleration: float, jerk: float, low: float, high: float) -> float:
    """The peak where only the ramp to or from the lower speed reaches the acceleration.

    With x the seconds of each bend of the other ramp, the peak is high + jerk x^2.
    """
    x = acceleration / jerk
    while True:
        gain = jerk * x**2
        held = (gain + high - low) / acceleration + acceleration / jerk
        excess = (gain + high + low) / 2.0 * held + (2.0 * high + gain) * x - length
        slope = jerk * x * (held + (gain + high + low) / acceleration) + 2.0 * high + 3.0 * gain
        step = excess / slope
        if step <= SETTLED * acceleration / jerk or x == 0.0:
            return high + jerk * x**2
        x = max(0.0, x - step)


def _both_ramps_bend(length: float, jerk: float, low: float, high: float) -> float:
    """The peak where neither ramp reaches the acceleration.

    With x and y the seconds of a bend of either ramp and z = x + y, the lengths add up to
    z^4 + 4 (low + high) / jerk z^2 - 4 length / jerk z = ((high - low) / jerk)^2.
    """
    square, line, rest = 4.0 * (low + high) / jerk, 4.0 * length / jerk, ((high - low) / jerk) ** 2
    z = cbrt(line) + sqrt(sqrt(rest))
    while True:
        step = (z * (z * (z**2 + square) - line) - rest) / (4.0 * z**3 + 2.0 * square * z - line)
        if step <= SETTLED * z:
            return low + jerk * ((z + (high - low) / (jerk * z)) / 2.0) ** 2
        z -= step
