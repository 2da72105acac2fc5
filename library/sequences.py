"""The whole pendant: every slot proved, and every sequence of what stands on the slots."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from library.macros import Macro
from library.proving import Proved
from library.slots import HasPendant, Slot, check_pendant, slots
from parser.findings import Finding, Severity
from parser.proof.sequences import RULE as SEQUENCE
from parser.proof.sequences import Runner, between, breaches, runner
from parser.report import Verdict

ALL_PROVED = "Every slot is proved, and every sequence of them, each whole or let go of after any line"
NOT_EVERY_SEQUENCE = "Every slot is proved by itself, but not every sequence of them"
NONE_REFUSED = "No slot is refused, and no sequence of them, each whole or let go of after any line"
NOT_EVERY_AND_PART = "No slot is refused by itself, but not every sequence of them is proved"
NOT_PROVED = "Not proved"
CONDITIONAL: Verdict = "conditional"
GRAVEST: tuple[Verdict, ...] = ("refused", "accepted", "conditional", "proved")


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
    def sentence(self) -> str:
        """The verdict in words."""
        if not self.slots:
            return "There is nothing on the pendant yet."
        reached = Counter(each.report.verdict for each in self.proved.values())
        conditioned = sum(each.macro.conditioned for each in self.proved.values() if each.report.verdict == CONDITIONAL)
        sequences = Counter(finding.severity for finding in self.findings if finding.rule == SEQUENCE)
        others = Counter(finding.severity for finding in self.findings if finding.rule != SEQUENCE)
        counted = (
            (reached["refused"], "macro refused", "macros refused"),
            (sequences[Severity.REFUSE], "refused sequence", "refused sequences"),
            (others[Severity.REFUSE], "other refusal", "other refusals"),
            (reached["accepted"], "macro accepted and not proved", "macros accepted and not proved"),
            (conditioned, "macro proved with a condition", "macros proved with a condition"),
            (reached[CONDITIONAL] - conditioned, "macro proved in part", "macros proved in part"),
            (sequences[Severity.CAUTION], "sequence to be careful with", "sequences to be careful with"),
            (others[Severity.CAUTION], "other caution", "other cautions"),
        )
        said = ", ".join(f"{count} {one if count == 1 else many}" for count, one, many in counted if count)
        return f"{self.claim}: {said}." if said else f"{self.claim}."

    def _count(self, severity: Severity) -> int:
        return sum(finding.severity is severity for finding in self.findings)


def whole_pendant(sheets: HasPendant, macros: Mapping[str, Macro], proved: Mapping[str, Proved]) -> WholePendant:
    """What is to be said of the pendant with ``macros`` on the shelf, of which those on a slot are ``proved``."""
    used = slots(sheets.pendant)
    on_slots = dict.fromkeys(slot.macro for slot in used if slot.macro in proved)
    written = {id: proved[id] for id in on_slots if not proved[id].problems}
    unwritten = [_unwritten(slot, proved[slot.macro]) for slot in used if slot.macro in on_slots.keys() - written]
    runners = list(_runners({id: each for id, each in written.items() if each.exportable}).values())
    findings = (*check_pendant(sheets, macros), *unwritten, *sorted(breaches(runners), key=_gravity))
    return WholePendant(used, written, findings)


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
            found[id] = f"{refusal.case}: {refusal.message}"
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
