"""What the rules about space share: their kind, which passages are still to be judged, and the name of a case."""

from __future__ import annotations

from collections.abc import Iterable

from parser.findings import Severity
from parser.proof.evidence import Case, Evidence
from parser.proof.passages import Passage
from parser.proof.rules.base import Rule


class SpaceRule(Rule):
    """A rule about where things are."""

    severity = Severity.REFUSE
    family = "space"
    accepts = True
    assume = "G17 G21 G40 G49 G54 G90 G94"


def not_yet(passages: Iterable[Passage], seen: set[object], about: object = None) -> list[Passage]:
    """Those of some passages that are not the same as one in ``seen``, to which they are added.

    Of passages of one line that are followed again one will do: it stands for all of them.
    """
    found: dict[object, Passage] = {}
    for passage in passages:
        same = passage.same_as()
        if same is None or (about, same) not in seen:
            found.setdefault(passage.once, passage)
    seen.update((about, same) for passage in found.values() if (same := passage.same_as()) is not None)
    return list(found.values())


def case_name(evidence: Evidence, case: Case) -> str | None:
    return case.name if len(evidence.cases) > 1 else None
