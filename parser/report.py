"""Everything that reading, tracing, planning and proving found out about one text, and its JSON form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from parser.findings import Finding, Severity
from parser.language.program import Program
from parser.machine import Controller, Interval, Machine
from parser.motion.moves import Trace
from parser.motion.timing import Plan

Verdict = Literal["proved", "conditional", "accepted", "refused"]


@dataclass(frozen=True, slots=True)
class SafeStart:
    """The starts from which nothing is refused: ``box`` by axis, and a sentence to act on.

    ``box`` is None where no start is free of refusals or no refusal depends on the start. ``condition`` is the same as
    a macro's ``start`` value would say it ("z >= -38.2 mm"), "" for anywhere.
    """

    box: Mapping[str, Interval] | None
    sentence: str
    condition: str


@dataclass(frozen=True, slots=True)
class Report:
    """The result of ``parser.examine``. ``steps[line]`` is the step of the macro that wrote that line, from 1."""

    machine: Machine
    controller: Controller
    program: Program
    trace: Trace
    plan: Plan
    findings: tuple[Finding, ...]
    verdict: Verdict
    sentence: str
    assumptions: tuple[str, ...]
    start: Mapping[str, Interval]
    safe_start: SafeStart
    extents: Mapping[str, Interval]
    steps: Mapping[int, int]

    @property
    def refused(self) -> bool:
        """Whether any finding is a refusal."""
        return any(finding.severity is Severity.REFUSE for finding in self.findings)
