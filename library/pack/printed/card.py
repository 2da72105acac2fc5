"""The legend card for the pendant, drawn: lettering that fits, cut marks, and a line to be measured after printing.

All lengths are mm on paper. Lettering is shrunk and wrapped to the size asked for; where it would become too small to
read the card becomes larger instead.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from library.fields import Units
from library.outgoing import TALLEST_CARD, WIDEST_CARD
from library.pack.printed.filling import render
from library.pack.printed.legend import Entry, Legend, Note
from library.pack.printed.lettering import ASCENT, LINE_HEIGHT, width_of, wrap
from parser.machine import MM_PER_INCH
from parser.quantities import Figures

MARGIN = 6.0
"""Paper around the card, for the cut marks and the scale."""
_SIZE = re.compile(rb'width="([\d.]+)mm" height="([\d.]+)mm"')

GAP, MARK = 1.0, 4.0
"""From the corner of the card to a cut mark, and how long that is."""
SCALE = 50.0
"""Length of the line to be measured after printing; a narrower card has a shorter one."""

PAD = 1.2
NARROWEST_COLUMN = 15.0
SIZES = tuple(size / 100.0 for size in range(360, 195, -10))
"""Heights of lettering for the names, from the best to the least."""
NOTE_SHARE, LEAST_NOTE = 0.58, 1.5
"""Notes are in smaller lettering, never smaller than this."""

HOME_FIRST = "HOME FIRST"
STOP = "To stop: the emergency stop that is hard-wired to remove drive power."


@dataclass(frozen=True, slots=True)
class Words:
    """One line of lettering, its base at (x, y); ``width`` is what it takes at most."""

    text: str
    x: float
    y: float
    size: float
    width: float
    bold: bool = False
    inverse: bool = False
    anchor: str = "start"


@dataclass(frozen=True, slots=True)
class Plate:
    """A filled rectangle."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Stroke:
    """A straight line."""

    x1: float
    y1: float
    x2: float
    y2: float
    thick: float = 0.18


@dataclass(frozen=True, slots=True)
class Card:
    """The card as it is drawn; (0, 0) is its top left corner. ``asked`` is False where it had to become larger."""

    width: float
    height: float
    asked: bool
    title: str
    words: tuple[Words, ...]
    plates: tuple[Plate, ...]
    strokes: tuple[Stroke, ...]
    arrows: tuple[tuple[float, float, float], ...]
    units: Units = "mm"

    @property
    def marks(self) -> tuple[Stroke, ...]:
        """The cut marks: two short lines at each corner, outside the card."""
        return tuple(
            mark
            for x, outward in ((0.0, -1.0), (self.width, 1.0))
            for y, down in ((0.0, -1.0), (self.height, 1.0))
            for mark in (
                Stroke(x + outward * GAP, y, x + outward * (GAP + MARK), y, 0.1),
                Stroke(x, y + down * GAP, x, y + down * (GAP + MARK), 0.1),
            )
        )

    @property
    def scale(self) -> float:
        """Length of the line to be measured, mm: whole centimetres or, where the workshop measures in inches, these."""
        longest, step = (SCALE, 10.0) if self.units == "mm" else (2 * MM_PER_INCH, MM_PER_INCH)
        return min(longest, self.width) // step * step

    @property
    def measured(self) -> str:
        """The same in words."""
        return Figures(self.units).length(self.scale, 0)

    def svg(self, *, standalone: bool = True) -> str:
        """The drawing at 1:1, with cut marks and a line to measure around it."""
        return render("card.svg", card=self, margin=MARGIN, standalone=standalone)

    def page(self) -> str:
        """The drawing as a page of its own that prints at 1:1."""
        return render("card.html", drawing=Markup(self.svg(standalone=False)), card=self)


def size_of(svg: bytes) -> tuple[float, float]:
    """Width and height of the card in a drawing of it, mm; raises ValueError where it is none."""
    found = _SIZE.search(svg)
    if found is None:
        raise ValueError("this is not the drawing of a card")
    width, height = (float(side) - 2 * MARGIN for side in found.groups())
    return width, height


