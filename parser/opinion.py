"""What the second opinion came to: how far two proofs that share no code agree about one text."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal, get_args

from parser.quantities import counted, how_many

Outcome = Literal["agreed", "in part", "differs", "not compared"]
"""Agreed in everything; in what was asked and decided; not agreed; or the first proof did not come to its end."""


@dataclass(frozen=True, slots=True)
class NotAsked:
    """A line with a move that is not asked about, or not in full, and why."""

    line: int
    why: str


@dataclass(frozen=True, slots=True)
class Undecided:
    """A question that the solver did not decide in its effort: the line, and what is met or not."""

    line: int
    what: str


@dataclass(frozen=True, slots=True)
class Disagreement:
    """Where the two differ: the line, what is met or not, what each says, and the solver's case by unknown."""

    line: int
    what: str
    first: str
    second: str
    case: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class SecondOpinion:
    """What became of the questions. ``seen_twice`` counts the refusals that both proofs have.

    ``asked_again`` numbers, from 1, the questions whose answer was not no: they were asked a second time. ``text`` is
    every question in SMT-LIB 2.6; ``to_send`` the same with what it was made from, "" where nothing differs.
    """

    outcome: Outcome
    questions: int
    seen_twice: int
    not_asked: tuple[NotAsked, ...]
    undecided: tuple[Undecided, ...]
    differences: tuple[Disagreement, ...]
    asked_again: tuple[int, ...]
    text: str
    to_send: str = ""

    @property
    def twice(self) -> bool:
        """Whether all of it was proved a second time: something was asked, nothing left out, and both agree."""
        return self.outcome == "agreed" and self.questions > 0

    @property
    def sentence(self) -> str:
        """It in words."""
        asked = how_many(self.questions, "question")
        if not self.questions and self.outcome != "differs":
            return "; ".join(["Second opinion: nothing was asked", *self._left_out()]) + "."
        if self.outcome == "not compared":
            return f"Second opinion: {asked}, compared with nothing, as the first proof did not come to its end."
        if self.outcome == "differs":
            lines = counted("line", [str(line) for line in sorted({each.line for each in self.differences})])
            return f"Second opinion: the two proofs differ about {lines}."
        twice = [f"{how_many(self.seen_twice, 'refusal')} seen twice"] if self.seen_twice else []
        return "; ".join([f"Second opinion: {asked}, both proofs agree", *twice, *self._left_out()]) + "."

    def _left_out(self) -> Iterator[str]:
        whys = dict.fromkeys(each.why for each in self.not_asked)
        for why in whys:
            lines = sorted({each.line for each in self.not_asked if each.why == why})
            yield f"not asked of {_lines(lines)}: {why}"
        if self.undecided:
            what = [f"{each.what} on line {each.line}" for each in self.undecided]
            yield f"not decided in its effort: {', '.join(dict.fromkeys(what))}"


def _lines(lines: Sequence[int]) -> str:
    return f"{len(lines)} lines" if len(lines) > MANY else counted("line", [str(line) for line in lines])


MANY = 6
"""Lines that are still told one by one."""


def as_json(opinion: SecondOpinion | None) -> dict[str, object] | None:
    """It as it stands in the JSON of a report; null where none was asked for."""
    if opinion is None:
        return None
    return {
        "outcome": opinion.outcome,
        "sentence": opinion.sentence,
        "questions": opinion.questions,
        "seen_twice": opinion.seen_twice,
        "asked_again": list(opinion.asked_again),
        "not_asked": [{"line": each.line, "why": each.why} for each in opinion.not_asked],
        "undecided": [{"line": each.line, "what": each.what} for each in opinion.undecided],
        "differences": [
            {
                "line": each.line,
                "what": each.what,
                "first": each.first,
                "second": each.second,
                "case": dict(each.case),
            }
            for each in opinion.differences
        ],
    }


def from_json(said: Mapping[str, Any]) -> SecondOpinion:
    """What a report says of a second opinion, without its questions; raises KeyError, TypeError or ValueError."""
    outcome: Outcome = said["outcome"]
    if outcome not in get_args(Outcome):
        raise ValueError(f"there is no outcome {outcome!r}")
    return SecondOpinion(
        outcome,
        int(said["questions"]),
        int(said["seen_twice"]),
        tuple(NotAsked(int(each["line"]), str(each["why"])) for each in said["not_asked"]),
        tuple(Undecided(int(each["line"]), str(each["what"])) for each in said["undecided"]),
        tuple(
            Disagreement(
                int(each["line"]), str(each["what"]), str(each["first"]), str(each["second"]), dict(each["case"])
            )
            for each in said["differences"]
        ),
        tuple(int(number) for number in said["asked_again"]),
        "",
    )
