"""How much of many cases of one kind a run tries: the README's test command the least, ``.ci/run`` a share of the day.

With ``CLICKSTOP_ALL=1`` all is tried, for whoever has the time.
"""

from __future__ import annotations

import os
import random
from collections.abc import Iterable, Sequence
from typing import TypeVar

import pytest

from tests.fuzz.seeds import seed_of_today

Case = TypeVar("Case")


def mostly_long(cases: Iterable, keep: int = 1, most: int | None = None) -> list:
    """Values to parametrize with, all after the first ``keep`` marked as long, at most so many of them, of the day."""
    every = list(cases)
    rest = every[keep:] if most is None else of_today(every[keep:], most)
    return [*every[:keep], *(pytest.param(case, marks=pytest.mark.long) for case in rest)]


def of_today(cases: Sequence[Case], most: int) -> list[Case]:
    """At most so many of the cases, others each day and in their own order; all where all is asked for."""
    if everything() or len(cases) <= most:
        return list(cases)
    return [cases[at] for at in sorted(random.Random(seed_of_today()).sample(range(len(cases)), most))]


def some_of_today(cases: Sequence[Case], keep: int, most: int) -> list[Case]:
    """The first ``keep`` of the cases, which are tried in every run, and at most so many of the others, of the day."""
    return [*cases[:keep], *of_today(cases[keep:], most)]


def in_turn(at: int, of: int) -> pytest.MarkDecorator:
    """Of so many tests that take long and are much alike, try one in each run, another each day; all if asked for."""
    mine = everything() or random.Random(f"turn {seed_of_today()}").randrange(of) == at
    return pytest.mark.skipif(not mine, reason=f"another of {of} like it is tried with seed {seed_of_today()}")


def examples(count: int) -> int:
    """How many random examples to draw of what would be ``count`` of them: a third, all where all is asked for."""
    return count if everything() else max(1, count // 3)


def everything() -> bool:
    """Whether all is to be tried, however long it takes."""
    return bool(os.environ.get("CLICKSTOP_ALL"))
