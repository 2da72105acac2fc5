"""How wide words come out in a face that is not known: measured on the wide side, so that nothing printed is clipped.

Widths are those of a wide bold sans serif face, in em, by kind of letter; ordinary faces are up to a third narrower.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache

NARROW, SLIM, COMMON, CAPITAL, WIDE, FOREIGN = 0.46, 0.51, 0.72, 0.85, 1.11, 1.4  # our own measurement

_KINDS = (
    ("iljI.,:;'|!()[]{}`\"1 ", NARROW),
    ("ftr-/\\*", SLIM),
    ("mwMW@%&", WIDE),
    ("abcdeghknopqsuvxyz023456789?$", COMMON),
)
_WIDTHS = {letter: width for letters, width in _KINDS for letter in letters} | {"1": COMMON, '"': SLIM}

LINE_HEIGHT = 1.22
"""From one line to the next, in em."""

ASCENT = 0.94
"""From the top of a line to its base, in em."""


ROUNDING = 1e-9


@lru_cache(maxsize=1024)
def letter_width(letter: str) -> float:
    """The width of one letter in em; accents add nothing, and what is not Latin counts as very wide."""
    if unicodedata.combining(letter):
        return 0.0
    plain = unicodedata.normalize("NFKD", letter)[0]
    return _WIDTHS.get(plain, CAPITAL if plain.isascii() else FOREIGN)


def width_of(words: str, size: float) -> float:
    """How wide the words come out at most, in the unit of ``size``, the height of the lettering."""
    return size * sum(map(letter_width, words))


def wrap(words: str, width: float, size: float) -> tuple[str, ...]:
    """The words in lines no wider than ``width``; a word that is wider by itself is divided where it has to be."""
    lines: list[str] = []
    line = ""
    for word in words.split():
        longer = f"{line} {word}" if line else word
        if width_of(longer, size) <= width + ROUNDING:
            line = longer
            continue
        if line:
            lines.append(line)
        *full, line = _divided(word, width, size)
        lines += full
    return (*lines, line) if line else tuple(lines)


def _divided(word: str, width: float, size: float) -> list[str]:
    parts = [""]
    for letter in word:
        if parts[-1] and width_of(parts[-1] + letter, size) > width + ROUNDING:
            parts.append("")
        parts[-1] += letter
    return parts
