"""Fixes: what is known to help against a finding, offered only where the fixed macro has been proved free of it.

A fix changes the macro's document and nothing else, so it is read, built and proved like anything typed by hand.
``FIXERS`` is the one place to add one.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass

from library import documents, macros
from library.bench import Bench
from library.blocks import REGISTRY
from library.difference import DifferentLine, difference
from library.fields import Units
from library.macros import ANYWHERE, Macro, Step
from library.proving import Proved, prove_macro
from parser.findings import Finding, Severity
from parser.machine import LINEAR, MM_PER_INCH
from parser.motion.modes import UNITS
from parser.proof.rules.modes import departures
from parser.quantities import figure

OWN_LINES = "own-lines"
WORST_FIRST = ("refused", "accepted", "conditional", "proved")
MATTERS = (Severity.REFUSE, Severity.CAUTION)
LEFT_AT_THE_END, LEFT_IN_BETWEEN = "mode-left-changed", "left-if-interrupted"


@dataclass(frozen=True, slots=True)
class Fix:
    """A change that fixes a finding, proved. ``finding`` is its index in the report, None where the start is narrowed.

    ``key`` names it among those of one macro, ``title`` says what it does ("put a raise first"), ``text`` is the
    changed document, ``step`` the step to look at afterwards (0: the head). ``steps`` and ``lines`` compare the
    operations and the lines of the file. ``proved`` has no safe start: it was not sought.
    """

    key: str
    finding: int | None
    title: str
    text: str
    step: int
    steps: tuple[DifferentLine, ...]
    lines: tuple[DifferentLine, ...]
    proved: Proved


@dataclass(frozen=True, slots=True)
class Ailing:
    """A finding on a macro, the macro's text and what is known of it."""

    text: str
    proved: Proved
    finding: Finding


@dataclass(frozen=True, slots=True)
class Candidate:
    """A changed text that may fix a case; ``inserted`` says that ``step`` is a new one."""

    title: str
    text: str
    step: int
    inserted: bool = False


@dataclass(frozen=True, slots=True)
class Fixer:
    """A known remedy for some rules: what may be tried, the best first."""

    id: str
    rules: frozenset[str]
    candidates: Callable[[Ailing], Iterator[Candidate]]


def find(text: str, bench: Bench, proved: Proved) -> tuple[Fix, ...]:
    """The repairs for the findings of a macro whose document is ``text``, in the order of the findings."""
    if proved.problems:
        return ()
    tried: dict[str, Proved] = {}
    found = []
    for index, finding in enumerate(proved.report.findings):
        if finding.severity not in MATTERS:
            continue
        case = Ailing(text, proved, finding)
        for fixer in FIXERS:
            if finding.rule not in fixer.rules:
                continue
            for candidate in fixer.candidates(case):
                if candidate.text not in tried:
                    tried[candidate.text] = _prove(candidate.text, bench)
                after = tried[candidate.text]
                if _fixes(case, candidate, after):
                    key = f"{fixer.id}.{finding.rule}.{finding.step or 0}"
                    found.append(_fix(key, index, candidate, proved, after))
                    break
    return tuple(found)


def start_condition(text: str, bench: Bench, proved: Proved) -> Fix | None:
    """The start condition under which nothing is refused any more, None where there is none or none is needed.

    One that is low down or shut in is none: whoever follows it goes there first, past what it is to keep clear of.
    """
    safe = proved.report.safe_start
    condition = safe.condition
    if proved.problems or not proved.report.refused or not condition or not safe.advised:
        return None
    wanted = narrowed(proved.macro.start, condition)
    candidate = Candidate("require this start", macros.set_header(text, "start", wanted), 0)
    after = _prove(candidate.text, bench)
    if after.problems or after.report.refused:
        return None
    return _fix("start", None, candidate, proved, after)


def narrowed(start: str, condition: str) -> str:
    """A start condition with another added, which takes the place of what it says more strictly."""
    if start.strip().lower() in ("", ANYWHERE):
        return condition
    new = {_face(clause) for clause in _clauses(condition)}
    kept = [clause for clause in _clauses(start) if _face(clause) not in new]
    return " and ".join([*kept, condition])


def _clauses(condition: str) -> list[str]:
    return [clause.strip() for clause in re.split(r"\band\b", condition, flags=re.IGNORECASE)]


