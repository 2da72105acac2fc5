"""Numbers without rounding: exact fractions of the decimals on sheets and in lines, and how SMT-LIB writes them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction

from parser.machine import Interval

DECIMALS = Decimal("1e-9")
"""mm (or degrees) to which a number is taken that was worked out in floating point: 0.1 + 0.2 is 0.3 again, and what an
inch sheet calls 1.1 is 27.94 mm.

Half of it is a two-thousandth of what counts as touching."""

TOUCH = Fraction(1, 10**6)
"""mm (or degrees) by which something has to be passed before it counts: touching is not hitting."""


def exact(value: float) -> Fraction:
    """The decimal that is written for a number, as a fraction."""
    return Fraction(repr(float(value)))


def worked_out(value: float) -> Fraction:
    """A number that a sheet in inches came to, or that the trace has worked out, as the decimal that it stands for."""
    written = Decimal(repr(float(value)))
    if written.adjusted() > MOST_DIGITS:  # no place on a machine; it stays what it is
        return Fraction(written)
    return Fraction(written.quantize(DECIMALS, ROUND_HALF_EVEN))


MOST_DIGITS = 15
"""Digits before the point up to which a number is rounded."""


@dataclass(frozen=True, slots=True)
class Range:
    """From ``low`` to ``high``, both included."""

    low: Fraction
    high: Fraction

    @classmethod
    def of(cls, reach: Interval) -> Range:
        """The range that the trace gives to something it does not know."""
        return cls(worked_out(reach.low), worked_out(reach.high))


@dataclass(frozen=True, slots=True)
class Sum:
    """``number`` plus some unknowns, each so many times."""

    number: Fraction
    terms: tuple[tuple[str, Fraction], ...] = ()

    def text(self) -> str:
        """It as SMT-LIB writes it."""
        parts = [symbol if count == 1 else f"(* {written(count)} {symbol})" for symbol, count in self.terms]
        if self.number or not parts:
            parts.append(written(self.number))
        return parts[0] if len(parts) == 1 else f"(+ {' '.join(parts)})"

    def at(self, values: Mapping[str, Fraction]) -> Fraction:
        """Its value where every unknown is known."""
        return self.number + sum((values[symbol] * count for symbol, count in self.terms), Fraction(0))


def written(value: Fraction) -> str:
    """A number as SMT-LIB 2.6 writes a real one: a decimal without sign, a minus round it, a quotient at need."""
    if value < 0:
        return f"(- {written(-value)})"
    rest = value.denominator
    for prime in (2, 5):
        while rest % prime == 0:
            rest //= prime
    if rest != 1:
        return f"(/ {value.numerator}.0 {value.denominator}.0)"
    digits = 0
    while (value * 10**digits).denominator != 1:
        digits += 1
    whole = str((value * 10**digits).numerator).rjust(digits + 1, "0")
    return f"{whole[: len(whole) - digits]}.{whole[len(whole) - digits :] or '0'}"
