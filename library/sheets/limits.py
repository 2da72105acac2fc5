"""A limit on travel that depends on where another axis is, as the machine sheet writes it."""

from __future__ import annotations

import re
from typing import Literal, Self, cast

from pydantic import Field, model_validator

from library.fields import Part, Text, in_mm, wrong
from parser.machine import ROTARY

Comparison = Literal["<", "<=", ">", ">="]
Condition = tuple[str, Comparison, float]

_CONDITION = re.compile(r"\s*([xyzabc])\s*(<=|>=|<|>)\s*([-+]?(?:\d+\.?\d*|\.\d+))\s*(mm|in|deg)?\s*", re.IGNORECASE)


class TravelLimit(Part):
    """While ``when`` holds, ``then`` has to hold as well."""

    when: Text = Field(description='condition on one axis, such as "z < -70 mm"')
    then: Text = Field(description='what has to hold then, such as "y <= 140 mm"')

    @model_validator(mode="after")
    def _both_can_be_read(self) -> Self:
        for key in ("when", "then"):
            condition(getattr(self, key), "mm", key)
        return self

    def conditions(self, units: str) -> tuple[Condition, Condition]:
        """Both conditions with their values in mm or degrees; ``units`` are those of a bare number."""
        return condition(self.when, units, "when"), condition(self.then, units, "then")


def condition(text: str, units: str, key: str) -> Condition:
    """``"z < -70 mm"`` as axis, operator and value in mm or degrees."""
    found = _CONDITION.fullmatch(text)
    if found is None:
        raise wrong(f'is "{text}"; write an axis, one of < <= > >=, and a number, such as "z < -70 mm"', key)
    axis, operator, number, unit = found[1].lower(), found[2], float(found[3]), (found[4] or "").lower()
    if unit and (unit == "deg") != (axis in ROTARY):
        raise wrong(f'is "{text}"; {axis} is measured in {"deg" if axis in ROTARY else "mm or in"}', key)
    inches = axis not in ROTARY and (unit == "in" or (not unit and units == "inch"))
    return axis, cast(Comparison, operator), in_mm(number, "inch" if inches else "mm")
