"""What a rule is: an id, a severity, a check, and a docstring that is its manual.

A manual begins with a title, then has the parts What, Why, Bad, Good and Remedy. Bad and Good are RS-274 lines that the
tests run on a plain three-axis machine with a vise: Bad has to fire the rule, Good must not.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import ClassVar

from parser.findings import Finding, Severity, Trouble
from parser.motion.moves import Move
from parser.proof.evidence import Evidence
from parser.proof.refusals import Breaks

PARTS = ("What", "Why", "Bad", "Good", "Remedy")


@dataclass(frozen=True, slots=True)
class Manual:
    """The manual of a rule, as its Help page shows it."""

    title: str
    what: str
    why: str
    bad: str
    good: str
    remedy: str


@dataclass(frozen=True, slots=True)
class Result:
    """A finding, and for a refusal that depends on the start what asks whether it still holds in a smaller box.

    It is gone when none of ``breaks`` says so any more; empty where no start makes a difference.
    """

    finding: Finding
    breaks: tuple[Breaks, ...] = ()


class Rule:
    """One rule. ``family`` groups it in Help; ``accepts`` says whether a macro may lower it with a written reason.

    ``assume`` are words put in force before the examples of the manual, so that they show one thing only. ``setting``
    are fields of the controller that the examples need. ``all_judged`` says of a refusal that does not depend on the
    start that every move is judged all the same, so that the rest of the proof holds once it is fixed.
    """

    id: ClassVar[str]
    severity: ClassVar[Severity]
    family: ClassVar[str]
    accepts: ClassVar[bool] = False
    all_judged: ClassVar[bool] = False
    assume: ClassVar[str] = ""
    setting: ClassVar[Mapping[str, object]] = {}

    def results(self, evidence: Evidence) -> Iterable[Result]:
        """What the rule finds."""
        return [Result(finding) for finding in self.findings(evidence)]

    def findings(self, evidence: Evidence) -> Iterable[Finding]:
        """What the rule finds, where nothing depends on the start."""
        return ()

    def finding(self, message: str, remedy: str, *, line: int | None = None, **more: object) -> Finding:
        """A finding of this rule."""
        return Finding(self.id, self.severity, message, remedy, line=line, **more)  # type: ignore[arg-type]

    def on(self, move: Move, message: str, remedy: str, **more: object) -> Finding:
        """A finding of this rule on a move."""
        return self.finding(message, remedy, line=move.line, column=move.column, end=move.end_column, **more)

    @classmethod
    def manual(cls) -> Manual:
        """The docstring, taken apart."""
        title, *rest = (inspect.getdoc(cls) or cls.id).split("\n", 1)
        parts = dict.fromkeys(PARTS, "")
        for name, text in _parts(rest[0] if rest else ""):
            parts[name] = text
        return Manual(title, *(parts[name] for name in PARTS))


def _parts(text: str) -> Iterator[tuple[str, str]]:
    pattern = re.compile(rf"^({'|'.join(PARTS)}):[ ]?", re.MULTILINE)
    heads = list(pattern.finditer(text))
    for head, following in zip(heads, [*heads[1:], None], strict=True):
        body = text[head.end() : following.start() if following else len(text)]
        lines = [line.strip() for line in body.strip("\n").split("\n")]
        yield head[1], ("\n" if head[1] in ("Bad", "Good") else " ").join(line for line in lines if line)


class Reported(Rule):
    """A rule whose breaches are met while reading or tracing; the rule gives them their severity."""

    def findings(self, evidence: Evidence) -> Iterable[Finding]:
        for case, trouble in evidence.troubles():
            if trouble.rule == self.id:
                yield self.of(trouble, case)

    def of(self, trouble: Trouble, case: str | None) -> Finding:
        """The finding for one trouble."""
        return Finding(
            self.id,
            self.severity,
            trouble.message,
            trouble.remedy,
            line=trouble.line,
            column=trouble.column,
            end=trouble.end,
            case=case,
        )


@dataclass(frozen=True, slots=True)
class Registry:
    """The rules by id, in the order they were written down."""

    rules: dict[str, type[Rule]] = field(default_factory=dict)

    def __call__(self, rule: type[Rule]) -> type[Rule]:
        if rule.id in self.rules:
            raise ValueError(f"two rules are called {rule.id}")
        self.rules[rule.id] = rule
        return rule


register = Registry()
"""Class decorator that puts a rule into force."""
