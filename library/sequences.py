"""The whole pendant: every slot proved, and every sequence of what stands on the slots."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from library import verdicts
from library.bench import Bench
from library.numbering import Slot, slots
from library.proving import Proved
from library.slots import beside_axis, check_pendant
from parser.findings import Finding, Severity
from parser.proof.rules.sheets import FiguresInvented
from parser.proof.sequences import RULE as SEQUENCE
from parser.proof.sequences import Runner, between, breaches, runner
from parser.quantities import Figures, sentence_list
from parser.report import Verdict
from parser.times.run_on import UNFORESEEN

ALL_PROVED = "Every slot and every sequence is proved, even if let go part-way"
NOT_EVERY_SEQUENCE = "Every slot is proved alone, but not every sequence"
NONE_REFUSED = "No slot and no sequence is refused, even if let go part-way"
NOT_EVERY_AND_PART = "No slot is refused alone, but not every sequence is proved"
NOT_PROVED = "Not proved"
CONDITIONAL: Verdict = "conditional"
GRAVEST: tuple[Verdict, ...] = ("refused", "accepted", "conditional", "proved")
REFUSED, ACCEPTED, CONDITION = "refused", "accepted and not proved", "proved with a condition"
BUT_FOR = tuple(
    f"proved but for {what}{condition}" for condition in (", with a condition", "") for what in ("some lines", "a line")
)
"""What a macro of the pendant is said to be where it is not simply proved."""


@dataclass(frozen=True, slots=True)
class WholePendant:
    """Every slot and what is known of the macro on it, by macro id, and what was found on the pendant as a whole.

    A slot whose macro does not exist or cannot be written has a finding instead of an entry in ``proved``.
    """

    slots: tuple[Slot, ...]
    proved: Mapping[str, Proved]
    findings: tuple[Finding, ...]

    @property
    def verdict(self) -> Verdict:
        """The gravest of all its macros; refused where a finding on the whole is a refusal.

        It is no more than conditional where a sequence may break a proof.
        """
        if self._count(Severity.REFUSE):
            return "refused"
        reached = {each.report.verdict for each in self.proved.values()}
        reached |= {CONDITIONAL} if self._sequences else set()
        return next((verdict for verdict in GRAVEST if verdict in reached), "proved")

    @property
    def _sequences(self) -> bool:
        return any(finding.rule == SEQUENCE for finding in self.findings)

    @property
    def claim(self) -> str:
        """What may be said of the whole, without what there is beside it."""
        if self.verdict in ("refused", "accepted"):
            return NOT_PROVED
        if any(each.report.verdict == CONDITIONAL for each in self.proved.values()):
            return NOT_EVERY_AND_PART if self._sequences else NONE_REFUSED
        return NOT_EVERY_SEQUENCE if self._sequences else ALL_PROVED

    @property
    def word(self) -> str:
        """The verdict in a few words: "Proved", "Proved but for line 6 of Home"."""
        if self.verdict != CONDITIONAL:
            return verdicts.WORDS[self.verdict]
        open_ones = {id: verdicts.left_open(each.report) for id, each in self.proved.items() if _open(each)}
        called, condition = names(self.proved), any(verdicts.conditioned(each.report) for each in self.proved.values())
        if not open_ones:
            return verdicts.WORDS[CONDITIONAL] if condition else "Proved but for a sequence"
        macros = sentence_list([called[id] for id in open_ones])
        lines = verdicts.named(next(iter(open_ones.values()))) if len(open_ones) == 1 else "lines"
        return f"Proved but for {lines} of {macros}{', with a condition' if condition else ''}"

    @property
    def sentence(self) -> str:
        """The verdict in words, with the macros that are not simply proved by name."""
        if not self.slots:
            return "There is nothing on the pendant yet."
        called = names(self.proved)
        by_phrase: dict[str, list[str]] = {}
        for id, each in self.proved.items():
            by_phrase.setdefault(_phrase(each), []).append(called[id])
        sequences = Counter(finding.severity for finding in self.findings if finding.rule == SEQUENCE)
        told = (SEQUENCE, FiguresInvented.id)
        others = Counter(finding.severity for finding in self.findings if finding.rule not in told)
        said = [
            f"{self.claim}.",
            _about(by_phrase.get(REFUSED, ()), REFUSED),
            _counted(sequences[Severity.REFUSE], "sequence is refused", "sequences are refused"),
            _counted(others[Severity.REFUSE], "other finding refuses", "other findings refuse"),
            *(_about(by_phrase.get(phrase, ()), phrase) for phrase in (ACCEPTED, CONDITION, *BUT_FOR)),
            _counted(sequences[Severity.CAUTION], "sequence has a caution", "sequences have cautions"),
            _counted(others[Severity.CAUTION], "other finding is a caution", "other findings are cautions"),
        ]
        return " ".join(filter(None, said))

    def _count(self, severity: Severity) -> int:
        return sum(finding.severity is severity for finding in self.findings)


def whole_pendant(bench: Bench, proved: Mapping[str, Proved]) -> WholePendant:
    """What is to be said of the pendant, of whose shelf the macros on a slot are ``proved``."""
    used = slots(bench.pendant)
    on_slots = dict.fromkeys(slot.macro for slot in used if slot.macro in proved)
    written = {id: proved[id] for id in on_slots if not proved[id].problems}
    unwritten = [_unwritten(slot, proved[slot.macro]) for slot in used if slot.macro in on_slots.keys() - written]
    runners = list(_runners({id: each for id, each in written.items() if each.exportable}).values())
    beside = [beside_axis(slot, bench, moves=_moved(written[slot.macro])) for slot in used if slot.macro in written]
    used_parts = {part for each in written.values() for part in each.report.rests_on}
    invented = FiguresInvented.of_parts(part for part in bench.machine.parts if part in used_parts)
    by_order = sorted(breaches(runners), key=_gravity)
    findings = (*check_pendant(bench), *unwritten, *filter(None, beside), *by_order, *invented)
    figures = bench.figures
    return WholePendant(used, written, tuple(finding.worded(figures) for finding in findings))


def _moved(each: Proved) -> frozenset[str]:
    """The axes that a macro moves; all of them where it homes or goes on a path that is not known."""
    report = each.report
    if any(event.kind in UNFORESEEN for event in report.trace.events):
        return frozenset(report.machine.names)
    totals = report.plan.totals
    return frozenset(name for name, far in {**totals.by_axis_mm, **totals.by_axis_deg}.items() if far.most > 0)


def _phrase(each: Proved) -> str:
    """What is said of a macro among the others, "" of one that is simply proved."""
    by_verdict: Mapping[Verdict, str] = {"refused": REFUSED, "accepted": ACCEPTED, "proved": ""}
    if each.report.verdict != CONDITIONAL:
        return by_verdict[each.report.verdict]
    lines = set(verdicts.left_open(each.report))
    if not lines:
        return CONDITION
    one = len(lines) == 1 and None not in lines
    return BUT_FOR[one + (0 if verdicts.conditioned(each.report) else 2)]


def _open(each: Proved) -> bool:
    return each.report.verdict == CONDITIONAL and bool(verdicts.left_open(each.report))


def _about(macros: Sequence[str], phrase: str) -> str:
    """ "One macro is refused: Park." """
    return _counted(len(macros), f"macro is {phrase}", f"macros are {phrase}", f": {sentence_list(list(macros))}")


def _counted(count: int, one: str, many: str, rest: str = "") -> str:
    """A sentence about so many, "" about none."""
    return f"{'One ' + one if count == 1 else f'{count} {many}'}{rest}." if count else ""


def _unwritten(slot: Slot, proved: Proved) -> Finding:
    return Finding(
        "slot-clash",
        Severity.REFUSE,
        f"{proved.macro.name} cannot be written: {proved.problems[0]}",
        "Fix it on the bench, or put another macro on the slot.",
        case=f"slot {slot.label}",
    )


def breakers(proved: Mapping[str, Proved]) -> dict[str, str]:
    """The macros that cannot be on one pendant with the others, each with the reason; what is left hurts nothing."""
    left = _runners(proved)
    found: dict[str, str] = {}
    for id in proved:
        refusals = (each for second in left.values() for each in between(left[id], second) if _gravity(each) == 0)
        refusal = next(refusals, None)
        if refusal is not None:
            found[id] = f"{refusal.case}: {refusal.worded(Figures(proved[id].report.units)).message}"
            del left[id]
    return found


def names(proved: Mapping[str, Proved]) -> dict[str, str]:
    """What findings on sequences call each macro: by its name, with its id where another has the same."""
    times = Counter(each.macro.name for each in proved.values())
    return {id: each.macro.name + (f" ({id})" if times[each.macro.name] > 1 else "") for id, each in proved.items()}


def _runners(proved: Mapping[str, Proved]) -> dict[str, Runner]:
    """The macros as sequences know them."""
    called = names(proved)
    return {id: runner(called[id], each.report) for id, each in proved.items()}


def _gravity(finding: Finding) -> int:
    return list(Severity).index(finding.severity)
