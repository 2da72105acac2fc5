"""The seed of the day: what is tried at random is tried anew each day, and can be tried again by its seed."""

from __future__ import annotations

import os
from datetime import UTC, datetime


def seed_of_today() -> int:
    """``CLICKSTOP_SEED`` where it is set, else the date as a number; printed by whoever begins with it."""
    given = os.environ.get("CLICKSTOP_SEED", "")
    return int(given) if given else int(datetime.now(UTC).strftime("%Y%m%d")) * 1_000_000
