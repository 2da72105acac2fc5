"""Numbers as a drawing shows them: lengths in the units of the workshop, times in seconds or minutes."""

from __future__ import annotations

import math

from parser.machine import MM_PER_INCH
from parser.quantities import Units, figure

MINUS = "\N{MINUS SIGN}"


def trimmed(value: float, decimals: int) -> str:
    """The value without useless zeros, with a true minus sign and never a negative nought."""
    return figure(value, decimals).replace("-", MINUS)


def plain_length(mm: float, units: Units) -> str:
    """A length or a reading without its unit."""
    return trimmed(mm, 1) if units == "mm" else trimmed(mm / MM_PER_INCH, 2)


def length(mm: float, units: Units) -> str:
    """A length with its unit."""
    return f"{plain_length(mm, units)} {'mm' if units == 'mm' else 'in'}"


def duration(seconds: float) -> str:
    """A time: tenths below ten seconds, whole seconds up to a minute and a half, then minutes and seconds."""
    if seconds < 9.95:
        return f"{trimmed(seconds, 1)} s"
    whole = round(seconds)
    return f"{whole} s" if whole < 90 else f"{whole // 60} min {whole % 60:02d} s"


def round_step(span: float, about: int) -> float:
    """A step of 1, 2 or 5 times a power of ten that divides ``span`` into about so many parts."""
    rough = span / about
    if rough <= 0:
        return 1.0
    power = 10.0 ** math.floor(math.log10(rough))
    return next(step * power for step in (5, 2, 1) if step * power <= rough * 1.0001)
