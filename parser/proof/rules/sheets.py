"""The rule on figures of the sheets that nobody has confirmed at the machine."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from parser.findings import Finding, Severity
from parser.machine import SheetPart
from parser.parts import invented_figures
from parser.proof.evidence import Evidence
from parser.proof.resting import rests_on
from parser.proof.rules.base import Rule, register


@register
class FiguresInvented(Rule):
    """The verdict rests on figures that nobody has measured

    What: A part of the machine sheet of which a figure was used has no day under measured: axes, spindle, longest tool,
        safe Z, table, work zeros, stored points, a keep-out, a setup, an enclosure. Every starter sheet is so.
    Why: The proof holds for the sheet. Where the vise is higher than it is drawn, or the travel shorter, the same lines
        run into it. A part that is changed counts as invented again until somebody confirms it.
    Bad:
        measured = {}
    Good:
        measured = { axes = 2026-05-04, "keep_out Vise" = 2026-05-04 }
    Remedy: Measure each part at the machine, put it right, and tick it as measured on the machine sheet.
    """

    id = "figures-invented"
    severity = Severity.CAUTION
    family = "sheets"

    def findings(self, evidence: Evidence) -> Iterable[Finding]:
        return self.of_parts(rests_on(evidence))

    @classmethod
    def of_parts(cls, parts: Iterable[SheetPart]) -> Iterator[Finding]:
        """The finding on what rests on some parts, once for all that does; none where each was measured."""
        told = invented_figures(parts)
        if told:
            yield cls().finding(
                f"{told}. What is proved on these says nothing about the machine",
                "Measure each at the machine, and tick it as measured on the machine sheet",
            )
