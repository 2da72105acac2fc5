"""The circle of an arc from its words, in the plane of the arc and relative to its start.

First and second axis are those of the plane in right-handed order; angles are counter-clockwise positive, in degrees;
lengths are mm. Facts are those of NISTIR 6556, 3.5.3.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from parser.machine import MM_PER_INCH
from parser.quantities import Length, say

Vector = tuple[float, float]

CLOSES_WITHIN_MM = 0.002  # NISTIR 6556, 3.5.3.2, as in inches
CLOSES_WITHIN_INCH = 0.0002 * MM_PER_INCH
SAME_POINT = 1e-9


class DoesNotCloseError(ValueError):
    """No circle through the start fits the words; ``why`` says it."""

    def __init__(self, why: str) -> None:
        super().__init__(why)
        self.why = why


@dataclass(frozen=True, slots=True)
class Circle:
    """An arc as its centre relative to the start, its radius, the angle it begins at and the signed angle it sweeps."""

    centre: Vector
    radius: float
    begins: float
    sweep: float


def from_centre(end: Vector, centre: Vector, clockwise: bool, tolerance: float) -> Circle:
    """Centre format (NISTIR 6556, 3.5.3.2): ``end`` and ``centre`` are relative to the start.

    An end that is the start makes a full circle. Raises DoesNotCloseError where the radii at the two ends differ by
    more than ``tolerance`` or the centre is the start.
    """
    radius = math.hypot(*centre)
    last = math.hypot(end[0] - centre[0], end[1] - centre[1])
    if abs(radius - last) > tolerance:
        raise DoesNotCloseError(
            say(
                "its start is {radius} from the centre and its end {last}, {apart} apart",
                radius=Length(radius, 4),
                last=Length(last, 4),
                apart=Length(abs(radius - last), 4),
            )
        )
    if radius <= SAME_POINT:
        raise DoesNotCloseError("its centre is where it starts, so its radius is zero")
    return _around(end, centre, radius, clockwise)


def from_radius(end: Vector, radius: float, clockwise: bool) -> Circle:
    """Radius format (NISTIR 6556, 3.5.3.1): ``end`` is relative to the start.

    A negative radius turns more than 180 degrees. Raises DoesNotCloseError where the end is the start, or further from
    it than twice the radius.
    """
    chord = math.hypot(*end)
    size = abs(radius)
    if chord <= SAME_POINT:
        raise DoesNotCloseError("it ends where it starts, and a radius alone does not say where its centre is")
    if chord > 2 * size * (1 + 1e-9):
        raise DoesNotCloseError(
            say(
                "its ends are {chord} apart, more than twice the radius of {size}",
                chord=Length(chord, 4),
                size=Length(size, 4),
            )
        )
    aside = math.sqrt(max(0.0, size * size - chord * chord / 4))
    to_the_left = clockwise == (radius < 0)
    side = aside / chord if to_the_left else -aside / chord
    centre = (end[0] / 2 - end[1] * side, end[1] / 2 + end[0] * side)
    return _around(end, centre, size, clockwise)


def _around(end: Vector, centre: Vector, radius: float, clockwise: bool) -> Circle:
    begins = math.atan2(-centre[1], -centre[0])
    if math.hypot(*end) <= SAME_POINT:
        turn = math.tau
    else:
        ends = math.atan2(end[1] - centre[1], end[0] - centre[0])
        turn = (begins - ends if clockwise else ends - begins) % math.tau or math.tau
    return Circle(centre, radius, math.degrees(begins), math.degrees(-turn if clockwise else turn))
