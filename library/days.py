"""Days as documents hold them: a TOML date, or a text that is one, and never one that is still to come."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Annotated

from pydantic import BeforeValidator
from pydantic_core import PydanticCustomError

EASTERNMOST = timedelta(hours=14)
"""How far the clocks of the first place on Earth to begin a day are ahead (memory)."""


def latest() -> date:
    """The latest day that it is anywhere: a sheet may come from a workshop where it is tomorrow already."""
    return (datetime.now(UTC) + EASTERNMOST).date()


def today() -> date:
    """The day by the clock of this computer."""
    return datetime.now().astimezone().date()


def _day(value: object) -> date:
    if isinstance(value, str):
        try:
            value = date.fromisoformat(value)
        except ValueError:
            raise _wrong(f'is "{str(value)[:40]}", which is no day; write it like 2026-05-04') from None
    if not isinstance(value, date) or isinstance(value, datetime):
        raise _wrong("has to be a day without a time; write it like 2026-05-04")
    if value > latest():
        raise _wrong(f"is {value.isoformat()}, a day that is still to come; write the day it was measured")
    return value


def _wrong(why: str) -> PydanticCustomError:
    return PydanticCustomError("wrong", "{why}", {"why": why, "path": []})


Day = Annotated[date, BeforeValidator(_day)]
"""The day on which something was seen to."""
