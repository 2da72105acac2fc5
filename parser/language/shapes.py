"""The shape of a line: what the grammar makes of it, with a gap where each number stands.

The grammar in ``rs274.peg`` is the only definition of the language; here its tree becomes our data.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from importlib.resources import files
from itertools import islice
from operator import itemgetter
from typing import Any

from parsimonious.exceptions import ParseError
from parsimonious.grammar import Grammar

from parser.language.program import Arctangent, Binary, Fill, Parameter, Unary
from parser.limits import DEPTH, OPERATIONS

GRAMMAR = Grammar(files("parser.language").joinpath("rs274.peg").read_text(encoding="utf-8"))

DEEPEST = DEPTH.most
"""Levels of brackets and # within one another: far from exhausting the stack."""
MOST_OPERATIONS = OPERATIONS.most
FEWER_LEVELS = "fewer levels"
FEWER_OPERATIONS = "fewer operations"

_Node = Any
Span = tuple[int, int]

_COMMENT = re.compile(r"\([^()]*\)?|;.*", re.DOTALL)
_CALCULATION = re.compile(r"[-+*/#\[]|MOD|AND|OR")
_GROUPS = (("**",), ("*", "/", "MOD"), ("+", "-", "OR", "XOR", "AND"))
"""Binary operations, tightest first; left to right within a group (NISTIR 6556, 3.3.2.3)."""


@dataclass(frozen=True, slots=True)
class WordShape:
    """A word without its numbers."""

    letter: str
    value: Fill
    span: Span


@dataclass(frozen=True, slots=True)
class SettingShape:
    """A parameter setting without its numbers."""

    index: Fill
    value: Fill
    span: Span


@dataclass(frozen=True, slots=True)
class CommentShape:
    """Where a comment stands, the text within it, and the text after its MSG mark if there is one."""

    span: Span
    text: Span
    message: Span | None


@dataclass(frozen=True, slots=True)
class Shape:
    """A line without its numbers. Spans are positions in the laid out line, from 0; ``numbers`` are the gaps in order.

    ``bare`` says that there are only words with a number each, in order, and comments.
    """

    words: tuple[WordShape, ...]
    settings: tuple[SettingShape, ...]
    comments: tuple[CommentShape, ...]
    numbers: tuple[Span, ...]
    block_delete: bool
    line_number: Span | None
    bare: bool


@dataclass(frozen=True, slots=True)
class Unread:
    """Where reading stopped, and the production that would have had to follow (or the limit that was met)."""

    at: int
    expected: str


def shape(plain: str) -> Shape | Unread:
    """The shape of a line that is laid out, or where it stops being one."""
    excess = _excess(plain)
    if excess:
        return excess
    try:
        return _Walk().line(GRAMMAR["line"].parse(plain))
    except ParseError as stopped:
        return Unread(stopped.pos, stopped.expr.name)


def _excess(plain: str) -> Unread | None:
    """Where a line is nested too deeply, or calculates too much, to be worth reading."""
    if "[" not in plain and "#" not in plain:
        return None
    calculation = _COMMENT.sub(lambda comment: " " * len(comment.group()), plain)
    beyond = next(islice(_CALCULATION.finditer(calculation), MOST_OPERATIONS, None), None)
    if beyond:
        return Unread(beyond.start(), FEWER_OPERATIONS)
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
            return Unread(at, FEWER_LEVELS)
    return None


class _Walk:
    """One walk over the tree of one line, collecting its numbers on the way."""

    def __init__(self) -> None:
        self.numbers: list[Span] = []

    def line(self, node: _Node) -> Shape:
        block_delete, line_number, segments, semicolon_comment, _ = node.children
        words: list[WordShape] = []
        settings: list[SettingShape] = []
        comments: list[CommentShape] = []
        bare = True
        for segment in segments.children:
            part = segment.children[0]
            if part.expr_name == "mid_line_word":
                letter, value = part.children
                bare = bare and value.children[0].expr_name == "real_number"
                words.append(WordShape(letter.text, self.value(value), _span(part)))
            elif part.expr_name == "parameter_setting":
                _, index, _, value = part.children
                bare = False
                settings.append(SettingShape(self.value(index), self.value(value), _span(part)))
            else:
                comments.append(_comment(part.children[0]))
        comments.extend(_semicolon_comment(node) for node in semicolon_comment.children)
        return Shape(
            words=tuple(words),
            settings=tuple(settings),
            comments=tuple(comments),
            numbers=tuple(self.numbers),
            block_delete=bool(block_delete.children),
            line_number=_span(line_number.children[0].children[1]) if line_number.children else None,
            bare=bare,
        )

    def value(self, real_value: _Node) -> Fill:
        node = real_value.children[0]
        match node.expr_name:
            case "real_number":
                self.numbers.append(_span(node))
                return itemgetter(len(self.numbers) - 1)
            case "expression":
                return self.expression(node)
            case "parameter_value":
                return _parameter(self.value(node.children[1]))
            case _:
                return self.unary_combo(node.children[0])

    def unary_combo(self, node: _Node) -> Fill:
        if node.expr_name == "arc_tangent_combo":
            _, opposite, _, adjacent = node.children
            return _arctangent(self.expression(opposite), self.expression(adjacent))
        operation, argument = node.children
        return _unary(operation.text, self.expression(argument))

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


def _parameter(index: Fill) -> Fill:
    return lambda numbers: Parameter(index(numbers))


def _unary(name: str, argument: Fill) -> Fill:
    return lambda numbers: Unary(name, argument(numbers))


def _arctangent(opposite: Fill, adjacent: Fill) -> Fill:
    return lambda numbers: Arctangent(opposite(numbers), adjacent(numbers))


def _binary(name: str, left: Fill, right: Fill) -> Fill:
    return lambda numbers: Binary(name, left(numbers), right(numbers))


def _comment(node: _Node) -> CommentShape:
    inside = (node.start + 1, node.end - 1)
    message = _span(node.children[2]) if node.expr_name == "message" else None
    return CommentShape(_span(node), inside, message)


def _semicolon_comment(node: _Node) -> CommentShape:
    return CommentShape(_span(node), (node.start + 1, node.end), None)


def _span(node: _Node) -> Span:
    return node.start, node.end
