"""Text in, program out: every line with its words, settings and comments, and what could not be read.

Lines that are alike but for their figures are parsed once. A line is first looked up with its digits masked, which
gives the places of its numbers (a template); failing that its shape is looked up, where only the order of things
counts; only a shape that is new is parsed. ``_read_plainly`` goes without all that and gives the same program.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import isfinite

from parser.findings import Trouble
from parser.language import complaints
from parser.language.layout import MASK, WHITE_SPACE, Layout, close_up, lay_out, shorten
from parser.language.program import Comment, Line, Program, Setting, Word
from parser.language.shapes import CommentShape, Shape, Unread, remembered_shape, shape
from parser.language.words import whole
from parser.machine import Controller

AS_PUBLISHED = Controller()
LONGEST_LINE = 10_000
"""Characters beyond which a line is reported and not read, so that no input takes unbounded time."""

_TEMPLATES_KEPT = 1 << 14
_LINES_PER_PROGRESS = 2_000
_SURELY_FINITE = 300
_new = tuple.__new__


def read(
    text: str, controller: Controller = AS_PUBLISHED, *, progress: Callable[[float], None] | None = None
) -> Program:
    """The program that a text holds; what cannot be read is in its troubles (NISTIR 6556, 3.1 to 3.4).

    ``progress`` is called now and then with the share done, 0 to 1; what it raises ends the reading.
    """
    reader = _Reader(controller)
    return _read(text, reader, reader.line, progress)


def _read_plainly(text: str, controller: Controller = AS_PUBLISHED) -> Program:
    """The same program, each line parsed on its own."""
    reader = _Reader(controller)
    return _read(text, reader, reader.line_plainly, None)


def _read(
    text: str, reader: _Reader, read_line: Callable[[int, str], Line], progress: Callable[[float], None] | None
) -> Program:
    texts = _physical_lines(text)
    opening = _opening(texts)
    lines: list[Line] = []
    wrapped = False
    for number, line_text in enumerate(texts, 1):
        if progress and number % _LINES_PER_PROGRESS == 0:
            progress(number / len(texts))
        if opening and _is_percent(line_text):
            lines.append(Line(number, line_text, percent=True))
            if number == opening:
                continue
            wrapped = True
            break
        line = read_line(number, line_text)
        lines.append(line)
        if reader.ends_at(line):
            break
    last = len(lines)
    for number, line_text in enumerate(texts[last:], last + 1):
        closing = bool(opening) and not wrapped and _is_percent(line_text)
        wrapped = wrapped or closing
        lines.append(Line(number, line_text, percent=closing))
    if opening and not wrapped:
        reader.troubles.append(complaints.not_closed(opening, texts[opening - 1]))
    if progress:
        progress(1.0)
    return Program(tuple(lines), tuple(reader.troubles), wrapped, last)


def _physical_lines(text: str) -> list[str]:
    """The lines of a text, which end at LF or CRLF and nowhere else."""
    texts = text.replace("\r\n", "\n").split("\n")
    if not texts[-1]:
        texts.pop()
    return texts


def _is_percent(text: str) -> bool:
    return text.strip(WHITE_SPACE) == "%"


def _opening(texts: list[str]) -> int:
    """The number of the % line that a file begins with, blank lines aside; 0 where it begins otherwise."""
    first = next((number for number, text in enumerate(texts, 1) if text.strip(WHITE_SPACE)), 0)
    return first if first and _is_percent(texts[first - 1]) else 0


_CommentPlaces = tuple[int, int, int, int | None]
"""Where a comment starts and stops, where its text stops and where its message starts."""


@dataclass(frozen=True, slots=True)
class _Template:
    """Where a line of bare words keeps its parts, in positions of the text itself; a copy fits every line alike."""

    words: tuple[tuple[str, int, int, int, int], ...]
    comments: tuple[_CommentPlaces, ...]
    block_delete: bool
    line_number: tuple[int, int] | None


class _Reader:
    """Reads single lines for one controller; remembers its troubles and the templates of the lines it has seen."""

    def __init__(self, controller: Controller) -> None:
        self.controller = controller
        self.troubles: list[Trouble] = []
        self.templates: dict[str, _Template] = {}
        self.endings = tuple(code for code in (2, 30) if f"M{code}" not in controller.extra_words)

    def line(self, number: int, text: str) -> Line:
        """The line, by way of its template or its shape."""
        masked = text.translate(MASK)
        template = self.templates.get(masked)
        if template is None:
            return self._new_kind(number, text, masked)
        return _like(template, number, text)

    def line_plainly(self, number: int, text: str) -> Line:
        """The line, parsed on its own."""
        parsed = self._parsed(number, text, lambda: lay_out(text), shape)
        return _filled(number, text, *parsed) if parsed else Line(number, text, readable=False)

    def ends_at(self, line: Line) -> bool:
        """Whether nothing more is read: M2 or M30 ends a program (NISTIR 6556, 3.6.1), unless it may be skipped."""
        if line.block_delete or not ("M" in line.text or "m" in line.text):
            return False
        return any(
            word.letter == "M" and isinstance(word.value, float) and whole(word.value) in self.endings
            for word in line.words
        )

    def _new_kind(self, number: int, text: str, masked: str) -> Line:
        known = len(self.troubles)
        parsed = self._parsed(number, text, lambda: shorten(lay_out(masked)), remembered_shape)
        if parsed is None:
            return Line(number, text, readable=False)
        template = _template(text, *parsed[:2]) if len(self.troubles) == known else None
        if template:
            if len(self.templates) == _TEMPLATES_KEPT:
                self.templates.clear()
            self.templates[masked] = template
            return _like(template, number, text)
        return _filled(number, text, *parsed)

    def _parsed(
        self, number: int, text: str, lay: Callable[[], Layout], shape_of: Callable[[str], Shape | Unread]
    ) -> tuple[Shape, Layout, list[float]] | None:
        """The shape of a line, its layout and its numbers; None, and a trouble more, where it cannot be read."""
        limit = self.controller.line_limit
        if len(text) > limit:
            self.troubles.append(complaints.too_long(number, limit, len(text)))
        if len(text) > LONGEST_LINE:
            self.troubles.append(complaints.endless(number, LONGEST_LINE, len(text)))
            return None
        layout = lay()
        found = shape_of(layout.plain)
        if isinstance(found, Unread):
            at = layout.place(found.at)
            self.troubles.append(complaints.unreadable(number, text, at, found.expected, self.controller))
            return None
        numbers = [float(close_up(text[slice(*layout.stretch(*span))])) for span in found.numbers]
        trouble = self._refusal(number, text, found, layout, numbers)
        if trouble:
            self.troubles.append(trouble)
            return None
        return found, layout, numbers

    def _refusal(self, number: int, text: str, shape: Shape, layout: Layout, numbers: list[float]) -> Trouble | None:
        """What is wrong with a line that the grammar takes."""
        semicolon = self.controller.comments == "semicolon"
        for comment in shape.comments:
            start, stop = layout.stretch(*comment.span)
            if (text[start] == ";") is not semicolon:
                return complaints.other_comment(number, start, stop, self.controller)
        for value, span in zip(numbers, shape.numbers, strict=True):
            if not isfinite(value):
                return complaints.too_large(number, *layout.stretch(*span))
        return None


def _like(template: _Template, number: int, text: str) -> Line:
    """A line by its template; made as plain tuples are, which takes half the time of calling the classes."""
    words = [
        _new(Word, (letter, float(text[start:stop]), column, end))
        for letter, start, stop, column, end in template.words
    ]
    comments = tuple([_comment(text, *places) for places in template.comments]) if template.comments else ()
    line_number = template.line_number and int(text[slice(*template.line_number)])
    return _new(Line, (number, text, tuple(words), (), comments, template.block_delete, line_number, False, True))


def _filled(number: int, text: str, shape: Shape, layout: Layout, numbers: list[float]) -> Line:
    words, settings = [], []
    for word in shape.words:
        start, stop = layout.stretch(*word.span)
        words.append(Word(word.letter, word.value(numbers), start + 1, stop + 1))
    for setting in shape.settings:
        start, stop = layout.stretch(*setting.span)
        settings.append(Setting(setting.index(numbers), setting.value(numbers), start + 1, stop + 1))
    return Line(
        number,
        text,
        tuple(words),
        tuple(settings),
        tuple([_comment(text, *_comment_places(comment, layout)) for comment in shape.comments]),
        shape.block_delete,
        int(close_up(text[slice(*layout.stretch(*shape.line_number))])) if shape.line_number else None,
    )


def _template(text: str, shape: Shape, layout: Layout) -> _Template | None:
    """The template of a line, None where its numbers are calculated, spaced out or long enough to be too large."""
    places = [layout.stretch(*span) for span in shape.numbers]
    line_number = layout.stretch(*shape.line_number) if shape.line_number else None
    figures = [text[start:stop] for start, stop in (*places, *([line_number] if line_number else []))]
    if not shape.bare or any(len(figure) > _SURELY_FINITE or figure != close_up(figure) for figure in figures):
        return None
    words = []
    for word, (start, stop) in zip(shape.words, places, strict=True):
        begin, end = layout.stretch(*word.span)
        words.append((word.letter, start, stop, begin + 1, end + 1))
    comments = tuple(_comment_places(comment, layout) for comment in shape.comments)
    return _Template(tuple(words), comments, shape.block_delete, line_number)


def _comment_places(comment: CommentShape, layout: Layout) -> _CommentPlaces:
    start, stop = layout.stretch(*comment.span)
    text_start = start + 1
    text_stop = text_start + comment.text[1] - comment.text[0]
    message_start = text_stop - (comment.message[1] - comment.message[0]) if comment.message else None
    return start, stop, text_stop, message_start


def _comment(text: str, start: int, stop: int, text_stop: int, message_start: int | None) -> Comment:
    message = text[message_start:text_stop].strip(WHITE_SPACE) if message_start is not None else None
    return Comment(text[start + 1 : text_stop], message, start + 1, stop + 1)
