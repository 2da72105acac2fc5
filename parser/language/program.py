"""A program as it was read: lines, words and values, each with the place in the text it came from.

Names of the parts are those of NISTIR 6556, Appendix E.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import accumulate
from typing import NamedTuple

from parser.findings import Trouble
from parser.language.layout import WHITE_SPACE, close_up

_RUNS = re.compile(r"[0-9]+").findall


@dataclass(frozen=True, slots=True)
class ParameterValue:
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


RealValue = float | ParameterValue | Unary | Arctangent | Binary
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


Fill = Callable[[Sequence[float]], RealValue]
"""Makes a value once the numbers of its line are known, given in the order they are written."""

Spot = tuple[int, int]
"""A place in every line of a form: so many characters, and all digits of so many runs, stand before it."""


class WordForm(NamedTuple):
    """A word without its numbers."""

    letter: str
    value: Fill
    start: Spot
    stop: Spot


class SettingForm(NamedTuple):
    """A parameter setting without its numbers."""

    parameter: Fill
    value: Fill
    start: Spot
    stop: Spot


class CommentForm(NamedTuple):
    """A comment without its text: where it starts and stops, where its text stops and its message starts."""

    start: Spot
    stop: Spot
    text_stop: Spot
    message_start: Spot | None


@dataclass(frozen=True, slots=True)
class LineForm:
    """What lines have in common that are alike but for their figures.

    ``bare`` says that every number is the value of a word and every word has one. ``letters`` are those of the words.
    """

    words: tuple[WordForm, ...] = ()
    settings: tuple[SettingForm, ...] = ()
    comments: tuple[CommentForm, ...] = ()
    numbers: tuple[tuple[Spot, Spot], ...] = ()
    line_number: tuple[Spot, Spot] | None = None
    letters: str = ""
    bare: bool = True
    block_delete: bool = False
    percent: bool = False
    head: bool = False
    readable: bool = True


BLANK = LineForm()
PERCENT = LineForm(percent=True)
HEAD = LineForm(head=True)
UNREADABLE = LineForm(readable=False)


@dataclass(slots=True, eq=False)  # nothing changes one; frozen ones take five times as long to make
class Line:
    """One physical line. ``number`` counts from 1 over all lines, blank and percent lines too.

    Its parts are made from its form and its numbers when they are asked for, so that a long program stays small. Lines
    are equal where they say the same at the same places.
    """

    number: int
    text: str
    form: LineForm = field(default=BLANK, repr=False)
    numbers: tuple[float, ...] = ()

    @property
    def words(self) -> tuple[Word, ...]:
        numbers, before = self.numbers, digits_before(self.text)
        return tuple(
            [
                Word(letter, value(numbers), start + before[runs] + 1, stop + before[runs_to_stop] + 1)
                for letter, value, (start, runs), (stop, runs_to_stop) in self.form.words
            ]
        )

    def span(self, first: int, last: int) -> tuple[int, int]:
        """Columns from the beginning of one word to the end of another, both counted from 0."""
        (start, runs), (stop, runs_to_stop) = self.form.words[first].start, self.form.words[last].stop
        before = digits_before(self.text)
        return start + before[runs] + 1, stop + before[runs_to_stop] + 1

    @property
    def settings(self) -> tuple[Setting, ...]:
        if not self.form.settings:
            return ()
        numbers, before = self.numbers, digits_before(self.text)
        return tuple(
            Setting(index(numbers), value(numbers), start + before[runs] + 1, stop + before[runs_to_stop] + 1)
            for index, value, (start, runs), (stop, runs_to_stop) in self.form.settings
        )

    @property
    def comments(self) -> tuple[Comment, ...]:
        if not self.form.comments:
            return ()
        before = digits_before(self.text)
        return tuple(_comment(self.text, before, form) for form in self.form.comments)

    @property
    def says_nothing(self) -> bool:
        """Whether it has neither words nor settings nor comments."""
        form = self.form
        return not (form.letters or form.settings or form.comments)

    @property
    def block_delete(self) -> bool:
        """Whether a / makes the line optional."""
        return self.form.block_delete

    @property
    def line_number(self) -> int | None:
        """The value of the N word."""
        if self.form.line_number is None:
            return None
        return int(close_up(cut(self.text, digits_before(self.text), *self.form.line_number)))

    @property
    def percent(self) -> bool:
        return self.form.percent

    @property
    def head(self) -> bool:
        """Whether it is the first line of a stored program, as the controller sheet has it; it does nothing."""
        return self.form.head

    @property
    def readable(self) -> bool:
        """Whether the line could be read; one that could not has no parts."""
        return self.form.readable

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Line) and self._said() == other._said()

    def __hash__(self) -> int:
        return hash((self.number, self.text))

    def _said(self) -> tuple[object, ...]:
        parts = (self.words, self.settings, self.comments, self.line_number)
        return self.number, self.text, parts, self.block_delete, self.percent, self.readable


@lru_cache(maxsize=16)  # every stroke of a canned cycle asks for it again, and no line for that of one long before it
def digits_before(text: str) -> tuple[int, ...]:
    """How many digits stand before each run of digits of a line, and in all of them."""
    return tuple(accumulate(map(len, _RUNS(text)), initial=0))


def cut(text: str, before: Sequence[int], start: Spot, stop: Spot) -> str:
    """What a line has from one place to another; ``before`` is what ``digits_before`` says of it."""
    return text[start[0] + before[start[1]] : stop[0] + before[stop[1]]]


def _comment(text: str, before: Sequence[int], form: CommentForm) -> Comment:
    start, stop = (offset + before[runs] for offset, runs in (form.start, form.stop))
    message = form.message_start and cut(text, before, form.message_start, form.text_stop).strip(WHITE_SPACE)
    inside = text[start + 1 : form.text_stop[0] + before[form.text_stop[1]]]
    return Comment(inside, message, start + 1, stop + 1)


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
