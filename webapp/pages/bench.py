"""What the bench shows, row by row, put together from a proved macro: no motion, no storage, no markup."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from string import Formatter

import tomlkit

from library.blocks import REGISTRY, Block, Parameter, Value
from library.blocks.block import FORMULA_KINDS
from library.blocks.rows import RowValues
from library.fields import Units
from library.hand_rate import OFFERED
from library.macros import Step
from library.proving import Proved
from library.sheets import PendantSheet
from parser.findings import Finding, Severity
from parser.machine import AXES, ROTARY
from parser.motion.places import in_words
from parser.quantities import Figures, seconds_spread
from parser.report import Report
from parser.times.timing import NOTHING
from webapp.pages import accepting
from webapp.pages.editing import Edited, as_typed, field_label, field_name
from webapp.pages.summary import HEAD_LABELS, sentence

SEVERITY_WORDS = {Severity.REFUSE: "refused", Severity.CAUTION: "caution", Severity.NOTE: "note"}
STANDING = {
    "figures-invented": "figures are invented",
    "not-referenced": "home first",
    "release-does-not-stop": "letting go does not stop what was sent",
}
"""Rules whose cautions say the same of every macro that moves, in the few words of the one line they are told in."""
WAITS = {
    "pause": "waits for you",
    "home-at-panel": "waits for you to home it",
    "home-afterwards": "you home it once it has ended",
    "homing": "homing takes its own time",
    "by-hand": "waits while you raise the spindle by hand",
    "motion-not-known": "moves an unknown distance",
    "tool-change": "waits for the tool",
    "input": "waits for an input, for how long nobody knows",
}


@dataclass(frozen=True, slots=True)
class Field:
    """One value of a step as a blank to fill in. ``hint`` is what a formula comes to, ``problem`` what is wrong."""

    name: str
    id: str
    kind: str
    dimension: str
    value: str
    label: str
    help: str
    blank: str
    choices: tuple[str, ...]
    hint: str
    problem: str

    @property
    def rows(self) -> int:
        """Height of the blank in lines, where it holds several."""
        return min(max(self.value.count("\n") + 1, 3), 20)

    @property
    def columns(self) -> int:
        """Width of the blank in characters."""
        return min(max(len(self.value), len(self.blank), 6) + 1, 34)


@dataclass(frozen=True, slots=True)
class LinePiece:
    """A piece of a step's sentence as it reads in one line: words, or a value with what it comes to beside it."""

    text: str
    value: bool = False
    comes_to: str = ""


@dataclass(frozen=True, slots=True)
class StepRow:
    """One operation. ``pieces`` is its sentence, words and fields in turn; ``line`` is that sentence to be read.

    ``ends`` pairs each axis that the step has moved with its place. ``off`` tells a step that is kept and not used.
    """

    number: int
    block: str
    title: str
    pieces: tuple[str | Field, ...]
    line: tuple[LinePiece, ...]
    note: str
    caution: str
    ends: tuple[tuple[str, str], ...]
    time: str
    waits: tuple[str, ...]
    problem: str
    shape: str
    off: bool

    @property
    def ailing(self) -> bool:
        """Whether it cannot be written as it is."""
        return bool(self.problem) or any(isinstance(piece, Field) and piece.problem for piece in self.pieces)


@dataclass(frozen=True, slots=True)
class FindingRow:
    """A finding as it is listed; ``index`` counts from 0 in the report, ``where`` says step and line in words.

    ``witness`` is a case that shows it, "" where there is none or the message tells it already. ``key`` names it in ids
    and forms and stays the same while other findings come and go. ``acceptance`` is "offered" for a refusal that may be
    accepted, "never" for one that may not, "" for anything else; ``alike`` counts the refusals of its rule.
    """

    index: int
    key: str
    found: Finding
    word: str
    where: str
    witness: str
    acceptance: str
    alike: int

    @property
    def standing(self) -> bool:
        """Whether it is a caution that holds for every macro of the pendant alike."""
        return self.found.rule in STANDING and self.found.severity is Severity.CAUTION

    @property
    def said(self) -> str:
        """A standing caution in a few words, "" for any other."""
        return STANDING.get(self.found.rule, "")


