"""What a number on a form is in: the unit beside its field, and a figure typed in another unit."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

from library.fields import Units, in_inches, in_mm

LONGEST_FIGURE = 60
"""Characters that a number may be typed with (our choice)."""

_FIGURE = re.compile(r"([-+]?(?:\d+\.?\d*|\.\d+)(?:e[-+]?\d+)?)\s*(\D.*)?", re.IGNORECASE)

_TO_MM: Mapping[str, float] = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "inch": 25.4, "inches": 25.4, '"': 25.4}
_PER: Mapping[str, float] = {"min": 1.0, "s": 60.0, "sec": 60.0}
_TIMES: Mapping[str, float] = {"s": 1.0, "sec": 1.0, "seconds": 1.0, "ms": 0.001, "min": 60.0}


class TypedError(ValueError):
    """What was typed into one cell cannot be used; ``str()`` says why and what to do."""


@dataclass(frozen=True, slots=True)
class CellUnit:
    """A unit as the sheets name it ("mm", "mm/min", "mm/s^2", "mm/s^3", "s", "rpm", "" for a bare number).

    ``units`` are those of the document, ``rotary`` where the number is of an axis in degrees. ``kept`` are the units
    that the document keeps whatever the form is in: the pendant's are always mm.
    """

    unit: str = ""
    units: Units = "mm"
    rotary: bool = False
    kept: Units | None = None

    @property
    def of_length(self) -> bool:
        """Whether the number changes with the units of the form."""
        return self.unit.startswith("mm") and not self.rotary

    @property
    def shown(self) -> str:
        """The unit as the form writes it."""
        length = "deg" if self.rotary else "in" if self.units == "inch" else "mm"
        return re.sub(r"^mm\b", length, self.unit).replace("^2", "²").replace("^3", "³")

    def written(self, value: float) -> str:
        """A number of the document as the text of its field."""
        if self.of_length and self.units == "inch" and self.kept == "mm":
            value = round(in_inches(value), 6)
        return repr(float(value)).removesuffix(".0")

    def usual(self, value: float) -> str:
        """A default, which is in mm, as the form writes it."""
        inches = self.of_length and self.units == "inch"
        return repr(float(round(in_inches(value), 5) if inches else value)).removesuffix(".0")

    def read(self, typed: str) -> float:
        """What was typed in the document's units; raises TypedError. Another unit of the same kind is converted."""
        given = typed.strip().replace("\N{MINUS SIGN}", "-").replace("\N{EN DASH}", "-")
        if not given:
            raise TypedError("a number is missing here")
        found = _FIGURE.fullmatch(given) if len(given) <= LONGEST_FIGURE else None
        if found is None:
            raise TypedError(f"“{shortened(typed)}” is not a number; write it like 12.5{self._behind}")
        value = float(found[1])
        if not math.isfinite(value):
            raise TypedError(f"“{shortened(typed)}” is beyond all measure")
        unit = (found[2] or "").strip().lower()
        if unit and unit != self.shown.lower():
            value = self._converted(value, unit, typed)
        elif self.of_length and self.units == "inch" and self.kept == "mm":
            value = round(in_mm(value), 6)
        return value

    @property
    def _behind(self) -> str:
        return f", in {self.shown}" if self.unit else ""

    def _converted(self, value: float, unit: str, typed: str) -> float:
        unit = unit.replace("²", "^2").replace("³", "^3").replace("″", '"')
        factor = None
        if self.unit == "s":
            factor = _TIMES.get(unit)
        elif self.of_length:
            factor = self._factor(unit)
        elif self.rotary and self.unit == "mm" and unit in ("°", "degrees"):
            factor = 1.0
        if factor is None:
            wants = f"a number in {self.shown}" if self.unit else "a number without a unit"
            raise TypedError(f"“{shortened(typed)}” is in another unit; write {wants}")
        if self.unit == "s":
            return value * factor
        return round(value * factor, 6) if self._keeps == "mm" else round(value * factor / 25.4, 6)

    @property
    def _keeps(self) -> Units:
        return self.kept or self.units

    def _factor(self, unit: str) -> float | None:
        """From a unit that was typed to that of the sheet in mm; None where it is of another kind."""
        length, _, per = unit.partition("/")
        own = self.unit.partition("/")[2]
        if length.strip() not in _TO_MM or bool(per) != bool(own):
            return None
        per = per.strip()
        if per != own and not (own == "min" and per in _PER):
            return None
        return _TO_MM[length.strip()] * (_PER[per] if own == "min" else 1.0)


def shortened(typed: str) -> str:
    """What was typed, cut where it is too long for a message."""
    plain = " ".join(typed.split())
    return plain if len(plain) <= 40 else f"{plain[:37]}…"
