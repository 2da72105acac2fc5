"""What the rules about space share: their kind, which passages are still to be judged, and the name of a case."""

from __future__ import annotations

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


class Judged:
    """The passages that were judged already, about one thing after another.

    A passage is compared with all others by a number that it is given once: what decides its way is long, and it is
    asked about anew for every obstacle.
    """

    def __init__(self) -> None:
        """Nothing yet."""
        self._numbers: dict[object, int] = {}
        self._numbered: dict[int, tuple[tuple[Passage, ...], list[int | None]]] = {}
        self._seen: dict[object, set[int]] = {}

    def not_yet(self, passages: tuple[Passage, ...], about: object = None) -> list[Passage]:
        """Those of some passages that are not the same as one judged ``about`` this before; they count as judged now.

        Of passages of one line that are followed again one will do: it stands for all of them.
        """
        seen = self._seen.setdefault(about, set())
        found: dict[object, tuple[Passage, int | None]] = {}
        for passage, number in zip(passages, self._of(passages), strict=True):
            if number is None or number not in seen:
                found.setdefault(passage.once, (passage, number))
        seen.update(number for _, number in found.values() if number is not None)
        return [passage for passage, _ in found.values()]

    def _of(self, passages: tuple[Passage, ...]) -> list[int | None]:
        """The number of each passage, None for one that is followed again; kept with them, as others may follow."""
        kept = self._numbered.get(id(passages))
        if kept is None:
            numbers: list[int | None] = []
            for passage in passages:
                same = passage.same_as()
                numbers.append(None if same is None else self._numbers.setdefault(same, len(self._numbers)))
            kept = self._numbered[id(passages)] = passages, numbers
        return kept[1]


def case_name(evidence: Evidence, case: Case) -> str | None:
    return case.name if len(evidence.cases) > 1 else None
