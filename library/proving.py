"""What the workshop knows of a macro, a hand-written file or a pendant once it has been examined."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import parser
from library import formulas
from library.blocks import Surroundings
from library.blocks.block import HasSheets
from library.build import Built, Problem, build
from library.macros import Macro
from library.slots import check_pendant
from parser.findings import Severity
from parser.machine import Interval
from parser.progress import Progress, unheard
from parser.report import Report

__all__ = ["Proved", "check_pendant", "prove_built", "prove_macro", "prove_written", "reason"]


@dataclass(frozen=True, slots=True)
class Proved:
    """A macro, the text it became and the report on that text.

    ``problems`` are the steps that could not be written and a start condition that could not be read; the report then
    is of what could be.
    """

    macro: Macro
    built: Built
    report: Report
    problems: tuple[Problem, ...]

    @property
    def exportable(self) -> bool:
        """Whether the text may be taken to the machine: all of it written, and nothing refused."""
        return not self.problems and self.report.verdict != "refused"

    @property
    def reason(self) -> str:
        """Why it may not be taken to the machine, "" where it may."""
        if self.problems:
            return str(self.problems[0])
        return reason(self.report)


def reason(report: Report) -> str:
    """The first refusal of a report in one line, "" where there is none."""
    refusal = next((each for each in report.findings if each.severity is Severity.REFUSE), None)
    if refusal is None:
        return ""
    where = f" (line {refusal.line})" if refusal.line else ""
    return f"{report.sentence} {refusal.rule}{where}: {refusal.message}"


def prove_macro(
    macro: Macro,
    sheets: HasSheets,
    *,
    start: Mapping[str, Interval] | None = None,
    assume: str = "",
    seek_start: bool = True,
    progress: Progress = unheard,
) -> Proved:
    """Build a macro and examine its text, from every start that its own condition allows or from a given one.

    ``start`` is the interval of each axis in machine coordinates; ``seek_start`` False leaves the safe start out of
    the report. ``progress`` is told the share done; what it raises ends the work. Raises AssumeError where the words of
    ``assume`` cannot be executed.
    """
    return prove_built(
        macro,
        build(macro, sheets),
        sheets,
        start=start,
        assume=assume,
        seek_start=seek_start,
        progress=progress,
    )


def prove_built(
    macro: Macro,
    built: Built,
    sheets: HasSheets,
    *,
    start: Mapping[str, Interval] | None = None,
    assume: str = "",
    seek_start: bool = True,
    progress: Progress = unheard,
) -> Proved:
    """Examine the text that a macro has become, as ``prove_macro`` does."""
    report, problems = _examined(macro, built.text, built.steps, sheets, start, assume, seek_start, progress)
    return Proved(macro, built, report, built.problems + problems)


def prove_written(macro: Macro, text: str, sheets: HasSheets) -> Report:
    """Examine a text that is said to be this macro's, from the macro's own starts."""
    return _examined(macro, text, {}, sheets, None, "")[0]


def _examined(
    macro: Macro,
    text: str,
    steps: Mapping[int, int],
    sheets: HasSheets,
    start: Mapping[str, Interval] | None,
    assume: str,
    seek_start: bool = True,
    progress: Progress = unheard,
) -> tuple[Report, tuple[Problem, ...]]:
    allowed, problems = _condition(macro, sheets)
    report = parser.examine(
        text,
        sheets.machine.plain(),
        sheets.controller.plain(),
        parser.Question(
            start=start or allowed,
            condition=macro.start.strip() if allowed and not start else "",
            assume=assume,
            steps=steps,
            accepted={each.rule: each.because for each in macro.accepted},
            seek_start=seek_start,
        ),
        progress=progress,
    )
    return report, problems


def _condition(macro: Macro, sheets: HasSheets) -> tuple[Mapping[str, Interval] | None, tuple[Problem, ...]]:
    """The starts a macro's condition allows, None for anywhere, and what is wrong with the condition."""
    if not macro.conditioned:
        return None, ()
    bench = Surroundings.of(sheets, macro.units)
    try:
        return formulas.start_box(macro.start, bench.landmarks, bench.machine, macro.units), ()
    except formulas.FormulaError as error:
        return None, (Problem(None, "start", str(error)),)
