"""The rule on a second opinion that differs; what compares the two proofs, outside this folder, makes its findings."""

from __future__ import annotations

from parser.findings import Finding, Severity
from parser.opinion import Disagreement
from parser.proof.rules.base import Rule, register


@register
class SecondOpinionDiffers(Rule):
    """The two proofs differ

    What: A second opinion was asked for, and the solver says of a move what the rules do not: it has a case in
        which something is met that nothing refuses, or none where something is refused.
    Why: One of the two is wrong, and nobody knows yet which. What is called proved may not be.
    Remedy: Do not take it to the machine. Report it with the file that clickstop check --second-opinion writes: it
        holds the question, both answers, the lines and the machine. Another way of writing the lines may be one about
        which both agree.
    """

    id = "second-opinion-differs"
    severity = Severity.REFUSE
    family = "space"
    all_judged = True

    @classmethod
    def about(cls, difference: Disagreement) -> Finding:
        """The refusal about one thing that the two proofs differ about."""
        return cls().finding(
            f"The two proofs differ about {difference.what}: by the first {difference.first}, by the second "
            f"{difference.second}. One of them is wrong",
            "Do not take it to the machine, and report it with the file that clickstop check --second-opinion writes",
            line=difference.line,
            cause=difference.what,
        )
