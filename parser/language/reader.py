"""Text in, program out: every line with its words, settings and comments, and what could not be read.

Lines that are alike but for their figures are parsed once (see ``forms``), and only their numbers are taken from each.
"""

from __future__ import annotations

import re
from math import isfinite

from parser.findings import Trouble
from parser.language import complaints, sheet_lines
from parser.language.forms import Kind, kind_of_one, mask, remembered_kind, remembered_long_kind
from parser.language.layout import WHITE_SPACE, bare
from parser.language.program import PERCENT, UNREADABLE, Line, Program, Spot, digits_before
from parser.language.shapes import Stop
from parser.language.words import whole
from parser.limits import LINE
from parser.machine import Controller
from parser.progress import Progress, unheard

AS_PUBLISHED = Controller()
LONGEST_LINE = LINE.most
"""Characters beyond which a line is reported and not read, so that no input takes unbounded time."""

_LONGEST_REMEMBERED = 256
_LINES_PER_PROGRESS = 2_000
_SURELY_FINITE = 300
_LONG_LINE_NUMBER = re.compile(r"[ \t]*/?[ \t]*[Nn](?:[ \t]*[0-9]){6}").match


def read(text: str, controller: Controller = AS_PUBLISHED, *, progress: Progress = unheard) -> Program:
    """The program that a text holds; what cannot be read is in its troubles (NISTIR 6556, 3.1 to 3.4).

    ``progress`` is called now and then with the share done, 0 to 1; what it raises ends the reading.
    """
    text = text.replace("\r\n", "\n")  # lines end at LF or CRLF and nowhere else
    return _read(text, mask(text), _Reader(controller), progress)


def _read(text: str, masked: str, reader: _Reader, progress: Progress) -> Program:
    texts = _physical_lines(text)
    opening = _opening(texts)
    lines: list[Line] = []
    wrapped = False
    for number, (line_text, likeness) in enumerate(zip(texts, _physical_lines(masked), strict=True), 1):
        if number % _LINES_PER_PROGRESS == 0:
            progress(number / len(texts))
        if opening and likeness.strip(WHITE_SPACE) == "%":
            lines.append(Line(number, line_text, PERCENT))
            if number == opening:
                continue
            wrapped = True
            break
        lines.append(reader.line(number, line_text, likeness, may_be_head=not lines or lines[-1].number == opening))
        if reader.ended:
            break
    last = len(lines)
    for number, line_text in enumerate(texts[last:], last + 1):
        closing = bool(opening) and not wrapped and _is_percent(line_text)
        wrapped = wrapped or closing
        lines.append(Line(number, line_text, PERCENT) if closing else Line(number, line_text))
    if opening and not wrapped:
        reader.troubles.append(complaints.not_closed(opening, texts[opening - 1]))
    progress(1.0)
    return Program(tuple(lines), tuple(reader.troubles), wrapped, last)


def _physical_lines(text: str) -> list[str]:
    texts = text.split("\n")
    if not texts[-1]:
        texts.pop()
    return texts


def _is_percent(text: str) -> bool:
    return text.strip(WHITE_SPACE) == "%"


def _opening(texts: list[str]) -> int:
    """The number of the % line that a file begins with, blank lines aside; 0 where it begins otherwise."""
    first = next((number for number, text in enumerate(texts, 1) if text.strip(WHITE_SPACE)), 0)
    return first if first and _is_percent(texts[first - 1]) else 0


class _Reader:
    """Reads single lines for one controller by their likeness; remembers its troubles and whether the program ended."""

    def __init__(self, controller: Controller) -> None:
        self.controller = controller
        self.troubles: list[Trouble] = []
        self.ended = False
        self._endings = tuple(code for code in (2, 30) if f"M{code}" not in controller.extra_words)
        own = (*controller.homing, controller.pause, controller.settle)
        self._own_lines = frozenset(filter(None, map(bare, own)))
        self._other_mark = "(" if controller.comments == "semicolon" else ";"
        self._head, self._message = controller.program_head, controller.message
        self._only_numbers = not controller.expressions
        self._unremarkable = min(controller.line_limit, LONGEST_LINE, _SURELY_FINITE)

    def line(self, number: int, text: str, likeness: str, *, may_be_head: bool = False) -> Line:
        """The line; a trouble more where it cannot be read or is too long."""
        if len(text) > LONGEST_LINE:
            return self._endless(number, text)
        form = (may_be_head and sheet_lines.head(text, self._head)) or sheet_lines.message(text, self._message)
        if form is not None:
            self._judge_length(number, text)
            return Line(number, text, form)
        found = self._kind(likeness)
        if (
            len(text) > self._unremarkable
            or isinstance(found, Stop)
            or self._other_mark in found.comment_marks
            or (found.form.line_number and _LONG_LINE_NUMBER(text))
            or (self._only_numbers and not found.form.bare)
        ):
            return self._with_care(number, text, found)
        numbers = found.numbers(text)
        if found.m_words:
            self._note_end(found, numbers)
        return Line(number, text, found.form, numbers)

    def _kind(self, likeness: str) -> Kind | Stop:
        return (remembered_kind if len(likeness) <= _LONGEST_REMEMBERED else remembered_long_kind)(likeness)

    def _endless(self, number: int, text: str) -> Line:
        """A line that is too long to be read at all."""
        if len(text) > self.controller.line_limit:
            self.troubles.append(complaints.too_long(number, self.controller.line_limit, len(text)))
        self.troubles.append(complaints.endless(number, LONGEST_LINE, len(text)))
        return Line(number, text, UNREADABLE)

    def _with_care(self, number: int, text: str, found: Kind | Stop) -> Line:
        """A line that may have something wrong with it; a line of the controller sheet itself has not."""
        self._judge_length(number, text)
        if _LONG_LINE_NUMBER(text):
            found = kind_of_one(text)
        numbers = () if isinstance(found, Stop) else found.numbers(text)
        trouble = self._refusal(number, text, found, numbers)
        if trouble and bare(text) not in self._own_lines:
            self.troubles.append(trouble)
        if trouble or isinstance(found, Stop):
            return Line(number, text, UNREADABLE)
        self._note_end(found, numbers)
        return Line(number, text, found.form, numbers)

    def _judge_length(self, number: int, text: str) -> None:
        limit = self.controller.line_limit
        if len(text) > limit:
            self.troubles.append(complaints.too_long(number, limit, len(text)))

    def _refusal(self, number: int, text: str, found: Kind | Stop, numbers: tuple[float, ...]) -> Trouble | None:
        before = digits_before(text)

        def place(spot: Spot) -> int:
            return spot[0] + before[spot[1]]

        if isinstance(found, Stop):
            return complaints.unreadable(number, text, place(found.at), found.expected, self.controller)
        for comment in found.form.comments:
            if text[place(comment.start)] == self._other_mark:
                return complaints.other_comment(number, place(comment.start), place(comment.stop), self.controller)
        for value, (start, stop) in zip(numbers, found.form.numbers, strict=True):
            if not isfinite(value):
                return complaints.too_large(number, place(start), place(stop))
        if self._only_numbers:
            return complaints.calculated(number, text)
        return None

    def _note_end(self, found: Kind, numbers: tuple[float, ...]) -> None:
        """Nothing more is read after M2 or M30 (NISTIR 6556, 3.6.1), unless it may be skipped or is calculated."""
        for fill in found.m_words:
            value = fill(numbers)
            if isinstance(value, float) and whole(value) in self._endings:
                self.ended = True
