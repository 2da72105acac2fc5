"""No text that nobody would write takes much longer to read, follow and tidy than another."""

from __future__ import annotations

from statistics import median

import pytest

from tests.benchmarks.measuring import in_turns, keeps_to
from tests.fuzz.test_fuzz import try_one

pytestmark = pytest.mark.long

TEXTS = 500


def test_no_odd_text_takes_a_hundred_times_as_long_as_the_typical_one():
    times = in_turns(*(lambda _, seed=seed: try_one(seed) for seed in range(TEXTS)))
    typical = [median(each) for each in zip(*times, strict=True)]
    slowest = max(times, key=median)
    keeps_to("read, follow and tidy the slowest odd text", slowest, typical)
