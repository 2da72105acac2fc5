"""The steps of a macro along a time axis: which of them takes how long.

Each step has a row. Its bar begins where the typical time of the steps before it ends and is as long as its own typical
time; the whisker over it runs from least to most over the starts. A wait for the operator or a homing cycle has no
length that anyone could give: it is a diamond. Classes for the style sheet: ``drawing`` ``timeline``; ``row`` (with
data-step or data-line), ``bar``, ``whisker``, ``unmeasured``, ``grid``, ``figure``, ``row-name``, ``row-time``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from parser.report import Report
from parser.times.timing import NOTHING, Spread
from webapp.drawings.charts import EM, ROW, WIDTH, finished, rules
from webapp.drawings.figures import duration, round_step
from webapp.drawings.lettering import width_of
from webapp.drawings.svg import Element, element, group, polygon, polyline, rectangle, text

TOP = 0.4 * EM
ROWS_AT_MOST = 30
"""Rows beyond which neighbours share one: a long file is to be seen at a glance, its lines are listed elsewhere."""
UNMEASURED = {
    "pause": "waits for the operator",
    "home-at-panel": "the operator homes",
    "home-afterwards": "the operator homes afterwards",
    "homing": "the controller homes",
    "by-hand": "the operator raises the spindle",
    "motion-not-known": "a move of unknown length",
    "tool-change": "tool change",
    "call": "another program",
    "input": "waits for an input",
}


@dataclass(frozen=True, slots=True)
class Bar:
    """One step, one line of a hand-written file, or several neighbours: their time, and what in them has none."""

    first: int
    last: int
    seconds: Spread = NOTHING
    unmeasured: tuple[str, ...] = ()

    @property
    def key(self) -> str:
        """The number of the step or line, or the range of them."""
        return str(self.first) if self.first == self.last else f"{self.first}\N{EN DASH}{self.last}"

    def label(self, names: Mapping[int, str]) -> str:
        """The key and, for a single step that has one, its name."""
        return f"{self.key} {names[self.first]}" if self.first == self.last and self.first in names else self.key

    def words(self) -> str:
        """How long it takes, as a clause."""
        if self.seconds.most == 0:
            return ", ".join(self.unmeasured) or "at once"
        least, most = duration(self.seconds.least), duration(self.seconds.most)
        spread = f" ({least} to {most})" if least != most else ""
        return ", ".join([f"typically {duration(self.seconds.typical)}{spread}", *self.unmeasured])


def rows(report: Report) -> list[Bar]:
    """The rows of a report: by step where it has steps, by line otherwise."""
    found: dict[int, Bar] = {}

    def row(number: int) -> Bar:
        return found.get(number, Bar(number, number))

    def number_of(line_number: int) -> int:
        return report.steps.get(line_number, 0) if report.steps else line_number

    for step in set(report.steps.values()):
        found[step] = row(step)
    for move, timing in zip(report.trace.moves, report.plan.timings, strict=True):
        old = row(number_of(move.line))
        found[old.first] = Bar(old.first, old.last, old.seconds + timing.seconds, old.unmeasured)
    for event in report.trace.events:
        if event.kind in UNMEASURED:
            old = row(number_of(event.line))
            found[old.first] = Bar(old.first, old.last, old.seconds, (*old.unmeasured, UNMEASURED[event.kind]))
    single = [found[key] for key in sorted(found)]
    size = math.ceil(len(single) / ROWS_AT_MOST) or 1
    return [_together(single[index : index + size]) for index in range(0, len(single), size)]


def draw(report: Report, names: Mapping[int, str] | None = None) -> Markup:
    """The strip of a report; ``names`` gives a step's title by its number."""
    names = names or {}
    found = rows(report)
    starts = [sum(row.seconds.typical for row in found[:index]) for index in range(len(found))]
    end = max(
        [start + max(row.seconds.most, row.seconds.typical) for start, row in zip(starts, found, strict=True)] + [0.1]
    )
    title = "Time of each step" if report.steps else "Time of each line"
    widest = max((width_of(row.label(names), EM) for row in found), default=0.0)
    left = min(max(widest + 1.2 * EM, 2.6 * EM), WIDTH * 0.42)
    scale = (WIDTH - 4.4 * EM - left) / end
    bottom = TOP + ROW * max(1, len(found))
    step = round_step(end, 4)
    times = [count * step for count in range(int(end / step) + 1)]
    parts = list(rules(times, lambda time: left + time * scale, TOP, bottom, duration))
    for index, (start, row) in enumerate(zip(starts, found, strict=True)):
        level = TOP + ROW * (index + 0.5)
        drawn = _row(row, row.label(names), left, left + start * scale, scale, level)
        drawn.set("data-step" if report.steps else "data-line", str(row.first))
        parts.append(drawn)
    if not found:
        parts.append(text(left, TOP + ROW * 0.6, "Nothing to time.", "row-name"))
    words = "; ".join(f"{row.label(names)}: {row.words()}" for row in found) or "Nothing to time"
    description = f"{title}. {words}. Altogether typically {duration(report.plan.totals.seconds.typical)}."
    return finished(bottom, title, description, *parts)


def _together(neighbours: Sequence[Bar]) -> Bar:
    seconds = sum((row.seconds for row in neighbours), NOTHING)
    unmeasured = tuple(dict.fromkeys(words for row in neighbours for words in row.unmeasured))
    return Bar(neighbours[0].first, neighbours[-1].last, seconds, unmeasured)


def _row(row: Bar, label: str, left: float, begins: float, scale: float, level: float) -> Element:
    fits = round((left - 0.9 * EM) / width_of("n", EM))
    shown = label if len(label) <= fits else label[: max(1, fits - 1)].rstrip() + "\N{HORIZONTAL ELLIPSIS}"
    half = 0.42 * EM
    drawn = group(
        element("title", f"{label}: {row.words()}"),
        text(0.3 * EM, level, shown, "row-name", dy="0.35em"),
        class_="row",
    )
    after = begins
    if row.seconds.most > 0:
        low, typical, high = (
            begins + value * scale for value in (row.seconds.least, row.seconds.typical, row.seconds.most)
        )
        drawn.append(rectangle(begins, level - half, max(typical - begins, 0.8), 2 * half, "bar"))
        if high - low > 0.5:
            ends = [(low, level - half * 0.6), (low, level + half * 0.6), (low, level), (high, level)]
            drawn.append(polyline([*ends, (high, level - half * 0.6), (high, level + half * 0.6)], "whisker"))
        after = max(typical, high)
        drawn.append(text(after + 0.5 * EM, level, duration(row.seconds.typical), "row-time", dy="0.35em"))
        after += 0.5 * EM + width_of(duration(row.seconds.typical), EM)
    if row.unmeasured:
        x = after + (0.9 * EM if after > begins else 0.0)
        r = 0.45 * EM
        drawn.append(polygon([(x - r, level), (x, level - r), (x + r, level), (x, level + r)], "unmeasured"))
        words = row.unmeasured[0]
        beyond = x + EM + width_of(words, EM) > WIDTH
        side = -0.8 * EM if beyond and after == begins else 0.8 * EM
        anchor = "end" if side < 0 else None
        drawn.append(text(x + side, level, words, "row-time", dy="0.35em", text_anchor=anchor))
    elif row.seconds.most == 0:
        drawn.append(text(begins + 0.5 * EM, level, "at once", "row-time", dy="0.35em"))
    return drawn
