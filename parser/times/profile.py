"""The trapezoidal speed profile: from rest to rest along a given length."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt


@dataclass(frozen=True, slots=True)
class Trapezoid:
    """The quickest way from rest to rest over ``length`` under a top speed and an acceleration.

    Any one unit of length, with its speed per second and its acceleration per second squared. A short length never
    reaches the top speed and the trapezoid is a triangle. A length below zero, or a limit that is not above zero,
    raises ValueError. Lynch and Park, Modern Robotics, 2017, section 9.2.
    """

    length: float
    top: float
    acceleration: float

    def __post_init__(self) -> None:
        if not (self.length >= 0.0 and self.top > 0.0 and self.acceleration > 0.0):
            raise ValueError(f"no profile over {self.length} at {self.top} and {self.acceleration}")

    @property
    def peak(self) -> float:
        """The highest speed that is reached."""
        return min(self.top, sqrt(self.length * self.acceleration))

    @property
    def ramp(self) -> float:
        """Seconds from rest to the peak, and from the peak to rest."""
        return self.peak / self.acceleration

    @property
    def seconds(self) -> float:
        """Seconds for the whole length."""
        if self.length == 0.0:
            return 0.0
        if self.peak == self.top:
            return self.length / self.top + self.top / self.acceleration
        return 2.0 * sqrt(self.length / self.acceleration)

    def position(self, t: float) -> float:
        """How far along it is ``t`` seconds after the start; at an end before the start and after the end."""
        t = min(max(t, 0.0), self.seconds)
        if t <= self.ramp:
            return self.acceleration * t**2 / 2.0
        left = self.seconds - t
        if left <= self.ramp:
            return self.length - self.acceleration * left**2 / 2.0
        return self.peak * (t - self.ramp / 2.0)

    def speed(self, t: float) -> float:
        """The speed ``t`` seconds after the start; zero before it and after the end."""
        since, left = t, self.seconds - t
        return max(0.0, min(self.acceleration * since, self.peak, self.acceleration * left))
