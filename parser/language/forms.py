"""The form of a line: what is worked out once for all lines that are alike but for their figures.

Every run of digits is masked by one 0, signs and points are kept. What the grammar makes of the masked line holds for
each of the lines, but for the length of a line number and the size of a number, which are for the reader to check.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from functools import lru_cache, partial
from typing import NamedTuple

from parser.language.layout import close_up, lay_out
from parser.language.program import Fill, LineForm, Spot, cut, digits_before
from parser.language.shapes import Stop, shape

_DIGITS = re.compile(r"[0-9]+")
_FIGURES = re.compile(r"[-+]?[0-9.]+").findall
_FIGURES_AMONG_OTHERS = re.compile(r"\([^()]*\)|;.*|[Nn][0-9 \t]+|([-+]?[0-9.]+)", re.DOTALL).findall
_KINDS_KEPT = 4096
_LONG_KINDS_KEPT = 16
"""Lines of thousands of characters: few are kept, for each takes as much room as it is long."""

Numbers = Callable[[str], tuple[float, ...]]
"""Takes the numbers out of a line of one form."""


class Kind(NamedTuple):
    """A form and what the reader has to know about it.

    ``numbers`` takes them out of a line; ``m_words`` are the values of its M words where they may end a program;
    ``comment_marks`` holds the characters that its comments begin with.
    """

    form: LineForm
    numbers: Numbers
    m_words: tuple[Fill, ...]
    comment_marks: str


def mask(text: str) -> str:
    """The text with one 0 for every run of digits."""
    return _DIGITS.sub("0", text)


def kind(masked: str) -> Kind | Stop:
    """What there is to know about the lines that ``masked`` stands for."""
    return _kind(masked, [found.start() for found in _DIGITS.finditer(masked)], alone=False)


remembered_kind = lru_cache(maxsize=_KINDS_KEPT)(kind)
"""The same, remembered for the lines that are alike."""

remembered_long_kind = lru_cache(maxsize=_LONG_KINDS_KEPT)(kind)
"""The same for long lines."""


def kind_of_one(text: str) -> Kind | Stop:
    """The same for a line as it is written, its digits not masked."""
    return _kind(text, [], alone=True)


def _kind(text: str, digits: list[int], *, alone: bool) -> Kind | Stop:
    form = shape(lay_out(text), digits)
    if isinstance(form, Stop):
        return form
    before = digits_before(text)
    marks = {text[start + before[runs]] for (start, runs), *_ in form.comments}
    m_words = tuple(word.value for word in form.words if word.letter == "M" and not form.block_delete)
    figures = [cut(text, before, start, stop) for start, stop in form.numbers]
    return Kind(form, _numbers(form, figures, alone=alone), m_words, "".join(sorted(marks)))


def _numbers(form: LineForm, figures: Sequence[str], *, alone: bool) -> Numbers:
    """The quickest way to take the numbers out of such lines, of which one has these figures."""
    if alone or not form.bare or any(figure != close_up(figure) for figure in figures):
        return partial(_numbers_at, form.numbers)
    return _numbers_among_others if form.comments or form.line_number else _only_numbers


def _only_numbers(text: str) -> tuple[float, ...]:
    return tuple(map(float, _FIGURES(text)))


def _numbers_among_others(text: str) -> tuple[float, ...]:
    return tuple([float(figure) for figure in _FIGURES_AMONG_OTHERS(text) if figure])


def _numbers_at(places: tuple[tuple[Spot, Spot], ...], text: str) -> tuple[float, ...]:
    before = digits_before(text)
    return tuple([float(close_up(cut(text, before, start, stop))) for start, stop in places])
