"""Numbers as a controller takes them: in its units, with its decimals, and rounded to the side that does no harm."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal

from library.errors import BlockError
from parser.machine import MM_PER_INCH, Axis, Machine
from parser.motion.offsets import within_margins

NOISE = 9  # decimals beyond which a difference is the arithmetic's, not the machinist's


def fixed(value: float, decimals: int, rounding: str = ROUND_HALF_EVEN) -> str:
    """A number with at most so many decimals, without useless zeros, and never "-0"."""
    exact = Decimal(repr(round(value, NOISE)))
    text = format(exact.quantize(Decimal(1).scaleb(-decimals), rounding), "f")
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


@dataclass(frozen=True, slots=True)
class Numbers:
    """How numbers are written for a machine: in inches or mm, with so many decimals."""

    machine: Machine
    inch: bool
    decimals: int

    def rate(self, feed: float, most: float | None, *, turns: bool = False) -> str:
        """The number of an F word, in degrees a minute where only rotary axes move; never above ``most``."""
        if most is not None:
            feed = min(feed, most)
        rounding = ROUND_FLOOR if feed == most else ROUND_HALF_EVEN
        rate = fixed(feed / MM_PER_INCH if self.inch and not turns else feed, self.decimals, rounding)
        if float(rate) <= 0:
            raise BlockError("the feed is zero once it is rounded to the controller's decimals; ask for more")
        return rate

    def taken_off(self, mm: float) -> str:
        """The end of a sum from which so many mm are taken off, "" for none."""
        off = self.length(-mm)
        return "" if off == "0" else off if off.startswith("-") else f"+{off}"

    def distance(self, name: str, by: float) -> str:
        """The word's number for a distance along an axis."""
        axis = self.axis(name)
        return fixed(by, self.decimals) if axis.rotary else self.length(by)

    def axis(self, name: str) -> Axis:
        """An axis of the machine; raises BlockError where it has none of that name."""
        axis = self.machine.axis(name)
        if axis is None:
            has = ", ".join(self.machine.names).upper()
            raise BlockError(f"this machine has no {name.upper()} axis; it has {has}")
        return axis

    def length(self, mm: float) -> str:
        """So many mm, in the units that are written."""
        return fixed(mm / MM_PER_INCH if self.inch else mm, self.decimals)

    def target(self, name: str, at: float, origin: float) -> str:
        """The word's number for a machine coordinate, counted from ``origin``.

        Z is rounded upwards and other axes to the nearest; but a place inside the travel, or inside the travel less its
        margin, stays inside it.
        """
        axis = self.axis(name)
        scale = MM_PER_INCH if self.inch and not axis.rotary else 1.0
        text = fixed((at - origin) / scale, self.decimals, ROUND_CEILING if name == "z" else ROUND_HALF_EVEN)
        for room in (axis.travel, within_margins(axis.travel, self.machine.travel_margin)):
            lands = float(text) * scale + origin
            if room.contains(at, 10**-NOISE) and not room.contains(lands, 10**-NOISE):
                inwards = ROUND_FLOOR if lands > room.high else ROUND_CEILING
                text = fixed((at - origin) / scale, self.decimals, inwards)
        return text
