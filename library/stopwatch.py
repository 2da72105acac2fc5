"""Rate and acceleration of an axis, worked out from moves that were timed with a stopwatch.

A move from rest to rest over d takes d/v + v/a where it reaches the rate v, and 2 sqrt(d/a) where it does not (Lynch
and Park, Modern Robotics, 2017, section 9.2). With b = v^2/a, the shortest distance that reaches the rate, both are 1/v
times a length that b alone decides: d + b, or 2 sqrt(d b). So for every b the best v is known in closed form, and
least squares is a search along b. A jerk limit is not told apart: it comes out as a lower acceleration.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, inf, isfinite, log, sqrt

HAND = 0.1
"""Seconds that a timing by hand is off, as a standard deviation: starting and stopping the watch (common practice)."""
WORTHLESS = 0.5
"""Standard error, as a share of the value, beyond which a value counts as not determined (our choice)."""
FIRST = 1e-4
"""Where the search for b begins, as a share of the shortest distance: ramps that short cannot be timed."""
TRIES = 400
GOLDEN = (sqrt(5.0) - 1.0) / 2.0
HALVINGS = 80


class UndeterminedError(ValueError):
    """The timings cannot tell both values; the message says why and what to time instead."""


@dataclass(frozen=True, slots=True)
class Timed:
    """Moves from rest to rest of one axis: the distance of one in any unit, how many in a row, and their seconds.

    Going to and fro and timing the lot is how a short move is timed well: the hand is off once, not at every move.
    """

    distance: float
    seconds: float
    moves: int = 1


@dataclass(frozen=True, slots=True)
class Measured:
    """A value and its standard error."""

    value: float
    error: float


@dataclass(frozen=True, slots=True)
class Fit:
    """What the timings come to, in their unit of length: ``rate`` per second, ``acceleration`` per second squared.

    ``residuals`` are the seconds measured less those of the fit, in the order of the timings; ``scatter`` is the
    standard deviation that the errors are worked out with. ``ramps`` is the shortest distance that reaches the rate.
    """

    rate: Measured
    acceleration: Measured
    residuals: tuple[float, ...]
    scatter: float

    @property
    def ramps(self) -> float:
        return self.rate.value**2 / self.acceleration.value

    def seconds(self, distance: float) -> float:
        """How long one move over ``distance`` should take."""
        return _length(Timed(distance, 0.0), self.ramps) / self.rate.value


def fit(timings: Sequence[Timed], hand: float = HAND) -> Fit:
    """Rate and acceleration by least squares.

    The errors count on at least ``hand`` seconds of scatter, however well the timings happen to agree: two timings
    always do. Raises UndeterminedError where the timings cannot tell both values.
    """
    _usable(timings)
    b = _best(timings)
    longest, shortest = max(each.distance for each in timings), min(each.distance for each in timings)
    rate = 1.0 / _slowness(timings, b)
    if b >= longest:
        raise UndeterminedError(
            "None of these moves is long enough to reach the full rate, so they say nothing about it. "
            "Add a longer move, as long as the travel allows."
        )
    if b <= shortest * FIRST * 10.0:
        raise UndeterminedError(
            "The short moves took no longer for their distance than the long ones, as if no time went into speeding "
            "up and slowing down. Look for a mistyped figure, and time the short moves again."
        )
    acceleration = rate**2 / b
    residuals = tuple(each.seconds - _length(each, b) / rate for each in timings)
    spare = len(timings) - 2
    scatter = max(hand, sqrt(sum(each**2 for each in residuals) / spare) if spare else 0.0)
    errors = _errors(timings, rate, acceleration, scatter)
    _determined(rate, acceleration, errors, scatter)
    return Fit(Measured(rate, errors[0]), Measured(acceleration, errors[1]), residuals, scatter)


def _usable(timings: Sequence[Timed]) -> None:
    """Raise UndeterminedError for timings that no fit could be made of."""
    for number, each in enumerate(timings, start=1):
        if not all(isfinite(value) and value > 0.0 for value in (each.distance, each.seconds, each.moves)):
            raise UndeterminedError(f"Timing {number}: distance, number of moves and time have to be above zero.")
    if len(timings) < 2:
        raise UndeterminedError("Two moves of different length are needed at least: a long one and a short one.")
    ordered = sorted(timings, key=lambda each: each.distance)
    if ordered[0].distance == ordered[-1].distance:
        raise UndeterminedError(
            "All these moves are of one length, so rate and acceleration cannot be told apart. "
            "Add a move that is much longer or much shorter."
        )
    near, far = (_one_move(timings, end.distance) for end in (ordered[0], ordered[-1]))
    if far <= near:
        raise UndeterminedError(
            "The longest move took no longer than the shortest one. Look for a mistyped figure, or times that were "
            "swapped."
        )


def _one_move(timings: Sequence[Timed], distance: float) -> float:
    """Seconds of one move over a distance, on the whole."""
    found = [each for each in timings if each.distance == distance]
    return sum(each.seconds for each in found) / sum(each.moves for each in found)


def _length(timed: Timed, b: float) -> float:
    """What the distance counts with its ramps, so that divided by the rate it gives the seconds."""
    far = timed.distance
    return timed.moves * (far + b if far >= b else 2.0 * sqrt(far * b))


def _slowness(timings: Sequence[Timed], b: float) -> float:
    """The best 1/v for a given b."""
    lengths = [_length(each, b) for each in timings]
    return sum(each.seconds * length for each, length in zip(timings, lengths, strict=True)) / sum(
        length**2 for length in lengths
    )


def _misses(timings: Sequence[Timed], b: float) -> float:
    slowness = _slowness(timings, b)
    return sum((each.seconds - slowness * _length(each, b)) ** 2 for each in timings)


def _best(timings: Sequence[Timed]) -> float:
    """The b of least squares: the best of a row of tries, then narrowed between its neighbours.

    From the longest distance up nothing changes any more, so that is the last try.
    """
    shortest, longest = min(each.distance for each in timings), max(each.distance for each in timings)
    first = shortest * FIRST
    span = log(longest / first)
    tries = [first * exp(span * index / TRIES) for index in range(TRIES)] + [longest]
    found = [_misses(timings, b) for b in tries]
    best = found.index(min(found))
    if best in (0, TRIES):
        return tries[best]
    low, high = tries[best - 1], tries[best + 1]
    for _ in range(HALVINGS):
        left, right = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
        if _misses(timings, left) <= _misses(timings, right):
            high = right
        else:
            low = left
    return (low + high) / 2.0


def _errors(timings: Sequence[Timed], rate: float, acceleration: float, scatter: float) -> tuple[float, float]:
    """Standard errors of rate and acceleration: the scatter through the inverse of the normal matrix."""
    rows = [_slopes(each, rate, acceleration) for each in timings]
    vv, va, aa = (sum(row[i] * row[j] for row in rows) for i, j in ((0, 0), (0, 1), (1, 1)))
    determinant = vv * aa - va**2
    if determinant <= 1e-12 * vv * aa:
        return inf, inf
    return scatter * sqrt(aa / determinant), scatter * sqrt(vv / determinant)


def _slopes(timed: Timed, rate: float, acceleration: float) -> tuple[float, float]:
    """How the seconds change with rate and acceleration."""
    if timed.distance >= rate**2 / acceleration:
        return timed.moves * (1.0 / acceleration - timed.distance / rate**2), -timed.moves * rate / acceleration**2
    return 0.0, -timed.moves * sqrt(timed.distance / acceleration**3)


def _determined(rate: float, acceleration: float, errors: tuple[float, float], scatter: float) -> None:
    """Raise UndeterminedError where an error is too large a share of its value."""
    blurred = [
        name
        for name, value, error in (("rate", rate, errors[0]), ("acceleration", acceleration, errors[1]))
        if error > WORTHLESS * value
    ]
    if not blurred:
        return
    advice = {
        "rate": "Add a longer move, or time several of the longest.",
        "acceleration": "Add short moves that hardly reach the full rate, and time many of them in a row.",
    }
    raise UndeterminedError(
        f"A stopwatch error of {scatter:.2f} s leaves the {' and the '.join(blurred)} uncertain by more than half. "
        + " ".join(advice[name] for name in blurred)
    )
