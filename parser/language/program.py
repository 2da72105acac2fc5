"""A program as it was read: lines, words and values, each with the place in the text it came from.

Names of the parts are those of NISTIR 6556, Appendix E.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from parser.findings import Trouble


@dataclass(frozen=True, slots=True)
class Parameter:
    """A parameter value, ``#`` followed by the real value that is its index."""

    index: RealValue


@dataclass(frozen=True, slots=True)
class Unary:
    """A unary combination: ``name`` is one of ABS ACOS ASIN COS EXP FIX FUP LN ROUND SIN SQRT TAN."""

    name: str
    argument: RealValue


@dataclass(frozen=True, slots=True)
class Arctangent:
    """``ATAN[opposite]/[adjacent]``."""

    opposite: RealValue
    adjacent: RealValue


@dataclass(frozen=True, slots=True)
class Binary:
    """A binary operation: ``name`` is one of ** * / MOD + - OR XOR AND."""

    name: str
    left: RealValue
    right: RealValue


RealValue = float | Parameter | Unary | Arctangent | Binary
"""A real value: a number, or a calculation the interpreter does when the line runs."""


class Word(NamedTuple):
    """A letter and its value. ``column`` counts from 1, ``end`` is the column after the last character."""

    letter: str
    value: RealValue
    column: int
    end: int


@dataclass(frozen=True, slots=True)
class Setting:
    """A parameter setting, ``#index=value``."""

    index: RealValue
    value: RealValue
    column: int
    end: int


@dataclass(frozen=True, slots=True)
class Comment:
    """Text between parentheses (or after a semicolon); ``message`` is the text of a MSG comment, None otherwise."""

    text: str
    message: str | None
    column: int
    end: int


class Line(NamedTuple):
    """One physical line. ``number`` counts from 1 over all lines, blank and percent lines too.

    A line that could not be read has ``readable`` False and no parts. ``line_number`` is the value of its N word.
    """

    number: int
    text: str
    words: tuple[Word, ...] = ()
    settings: tuple[Setting, ...] = ()
    comments: tuple[Comment, ...] = ()
    block_delete: bool = False
    line_number: int | None = None
    percent: bool = False
    readable: bool = True


@dataclass(frozen=True, slots=True)
class Program:
    """A text as read. ``lines`` holds every physical line; ``troubles`` what could not be accepted while reading.

    ``wrapped`` is True where a first ``%`` line has its closing one. ``last`` is the number of the last line that
    counts: that of the closing ``%`` or of a plain M2 or M30; lines after it are not read and have no parts.
    """

    lines: tuple[Line, ...]
    troubles: tuple[Trouble, ...] = ()
    wrapped: bool = False
    last: int = 0
