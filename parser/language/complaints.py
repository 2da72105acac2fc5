"""What is said about a line that cannot be read: what stands there, what was expected, what to do."""

from __future__ import annotations

import re
import unicodedata

from parser.findings import Trouble
from parser.language.layout import close_up
from parser.language.shapes import DEEPEST, FEWER_LEVELS, FEWER_OPERATIONS, MOST_OPERATIONS
from parser.machine import Controller

UNREADABLE = "unreadable-line"
_LONGEST_QUOTE = 20
_NEARBY = 200
"""Characters looked back over for what stands before, so that a long line costs no more than a short one."""

_VALUE = ("a number, a # parameter, a [ bracket or a function such as SIN", "Give it a value, or take it out.")
_PART = ("a word, a comment or a parameter setting", "Take it out, or make it a comment.")
_EXPECTED = {
    "line": _PART,
    "end_of_line": _PART,
    "line_number_digits": ("a number of one to five digits", "Write the number of the line, or take the N out."),
    "real_value": _VALUE,
    "parameter_index": _VALUE,
    "unsigned_number": ("a number", "Write the number after its sign, or take both out."),
    "expression": ("a [ bracket", "Put the value in brackets: SIN[30], ATAN[1]/[2]."),
    "divided_by": ("a / and a second bracket", "Give both sides: ATAN[1]/[2]."),
    "right_bracket": ("an operation or a ] bracket", "Close the bracket, or write the operation between two values."),
    "equal_sign": ("an = sign", "Say what the parameter is set to: #1=5."),
}
"""By the production that would have had to follow: how to call it, and what to do."""

_EXCESS = {
    FEWER_LEVELS: (
        f"More than {DEEPEST} brackets and # signs within one another are not read.",
        "Work the inner values out first, in parameters of their own.",
    ),
    FEWER_OPERATIONS: (
        f"More than {MOST_OPERATIONS} operations on one line are not read.",
        "Spread the calculation over several lines.",
    ),
}

_STRAY = {
    ")": ("There is no ( before this ).", "Take the ) out, or open the comment."),
    "%": (
        "A % stands alone on the first line of a file and on its last, not here.",
        "Take it out, or put a % line first and last.",
    ),
    "N": ("A line number stands first on its line.", "Move the N word to the front, or take it out."),
    "/": ("A / that makes a line optional stands first on it.", "Move the / to the front, or take it out."),
}
"""What stands where only a word, a comment or a setting could."""

_OTHER_COMMENT = {
    "parentheses": (
        "This controller takes comments in parentheses, not after a semicolon.",
        "Put the comment in parentheses, or say on the controller sheet that comments begin with a semicolon.",
    ),
    "semicolon": (
        "This controller takes comments after a semicolon, not in parentheses.",
        "Put the comment last, after a semicolon, or say on the controller sheet that comments are in parentheses.",
    ),
}

_RUN = re.compile(r"[A-Za-z]+|[0-9.]+|[^\sA-Za-z0-9.()\[\]#]+|.", re.DOTALL)
_BEFORE = re.compile(r"(?:[A-Z]+[-+]?[0-9.]+|[A-Z]+|[0-9.]+|\*\*|[^A-Z])\Z", re.IGNORECASE | re.ASCII | re.DOTALL)
_LONG_LINE_NUMBER = re.compile(r"/?N[0-9]{5}\Z", re.IGNORECASE | re.ASCII)
_OPENING = {"parentheses": ";", "semicolon": "("}
_COMMENT = re.compile(r"\([^()]*\)?|;.*", re.DOTALL)


def unreadable(number: int, text: str, at: int, expected: str, controller: Controller) -> Trouble:
    """The trouble of line ``number``, read up to character ``at`` (from 0) where ``expected`` had to follow."""
    comment = next((found for found in _COMMENT.finditer(text) if found.start() <= at), None)
    if comment is not None and comment.group().startswith(_OPENING[controller.comments]):
        return other_comment(number, comment.start(), comment.end(), controller)
    run = _RUN.match(text, at)
    message, remedy = _said(text, at, run.group() if run else "", expected)
    return _trouble(number, at, run.end() if run else at, message, remedy)


