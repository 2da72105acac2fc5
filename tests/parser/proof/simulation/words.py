"""One line of RS-274 as words and parameter settings; a value is an array with one number for each start, or a number.

Only what the scenes write is read: words, numbers, parameters, sums in brackets and a share of one (NISTIR 6556, 3.3).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

Values = npt.NDArray[np.float64]
Number = Values | float

COMMENT = re.compile(r"\(([^)]*)\)")
NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)")


@dataclass
class Words:
    """What stands on a line: G and M words by name, the other letters with their values, settings, comments."""

    codes: list[str] = field(default_factory=list)
    letters: dict[str, Number] = field(default_factory=dict)
    settings: list[tuple[int, Number]] = field(default_factory=list)
    comments: list[str] = field(default_factory=list)


def read(line: str, parameters: Mapping[int, Number]) -> Words:
    """The words of a line. All parameters are read before any is set (3.3.3)."""
    found = Words(comments=COMMENT.findall(line))
    rest = re.sub(r"\s", "", COMMENT.sub("", line)).upper()
    while rest:
        letter, rest = rest[0], rest[1:]
        if letter == "#":
            number, rest = _value(rest, parameters)
            value, rest = _value(rest[1:], parameters)
            found.settings.append((round(float(number)), value))
            continue
        value, rest = _value(rest, parameters)
        if letter in "GM":
            found.codes.append(f"{letter}{value:g}")
        else:
            found.letters[letter] = value
    return found


def _value(text: str, parameters: Mapping[int, Number]) -> tuple[Number, str]:
    """A real value at the head of a text, and what follows it."""
    if text[0] == "#":  # binds tighter than any sum (3.3.2.2)
        index, rest = _value(text[1:], parameters)
        return parameters[round(float(index))], rest
    if text[0] == "[":
        total, rest = _value(text[1:], parameters)
        if rest[0] in "*/":  # tighter than a sum (3.3.2.3), and the scenes put nothing else in its brackets
            share, after = _value(rest[1:], parameters)
            assert after[0] == "]", text
            return (total * share if rest[0] == "*" else total / share), after[1:]
        while rest[0] != "]":
            sign = {"+": 1.0, "-": -1.0}[rest[0]]
            more, rest = _value(rest[1:], parameters)
            total = total + sign * more
        return total, rest[1:]
    match = NUMBER.match(text)
    assert match is not None, text
    return float(match[0]), text[match.end() :]