@dataclass(frozen=True, slots=True)
class LineRow:
    """One line of the text; ``shape`` is that of the gravest finding on it, "" where there is none.

    ``pieces`` are its text taken apart, each with whether that finding is about it.
    """

    number: int
    text: str
    step: int | None
    shape: str
    pieces: tuple[tuple[str, bool], ...] = ()


def step_rows(proved: Proved, figures: Figures) -> tuple[StepRow, ...]:
    """The operation sheet."""
    return tuple(_step_row(proved, number, step, figures) for number, step in enumerate(proved.macro.step, start=1))


def _step_row(proved: Proved, number: int, step: Step, figures: Figures) -> StepRow:
    report, built = proved.report, proved.built
    block = REGISTRY.get(step.block)
    problems = {problem.parameter: problem.message for problem in built.problems if problem.step == number}
    fields, axes = block.fields if block else (), report.machine.names
    pieces = tuple(_pieces(number, step, block, built.values[number - 1], problems, proved.macro.units, figures, axes))
    return StepRow(
        number=number,
        block=step.block,
        title=block.title if block else step.block,
        pieces=pieces,
        line=tuple(_said(pieces)),
        note=sentence(built.notes[number - 1]),
        caution=block.caution if block else "",
        ends=_ends(report, number, figures),
        time=_time(report, number),
        waits=tuple(
            dict.fromkeys(
                WAITS[event.kind]
                for event in report.trace.events
                if event.kind in WAITS and report.steps.get(event.line) == number
            )
        ),
        problem="; ".join(message for name, message in problems.items() if name not in fields),
        shape=_gravest(finding for finding in report.findings if finding.step == number),
        off=step.off,
    )


LENGTH_ALONE = re.compile(r"-?[\d.]+ *(mm|in)")
"""A length with its unit, which one line says in the units of the sheet alone."""


def _said(pieces: Sequence[str | Field]) -> Iterator[LinePiece]:
    """The sentence of a step in one line; of several lines the first, and how many more there are."""
    for piece in pieces:
        if isinstance(piece, str):
            yield LinePiece(piece)
            continue
        first, *more = [line for line in piece.value.split("\n") if line.strip()] or [piece.blank or "..."]
        comes_to = "" if piece.hint == f"= {first}" else piece.hint
        if comes_to and LENGTH_ALONE.fullmatch(first):
            first, comes_to = comes_to.removeprefix("= "), ""
        yield LinePiece(first, True, f"and {len(more)} more" if more else comes_to)


def _pieces(
    number: int,
    step: Step,
    block: Block | None,
    values: Mapping[str, Value],
    problems: Mapping[str, str],
    units: Units,
    figures: Figures,
    axes: Collection[str],
) -> Iterator[str | Field]:
    """The sentence of a step, without what is for axes that the machine does not have while nothing is typed."""
    if block is None:
        yield step.block
        return
    for words, name, _, _ in Formatter().parse(block.sentence):
        parameter = block.parameter(name) if name else None
        if parameter and parameter.idle_on(axes, step.values.get(parameter.name)):
            continue
        if words:
            yield words
        if parameter:
            yield Field(
                name=field_name(number, parameter.name),
                id=f"step-{number}-{parameter.name}",
                kind="formula" if parameter.kind in FORMULA_KINDS else parameter.kind,
                dimension=parameter.kind,
                value=as_typed(step.values.get(parameter.name, parameter.default_in(units))),
                label=field_label(number, block.title, parameter.name),
                help=parameter.help,
                blank=parameter.blank,
                choices=parameter.choices,
                hint=_hint(parameter, values.get(parameter.name), figures),
                problem=problems.get(parameter.name, ""),
            )


def _hint(parameter: Parameter, value: Value, figures: Figures) -> str:
    if parameter.columns is not None and isinstance(value, RowValues):
        rows = (zip(parameter.columns.of, row, strict=False) for row in value.values)
        told = (", ".join(figures.value(dimension, each) for dimension, each in row) for row in rows)
        return "; ".join(f"{number}: {row}" for number, row in enumerate(told, start=1))
    if parameter.kind not in FORMULA_KINDS or not isinstance(value, float | int):
        return ""
    return f"= {figures.value(parameter.kind, value)}"


