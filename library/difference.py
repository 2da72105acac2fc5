"""What differs between two texts, line by line."""

from __future__ import annotations

import difflib
from dataclasses import dataclass

KINDS = {"-": "gone", "+": "new", "@": "place", " ": "same"}


@dataclass(frozen=True, slots=True)
class DifferentLine:
    """A line of a comparison; ``kind`` is "gone", "new", "place" (dots between two places) or "same"."""

    kind: str
    mark: str
    text: str


def difference(old: str, new: str, around: int = 3) -> tuple[DifferentLine, ...]:
    """What changed between two texts, with so many lines around each place."""
    lines = list(difflib.unified_diff(old.splitlines(), new.splitlines(), lineterm="", n=around))[2:]
    return tuple(
        DifferentLine("place", " ", "...") if line[0] == "@" else DifferentLine(KINDS[line[0]], line[0], line[1:])
        for line in lines
    )
