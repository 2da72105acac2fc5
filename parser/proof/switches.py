"""The block delete switch, which is not the macro's to know: findings told apart by its position."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from parser.findings import Finding
from parser.language.program import Program
from parser.motion.assumptions import Assumption
from parser.motion.moves import Trace
from parser.proof.rules.base import Result

OFF, ON = "block delete off", "block delete on"


def positions(program: Program) -> tuple[bool, ...]:
    """The positions of the switch that make a difference, off first: both where a line begins with a slash."""
    return (False, True) if any(line.block_delete for line in program.lines) else (False,)


def told_apart(found: Sequence[Sequence[Result]]) -> list[Result]:
    """The results of every position of the switch, off first; what holds in one only says in which."""
    off, *others = found
    if not others:
        return list(off)
    (on,) = others
    with_on = {_what(result.finding): result for result in on}
    both = {_what(result.finding) for result in off} & set(with_on)
    results = []
    for result in off:
        what = _what(result.finding)
        if what in both:
            results.append(replace(result, breaks=(*result.breaks, *with_on[what].breaks)))
        else:
            results.append(_only(result, OFF))
    return results + [_only(result, ON) for result in on if _what(result.finding) not in both]


def counted_on(traces: Sequence[Trace]) -> Trace:
    """The first trace, with what any of them counts on."""
    assumptions: dict[Assumption, int] = {}
    for followed in traces:
        for each, line in followed.assumptions.items():
            assumptions.setdefault(each, line)
    return replace(traces[0], assumptions=assumptions)


def _what(finding: Finding) -> tuple[object, ...]:
    return finding.rule, finding.line, finding.column, finding.case, finding.message


def _only(result: Result, position: str) -> Result:
    case = f"{result.finding.case}, {position}" if result.finding.case else position
    return replace(result, finding=replace(result.finding, case=case))