def waits(report: Report) -> tuple[str, ...]:
    """What a macro waits for beside the time that is worked out, each once."""
    return tuple(dict.fromkeys(WAITS[event.kind] for event in report.trace.events if event.kind in WAITS))


def _ends(report: Report, step: int, figures: Figures) -> tuple[tuple[str, str], ...]:
    last = max((line for line, of in report.steps.items() if of <= step), default=0)
    first = min((line for line, of in report.steps.items() if of == step), default=last + 1)
    before, after = report.trace.place_after(first - 1), report.trace.place_after(last)
    moved = {axis: in_words(axis, at, figures) for axis, at in after.items() if at != before.get(axis)}
    return tuple((axis.upper(), f"{place}°" if axis in ROTARY else place) for axis, place in moved.items())


def _time(report: Report, step: int) -> str:
    pairs = zip(report.trace.moves, report.plan.timings, strict=True)
    spent = [timing.seconds for move, timing in pairs if report.steps.get(move.line) == step]
    return seconds_spread(sum(spent, NOTHING)) if spent else ""


def _gravest(findings: Iterator[Finding] | Sequence[Finding]) -> str:
    found = {finding.severity for finding in findings}
    return next((str(severity) for severity in Severity if severity in found), "")


def finding_keys(report: Report) -> tuple[str, ...]:
    """A key for each finding: its rule, its step, and which of these it is."""
    met: Counter[str] = Counter()
    keys = []
    for finding in report.findings:
        of = f"{finding.rule}-{finding.step or 0}"
        met[of] += 1
        keys.append(f"{of}-{met[of]}")
    return tuple(keys)


def finding_rows(report: Report, figures: Figures) -> tuple[FindingRow, ...]:
    """The findings, refusals first, then in the order of the lines."""
    order = {severity: rank for rank, severity in enumerate(Severity)}
    keys = finding_keys(report)
    refused = Counter(finding.rule for finding in report.findings if finding.severity is Severity.REFUSE)
    numbered = sorted(enumerate(report.findings), key=lambda pair: (order[pair[1].severity], pair[1].line or 0))
    return tuple(
        FindingRow(
            index=index,
            key=keys[index],
            found=finding,
            word=SEVERITY_WORDS[finding.severity],
            where=_where(finding),
            witness=_witness(finding, figures),
            acceptance=_acceptance(finding),
            alike=refused[finding.rule],
        )
        for index, finding in numbered
    )


def _acceptance(finding: Finding) -> str:
    if finding.severity is not Severity.REFUSE:
        return ""
    return "offered" if accepting.may_accept(finding.rule) else "never"


def what_is_shown(finding: Finding) -> str:
    """A finding with a witness in a few words: "nose meets Vise", "Y leaves its travel"; else the name of its rule."""
    witness = finding.witness
    if witness is None or not (witness.body and (witness.obstacle or witness.body in AXES)):
        return finding.rule
    if witness.body in AXES:
        return f"{witness.body.upper()} leaves its travel"
    return f"{witness.body} meets {witness.obstacle}"


def _where(finding: Finding) -> str:
    parts = [f"step {finding.step}" if finding.step else "", f"line {finding.line}" if finding.line else ""]
    return ", ".join(part for part in [*parts, finding.case or ""] if part)


def _witness(finding: Finding, figures: Figures) -> str:
    witness = finding.witness
    if witness is None or finding.shows_case:
        return ""
    start = " ".join(f"{axis.upper()} {figures.coordinate(axis, value)}" for axis, value in witness.start.items())
    tool = ""
    if witness.tool:
        long, across = figures.length(witness.tool.length, 3), figures.length(2 * witness.tool.radius, 3)
        tool = f" with a tool {long} long, {across} across"
    setup = f" ({witness.setup})" if witness.setup else ""
    return f"For example from {start}{tool}{setup}." if start else ""


