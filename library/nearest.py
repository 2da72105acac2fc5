"""What somebody probably meant to write."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches


def did_you_mean(written: str, known: Iterable[str]) -> str:
    """``; did you mean "travel"?`` where something known is near, else ""."""
    names = {name.lower(): name for name in known}
    found = get_close_matches(written.lower(), names, n=1, cutoff=0.5)
    return f'; did you mean "{names[found[0]]}"?' if found else ""
