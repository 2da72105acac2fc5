"""What the workshop knows of a macro, a hand-written file or a pendant once it has been examined."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import parser
from library import formulas
from library.bench import Bench
from library.build import Built, Problem, build
from library.hand_rate import held_to
from library.macros import Macro
from parser.findings import Severity
from parser.machine import Interval
from parser.pipeline import shown_to_nobody
from parser.progress import Progress, unheard
from parser.report import Report


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


class Reason(str):
    """Why a text may not be taken to the machine, in one line; ``rule`` is the first that refuses it."""

    __slots__ = ("rule",)
    rule: str

    def __new__(cls, text: str, rule: str) -> Reason:
        """The reason in words, and the rule."""
        made = super().__new__(cls, text)
        made.rule = rule
        return made


def reason(report: Report) -> str:
    """The first refusal of a report as a ``Reason``, "" where there is none."""
    refusal = next((each for each in report.findings if each.severity is Severity.REFUSE), None)
    if refusal is None:
        return ""
    where = f" (line {refusal.line})" if refusal.line else ""
    return Reason(f"{report.sentence} {refusal.rule}{where}: {refusal.message}", refusal.rule)


def prove_macro(
    macro: Macro,
    bench: Bench,
    built: Built | None = None,
    *,
    start: Mapping[str, Interval] | None = None,
    assume: str = "",
    seek_start: bool = True,
    progress: Progress = unheard,
    first: Callable[[Report], None] = shown_to_nobody,
) -> Proved:
    """Examine the text of a macro, from every start that its own condition allows or from a given one.

    ``built`` is what it has become, where that is known. ``start`` is the interval of each axis in machine coordinates;
    ``seek_start`` False leaves the safe start out of the report. ``progress`` is told the share done; what it raises
    ends the work. ``first`` is given the report before the safe start is sought, of a macro without problems. Raises
    AssumeError where the words of ``assume`` cannot be executed.
    """
    built = built or build(macro, bench)
    allowed, problems = _condition(macro, bench)

    def shown_first(report: Report) -> None:
        if not built.problems and not problems:
            first(report.worded(bench.machine_sheet.units))

    report = parser.examine(
        built.text,
        bench.machine,
        bench.controller,
        parser.Question(
            start=start or allowed,
            condition=macro.start.strip() if allowed and not start else "",
            assume=assume,
            steps=built.steps,
            accepted={each.rule: each.because for each in macro.accepted},
            seek_start=seek_start,
            second=bench.second,
            said=bench.said.get(macro.id),
            hand_rate=held_to(macro, bench),
        ),
        progress=progress,
        first=shown_first,
    )
    return Proved(macro, built, report.worded(bench.machine_sheet.units), built.problems + problems)


def prove_written(macro: Macro, text: str, bench: Bench) -> Report:
    """Examine a text that is said to be this macro's, from the macro's own starts."""
    return prove_macro(macro, bench, Built(text, {}, (), (), ())).report


def _condition(macro: Macro, bench: Bench) -> tuple[Mapping[str, Interval] | None, tuple[Problem, ...]]:
    """The starts a macro's condition allows, None for anywhere, and what is wrong with the condition."""
    if not macro.conditioned:
        return None, ()
    try:
        return formulas.start_box(macro.start, bench.landmarks, bench.machine, macro.units), ()
    except formulas.FormulaError as error:
        return None, (Problem(None, "start", str(error)),)
