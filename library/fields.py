"""The kinds of value that documents are made of: strict, finite, in a named unit, each with a description.

A sheet in inches has the same keys; the unit shown with a field is then read as in, in/min, in/s^2 or in/s^3.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field
from pydantic_core import PydanticCustomError

Units = Literal["mm", "inch"]


_EXACTLY = Decimal("25.4")

LARGEST = 1e6


class Part(BaseModel):
    """A table of a document: frozen, and with no keys but its own."""

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True, defer_build=True)


@dataclass(frozen=True, slots=True)
class In:
    """The unit a number is written in, mm where the document's units decide."""

    unit: str


def wrong(why: str, *path: str | int) -> PydanticCustomError:
    """The error of a check on a whole document or table: why, and the key below the model it concerns."""
    return PydanticCustomError("wrong", "{why}", {"why": why, "path": list(path)})


def _one_line(value: object) -> object:
    if isinstance(value, str) and not value.isprintable():
        raise PydanticCustomError("wrong", "{why}", {"why": "has to be one line of printable characters", "path": []})
    return value


_Finite = Field(strict=True, allow_inf_nan=False, ge=-LARGEST, le=LARGEST)
_Positive = Field(strict=True, allow_inf_nan=False, gt=0, le=LARGEST)
_NotNegative = Field(strict=True, allow_inf_nan=False, ge=0, le=LARGEST)

Length = Annotated[float, _Finite, In("mm")]
Size = Annotated[float, _NotNegative, In("mm")]
Rate = Annotated[float, _Positive, In("mm/min")]
Acceleration = Annotated[float, _Positive, In("mm/s^2")]
Jerk = Annotated[float, _NotNegative, In("mm/s^3")]
Seconds = Annotated[float, _NotNegative, In("s")]
Speed = Annotated[float, _Positive, In("rpm")]
Count = Annotated[int, Field(strict=True, ge=0, le=int(LARGEST))]
Flag = Annotated[bool, Field(strict=True)]
Text = Annotated[str, Field(strict=True, max_length=2000), BeforeValidator(_one_line)]
Name = Annotated[str, Field(strict=True, min_length=1, max_length=200, pattern=r"\S"), BeforeValidator(_one_line)]
Slug = Annotated[str, Field(strict=True, max_length=60, pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$")]

Span = tuple[Length, Length]
Corner = tuple[Length, Length, Length]


def in_mm(value: float, units: Units = "inch") -> float:
    """A length, or what is a length per something, in mm: the number nearest to 25.4 times what was written."""
    return float(Decimal(repr(value)) * _EXACTLY) if units == "inch" else value


def in_inches(value: float) -> float:
    """A length in inches from one in mm."""
    return float(Decimal(repr(value)) / _EXACTLY)


def slug(name: str) -> str:
    """A name as lower-case words of plain letters and digits: "Bar in the vise" is "bar-in-the-vise"."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    return "-".join(re.findall(r"[a-z0-9]+", plain.lower()))


def landmark_word(name: str) -> str:
    """A name as formulas write it: "Bar in the vise" is "bar_in_the_vise"; letters of any alphabet stay."""
    return "_".join(re.findall(r"[^\W_]+", name.lower())) or name.lower()


def twice(names: list[str]) -> int | None:
    """Index of the first name that an earlier one already has, None where all differ."""
    return next((index for index, name in enumerate(names) if name in names[:index]), None)