def _face(clause: str) -> tuple[str, str]:
    """Axis and side of a clause: ("z", ">")."""
    bare = clause.replace(" ", "").lower()
    return bare[:1], bare[1:2]


# Whether a candidate may be offered


def _prove(text: str, bench: Bench) -> Proved:
    return prove_macro(documents.parse("macro", text), bench, seek_start=False)


def _fixes(case: Ailing, candidate: Candidate, after: Proved) -> bool:
    """Free of the finding, and no worse elsewhere: nothing refused or cautioned more often, no worse verdict.

    A mode that was left changed for good is no worse for being left changed only where a hand lets go before the end,
    although that has a caution of its own.
    """
    before, then = case.proved.report, after.report
    counted, recounted = _kinds(case.proved), _kinds(after)
    kind = (case.finding.rule, case.finding.severity)
    if any(rule == LEFT_AT_THE_END for rule, _ in counted):
        recounted.pop((LEFT_IN_BETWEEN, Severity.CAUTION), None)
    return (
        not after.problems
        and WORST_FIRST.index(then.verdict) >= WORST_FIRST.index(before.verdict)
        and all(recounted[each] <= counted[each] for each in recounted)
        and recounted[kind] < counted[kind]
        and _same(case.finding, candidate) not in {_mark(each, each.step) for each in then.findings}
    )


def _kinds(proved: Proved) -> Counter[tuple[str, Severity]]:
    findings = proved.report.findings
    return Counter((each.rule, each.severity) for each in findings if each.severity in MATTERS)


def _same(finding: Finding, candidate: Candidate) -> tuple[object, ...]:
    """What the finding would be known by if it still stood after the change."""
    step = finding.step
    if step is not None and candidate.inserted and step >= candidate.step:
        step += 1
    return _mark(finding, step)


def _mark(finding: Finding, step: int | None) -> tuple[object, ...]:
    return finding.rule, step, finding.case, finding.witness.obstacle if finding.witness else ""


# What is shown


def _fix(key: str, index: int | None, candidate: Candidate, before: Proved, after: Proved) -> Fix:
    return Fix(
        key,
        index,
        candidate.title,
        candidate.text,
        candidate.step,
        _compared(_operations(before.macro), _operations(after.macro)),
        _compared(before.built.lines, after.built.lines),
        after,
    )


def _compared(old: Iterable[str], new: Iterable[str]) -> tuple[DifferentLine, ...]:
    """What differs, with two lines around each place and dots between the places."""
    return difference("\n".join(old), "\n".join(new), around=2)[1:]


def _operations(macro: Macro) -> Iterator[str]:
    """The operation sheet as plain lines."""
    yield f"Starts from: {macro.start}"
    for step in macro.step:
        words = in_words(step, macro.units)
        yield from (f"Switched off: {words}" if step.off else words).split("\n")


def in_words(step: Step, units: Units) -> str:
    """A step as its sentence with its values in it, defaults in ``units``; hand-written lines stand below it."""
    block = REGISTRY.get(step.block)
    if block is None:
        return step.block
    given = {
        each.name: str(step.values.get(each.name, each.default_in(units))).strip() or each.blank
        for each in block.parameters
    }
    if step.block == OWN_LINES:
        given["lines"] = "".join(f"\n    {line}" for line in _own_lines(step))
    return block.sentence.format_map(given)


# The remedies


def _put_a_raise(case: Ailing) -> Iterator[Candidate]:
    """Raise before anything else; where that does not help, right before the step that needs it."""
    for number in dict.fromkeys((1, case.finding.step or 1)):
        text = macros.add_step(case.text, "raise", {"to": "safe.z"}, number)
        title = "put a raise first" if number == 1 else f"put a raise before step {number}"
        yield Candidate(title, text, number, inserted=True)


def _stop_the_spindle(case: Ailing) -> Iterator[Candidate]:
    """Stop it before anything else; where the macro starts it itself, right before the step that needs it."""
    for number in dict.fromkeys((1, case.finding.step or 1)):
        text = macros.add_step(case.text, "spindle-off", {"wait": "spindle.run_down"}, number)
        where = "first" if number == 1 else f"before step {number}"
        yield Candidate(f"stop the spindle and wait {where}", text, number, inserted=True)


