"""The published words: modal group, meaning and section of each in NISTIR 6556, and what it reads beside itself.

They stand in ``words.txt``, to be read beside the tables of the standard.

Nothing here looks at a value: whether G1 may stand where it stands is for the interpreter to say.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import SequenceMatcher
from importlib.resources import files

AXES = "XYZABC"
INTEGER_TOLERANCE = 0.0001 + 1e-9
"""How far a value that must be an integer may be from one (NISTIR 6556, 3.3.2), and the rounding of the difference."""


@dataclass(frozen=True, slots=True)
class WordInfo:
    """One published word.

    ``group`` is its modal group, 0 where it is not modal (G groups and M groups are counted apart). ``meaning`` is one
    sentence, ``section`` that of NISTIR 6556; ``takes`` lists every letter the word reads. ``supported`` is False where
    the word is recognised and reported, not followed.
    """

    word: str
    group: int
    meaning: str
    section: str
    takes: str = ""
    supported: bool = True

    @property
    def letter(self) -> str:
        return self.word[0]

    @property
    def code(self) -> float:
        return float(self.word[1:])


_TEXT = files("parser.language").joinpath("words.txt").read_text(encoding="utf-8")


def _rows(table: str, columns: int) -> list[list[str]]:
    """The rows of one table of the text, each in so many parts."""
    _, _, body = _TEXT.partition(f"[{table}]\n")
    lines = body.partition("\n[")[0].splitlines()
    return [line.split(None, columns - 1) for line in lines if line and not line.startswith("#")]


_GROUPS = _rows("groups", 3)
G_GROUP_NAMES: Mapping[int, str] = {int(number): name for letter, number, name in _GROUPS if letter == "G"}
M_GROUP_NAMES: Mapping[int, str] = {int(number): name for letter, number, name in _GROUPS if letter == "M"}
"""Modal groups of G words and of M words (NISTIR 6556, 3.4, Table 4)."""

LETTERS: Mapping[str, str] = {row[0]: row[1] for row in _rows("letters", 2)}
"""Letters a word may begin with; N only numbers a line (NISTIR 6556, 3.3.2, Table 3)."""

_PUBLISHED = tuple(
    WordInfo(word, int(group), meaning, section, takes.strip("-"), followed == "followed")
    for word, section, group, takes, followed, meaning in _rows("words", 6)
)

WORDS: Mapping[str, WordInfo] = {info.word: info for info in _PUBLISHED}
"""Every published word by its canonical spelling (NISTIR 6556, 3.5 and 3.6)."""

G_GROUPS: Mapping[str, int] = {info.word: info.group for info in _PUBLISHED if info.letter == "G"}
M_GROUPS: Mapping[str, int] = {info.word: info.group for info in _PUBLISHED if info.letter == "M"}


def of_group(group: int, groups: Mapping[str, int] = G_GROUPS) -> tuple[str, ...]:
    """The words of a modal group, in the order of the tables."""
    return tuple(word for word, each in groups.items() if each == group)


ORDER_OF_EXECUTION: tuple[tuple[str, ...], ...] = (
    of_group(5),
    ("F",),
    ("S",),
    ("T",),
    of_group(6, M_GROUPS),
    of_group(7, M_GROUPS),
    of_group(8, M_GROUPS),
    of_group(9, M_GROUPS),
    ("G4", "wait"),
    of_group(2),
    of_group(6),
    of_group(7),
    of_group(8),
    of_group(12),
    of_group(13),
    of_group(3),
    of_group(10),
    ("G28", "G30", "G10", "G92", "G92.1", "G92.2", "G92.3"),
    of_group(1),
    ("call",),
    (*of_group(4, M_GROUPS), "end"),
)
"""Words in the order one line executes them (NISTIR 6556, 3.8, Table 8); comments come before all of them.

"call", "end" and "wait" are what a controller sheet says of its extra words; where they stand is ours.
"""

RANK: Mapping[str, int] = {word: rank for rank, words in enumerate(ORDER_OF_EXECUTION) for word in words}

UNPUBLISHED: Mapping[str, str] = {
    "M98": "Calls a stored program, on controllers that have it.",
    "M99": "Returns from a stored program, on controllers that have it.",
}
"""Words in common use that NISTIR 6556 does not have; a controller sheet may say what they do (common practice)."""


_TWO_LETTERS = r"(?![A-Z](?:ABS|ACOS|ASIN|ATAN|COS|EXP|FIX|FUP|LN|ROUND|SIN|SQRT|TAN))[A-Z]{2}"


def whole(value: float) -> int | None:
    """The integer that a value stands for, None where it is further than 0.0001 from one (NISTIR 6556, 3.3.2)."""
    if not math.isfinite(value):
        return None
    integer = round(value)
    return integer if abs(value - integer) <= INTEGER_TOLERANCE else None


def canonical(letter: str, value: float) -> str:
    """The word as the tables spell it: ("G", 1.00003) is "G1", ("g", 59.1) is "G59.1".

    Integers and tenths may be off by 0.0001 (NISTIR 6556, 3.3.2). A value that is neither keeps its figures, so that it
    is found in no table.
    """
    integer, tenths = whole(value), round(value, 1)
    if integer is not None:
        return f"{letter.upper()}{integer:.12g}"
    if abs(value - tenths) <= INTEGER_TOLERANCE:
        return f"{letter.upper()}{tenths:.12g}"
    return f"{letter.upper()}{value:.12g}"


def reads_as_words(template: str) -> bool:
    """Whether a line written by a template may begin like one of the standard, so that nobody could tell them apart.

    What stands in curly brackets is filled in by anything. Comments say nothing; a word that is not published does not
    count, and no line begins with two letters, but for a function after a letter (NISTIR 6556, 3.3.1).
    """
    text = "".join(re.sub(r"\([^()]*\)|;.*", "", template).split()).upper()
    begins = text.partition("{")[0]
    if not text or re.match(_TWO_LETTERS, begins):
        return False
    found = re.match(r"([GM])(\d+\.?\d*)", begins)
    if found is not None:
        return canonical(found[1], float(found[2])) in WORDS
    return begins[:1] in ("", *LETTERS, "N", "/", "#", "%")


def nearest(word: str) -> tuple[str, ...]:
    """The published words a mistaken one may stand for, least number first: nearest in number and in spelling."""
    candidates = [info for info in _PUBLISHED if info.letter == word[:1].upper()]
    try:
        code = float(word[1:])
    except ValueError:
        return ()
    if not candidates:
        return ()

    def distance(info: WordInfo) -> float:
        return abs(info.code - code)

    def unlikeness(info: WordInfo) -> tuple[float, float]:
        return -SequenceMatcher(None, info.word, word.upper()).ratio(), distance(info)

    found = {min(candidates, key=distance), min(candidates, key=unlikeness)}
    return tuple(info.word for info in sorted(found, key=lambda info: info.code))
