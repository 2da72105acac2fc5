"""What the bench shows, row by row, put together from a proved macro: no motion, no storage, no markup."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from string import Formatter

import tomlkit

from library import verdicts
from library.blocks import REGISTRY, Block, Parameter, Value
from library.blocks.block import FORMULA_KINDS
from library.build import Problem
from library.fields import Units
from library.formulas import Landmarks
from library.macros import Step
from library.proving import Proved
from library.sheets import PendantSheet
from parser.findings import Finding, Severity
from parser.machine import AXES
from parser.motion.moves import Event
from parser.motion.places import in_words
from parser.quantities import Figures, counted, seconds, seconds_spread
from parser.report import Report
from parser.times.timing import NOTHING, Spread
from webapp.pages import accepting
from webapp.pages.editing import Edited, as_typed, field_name

SEVERITY_WORDS = {Severity.REFUSE: "refused", Severity.CAUTION: "caution", Severity.NOTE: "note"}
HEAD_LABELS = {"name": "Name", "start": "Starts from", "purpose": "Purpose"}
VERDICT_SHAPES = {"proved": "proved", "conditional": "caution", "accepted": "caution", "refused": "refuse"}
PROOF_RESTS_ON = "It holds if each of these is true today:"
ACCEPTED_RESTS_ON = "What else was checked still assumes, today:"
WAITS = {
    "pause": "waits for you",
    "home-at-panel": "waits for you to home it",
    "homing": "homing takes its own time",
    "by-hand": "waits while you raise the spindle by hand",
    "motion-not-known": "moves an unknown distance",
    "tool-change": "waits for the tool",
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
class StepRow:
    """One operation. ``pieces`` is its sentence, words and fields in turn; ``ends`` pairs an axis with its place."""

    number: int
    block: str
    title: str
    pieces: tuple[str | Field, ...]
    note: str
    ends: tuple[tuple[str, str], ...]
    time: str
    waits: tuple[str, ...]
    problem: str
    shape: str


@dataclass(frozen=True, slots=True)
class FindingRow:
    """One finding; ``index`` counts from 0 in the report, ``where`` says step and line in words.

    ``witness`` is a case that shows it, "" where there is none or the message tells it already. ``key`` names it in ids
    and forms and stays the same while other findings come and go. ``acceptance`` is "offered" for a refusal that may be
    accepted, "never" for one that may not, "" for anything else; ``alike`` counts the refusals of its rule.
    """

    index: int
    key: str
    severity: str
    shape: str
    rule: str
    message: str
    remedy: str
    where: str
    line: int | None
    step: int | None
    witness: str
    drawn: bool
    acceptance: str
    alike: int


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


@dataclass(frozen=True, slots=True)
class Summary:
    """The verdict, and the figures of the whole macro as pairs; ``ready`` is False while values are amiss.

    ``claim`` is the sentence for a page that lists the assumptions below it, ``lead`` what to say before these; there
    are none to list under a refusal. ``reservations`` are sentences that belong beside the word wherever it stands.
    """

    shape: str
    word: str
    sentence: str
    claim: str
    lead: str
    reservations: tuple[str, ...]
    assumptions: tuple[str, ...]
    figures: tuple[tuple[str, str], ...]
    safe_start: str
    ready: bool


def step_rows(proved: Proved, figures: Figures) -> tuple[StepRow, ...]:
    """The operation sheet."""
    return tuple(_step_row(proved, number, step, figures) for number, step in enumerate(proved.macro.step, start=1))


def _step_row(proved: Proved, number: int, step: Step, figures: Figures) -> StepRow:
    report, built = proved.report, proved.built
    block = REGISTRY.get(step.block)
    problems = {problem.parameter: problem.message for problem in built.problems if problem.step == number}
    fields = block.fields if block else ()
    return StepRow(
        number=number,
        block=step.block,
        title=block.title if block else step.block,
        pieces=tuple(_pieces(number, step, block, built.values[number - 1], problems, proved.macro.units, figures)),
        note=_sentence(built.notes[number - 1]),
        ends=_ends(report, number, figures),
        time=_time(report, number),
        waits=tuple(WAITS[event.kind] for event in _events(report, number) if event.kind in WAITS),
        problem="; ".join(message for name, message in problems.items() if name not in fields),
        shape=_gravest(finding for finding in report.findings if finding.step == number),
    )


def _pieces(
    number: int,
    step: Step,
    block: Block | None,
    values: Mapping[str, Value],
    problems: Mapping[str, str],
    units: Units,
    figures: Figures,
) -> Iterator[str | Field]:
    if block is None:
        yield step.block
        return
    for words, name, _, _ in Formatter().parse(block.sentence):
        if words:
            yield words
        parameter = block.parameter(name) if name else None
        if parameter:
            yield Field(
                name=field_name(number, parameter.name),
                id=f"step-{number}-{parameter.name}",
                kind="formula" if parameter.kind in FORMULA_KINDS else parameter.kind,
                dimension=parameter.kind,
                value=as_typed(step.values.get(parameter.name, parameter.default_in(units))),
                label=f"Step {number}, {block.title}: {parameter.name}",
                help=parameter.help,
                blank=parameter.blank,
                choices=parameter.choices,
                hint=_hint(parameter, values.get(parameter.name), figures),
                problem=problems.get(parameter.name, ""),
            )


def _hint(parameter: Parameter, value: Value, figures: Figures) -> str:
    if parameter.kind not in FORMULA_KINDS or not isinstance(value, float | int):
        return ""
    return f"= {figures.value(parameter.kind, value)}"


def _events(report: Report, step: int) -> Iterator[Event]:
    return (event for event in report.trace.events if report.steps.get(event.line) == step)


def waits(report: Report) -> tuple[str, ...]:
    """What a macro waits for beside the time that is worked out, each once."""
    return tuple(dict.fromkeys(WAITS[event.kind] for event in report.trace.events if event.kind in WAITS))


def _ends(report: Report, step: int, figures: Figures) -> tuple[tuple[str, str], ...]:
    last = max((line for line, of in report.steps.items() if of <= step), default=0)
    place = report.trace.place_after(last)
    return tuple((axis.upper(), in_words(axis, at, figures)) for axis, at in place.items())


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
            severity=SEVERITY_WORDS[finding.severity],
            shape=str(finding.severity),
            rule=finding.rule,
            message=finding.told,
            remedy=finding.remedy,
            where=_where(finding),
            line=finding.line,
            step=finding.step,
            witness=_witness(finding, figures),
            drawn=finding.witness is not None,
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


def line_rows(report: Report) -> tuple[LineRow, ...]:
    """Every line of the text that will be written."""
    found: dict[int | None, list[Finding]] = {}
    for finding in report.findings:
        found.setdefault(finding.line, []).append(finding)
    return tuple(
        LineRow(
            number=line.number,
            text=line.text,
            step=report.steps.get(line.number),
            shape=_gravest(found.get(line.number, [])),
            pieces=_marked(line.text, found.get(line.number, [])),
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


def summary(proved: Proved, figures: Figures) -> Summary:
    """The verdict with its assumptions, and the figures of the whole macro."""
    report = proved.report
    problems = proved.problems
    word = "Not ready" if problems else verdict_word(proved)
    told = _amiss(problems) if problems else report.sentence
    return Summary(
        shape="refuse" if problems else VERDICT_SHAPES[report.verdict],
        word=word,
        sentence=told,
        claim=told if problems else f"{report.claim.removeprefix(f'{word} ')}.",
        lead=ACCEPTED_RESTS_ON if report.verdict == "accepted" else PROOF_RESTS_ON,
        reservations=() if problems else tuple(reservations(proved)),
        assumptions=() if problems or report.refused else report.assumptions,
        figures=tuple(_totals(report, figures)),
        safe_start=report.safe_start.sentence,
        ready=not problems,
    )


def verdict_word(proved: Proved) -> str:
    """The verdict as every page names it."""
    return verdicts.in_words(proved.report)


def reservations(proved: Proved) -> Iterator[str]:
    """What a verdict that is not a plain one leaves to the reader, one sentence each without a full stop."""
    report = proved.report
    if report.refused:
        return
    yield from accepting.reasons(proved)
    if proved.macro.conditioned:
        yield f"Only where {proved.macro.start.strip()}: the pendant cannot check this"
    undecided = verdicts.left_open(report)
    if undecided and report.verdict == "accepted":
        what = "something" if None in undecided else verdicts.named(undecided)
        yield f"{what[0].upper()}{what[1:]} could not be decided"


def unusable(summary: Summary, typed: Iterable[str]) -> Summary:
    """A summary for a page with fields that no document can hold: its verdict would be taken for one on those."""
    names = " and ".join(HEAD_LABELS.get(name, name) for name in typed)
    told = f"“{names}” cannot be used as typed. Below is the macro as it was kept."
    return replace(
        summary,
        shape="refuse",
        word="Not ready",
        sentence=told,
        claim=told,
        reservations=(),
        assumptions=(),
        ready=False,
    )


def _amiss(problems: Sequence[Problem]) -> str:
    whole = [problem.message for problem in problems if problem.step is None]
    steps = dict.fromkeys(problem.step for problem in problems if problem.step is not None)
    if steps:
        where = counted("step", [str(step) for step in steps])
        whole.append(f"{where} cannot be written yet; the rest is shown as far as it goes")
    return _sentence("; ".join(whole))


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}." if text else ""


def _totals(report: Report, figures: Figures) -> Iterator[tuple[str, str]]:
    totals, run_on = report.plan.totals, report.plan.run_on
    yield "Time", _with_typical(seconds_spread(totals.seconds), seconds(totals.seconds.typical), totals.seconds)
    if totals.operator_pauses:
        yield "Waits for you", "once" if totals.operator_pauses == 1 else f"{totals.operator_pauses} times"
    yield (
        "Rapid",
        _with_typical(figures.length_spread(totals.rapid_mm), figures.length(totals.rapid_mm.typical), totals.rapid_mm),
    )
    if totals.feed_mm.most:
        yield (
            "Feed",
            _with_typical(
                figures.length_spread(totals.feed_mm), figures.length(totals.feed_mm.typical), totals.feed_mm
            ),
        )
    stops = "" if run_on.stops else "; letting go stops nothing"
    yield "Run-on", f"up to {figures.length(run_on.millimetres)}, {seconds(run_on.seconds)}{stops}"


def _with_typical(reach: str, typical: str, spread: Spread) -> str:
    return reach if spread.least == spread.most else f"{reach}, typically {typical}"


@dataclass(frozen=True, slots=True)
class HeadField:
    """A field of the macro itself: its name in the form and the document, its label, and what it comes to."""

    name: str
    label: str
    value: str
    hint: str
    problem: str

    @property
    def id(self) -> str:
        """Id of the field on the page."""
        return f"head-{self.name}"


def header_fields(proved: Proved, edited: Edited, figures: Figures) -> tuple[HeadField, ...]:
    """Name, start and purpose, with what was typed where it could not be used."""
    macro = proved.macro
    amiss = {problem.parameter: problem.message for problem in proved.problems if problem.step is None}
    hints = {"start": _start_in_words(proved, figures)}
    return tuple(
        HeadField(
            name=name,
            label=label,
            value=edited.typed.get(name, getattr(macro, name)),
            hint=hints.get(name, ""),
            problem=edited.problems.get(name, amiss.get(name, "")),
        )
        for name, label in HEAD_LABELS.items()
    )


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


def menu() -> tuple[tuple[str, tuple[Block, ...]], ...]:
    """The blocks by family, as the list to add a step from shows them."""
    families = dict.fromkeys(block.family for block in REGISTRY.values())
    return tuple((family, tuple(block for block in REGISTRY.values() if block.family == family)) for family in families)


def landmark_lists(landmarks: Landmarks, figures: Figures) -> tuple[tuple[str, tuple[tuple[str, str], ...]], ...]:
    """The landmarks a formula may name with their values, by dimension."""
    found: dict[str, list[tuple[str, str]]] = {}
    for name, quantity in landmarks.items():
        found.setdefault(quantity.dimension, []).append((name, figures.value(quantity.dimension, quantity.value)))
    return tuple((dimension, tuple(marks)) for dimension, marks in found.items())


def new_macro(name: str, macro_id: str, units: Units) -> str:
    """The text of a macro without steps, whose bare numbers are in the units of the machine sheet."""
    head = {"format": "clickstop-macro/1", "id": macro_id, "name": name, "purpose": "", "units": units}
    return tomlkit.dumps(head | {"start": "anywhere"})
