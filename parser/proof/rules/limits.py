"""The rule on what is more than is looked at: the limits of ``parser.limits`` as a program meets them."""

from __future__ import annotations

from parser.findings import Severity
from parser.limits import COMPARISONS, RULE
from parser.proof.evidence import Evidence
from parser.proof.rules.base import Reported, Result, register
from parser.quantities import how_many


@register
class OverLimit(Reported):
    """The program asks for more than is looked at

    What: It has more lines than are read, comes to more moves than are followed, canned cycles spelled out, or its
        moves, the boxes on the sheet and the setups multiply to more comparisons than are made. The limits are listed
        in Help.
    Why: An answer has to come in a minute. What was not looked at is not proved.
    Bad:
        M3 S1000
        G54 G99 G83 X0 Y0 Z-30 R1 Q0.01 F100 L3
    Good:
        M3 S1000
        G53 G0 Z-2
    Remedy: Check a shorter part by itself, or draw fewer and larger boxes.
    """

    id = RULE
    severity = Severity.REFUSE
    family = "limits"
    assume = "G17 G21 G40 G49 G54 G90 G94"

    @classmethod
    def not_finished(cls, evidence: Evidence) -> Result:
        """The finding where the comparisons came to an end before the rules did."""
        moves = how_many(len(evidence.trace.moves), "move")
        boxes = sum(len(case.setup.keep_outs) for case in evidence.cases) + len(evidence.machine.enclosures)
        drawn, setups = how_many(boxes, "box", "boxes"), how_many(len(evidence.cases), "setup")
        return Result(
            cls().finding(
                f"{moves}, {drawn} and {setups} come to more than the {COMPARISONS} that one check "
                "makes. The rest was not compared, so nothing is proved",
                "Check a shorter part by itself, or draw fewer and larger boxes",
            )
        )