def draw(told: Legend, width: float, height: float) -> Card:
    """The card of the size asked for, or of the next larger that holds everything in readable lettering."""
    least = _label_width(told) + NARROWEST_COLUMN * len(told.increments)
    wide = max(width, least)
    while True:
        for size in SIZES:
            layout = _Layout(told, wide, size)
            if layout.needs <= height:
                return layout.card(height, asked=wide == width)
        if layout.needs <= max(height, TALLEST_CARD) or wide >= WIDEST_CARD:
            return layout.card(max(height, layout.needs), asked=False)
        wide = min(WIDEST_CARD, wide + 10.0)


def _label_width(told: Legend) -> float:
    widest = max((width_of(label, 3.6) for label, _ in told.rows), default=0.0)
    return min(24.0, max(7.0, widest + 2 * PAD))


class _Layout:
    """One try at a card: everything broken into lines at one size of lettering, to see how high it comes out."""

    def __init__(self, told: Legend, width: float, size: float) -> None:
        self._told = told
        self._width = width
        self._size = size
        self._note = max(LEAST_NOTE, size * NOTE_SHARE)
        self._labels = _label_width(told)
        self._column = (width - self._labels) / max(1, len(told.increments))
        self._words: list[Words] = []
        self._plates: list[Plate] = []
        self._strokes: list[Stroke] = []
        self._arrows: list[tuple[float, float, float]] = []
        self._heads = [self._lines(each, self._column, size * 0.85) for each in told.increments]
        self._head_height = self._high(self._heads, size * 0.85)
        self._rows = [self._row_height(label, entries) for label, entries in told.rows]
        self._title = self._banner_height()
        self._foot = self._foot_height()
        self.needs = self._title + self._head_height + sum(self._rows) + self._foot

    def card(self, height: float, *, asked: bool) -> Card:
        """The card drawn, the height that is left over shared out among the rows."""
        told = self._told
        spare = (height - self.needs) / max(1, len(self._rows))
        self._draw_banner()
        y = self._title
        self._line(0.0, y, self._width, y, 0.35)
        for column, lines in enumerate(self._heads):
            self._put(
                lines, self._left(column) + self._column / 2, y + PAD / 2, self._size * 0.85, bold=True, anchor="middle"
            )
        y += self._head_height
        top = self._title
        for (label, entries), high in zip(told.rows, self._rows, strict=True):
            self._line(0.0, y, self._width, y, 0.35)
            whole = high + spare
            lines = self._lines(label, self._labels, 3.6)
            self._put(
                lines,
                self._labels / 2,
                y + (whole - len(lines) * 3.6 * LINE_HEIGHT) / 2,
                3.6,
                bold=True,
                anchor="middle",
            )
            for column, entry in enumerate(entries):
                self._draw_entry(entry, self._left(column), y, whole)
            y += whole
        self._line(0.0, y, self._width, y, 0.35)
        for column in range(len(told.increments)):
            self._line(self._left(column), top, self._left(column), y, 0.35 if column == 0 else 0.18)
        self._draw_foot(y)
        for x in (0.0, self._width):
            self._line(x, 0.0, x, height, 0.35)
        for edge in (0.0, height):
            self._line(0.0, edge, self._width, edge, 0.35)
        return Card(
            self._width,
            height,
            asked,
            told.title,
            tuple(self._words),
            tuple(self._plates),
            tuple(self._strokes),
            tuple(self._arrows),
            told.units,
        )

    def _left(self, column: int) -> float:
        return self._labels + column * self._column

    def _line(self, x1: float, y1: float, x2: float, y2: float, thick: float) -> None:
        self._strokes.append(Stroke(x1, y1, x2, y2, thick))

    def _lines(self, text: str, width: float, size: float, taken: float = 0.0) -> tuple[str, ...]:
        return wrap(text, width - 2 * PAD - taken, size)

    def _high(self, columns: Sequence[Sequence[str]], size: float) -> float:
        return max((len(lines) for lines in columns), default=0) * size * LINE_HEIGHT + PAD

    def _put(
        self,
        lines: Sequence[str],
        x: float,
        y: float,
        size: float,
        *,
        bold: bool = False,
        inverse: bool = False,
        anchor: str = "start",
    ) -> float:
        """Letter the lines from y downwards; where they end."""
        for line in lines:
            self._words.append(
                Words(line, x, y + ASCENT * size, size, width_of(line, size), bold=bold, inverse=inverse, anchor=anchor)
            )
            y += size * LINE_HEIGHT
        return y

    # A row

    def _row_height(self, label: str, entries: Sequence[Entry]) -> float:
        label_high = len(self._lines(label, self._labels, 3.6)) * 3.6 * LINE_HEIGHT
        return max([label_high, *(self._entry_height(entry) for entry in entries)]) + PAD

    def _entry_height(self, entry: Entry) -> float:
        high = len(self._lines(entry.name, self._column, self._size)) * self._size * LINE_HEIGHT
        return high + sum(self._note_height(note) for note in entry.notes)

    def _note_lines(self, note: Note) -> tuple[str, ...]:
        return self._lines(note.text, self._column, self._note, self._note if note.kind == "forward" else 0.0)

    def _note_height(self, note: Note) -> float:
        extra = 0.9 if note.kind == "plate" else 0.3
        return len(self._note_lines(note)) * self._note * LINE_HEIGHT + extra

    def _draw_entry(self, entry: Entry, x: float, top: float, high: float) -> None:
        if not entry.name:
            middle, half = top + high / 2, min(2.0, self._column / 6)
            self._line(x + self._column / 2 - half, middle, x + self._column / 2 + half, middle, 0.18)
            return
        y = self._put(self._lines(entry.name, self._column, self._size), x + PAD, top + PAD / 2, self._size, bold=True)
        for note in entry.notes:
            lines = self._note_lines(note)
            y += 0.3
            if note.kind == "plate":
                tall = len(lines) * self._note * LINE_HEIGHT + 0.4
                self._plates.append(Plate(x + PAD / 2, y, self._column - PAD, tall))
                self._put(lines, x + PAD, y + 0.2, self._note, bold=True, inverse=True)
                y += tall + 0.2
                continue
            indent = self._note if note.kind == "forward" else 0.0
            if indent:
                self._arrows.append((x + PAD, y + 0.16 * self._note, self._note * 0.8))
            y = self._put(lines, x + PAD + indent, y, self._note, bold=note.kind != "plain")

    # Head and foot

    def _plate_width(self) -> float:
        return width_of(HOME_FIRST, 3.2) + 2 * PAD if self._told.home_first else 0.0

    def _title_lines(self) -> tuple[str, ...]:
        return self._lines(
            f"{self._told.title} \N{MIDDLE DOT} {self._told.issue}", self._width - self._plate_width(), 2.2
        )

    def _banner_height(self) -> float:
        plate = 3.2 * LINE_HEIGHT + PAD if self._told.home_first else 0.0
        return max(plate, len(self._title_lines()) * 2.2 * LINE_HEIGHT + PAD)

    def _draw_banner(self) -> None:
        plate = self._plate_width()
        if plate:
            self._plates.append(Plate(0.0, 0.0, plate, self._title))
            base = (self._title - 3.2 * LINE_HEIGHT) / 2
            self._put((HOME_FIRST,), plate / 2, base, 3.2, bold=True, inverse=True, anchor="middle")
        lines = self._title_lines()
        self._put(lines, plate + PAD, (self._title - len(lines) * 2.2 * LINE_HEIGHT) / 2, 2.2, bold=True)

    def _foot_lines(self) -> tuple[tuple[str, bool], ...]:
        """The lines below the slots, and whether each is bold."""
        told = self._told
        parts = [(told.always, True), (told.rests_on, True)]
        parts += [(f"{told.invented}.", True)] if told.invented else []
        parts += [(" ".join([told.gesture, STOP, *told.jog]), False)]
        return tuple((line, bold) for text, bold in parts for line in self._lines(text, self._width, self._note))

    def _warning_lines(self) -> tuple[str, ...]:
        return self._lines(self._told.letting_go, self._width, 2.4)

    def _foot_height(self) -> float:
        warning = self._warning_lines()
        plate = len(warning) * 2.4 * LINE_HEIGHT + PAD if warning else 0.0
        return plate + len(self._foot_lines()) * self._note * LINE_HEIGHT + PAD

    def _draw_foot(self, y: float) -> None:
        warning = self._warning_lines()
        if warning:
            tall = len(warning) * 2.4 * LINE_HEIGHT + PAD
            self._plates.append(Plate(0.0, y, self._width, tall))
            self._put(warning, self._width / 2, y + PAD / 2, 2.4, bold=True, inverse=True, anchor="middle")
            y += tall
        y += PAD / 2
        for line, bold in self._foot_lines():
            y = self._put((line,), PAD, y, self._note, bold=bold)
