"""What is said about a line that cannot be read: what stands there, what was expected, what to do."""

from __future__ import annotations

import re
import unicodedata

from parser.findings import Trouble
from parser.language.layout import close_up
from parser.language.shapes import DEEPEST, FEWER_LEVELS, FEWER_OPERATIONS, MOST_OPERATIONS
from parser.machine import Controller
from parser.wording import filled, texts

UNREADABLE = "unreadable-line"
_LONGEST_QUOTE = 20
_NEARBY = 200
"""Characters looked back over for what stands before, so that a long line costs no more than a short one."""

_WORDED = texts("parser.language", "complaints.txt")
_PARTS = ("line", "end_of_line")
_VALUES = ("real_value", "parameter_index")
_MOST = {FEWER_LEVELS: DEEPEST, FEWER_OPERATIONS: MOST_OPERATIONS}

_RUN = re.compile(r"[A-Za-z]+|[0-9.]+|[^\sA-Za-z0-9.()\[\]#]+|.", re.DOTALL)
_BEFORE = re.compile(r"(?:[A-Z]+[-+]?[0-9.]+|[A-Z]+|[0-9.]+|\*\*|[^A-Z])\Z", re.IGNORECASE | re.ASCII | re.DOTALL)
_LONG_LINE_NUMBER = re.compile(r"/?N[0-9]{5}\Z", re.IGNORECASE | re.ASCII)
_OPENING = {"parentheses": ";", "semicolon": "("}
_CALCULATION = re.compile(r"[\[#]")
_COMMENT = re.compile(r"\([^()]*\)?|;.*", re.DOTALL)


def unreadable(number: int, text: str, at: int, expected: str, controller: Controller) -> Trouble:
    """The trouble of line ``number``, read up to character ``at`` (from 0) where ``expected`` had to follow."""
    comment = next((found for found in _COMMENT.finditer(text) if found.start() <= at), None)
    if comment is not None and comment.group().startswith(_OPENING[controller.comments]):
        return other_comment(number, comment.start(), comment.end(), controller)
    run = _RUN.match(text, at)
    return _trouble(number, at, run.end() if run else at, _said(text, at, run.group() if run else "", expected))


def other_comment(number: int, start: int, stop: int, controller: Controller) -> Trouble:
    """The trouble of a comment that the controller takes for something else."""
    name = "not in parentheses" if controller.comments == "parentheses" else "not after a semicolon"
    return _trouble(number, start, stop, _WORDED[f"comment {name}"])


def too_large(number: int, start: int, stop: int) -> Trouble:
    """The trouble of a number beyond what can be calculated with."""
    return _trouble(number, start, stop, _WORDED["too large"])


def calculated(number: int, text: str) -> Trouble | None:
    """The trouble of a bracket or a parameter where the controller knows only numbers, None where there is neither."""
    found = _CALCULATION.search(_COMMENT.sub(lambda comment: " " * len(comment.group()), text))
    if found is None:
        return None
    message, remedy = filled(_WORDED["calculated"], what=found.group())
    return Trouble("word-not-supported", number, found.start() + 1, found.end() + 1, message, remedy)


def endless(number: int, start: int, stop: int) -> Trouble:
    """The trouble of a line so long that it cannot be a line of a program."""
    return _trouble(number, start, stop, filled(_WORDED["endless"], most=start, length=stop))


def too_long(number: int, limit: int, length: int) -> Trouble:
    """The trouble of a line that the controller has no room for."""
    message, remedy = filled(_WORDED["too long"], most=limit, length=length)
    return Trouble("line-too-long", number, limit + 1, length + 1, message, remedy)


def not_closed(number: int, text: str) -> Trouble:
    """The trouble of a file that opens with a % line and has no other."""
    column = text.index("%") + 1
    message, remedy = _WORDED["not closed"]
    return Trouble("ending-missing", number, column, column + 1, message, remedy)


def _said(text: str, at: int, run: str, expected: str) -> tuple[str, ...]:
    if expected in _MOST:
        return filled(_WORDED[expected], most=_MOST[expected])
    if run.startswith("\r"):
        return _WORDED["carriage return"]
    if run and not run.isprintable():
        hidden = next(character for character in run if not character.isprintable())
        return filled(_WORDED["hidden"], code=_code(hidden))
    found = run[:1].upper() if run.isascii() else ""
    if expected == "right_parenthesis" and found == "(":
        return _WORDED["comment in a comment"]
    if expected == "right_parenthesis":
        return filled(_WORDED["comment not closed"], column=text.rindex("(", 0, at) + 1)
    before = close_up(text[:at])
    if expected in _PARTS:
        if found.isdigit() and _LONG_LINE_NUMBER.match(before):
            return _WORDED["long line number"]
        if f"stray {found}" in _WORDED:
            return _WORDED[f"stray {found}"]
        if "A" <= found <= "Z":
            return filled(_WORDED["no word"], letter=found)
    what, remedy = _WORDED["part" if expected in _PARTS else "value" if expected in _VALUES else expected]
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


def _trouble(number: int, start: int, stop: int, said: tuple[str, ...]) -> Trouble:
    message, remedy = said
    return Trouble(UNREADABLE, number, start + 1, stop + 1, message, remedy)
