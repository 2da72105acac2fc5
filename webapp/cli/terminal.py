"""A report, or a pendant, as text for a terminal: findings in columns, the verdict, what it rests on, the figures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from library import verdicts
from parser.findings import Finding, Witness
from parser.language.program import Line
from parser.machine import AXES
from parser.motion.moves import EventKind, Trace
from parser.quantities import Figures, counted, seconds, seconds_spread
from parser.report import Report
from parser.times.timing import Plan, Spread

if TYPE_CHECKING:
    from library.sequences import WholePendant

AROUND = 40
"""Characters of a line shown on either side of what a finding is about."""


def report_text(name: str, report: Report, figures: Figures) -> str:
    """What a person wants to read of one report but its safe start, ending in a line end."""
    head = f"{name}: {_uncapped(verdicts.in_words(report))}"
    return "\n".join([head, *_rows(report.findings, figures, report.program.lines), *_closing(report, figures)]) + "\n"


def safe_start_text(report: Report) -> str:
    """The line that says from where nothing is refused, "" where that is everywhere or was not sought."""
    return f"  {report.safe_start.sentence}\n" if report.refused and report.safe_start.sentence else ""


def pendant_text(name: str, whole: WholePendant, figures: Figures) -> str:
    """What is to be said of a pendant as a whole, ending in a line end."""
    return (
        "\n".join([f"{name}: {_uncapped(whole.word)}", *_rows(whole.findings, figures), f"  {whole.sentence}"]) + "\n"
    )


def _uncapped(words: str) -> str:
    return words[:1].lower() + words[1:]


def _rows(findings: Sequence[Finding], figures: Figures, lines: Sequence[Line] = ()) -> Iterator[str]:
    places = [_place(finding) for finding in findings]
    widths = [
        max((len(text) for text in column), default=0)
        for column in (
            places,
            [finding.severity for finding in findings],
            [finding.rule for finding in findings],
        )
    ]
    indent = " " * (sum(widths) + 8)
    for finding, place in zip(findings, places, strict=True):
        head = f"  {place:<{widths[0]}}  {finding.severity:<{widths[1]}}  {finding.rule:<{widths[2]}}  "
        case = f" ({finding.case})" if finding.case else ""
        yield f"{head}{finding.told}{case}"
        if lines and finding.line and finding.column and finding.end:
            yield from (f"{indent}{row}" for row in _marked(lines[finding.line - 1].text, finding.column, finding.end))
        if finding.remedy:
            yield f"{indent}Remedy: {finding.remedy}"
        if finding.witness:
            yield f"{indent}Example: {_witness(finding.witness, figures)}"


def _marked(text: str, column: int, end: int) -> tuple[str, str]:
    """What a finding is about, with some of the line round it and signs below it."""
    first = max(0, column - 1 - AROUND)
    shown = "".join(character if character.isprintable() else "·" for character in text[first : end - 1 + AROUND])
    before, after = "..." if first else "", "..." if end - 1 + AROUND < len(text) else ""
    return f"{before}{shown}{after}", " " * (len(before) + column - 1 - first) + "^" * max(1, end - column)


def _place(finding: Finding) -> str:
    step = f"step {finding.step}" if finding.step else ""
    line = ":".join(str(number) for number in (finding.line, finding.column) if number is not None)
    return " ".join(part for part in (line, step) if part)


def _witness(witness: Witness, figures: Figures) -> str:
    parts = [f"from {figures.position(witness.start)}" if witness.start else ""]
    if witness.tool is not None:
        long, thick = figures.length(witness.tool.length), figures.length(2 * witness.tool.radius)
        parts.append(f"with a tool {long} long and {thick} thick")
    parts.append(f"at {figures.position(witness.at)}" if witness.at else "")
    if witness.obstacle:
        body = witness.body.upper() if witness.body in AXES else f"the {witness.body or 'machine'}"
        parts.append(f"{body} meets {witness.obstacle}")
    parts.append(f"in the setup {witness.setup}" if witness.setup else "")
    return ", ".join(part for part in parts if part)


def _closing(report: Report, figures: Figures) -> Iterator[str]:
    yield f"  {report.sentence}"
    if report.second is not None:
        yield f"  {report.second.sentence}"
    if report.assumptions:
        yield "  Assumed:"
        yield from (f"    - {assumption}" for assumption in report.assumptions)
    yield from (f"  {line}" for line in _figures(report.plan, report.trace, figures, verdicts.held_to(report, figures)))


def _figures(plan: Plan, trace: Trace, figures: Figures, held: str) -> Iterator[str]:
    totals = plan.totals
    pauses = f", and {_count(totals.operator_pauses, 'wait')} for the operator" if totals.operator_pauses else ""
    inputs = sum(event.kind is EventKind.INPUT for event in trace.events)
    pauses += f", and {_count(inputs, 'wait')} for an input" if inputs else ""
    time = _with_typical(seconds_spread(totals.seconds), totals.seconds, seconds(totals.seconds.typical))
    yield f"Time {time}{held}{pauses}"
    distances = [
        f"{word} {_with_typical(figures.length_spread(spread), spread, figures.length(spread.typical))}"
        for word, spread in (("rapid", totals.rapid_mm), ("feed", totals.feed_mm))
        if spread.most > 0.0
    ]
    lost = [str(event.line) for event in trace.events if event.kind is EventKind.MOTION_NOT_KNOWN]
    beside = f", and however far {counted('line', lost)} may move, which is not known" if lost else ""
    yield f"Distance {'; '.join(distances) or 'none'}{beside}"
    left = plan.run_on
    yield f"After letting go up to {figures.length(left.millimetres)}: {left.because}"


def _with_typical(text: str, spread: Spread, typical: str) -> str:
    return f"{text}, typically {typical}" if spread.least != spread.most and typical != text else text


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"