def _restore_modes(case: Ailing) -> Iterator[Candidate]:
    """Resting modes at the end of the last hand-written lines, or in lines of their own after the last step."""
    report, steps = case.proved.report, case.proved.macro.step
    away = departures(report.trace.final, report.trace.before, report.controller.resting)
    words = " ".join(word for _, word in away)
    title = f"put {words} back at the end"
    written = [number for number, step in enumerate(steps, start=1) if step.block == OWN_LINES and not step.off]
    if written:
        lines = _own_lines(steps[written[-1] - 1])
        ended = report.trace.final.line - _first_line(case.proved, written[-1])
        at = ended if report.trace.final.ended and 0 <= ended < len(lines) else len(lines)
        yield Candidate(title, _with_lines(case.text, written[-1], [*lines[:at], words, *lines[at:]]), written[-1])
    text = macros.add_step(case.text, OWN_LINES, {"lines": words})
    yield Candidate(title, text, len(steps) + 1, inserted=True)


def _add_feed(case: Ailing) -> Iterator[Candidate]:
    """The rate of a first run: as an F word on the hand-written line, or as the feed of the step."""
    step, line = case.finding.step, case.finding.line
    rate = _careful_rate(case)
    if step is None or line is None or rate is None:
        return
    used = case.proved.macro.step[step - 1]
    block = REGISTRY.get(used.block)
    feed = block.parameter("feed") if block else None
    if used.block == OWN_LINES:
        word = f"F{figure(rate)}"
        lines = _own_lines(used)
        at = line - _first_line(case.proved, step)
        end = case.proved.report.program.lines[line - 1].words[-1].end - 1
        lines[at] = f"{lines[at][:end].rstrip()} {word}{lines[at][end:]}"
        yield Candidate(f"add {word}", _with_lines(case.text, step, lines), step)
    elif feed is not None and feed.kind == "rate":
        value = f"{figure(rate)} {'in/min' if _in_inches(case) else 'mm/min'}"
        yield Candidate(f"feed at {value}", macros.set_step_value(case.text, step, "feed", value), step)


def _careful_rate(case: Ailing) -> float | None:
    """The first-run rate of the controller sheet, or what the axes can do, in units in force; None where not known."""
    report = case.proved.report
    move = next((move for move in report.trace.moves if move.line == case.finding.line), None)
    axes = [report.machine.axis(name) for name in move.moving] if move else []
    rates = [axis.rapid for axis in axes if axis is not None]
    if not rates or _units(case) is None:
        return None
    rate = min(report.controller.first_run_rate, *rates)
    linear = any(axis is not None and axis.name in LINEAR for axis in axes)
    return rate / MM_PER_INCH if linear and _in_inches(case) else rate


def _units(case: Ailing) -> str | None:
    states = case.proved.report.trace.states
    return next((state.modes.get(UNITS) for state in states if state.line == case.finding.line), None)


def _in_inches(case: Ailing) -> bool:
    return _units(case) == "G20"


def _own_lines(step: Step) -> list[str]:
    """The hand-written lines of a step as they are put into the file."""
    return str(step.values.get("lines", "")).replace("\r\n", "\n").strip("\n").split("\n")


def _with_lines(text: str, number: int, lines: list[str]) -> str:
    return macros.set_step_value(text, number, "lines", "\n".join(lines))


def _first_line(proved: Proved, step: int) -> int:
    return min((line for line, number in proved.built.steps.items() if number == step), default=0)


FIXERS: tuple[Fixer, ...] = (
    Fixer("raise", frozenset({"crosses-keep-out", "enters-enclosure", "crossing-not-raised"}), _put_a_raise),
    Fixer("restore-modes", frozenset({"mode-left-changed"}), _restore_modes),
    Fixer("add-feed", frozenset({"feed-not-set"}), _add_feed),
    Fixer("stop-spindle", frozenset({"moves-with-spindle-on"}), _stop_the_spindle),
)
"""Every known remedy, in the order in which they are offered for a finding."""


def by_finding(offered: tuple[Fix, ...]) -> Mapping[int, tuple[Fix, ...]]:
    """The fixes of each finding, by its index in the report."""
    found: dict[int, tuple[Fix, ...]] = {}
    for fix in offered:
        if fix.finding is not None:
            found[fix.finding] = (*found.get(fix.finding, ()), fix)
    return found
