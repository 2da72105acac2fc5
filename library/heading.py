"""The comments at the head of a macro file: what it is, what was proved of it and from which sheets."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Iterator, Mapping

from library import verdicts
from library.bench import Bench
from library.blocks.writer import Writer, safe_text
from library.hand_rate import held_to
from library.macros import Macro
from parser.machine import HOME_AT_PANEL, SheetPart
from parser.parts import invented_figures
from parser.report import Report

WIDTH = 78
"""Characters of a line that a person can still read; the controller's own limit may be lower (our choice)."""

ROOM_OF_SIGNS = 2
"""What the signs of a comment take up: two parentheses, or a semicolon and a space."""

_ASKS_TO_HOME = re.compile(re.escape(HOME_AT_PANEL), re.IGNORECASE)


def heading(
    macro: Macro, report: Report, bench: Bench, dates: Mapping[str, str], issue: str = "", word: str = ""
) -> tuple[str, ...]:
    """The lines of the head, the name first. ``dates`` gives the day of each kind of sheet (ISO 8601), where known.

    ``word`` is the verdict where it is not the report's: what cannot be written has none.

    What the proof rests on is the same for all of a pack, and stands on its card and in its README.
    """
    return _comments(_sentences(macro, word or verdicts.in_words(report), report.rests_on, bench, dates, issue), bench)


def usual_length(macro: Macro, bench: Bench) -> int:
    """How many lines the head has if the macro is proved and nothing more is to be said; known before it is."""
    dates = dict.fromkeys(("machine", "controller", "pendant"), "2000-01-01")
    issue = "2000-01-01 00000000"
    return len(_comments(_sentences(macro, "Proved", bench.machine.parts, bench, dates, issue), bench))


def _comments(sentences: Iterable[str], bench: Bench) -> tuple[str, ...]:
    out = Writer(bench)
    width = max(1, min(WIDTH, bench.controller.line_limit) - ROOM_OF_SIGNS)
    for text in sentences:
        for line in textwrap.wrap(_harmless(text), width):
            out.comment(line)
    return tuple(out.lines)


def title(macro: Macro) -> str:
    """The name of a macro as a comment can hold it, its id where nothing of the name is left."""
    return _harmless(macro.name) or macro.id


def _sentences(
    macro: Macro, word: str, parts: Iterable[SheetPart], bench: Bench, dates: Mapping[str, str], issue: str
) -> Iterator[str]:
    yield title(macro)
    if macro.purpose:
        yield macro.purpose
    yield f"Verdict: {word[0].lower()}{word[1:]}"
    invented = invented_figures(parts)
    if invented:
        yield invented
    if issue:
        yield f"Issue: {issue}"
    yield f"Start: {macro.start.strip() or 'anywhere'}"
    rate = held_to(macro, bench)
    if rate is not None:
        yield f"Hand rate: no axis faster than {bench.figures.rate(rate)}"
    for kind, sheet in (("machine", bench.machine), ("controller", bench.controller), ("pendant", bench.pendant)):
        day = f", of {dates[kind]}" if dates.get(kind) else ""
        yield f"Sheet of the {kind}: {sheet.name}{day}"


def _harmless(text: str) -> str:
    """Text whose clauses stay apart, and which asks for nothing: a name may speak of homing, the head must not."""
    return _ASKS_TO_HOME.sub("home at panel", safe_text(text.replace(";", ",")))
