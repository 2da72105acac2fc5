"""What the grammar makes of a line: its form, with a gap where each number stands, or where it stops being a line.

The grammar in ``rs274.peg`` is the only definition of the language; here its tree becomes our data.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Sequence
from importlib.resources import files
from itertools import islice
from operator import itemgetter
from typing import Any, NamedTuple

from parsimonious.exceptions import ParseError
from parsimonious.grammar import Grammar

from parser.language.layout import Layout
from parser.language.program import (
    Arctangent,
    Binary,
    CommentForm,
    Fill,
    LineForm,
    ParameterValue,
    SettingForm,
    Spot,
    Unary,
    WordForm,
)
from parser.limits import DEPTH, OPERATIONS

GRAMMAR = Grammar(files("parser.language").joinpath("rs274.peg").read_text(encoding="utf-8"))

DEEPEST = DEPTH.most
"""Levels of brackets and # within one another: far from exhausting the stack."""
MOST_OPERATIONS = OPERATIONS.most
FEWER_LEVELS = "fewer levels"
FEWER_OPERATIONS = "fewer operations"

_Node = Any

_COMMENT = re.compile(r"\([^()]*\)?|;.*", re.DOTALL)
_CALCULATION = re.compile(r"[-+*/#\[]|MOD|AND|OR")
_GROUPS = (("**",), ("*", "/", "MOD"), ("+", "-", "OR", "XOR", "AND"))
"""Binary operations, tightest first; left to right within a group (NISTIR 6556, 3.3.2.3)."""


class Stop(NamedTuple):
    """Where the lines of one form stop being lines, and the production that would have had to follow (or a limit)."""

    at: Spot
    expected: str


def shape(layout: Layout, digits: Sequence[int] = ()) -> LineForm | Stop:
    """The form of a line that is laid out; ``digits`` are the places in it that stand for any run of digits."""
    walk = _Walk(layout, digits)
    excess = _excess(layout.plain)
    if excess:
        return walk.stop(*excess)
    try:
        return walk.line(GRAMMAR["line"].parse(layout.plain))
    except ParseError as stopped:
        return walk.stop(stopped.pos, stopped.expr.name)


def _excess(plain: str) -> tuple[int, str] | None:
    """Where a line is nested too deeply, or calculates too much, to be worth reading."""
    if "[" not in plain and "#" not in plain:
        return None
    calculation = _COMMENT.sub(lambda comment: " " * len(comment.group()), plain)
    beyond = next(islice(_CALCULATION.finditer(calculation), MOST_OPERATIONS, None), None)
    if beyond:
        return beyond.start(), FEWER_OPERATIONS
    opened: list[int] = []
    depth = signs = 0
    for at, character in enumerate(calculation):
        if character == "#":
            signs += 1
        elif character == "[":
            opened.append(signs + 1)
            depth += signs + 1
            signs = 0
        elif character == "]" and opened:
            depth -= opened.pop()
            signs = 0
        elif "0" <= character <= "9":
            signs = 0
        if depth + signs > DEEPEST:
            return at, FEWER_LEVELS
    return None


class _Walk:
    """One walk over the tree of one line, collecting its numbers on the way."""

    def __init__(self, layout: Layout, digits: Sequence[int]) -> None:
        self.layout, self.digits = layout, digits
        self.numbers: list[tuple[Spot, Spot]] = []

    def line(self, node: _Node) -> LineForm:
        block_delete, line_number, segments, semicolon_comment, _ = node.children
        words: list[WordForm] = []
        settings: list[SettingForm] = []
        comments: list[CommentForm] = []
        bare = True
        for segment in segments.children:
            part = segment.children[0]
            if part.expr_name == "mid_line_word":
                letter, value = part.children
                bare = bare and value.children[0].expr_name == "real_number"
                words.append(WordForm(letter.text, self.value(value), *self.stretch(part)))
            elif part.expr_name == "parameter_setting":
                _, index, _, value = part.children
                bare = False
                settings.append(SettingForm(self.value(index), self.value(value), *self.stretch(part)))
            else:
                comments.append(self.comment(part.children[0]))
        comments.extend(self.comment(node) for node in semicolon_comment.children)
        return LineForm(
            words=tuple(words),
            settings=tuple(settings),
            comments=tuple(comments),
            numbers=tuple(self.numbers),
            line_number=self.stretch(line_number.children[0].children[1]) if line_number.children else None,
            letters="".join(word.letter for word in words),
            bare=bare,
            block_delete=bool(block_delete.children),
        )

    def spot(self, at: int) -> Spot:
        runs = bisect_left(self.digits, at)
        return at - runs, runs

    def stretch(self, node: _Node) -> tuple[Spot, Spot]:
        start, stop = self.layout.stretch(node.start, node.end)
        return self.spot(start), self.spot(stop)

    def stop(self, at: int, expected: str) -> Stop:
        return Stop(self.spot(self.layout.place(at)), expected)

    def comment(self, node: _Node) -> CommentForm:
        """A comment, which is laid out as it is written."""
        start, stop = self.layout.stretch(node.start, node.end)
        text_stop = stop - 1 if node.text.startswith("(") else stop
        message = self.spot(text_stop - len(node.children[2].text)) if node.expr_name == "message" else None
        return CommentForm(self.spot(start), self.spot(stop), self.spot(text_stop), message)

    def value(self, real_value: _Node) -> Fill:
        node = real_value.children[0]
        match node.expr_name:
            case "real_number":
                self.numbers.append(self.stretch(node))
                return itemgetter(len(self.numbers) - 1)
            case "expression":
                return self.expression(node)
            case "parameter_value":
                index = self.value(node.children[1])
                return lambda numbers: ParameterValue(index(numbers))
            case _:
                return self.unary_combo(node.children[0])

    def unary_combo(self, node: _Node) -> Fill:
        if node.expr_name == "arc_tangent_combo":
            opposite, adjacent = (self.expression(each) for each in (node.children[1], node.children[3]))
            return lambda numbers: Arctangent(opposite(numbers), adjacent(numbers))
        name, argument = node.children[0].text, self.expression(node.children[1])
        return lambda numbers: Unary(name, argument(numbers))

    def expression(self, node: _Node) -> Fill:
        _, first, operations, _ = node.children
        values = [self.value(first)]
        names = []
        for operation in operations.children:
            name, value = operation.children
            names.append(name.text)
            values.append(self.value(value))
        for group in _GROUPS:
            names, values = _gather(names, values, group)
        return values[0]


def _gather(names: list[str], values: list[Fill], group: tuple[str, ...]) -> tuple[list[str], list[Fill]]:
    """Does the operations of one precedence group, left to right; the others are left for the next group."""
    left_names: list[str] = []
    left_values = [values[0]]
    for name, value in zip(names, values[1:], strict=True):
        if name in group:
            left_values[-1] = _binary(name, left_values[-1], value)
        else:
            left_names.append(name)
            left_values.append(value)
    return left_names, left_values


def _binary(name: str, left: Fill, right: Fill) -> Fill:
    return lambda numbers: Binary(name, left(numbers), right(numbers))
