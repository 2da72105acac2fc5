"""Many cases of one kind: the README's test command tries the first of them, and ``.ci/run`` all."""

from __future__ import annotations

from collections.abc import Iterable

import pytest


def mostly_long(cases: Iterable, keep: int = 1) -> list:
    """Values to parametrize with, all after the first ``keep`` marked as long."""
    return [pytest.param(case, marks=pytest.mark.long) if number >= keep else case for number, case in enumerate(cases)]
