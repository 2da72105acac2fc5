"""From text to report: read it, follow it in every setup, time it, and put every rule to it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

from parser.arguments import checked
from parser.findings import Finding, Severity, Trouble
from parser.language.program import Program
from parser.language.reader import read
from parser.limits import COMPARISONS, PROGRAM_BYTES, PROGRAM_LINES, RULE, SEEKING, Allowance
from parser.machine import Controller, Interval, Machine, Setup
from parser.motion.geometry import extents
from parser.motion.interpreter import trace
from parser.motion.moves import Trace
from parser.motion.places import bounds
from parser.motion.undone import LEAVES_UNDONE
from parser.motion.usual_start import clear_start
from parser.progress import Progress, part, unheard
from parser.proof.axis_motion import Box
from parser.proof.effort import MOVE_AGAIN, TooMuchError, limited, spend
from parser.proof.evidence import Case, Evidence
from parser.proof.following import KeptPassages, followed_by_need
from parser.proof.resting import rests_on
from parser.proof.rules import RULES, Result
from parser.proof.rules.limits import OverLimit
from parser.proof.safe_start import NONE_FOUND, drawn_in, safe_start, widened
from parser.proof.some_cases import SomeCases, single_starts
from parser.proof.switches import counted_on, positions, told_apart
from parser.proof.verdict import assumptions, claim, scope, sentence, verdict
from parser.quantities import counted, joined, say
from parser.question import FROM_ANYWHERE, Question
from parser.report import Report, SafeStart
from parser.times.planner import plan
from parser.times.totals import with_typical
from parser.twice import Twofold, second_opinion
from parser.twice import findings as differing

ORDER = {Severity.REFUSE: 0, Severity.CAUTION: 1, Severity.NOTE: 2}

NOT_SOUGHT = SafeStart(None, "", "")
NOT_TO_THE_END = SafeStart(
    None, f"no safe start was sought to the end: that takes more than {SEEKING} of moves with boxes", ""
)

READ, FOLLOWED = 0.05, 0.5
FIRST = 0.5
"""Shares of the work: of all of it once the text is read, of one position of the switch once that is followed, and of
all of it once it is proved where a second opinion follows."""


def shown_to_nobody(report: Report) -> None:
    """For a report that nobody waits for before its safe start has been sought."""


@checked
def examine(
    text: str,
    machine: Machine,
    controller: Controller,
    question: Question = FROM_ANYWHERE,
    *,
    progress: Progress = unheard,
    first: Callable[[Report], None] = shown_to_nobody,
) -> Report:
    """Everything there is to say about ``text`` on this machine and controller; ``question`` says what is asked of it.

    ``progress`` is told the share done; what it raises ends the work. ``first`` is given the report as it is before the
    safe start is sought, where one is to be sought, which takes longest. Raises ``AssumeError`` where the words to
    assume are themselves in error, ``SheetError`` where something else makes no sense, as a start outside travel, and
    ``NoSolverError`` where a second opinion is asked for and there is no solver.
    """
    with limited(COMPARISONS.most):
        return _examined(
            _within_limits(text, controller, part(progress, 0.0, READ)), machine, controller, question, progress, first
        )


def _within_limits(text: str, controller: Controller, progress: Progress) -> Program:
    """The program that a text holds; of one that is over a limit nothing is read, and that is its trouble."""
    lines = text.count("\n") + 1
    if lines > PROGRAM_LINES.most + 1:
        return _unread(PROGRAM_LINES, f"{lines} lines")
    size = len(text) if text.isascii() else len(text.encode(errors="replace"))
    if size > PROGRAM_BYTES.most:
        return _unread(PROGRAM_BYTES, f"{size} bytes")
    return read(text, controller, progress=progress)


def _unread(limit: Allowance, size: str) -> Program:
    message = f"The program has {size}; nothing of one with more than {limit} is read."
    trouble = Trouble(RULE, None, None, None, message, "Check a shorter part by itself.")
    return Program((), (trouble,), False, 0)


def _examined(
    program: Program,
    machine: Machine,
    controller: Controller,
    question: Question,
    progress: Progress,
    first: Callable[[Report], None],
) -> Report:
    asked = _Asked(program, machine, controller, question)
    box, reasons = asked.box, question.accepted
    told = part(progress, READ, FIRST) if question.second else part(progress, READ, 1.0)
    cases, results = asked.judged(box, told)
    opinion = None
    if question.second:
        anew = Twofold(program, machine, controller, box, asked.followed)
        found = [each.finding for each in results]
        opinion = second_opinion(anew, found, part(progress, FIRST, 1.0), said=question.said)
        results += [Result(finding) for finding in differing(opinion)]
    agreed = opinion is not None and opinion.twice
    evidence = replace(cases[0], trace=counted_on([each.trace for each in cases]))
    findings = _in_order(_with_step(_lower(result.finding, reasons), question.steps) for result in results)
    rests = tuple(dict.fromkeys(part for each in cases for part in rests_on(each)))
    reached, assumed = verdict(evidence, findings), assumptions(evidence, rests)
    claimed = claim(evidence, reached, findings, reasons, "Proved twice" if agreed else "Proved")
    report = Report(
        machine=machine,
        controller=controller,
        program=program,
        trace=evidence.trace,
        plan=evidence.plan,
        findings=findings,
        verdict=reached,
        sentence=sentence(reached, claimed, assumed),
        claim=claimed,
        scope=scope(evidence, reached),
        assumptions=assumed,
        start=box,
        safe_start=NOT_SOUGHT,
        extents=_extents([each.trace for each in cases], box),
        steps=dict(question.steps),
        second=opinion,
        rests_on=rests,
        hand_rate=question.hand_rate,
    )
    if not question.seek_start:
        return report
    first(report)
    return replace(report, safe_start=_sought(asked, cases, results, box, partial(progress, 1.0)))


@checked
def evidence(
    program: Program, machine: Machine, controller: Controller, question: Question = FROM_ANYWHERE
) -> tuple[Evidence, ...]:
    """What ``prove`` looks at, for each position of the block delete switch that makes a difference.

    Only what holds in all of them is proved. Nothing is lowered by what ``question`` accepts: that is for ``examine``.
    """
    asked = _Asked(program, machine, controller, question)
    return tuple(asked.evidence(asked.box, each) for each in positions(program))


@checked
def prove(evidence: Evidence, progress: Progress = unheard) -> Iterator[Result]:
    """What every rule finds in the evidence, rule by rule."""
    told = False
    for number, rule in enumerate(RULES.values()):
        progress(number / len(RULES))
        try:
            yield from rule().results(evidence)
        except TooMuchError:
            if not told:
                yield OverLimit.not_finished(evidence)
            told = True


@dataclass(frozen=True, slots=True)
class _Asked:
    """One program on one machine, to be followed and judged from any box of starts."""

    program: Program
    machine: Machine
    controller: Controller
    question: Question
    kept: KeptPassages = field(default_factory=KeptPassages, init=False, compare=False, repr=False)

    @property
    def box(self) -> Box:
        """The starts that are asked about, with every axis."""
        return {axis.name: axis.travel for axis in self.machine.axes} | dict(self.question.start or {})

    @property
    def reasons(self) -> Mapping[str, str]:
        """The reason that is given for accepting a rule, by the rule."""
        return self.question.accepted

    def judged(self, box: Box, progress: Progress = unheard) -> tuple[list[Evidence], list[Result]]:
        """The evidence for each position of the block delete switch, and what every rule finds in them."""
        switches = positions(self.program)
        cases, found = [], []
        for number, block_delete in enumerate(switches):
            told = part(progress, number / len(switches), (number + 1) / len(switches))
            cases.append(self.evidence(box, block_delete, part(told, 0.0, FOLLOWED)))
            found.append(list(prove(cases[-1], part(told, FOLLOWED, 1.0))))
        return cases, told_apart(found)

    def evidence(self, box: Box, block_delete: bool, progress: Progress = unheard) -> Evidence:
        """What the rules look at with the switch in one position."""
        one = 1.0 / (len(self.machine.setups) + 2)

        likely = clear_start(box, self.machine)

        def followed_in(setup: Setup | None, turn: int) -> Trace:
            told = part(progress, turn * one, (turn + 1) * one)
            return self._followed(setup, block_delete, told, box, likely=likely if setup is None else None)

        whole = followed_in(None, 0)
        cases = []
        for turn, setup in enumerate(self.machine.setups, 1):
            followed = followed_in(setup, turn)
            name = f"setup {setup.name}" if len(self.machine.setups) > 1 else None
            again = partial(self._followed_in, setup, block_delete)
            cases.append(Case(name, setup, followed, followed_by_need(followed, self.machine, box, again, self.kept)))
        progress(1.0 - one)
        times = plan(whole, self.machine, self.controller)
        if whole.forks:  # its moves are those of all starts together, of which the usual one makes only some
            single = {axis: Interval(at, at) for axis, at in likely.items()}
            usual = plan(self._followed(None, block_delete, unheard, single), self.machine, self.controller)
            times = replace(times, totals=with_typical(times.totals, usual.totals))
        asked = self.question
        return Evidence(
            self.program,
            self.machine,
            self.controller,
            box,
            asked.condition,
            whole,
            times,
            tuple(cases),
            asked.hand_rate,
        )

    def followed(self, setup: Setup, block_delete: bool) -> Trace:
        """The program followed in a setup from all starts that are asked about."""
        return self._followed(setup, block_delete, unheard, self.box)

    def _followed_in(self, setup: Setup | None, block_delete: bool, part: SomeCases) -> Trace:
        followed = self._followed(setup, block_delete, unheard, part.box, part.trips)
        spend(MOVE_AGAIN * (1 + len(followed.moves)))
        return followed

    def _followed(
        self,
        setup: Setup | None,
        block_delete: bool,
        progress: Progress,
        box: Box,
        trips: Mapping[int, Interval] | None = None,
        likely: Mapping[str, float] | None = None,
    ) -> Trace:
        return trace(
            self.program,
            self.machine,
            self.controller,
            setup=setup,
            start=box,
            likely=likely,
            assume=self.question.assume,
            block_delete=block_delete,
            stays=not _may_lower(LEAVES_UNDONE, self.reasons),
            trips=trips,
            progress=progress,
        )

    def meets(self, troubles: Collection[About], box: Box) -> bool:
        """Whether any of some troubles is met while reading the program, or following it from a box."""
        if any(_about(trouble) in troubles for trouble in self.program.troubles):
            return True
        followed = (
            self._followed(setup, block_delete, unheard, box)
            for setup in (None, *self.machine.setups)
            for block_delete in positions(self.program)
        )
        return any(_about(trouble) in troubles for each in followed for trouble in each.troubles)

    def standing(self, results: Iterable[Result]) -> list[Result]:
        """Those of some results that are refusals, and that the macro does not accept."""
        return [each for each in results if _lower(each.finding, self.reasons).severity is Severity.REFUSE]


About = tuple[str, int | None]
"""The rule and the line of a finding or of a trouble."""

MOST_JUDGED = 3
"""How often a safe start is judged: where something is refused after all it is drawn in as far as that takes."""

MOST_LINES_FOLLOWED_ANEW = 300
"""Lines of a program that is followed again and again in search of the starts from which it can be."""


def _about(found: Finding | Trouble) -> About:
    return found.rule, found.line


def _lower(finding: Finding, reasons: Mapping[str, str]) -> Finding:
    """A refusal lowered to a caution where the macro gives a reason and the rule allows it; else it says why it stands.

    Something that is no refusal is left as it is: there is nothing to accept.
    """
    if finding.rule not in reasons or finding.severity is not Severity.REFUSE:
        return finding
    if _may_lower(finding.rule, reasons):
        return replace(finding, severity=Severity.CAUTION, because=reasons[finding.rule].strip())
    why = "no reason is given" if RULES[finding.rule].accepts else f"{finding.rule} cannot be accepted"
    return replace(finding, message=joined(" That the macro accepts it has no effect: ", [finding.message, why]))


def _may_lower(rule: str, reasons: Mapping[str, str]) -> bool:
    """Whether the refusals of a rule are lowered: where it allows that, and there is a reason."""
    return rule in RULES and RULES[rule].accepts and bool(reasons.get(rule, "").strip())


def _with_step(finding: Finding, steps: Mapping[int, int]) -> Finding:
    return finding if finding.line is None else replace(finding, step=steps.get(finding.line))


def _in_order(findings: Iterator[Finding]) -> tuple[Finding, ...]:
    """The gravest first, and among the cautions those that are refusals by right."""
    return tuple(
        sorted(
            findings, key=lambda found: (ORDER[found.severity], not found.lowered, found.line or 0, found.column or 0)
        )
    )


def _sought(
    asked: _Asked, cases: Sequence[Evidence], results: Sequence[Result], box: Box, goes_on: Callable[[], None]
) -> SafeStart:
    """The safe start, or that it was not sought to the end; what ``goes_on`` raises ends the search."""
    try:
        with limited(SEEKING.most, goes_on):
            return _safe_start(asked, cases, results, box)
    except TooMuchError:
        return NOT_TO_THE_END


def _safe_start(asked: _Asked, cases: Iterable[Evidence], results: Sequence[Result], box: Box) -> SafeStart:
    """The safe start, once all of the program has been judged again from there and nothing is refused."""
    standing = asked.standing(results)
    breaks = [each for result in standing for each in result.breaks]
    others = [result.finding for result in standing if not result.breaks]
    unjudged = [finding for finding in others if not RULES[finding.rule].all_judged]
    found = _beside_troubles(asked, cases, unjudged, box) or safe_start(
        breaks,
        box,
        asked.machine,
        regardless=[finding.line for finding in others],
        unjudged=[finding.line for finding in unjudged],
    )
    for _ in range(MOST_JUDGED):
        again = asked.standing(asked.judged(found.box or box)[1]) if found.condition else []
        if not again:
            break
        found = drawn_in(found.box or box, box, asked.machine, [each for result in again for each in result.breaks])
    else:
        return NONE_FOUND
    accepting = found.condition and any(_lower(each.finding, asked.reasons).lowered for each in results)
    return replace(found, sentence=joined("but for what is accepted, ", ["", found.sentence])) if accepting else found


def _beside_troubles(
    asked: _Asked, cases: Iterable[Evidence], unjudged: Sequence[Finding], box: Box
) -> SafeStart | None:
    """The safe start of a program that can only be followed from some starts, as a probe towards a fixed height.

    Those starts are sought first. All of it is judged from there, and the faces are settled by judging all of it again.
    None where some of the troubles are met from anywhere.
    """
    troubles = {_about(finding) for finding in unjudged}
    met = (trouble for each in cases for _, trouble in each.troubles() if trouble.from_some_starts)
    if len(asked.program.lines) > MOST_LINES_FOLLOWED_ANEW or troubles.isdisjoint(map(_about, met)):
        return None
    if all(asked.meets(troubles, single) for single in single_starts(box)):
        return None
    followed = safe_start([lambda part, _: asked.meets(troubles, part)], box, asked.machine).box
    if followed is None:
        return None
    lines = counted("line", [str(line) for line in sorted({finding.line or 0 for finding in unjudged})])
    safe = _safe_start(asked, *asked.judged(followed), followed)
    if safe.box is None:
        return replace(safe, sentence=say("where {lines} can be run, {safe}", lines=lines, safe=safe.sentence))
    return widened(safe.box, box, asked.machine, lambda part, _: bool(asked.standing(asked.judged(part)[1])))


def _extents(followed: Sequence[Trace], box: Box) -> dict[str, Interval]:
    """Everywhere each axis may be from the start on, the start included."""
    reached = {name: box[name].hull(bounds(at)) for name, at in followed[0].start.items()}
    for move in (move for each in followed for move in each.moves):
        for name, extent in extents(move).items():
            reached[name] = reached[name].hull(extent)
    return reached