def line_rows(report: Report, head: Sequence[str] = ()) -> tuple[LineRow, ...]:
    """Every line of the text that will be written; ``head`` is what its first comments say once it is proved."""
    said = dict(enumerate(head, start=2 if report.controller.percent else 1))
    found: dict[int | None, list[Finding]] = {}
    for finding in report.findings:
        found.setdefault(finding.line, []).append(finding)
    return tuple(
        LineRow(
            number=line.number,
            text=said.get(line.number, line.text),
            step=report.steps.get(line.number),
            shape=_gravest(found.get(line.number, [])),
            pieces=_marked(said.get(line.number, line.text), found.get(line.number, [])),
        )
        for line in report.program.lines
    )


def _marked(text: str, findings: Sequence[Finding]) -> tuple[tuple[str, bool], ...]:
    """A line with what its gravest finding is about set apart; all of it where a refusal names no column."""
    if not findings:
        return ((text, False),)
    grave = _gravest(findings)
    finding = next(finding for finding in findings if _gravest([finding]) == grave)
    if finding.column is None or finding.end is None:
        return ((text, finding.severity is Severity.REFUSE),)
    begin, end = finding.column - 1, finding.end - 1
    return ((text[:begin], False), (text[begin:end], True), (text[end:], False))


@dataclass(frozen=True, slots=True)
class HeadField:
    """A field of the macro itself: its name in the form and the document, its label, and what it comes to."""

    name: str
    label: str
    value: str
    hint: str
    problem: str
    offered: str = ""

    @property
    def id(self) -> str:
        """Id of the field on the page."""
        return f"head-{self.name}"


def header_fields(proved: Proved, edited: Edited, figures: Figures) -> tuple[HeadField, ...]:
    """Name, start and purpose, with what was typed where it could not be used."""
    macro = proved.macro
    amiss = {problem.parameter: problem.message for problem in proved.problems if problem.step is None}
    hints = {"start": _start_in_words(proved, figures), "hand_rate": _hand_rate_in_words(proved, figures)}
    offered = {"hand_rate": figures.rate(OFFERED)}
    return tuple(
        HeadField(
            name=name,
            label=label,
            value=edited.typed.get(name, getattr(macro, name)),
            hint=hints.get(name, ""),
            problem=edited.problems.get(name, amiss.get(name, "")),
            offered=offered.get(name, ""),
        )
        for name, label in HEAD_LABELS.items()
    )


def _hand_rate_in_words(proved: Proved, figures: Figures) -> str:
    rate = proved.report.hand_rate
    if rate is None:
        return f"as fast as it can; {figures.rate(OFFERED)} is usual by hand (memory)"
    return f"no axis faster than {figures.rate(rate)}"


def _start_in_words(proved: Proved, figures: Figures) -> str:
    report = proved.report
    narrowed = [
        f"{axis.name.upper()} {figures.interval(axis.name, report.start[axis.name])}"
        for axis in report.machine.axes
        if axis.name in report.start and report.start[axis.name] != axis.travel
    ]
    if not narrowed:
        return "any position in travel"
    return ", ".join(narrowed) + ("; the pendant cannot check this" if proved.macro.conditioned else "")


@dataclass(frozen=True, slots=True)
class SlotChoice:
    """A spare position at an increment; ``macro`` is the id of what is on it now, "" for nothing."""

    position: str
    increment: str
    macro: str

    @property
    def value(self) -> str:
        """How the form names it."""
        return f"{self.increment} {self.position}"


def slot_choices(pendant: PendantSheet) -> tuple[SlotChoice, ...]:
    """Every slot that the pendant offers, taken or not."""
    return tuple(
        SlotChoice(position.label, increment, pendant.slots.get(position.label, {}).get(increment, ""))
        for position in pendant.spare()
        for increment in pendant.increments
    )


def new_macro(name: str, macro_id: str, units: Units) -> str:
    """The text of a macro without steps, whose bare numbers are in the units of the machine sheet."""
    head = {"format": "clickstop-macro/1", "id": macro_id, "name": name, "purpose": "", "units": units}
    return tomlkit.dumps(head | {"start": "anywhere"})
