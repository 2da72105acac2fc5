"""What is left of a line once white space, case and surplus digits are gone, and where each character stood."""

from __future__ import annotations

import re
import string
from collections.abc import Sequence
from dataclasses import dataclass

WHITE_SPACE = " \t"
_LEFT_AS_WRITTEN = r"\([^()]*\)?|;.*"
_STRETCH = re.compile(rf"(?P<comment>{_LEFT_AS_WRITTEN})|[^ \t(;]+", re.DOTALL)
_SURPLUS = re.compile(rf"{_LEFT_AS_WRITTEN}|N[0-9]+|[0-9](?P<surplus>[0-9]+)", re.DOTALL)
_CAPITALS = str.maketrans(string.ascii_lowercase, string.ascii_uppercase)
_PLAIN = {**_CAPITALS, **dict.fromkeys(map(ord, WHITE_SPACE))}
MASK = str.maketrans("123456789", "000000000")
"""For ``str.translate``: every ASCII digit becomes 0, so that lines alike but for their figures become equal."""


@dataclass(frozen=True, slots=True)
class Layout:
    """A line as the grammar takes it. Character i of ``plain`` stood at ``starts[i]`` up to ``stops[i]`` (from 0)."""

    plain: str
    starts: Sequence[int]
    stops: Sequence[int]

    def stretch(self, begin: int, stop: int) -> tuple[int, int]:
        """Where the characters from ``begin`` up to ``stop`` of ``plain`` stood; they are at least one."""
        return self.starts[begin], self.stops[stop - 1]

    def place(self, at: int) -> int:
        """Where character ``at`` of ``plain`` stood; just after the last one where ``at`` is its length."""
        if at < len(self.plain):
            return self.starts[at]
        return self.stops[-1] if self.stops else 0


def close_up(text: str) -> str:
    """The text without spaces and tabs."""
    return text.replace(" ", "").replace("\t", "")


def lay_out(text: str) -> Layout:
    """Takes white space and lower case away outside comments (NISTIR 6556, 3.3.1)."""
    if "(" not in text and ";" not in text:
        starts = [at for at, character in enumerate(text) if character not in WHITE_SPACE]
        return Layout(text.translate(_PLAIN), starts, [start + 1 for start in starts])
    pieces: list[str] = []
    starts = []
    for found in _STRETCH.finditer(text):
        piece = found.group()
        pieces.append(piece if found["comment"] else piece.translate(_CAPITALS))
        starts.extend(range(found.start(), found.end()))
    return Layout("".join(pieces), starts, [start + 1 for start in starts])


def shorten(layout: Layout) -> Layout:
    """Leaves one digit of every run; comments and line numbers, whose length counts, stay as they are."""
    plain, starts, stops = layout.plain, layout.starts, layout.stops
    pieces: list[str] = []
    new_starts: list[int] = []
    new_stops: list[int] = []
    kept = 0
    for found in _SURPLUS.finditer(plain):
        begin, stop = found.span("surplus")
        if begin < 0:
            continue
        pieces.append(plain[kept:begin])
        new_starts.extend(starts[kept:begin])
        new_stops.extend(stops[kept : begin - 1])
        new_stops.append(stops[stop - 1])
        kept = stop
    if not kept:
        return layout
    return Layout("".join([*pieces, plain[kept:]]), [*new_starts, *starts[kept:]], [*new_stops, *stops[kept:]])
