"""What is left of a line once white space and case are gone, and where each character stood."""

from __future__ import annotations

import re
import string
from collections.abc import Sequence
from dataclasses import dataclass

WHITE_SPACE = " \t"
_STRETCH = re.compile(r"(?P<comment>\([^()]*\)?|;.*)|[^ \t(;]+", re.DOTALL)
_COMMENT = re.compile(r"\([^)]*(?:\)|\Z)|;.*")
"""One that is not closed is matched to the end, else it would be looked for anew from each of its parentheses."""

_LINE_NUMBER = re.compile(r"^N\d+")
_CAPITALS = str.maketrans(string.ascii_lowercase, string.ascii_uppercase)
_PLAIN = {**_CAPITALS, **dict.fromkeys(map(ord, WHITE_SPACE))}


@dataclass(frozen=True, slots=True)
class Layout:
    """A line as the grammar takes it. Character i of ``plain`` stood at ``starts[i]`` (from 0)."""

    plain: str
    starts: Sequence[int]

    def stretch(self, begin: int, stop: int) -> tuple[int, int]:
        """Where the characters from ``begin`` up to ``stop`` of ``plain`` stood; they are at least one."""
        return self.starts[begin], self.starts[stop - 1] + 1

    def place(self, at: int) -> int:
        """Where character ``at`` of ``plain`` stood; just after the last one where ``at`` is its length."""
        if at < len(self.plain):
            return self.starts[at]
        return self.starts[-1] + 1 if self.starts else 0


def close_up(text: str) -> str:
    """The text without spaces and tabs."""
    return text.replace(" ", "").replace("\t", "")


def bare(text: str) -> str:
    """A line without comments, spaces, case and line number, to tell whether two lines are the same."""
    return _LINE_NUMBER.sub("", "".join(_COMMENT.sub(_unclosed, text).upper().split()))


def _unclosed(comment: re.Match[str]) -> str:
    """What stays of a comment: all of one in parentheses that is not closed, for it is none."""
    text = comment.group()
    return "" if text[0] == ";" or text[-1] == ")" else text.partition(";")[0]


def lay_out(text: str) -> Layout:
    """Takes white space and lower case away outside comments (NISTIR 6556, 3.3.1)."""
    if "(" not in text and ";" not in text:
        starts = [at for at, character in enumerate(text) if character not in WHITE_SPACE]
        return Layout(text.translate(_PLAIN), starts)
    pieces: list[str] = []
    starts = []
    for found in _STRETCH.finditer(text):
        piece = found.group()
        pieces.append(piece if found["comment"] else piece.translate(_CAPITALS))
        starts.extend(range(found.start(), found.end()))
    return Layout("".join(pieces), starts)
