"""The form of a line: what is worked out once for all lines that are alike but for their figures.

Every run of digits is masked by one 0, signs and points are kept. What the grammar makes of the masked line holds for
each of the lines, but for the length of a line number and the size of a number, which are for the reader to check.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Callable
from functools import lru_cache, partial
from typing import NamedTuple

from parser.language.layout import Layout, close_up, lay_out
from parser.language.program import CommentForm, Fill, Form, SettingForm, Spot, WordForm, cut, digits_before
from parser.language.shapes import CommentShape, Shape, Span, Unread, shape

_DIGITS = re.compile(r"[0-9]+")
_FIGURES = re.compile(r"[-+]?[0-9.]+").findall
_FIGURES_AMONG_OTHERS = re.compile(r"\([^()]*\)|;.*|[Nn][0-9 \t]+|([-+]?[0-9.]+)", re.DOTALL).findall
_KINDS_KEPT = 4096

Numbers = Callable[[str], tuple[float, ...]]
"""Takes the numbers out of a line of one form."""


class Kind(NamedTuple):
    """A form and what the reader has to know about it.

    ``numbers`` takes them out of a line; ``m_words`` are the values of its M words where they may end a program;
    ``comment_marks`` holds the characters that its comments begin with.
    """

    form: Form
    numbers: Numbers
    m_words: tuple[Fill, ...]
    comment_marks: str


class Stop(NamedTuple):
    """Where the lines of one form stop being lines, and the production that would have had to follow."""

    at: Spot
    expected: str


def mask(text: str) -> str:
    """The text with one 0 for every run of digits."""
    return _DIGITS.sub("0", text)


def kind(masked: str) -> Kind | Stop:
    """What there is to know about the lines that ``masked`` stands for."""
    return _kind(masked, [found.start() for found in _DIGITS.finditer(masked)], alone=False)


remembered_kind = lru_cache(maxsize=_KINDS_KEPT)(kind)
"""The same, remembered for the lines that are alike."""


def kind_of_one(text: str) -> Kind | Stop:
    """The same for a line as it is written, its digits not masked."""
    return _kind(text, [], alone=True)


def _kind(text: str, digits: list[int], *, alone: bool) -> Kind | Stop:
    layout = lay_out(text)
    found = shape(layout.plain)
    spot = partial(_spot, digits)
    if isinstance(found, Unread):
        return Stop(spot(layout.place(found.at)), found.expected)
    form = _form(found, layout, spot)
    marks = {text[layout.stretch(*comment.span)[0]] for comment in found.comments}
    m_words = tuple(word.value for word in found.words if word.letter == "M" and not found.block_delete)
    return Kind(form, _numbers(text, found, layout, form, alone=alone), m_words, "".join(sorted(marks)))


def _form(found: Shape, layout: Layout, spot: Callable[[int], Spot]) -> Form:
    def stretch(span: Span) -> tuple[Spot, Spot]:
        start, stop = layout.stretch(*span)
        return spot(start), spot(stop)

    def comment(shape: CommentShape) -> CommentForm:
        start, stop = layout.stretch(*shape.span)
        text_stop = start + 1 + shape.text[1] - shape.text[0]
        message = shape.message and spot(text_stop - (shape.message[1] - shape.message[0]))
        return CommentForm(spot(start), spot(stop), spot(text_stop), message)

    return Form(
        words=tuple(WordForm(word.letter, word.value, *stretch(word.span)) for word in found.words),
        settings=tuple(SettingForm(each.index, each.value, *stretch(each.span)) for each in found.settings),
        comments=tuple(comment(each) for each in found.comments),
        numbers=tuple(stretch(span) for span in found.numbers),
        line_number=stretch(found.line_number) if found.line_number else None,
        letters="".join(word.letter for word in found.words),
        bare=found.bare,
        block_delete=found.block_delete,
    )


def _spot(digits: list[int], at: int) -> Spot:
    runs = bisect_left(digits, at)
    return at - runs, runs


def _numbers(text: str, found: Shape, layout: Layout, form: Form, *, alone: bool) -> Numbers:
    """The quickest way to take the numbers out of such lines."""
    figures = (text[slice(*layout.stretch(*span))] for span in found.numbers)
    if alone or not found.bare or any(figure != close_up(figure) for figure in figures):
        return partial(_numbers_at, form.numbers)
    return _numbers_among_others if found.comments or found.line_number else _only_numbers


def _only_numbers(text: str) -> tuple[float, ...]:
    return tuple(map(float, _FIGURES(text)))


def _numbers_among_others(text: str) -> tuple[float, ...]:
    return tuple([float(figure) for figure in _FIGURES_AMONG_OTHERS(text) if figure])


def _numbers_at(places: tuple[tuple[Spot, Spot], ...], text: str) -> tuple[float, ...]:
    before = digits_before(text)
    return tuple([float(close_up(cut(text, before, start, stop))) for start, stop in places])
