"""The two proofs compared: what the rules refuse beside what a solver says of the same moves.

Both know the first line on which something is met. So they differ where the solver has a case, by more than a
millionth of a mm, on a line before the first that is refused, or where none is; and where it has none on the line that
is refused.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from parser.findings import Finding, Severity
from parser.language.program import Program
from parser.limits import RULE as OVER_LIMIT
from parser.machine import Controller, Interval, Machine, Setup
from parser.motion.moves import Trace
from parser.opinion import Disagreement, Outcome, SecondOpinion, Undecided
from parser.progress import Progress, unheard
from parser.proof.rules.twice import SecondOpinionDiffers
from parser.proof.second import solver
from parser.proof.second.questions import Followed, Questions, questions
from parser.proof.second.solver import Answer
from parser.proof.second.things import TRAVEL, End, ToldUnder

Told = tuple[ToldUnder, int | None]
"""What a refusal is told under: what is met, and for an end of travel on which line: those are told line by line."""


@dataclass(slots=True)
class _Line:
    """What the solver says of one thing on one line, over all moves, setups and switches."""

    hits: Answer | None = None
    clear: bool = True
    plain: bool = True
    whole: bool = True


@dataclass(slots=True)
class _OfThing:
    """The same by line, and what the thing is called."""

    name: str = ""
    by_line: dict[int, _Line] = field(default_factory=dict)


Follow = Callable[[Setup, bool], Trace]
"""What follows the program in a setup, with the block delete switch on or off."""


@dataclass(frozen=True, slots=True)
class Twofold:
    """What is proved a second time: a program on a machine, from a box of starts, and how it is followed."""

    program: Program
    machine: Machine
    controller: Controller
    start: Mapping[str, Interval]
    follow: Follow


def second_opinion(
    about: Twofold, found: Sequence[Finding], progress: Progress = unheard, *, said: SecondOpinion | None = None
) -> SecondOpinion:
    """What a solver says of a program, beside what the rules have ``found``, nothing of it lowered.

    The program is followed anew, in every setup and position of the switch. Where it has been ``said`` before what the
    solver answered, that is taken and nothing is asked; what is asked, and what is not, is worked out all the same.
    Raises NoSolverError where the solver is needed and not installed, and what ``progress`` raises.
    """
    if said is None:
        solver.load()
    asked = questions(about.machine, list(_cases(about)))
    if said is not None:
        return _as_said(said, about, asked)
    answers = solver.answers(asked, progress)
    told = _by_thing(asked, answers)
    refused = _refused(found)
    finished = not any(finding.rule == OVER_LIMIT for finding in found)
    in_part = {each.line for each in asked.not_asked}
    differences = tuple(_differences(told, refused, in_part)) if finished else ()
    undecided = tuple(dict.fromkeys(_undecided(asked, answers)))
    not_asked = tuple(sorted(asked.not_asked, key=lambda each: each.line))
    twice = sum(
        any(line.hits and number == first for number, line in told[key].by_line.items())
        for key, lines in refused.items()
        if key in told
        for first in (min(lines),)
    )
    outcome: Outcome = "differs" if differences else "in part" if undecided or not_asked else "agreed"
    in_order = (answer for row in answers for answer in row)
    again = tuple(number for number, answer in enumerate(in_order, 1) if answer.meets is not False)
    return SecondOpinion(
        outcome if finished else "not compared",
        asked.count,
        twice,
        not_asked,
        undecided,
        differences,
        again,
        asked.text(_heading(about), set(again)),
        asked.text([*_heading(about), *_to_send(about, differences)], set(again)) if differences else "",
    )


def _as_said(said: SecondOpinion, about: Twofold, asked: Questions) -> SecondOpinion:
    """What was said of the answers, with the questions as they are: what is asked and what not is never believed."""
    not_asked = tuple(sorted(asked.not_asked, key=lambda each: each.line))
    left_open: Outcome = "in part" if said.undecided or not_asked else "agreed"
    return replace(
        said,
        outcome=said.outcome if said.outcome in ("differs", "not compared") else left_open,
        questions=asked.count,
        not_asked=not_asked,
        text=asked.text(_heading(about), set(said.asked_again)),
    )


def findings(opinion: SecondOpinion) -> Iterator[Finding]:
    """The refusals that a second opinion comes to: one for each thing that the two differ about."""
    for each in opinion.differences:
        yield SecondOpinionDiffers.about(each)


def _cases(about: Twofold) -> Iterator[Followed]:
    switched = any(line.block_delete for line in about.program.lines)
    for on in (False, True) if switched else (False,):
        for setup in about.machine.setups:
            name = [f"setup {setup.name}" if len(about.machine.setups) > 1 else ""]
            name += [f"block delete {'on' if on else 'off'}" if switched else ""]
            yield Followed(", ".join(part for part in name if part), setup, about.follow(setup, on))


def _by_thing(asked: Questions, answers: Sequence[Sequence[Answer]]) -> dict[Told, _OfThing]:
    """The answers by what is met, then by line. A line is not whole where a move of it was not asked about in full."""
    told: defaultdict[Told, _OfThing] = defaultdict(_OfThing)
    in_part = {each.line for each in asked.not_asked}
    for each, row in zip(asked.asked, answers, strict=True):
        for question, answer in zip(each.questions, row, strict=True):
            lines = told[question.key, each.way.line if isinstance(question.subject, End) else None]
            lines.name = question.name
            line = lines.by_line.setdefault(each.way.line, _Line(whole=each.way.line not in in_part))
            line.plain = line.plain and each.way.plain
            line.clear = line.clear and answer.meets is False
            if answer.by_touch:
                line.hits = line.hits or answer
    return told


def _undecided(asked: Questions, answers: Sequence[Sequence[Answer]]) -> Iterator[Undecided]:
    for each, row in zip(asked.asked, answers, strict=True):
        for question, answer in zip(each.questions, row, strict=True):
            if answer.meets is None or (answer.meets and answer.by_touch is None):
                yield Undecided(each.way.line, question.name)


def _refused(found: Sequence[Finding]) -> Mapping[Told, list[int]]:
    """The lines of the refusals that a second opinion can be about, by what is met."""
    refused: defaultdict[Told, list[int]] = defaultdict(list)
    for finding in found:
        if finding.witness is None or finding.line is None or finding.severity is not Severity.REFUSE:
            continue
        body, obstacle = finding.witness.body, finding.witness.obstacle
        if finding.rule == TRAVEL:
            key = ToldUnder(TRAVEL, obstacle if finding.cause == "limit" else body)
            refused[key, None if finding.cause == "limit" else finding.line].append(finding.line)
        else:
            refused[ToldUnder(finding.rule, obstacle, body if finding.witness.rides else ""), None].append(finding.line)
    return refused


def _differences(
    told: Mapping[Told, _OfThing], refused: Mapping[Told, list[int]], in_part: Collection[int]
) -> Iterator[Disagreement]:
    for key, lines in told.items():
        first = min(refused.get(key, []), default=None)
        hits = [(number, line.hits) for number, line in lines.by_line.items() if line.hits is not None]
        if hits:
            number, answer = min(hits, key=lambda each: each[0])
            if first is None or number < first:
                said = "nothing is met" if first is None else f"it is first met on line {first}"
                yield Disagreement(number, lines.name, said, "there is a case in which it is met", answer.values or {})
                continue
        line = lines.by_line.get(first) if first is not None else None
        if first is not None and line is not None and line.clear and line.plain and line.whole:
            yield Disagreement(first, lines.name, "it is met", "there is no case in which it is met", {})
    for (what, _), numbers in refused.items():
        if (what, _) not in told and min(numbers) not in in_part:
            yield Disagreement(min(numbers), what.what, "it is met", "nothing of the kind is there to be met", {})


def _heading(about: Twofold) -> Iterator[str]:
    yield f"Questions about a program on the machine {about.machine.name}."
    yield "Each asks: is there a start, a tool and a point of the way that does it? unsat: there is none."
    yield "Lengths are mm, angles degrees, positions machine coordinates; Z is the reading of the spindle nose."
    yield "a is where the move is judged from, p a point of the way. Every number is exact."


def _to_send(about: Twofold, differences: Sequence[Disagreement]) -> Iterator[str]:
    """What else somebody needs who looks for what is wrong: what each proof says, the lines, the machine."""
    yield "The two proofs of Clickstop differ here. Please report it with this file."
    for each in differences:
        yield f"line {each.line}, {each.what}: by the first proof {each.first}, by the second {each.second}"
        yield "  " + ", ".join(f"{symbol} = {value!r}" for symbol, value in sorted(each.case.items()))
    yield f"starts: {dict(about.start)!r}"
    yield f"machine: {about.machine!r}"
    yield f"controller: {about.controller!r}"
    yield from (f"line {line.number}: {line.text}" for line in about.program.lines)