def other_comment(number: int, start: int, stop: int, controller: Controller) -> Trouble:
    """The trouble of a comment that the controller takes for something else."""
    return _trouble(number, start, stop, *_OTHER_COMMENT[controller.comments])


def too_large(number: int, start: int, stop: int) -> Trouble:
    """The trouble of a number beyond what can be calculated with."""
    return _trouble(number, start, stop, "This number is too large to calculate with.", "Write a smaller number.")


def endless(number: int, start: int, stop: int) -> Trouble:
    """The trouble of a line so long that it cannot be a line of a program."""
    message = f"Nothing is read on a line of more than {start} characters; this one has {stop}."
    return _trouble(number, start, stop, message, "Check that the file is a program; end its lines with LF or CRLF.")


def too_long(number: int, limit: int, length: int) -> Trouble:
    """The trouble of a line that the controller has no room for."""
    message = f"The controller takes lines of at most {limit} characters; this one has {length}."
    remedy = "Shorten the comment, or spread the words over several lines."
    return Trouble("line-too-long", number, limit + 1, length + 1, message, remedy)


def not_closed(number: int, text: str) -> Trouble:
    """The trouble of a file that opens with a % line and has no other."""
    column = text.index("%") + 1
    message = "The file begins with a % line and has none at its end."
    return Trouble("ending-missing", number, column, column + 1, message, "Put a line with only % at the end.")


def _said(text: str, at: int, run: str, expected: str) -> tuple[str, str]:
    if expected in _EXCESS:
        return _EXCESS[expected]
    if run.startswith("\r"):
        return "A carriage return alone does not end a line.", "Save the file with LF or CRLF line ends."
    if run and not run.isprintable():
        hidden = next(character for character in run if not character.isprintable())
        message = f"The character {_code(hidden)} does not print and cannot be read."
        return message, "Take it out; save the file as plain text."
    found = run[:1].upper() if run.isascii() else ""
    if expected == "right_parenthesis" and found == "(":
        return "A comment cannot hold another ( parenthesis.", "Use square brackets or dashes within the comment."
    if expected == "right_parenthesis":
        opening = text.rindex("(", 0, at) + 1
        return f"The comment that begins at column {opening} is not closed.", "Write its ) on the same line."
    before = close_up(text[:at])
    if _EXPECTED[expected] is _PART:
        if found.isdigit() and _LONG_LINE_NUMBER.match(before):
            return "A line number has at most five digits.", "Shorten the line number, or take it out."
        if found in _STRAY:
            return _STRAY[found]
        if "A" <= found <= "Z":
            return f"No word begins with {found}.", "Words begin with A to D, F to M, P to T or X to Z."
    what, remedy = _EXPECTED[expected]
    stands = f"found {_quoted(run)}" if run else "the line ends there"
    after = _after(before)
    return f"{after} {what} is expected; {stands}." if after else f"{what.capitalize()} is expected; {stands}.", remedy


def _after(before: str) -> str:
    if not before:
        return ""
    if before.endswith(")"):
        return "After the comment"
    last = _BEFORE.search(before[-_NEARBY:])
    return f"After {_shortened(last.group() if last else before[-1])}"


def _quoted(run: str) -> str:
    shown = _shortened(run)
    return f"'{shown}'" if run.isascii() else f"'{shown}' ({_code(next(c for c in run if not c.isascii()))})"


def _shortened(text: str) -> str:
    return text if len(text) <= _LONGEST_QUOTE else f"{text[:_LONGEST_QUOTE]}..."


def _code(character: str) -> str:
    name = unicodedata.name(character, "").lower()
    return f"U+{ord(character):04X} {name}".rstrip()


def _trouble(number: int, start: int, stop: int, message: str, remedy: str) -> Trouble:
    return Trouble(UNREADABLE, number, start + 1, stop + 1, message, remedy)
