"""The one sentence that says what was proved, under which assumptions, and what was not looked at."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from parser.findings import Finding, Severity
from parser.machine import Interval, Machine, SheetPart
from parser.motion.assumptions import Kind, Taken
from parser.motion.moves import Trace
from parser.parts import clauses
from parser.proof.evidence import Evidence
from parser.proof.standing import possible
from parser.quantities import Length, Reading, counted, how_many, joined, say, sentence_list
from parser.report import Verdict

NOT_CHECKED = "Not checked: hands, hoses, chips, anything not drawn."


def verdict(evidence: Evidence, findings: Sequence[Finding]) -> Verdict:
    """Refused, accepted, conditional or proved, in this order of precedence.

    Conditional means: under a start condition, or with a part of the path that could not be decided.
    """
    if any(finding.severity is Severity.REFUSE for finding in findings):
        return "refused"
    if any(finding.lowered for finding in findings):
        return "accepted"
    if evidence.condition or any(finding.undecided for finding in findings):
        return "conditional"
    return "proved"


def assumptions(evidence: Evidence, parts: Sequence[SheetPart] = ()) -> tuple[str, ...]:
    """What the proof takes for granted, one clause each, the sheet's own first.

    ``parts`` are those of the sheets that it rests on, each told with its day; a machine that was not made from a sheet
    has none, and what is drawn is as drawn.
    """
    machine = evidence.machine
    given = []
    if machine.tool_stick_out > 0:
        thick = " and nothing thicker than {thick}" if machine.tool_radius > 0 else ""
        size = {"long": Length(machine.tool_stick_out), "thick": Length(2 * machine.tool_radius)}
        given.append(say(f"nothing longer than {{long}}{thick} is in the spindle", **size))
    drawn = list(dict.fromkeys(box.name for setup in machine.setups for box in setup.keep_outs))
    drawn += [box.name for box in machine.enclosures]
    given += clauses(parts)
    if drawn and not parts:
        given.append(f"{sentence_list(drawn)} as drawn")
    if not possible(machine, evidence.start):
        given.append("the machine can stand there, although something of it would be inside a box as drawn")
    given.append("the tool can leave the work straight up (no tap in the hole, no ledge above)")
    return (*given, *counted_on(evidence.trace), *machine.unstated)


def counted_on(trace: Trace) -> Iterator[str]:
    """What a program counts on and does not set itself, in words: work origins first, the others as they come."""
    yield from (f"{system} as on the sheet" for system in trace.origins_used)
    missing = trace.origins_missing
    for system in dict.fromkeys(system for system, _ in missing):
        axes = [axis.upper() for of, axis in missing if of == system]
        yield f"the {sentence_list(axes)} origin of {system} somewhere in travel less its margins"
    said = ((WORDS.get((each.about.kind, each.taken), ""), each) for each in trace.assumptions)
    yield from dict.fromkeys(words.format(each.word or each.about) for words, each in said if words)


WORDS: Mapping[tuple[Kind, Taken], str] = {
    ("offset", "none"): "no G92 offset is in force",
    ("stored", "sheet"): "the stored point of {} as on the sheet",
    ("stored", "anywhere"): "the stored point of {} is not on the sheet, so it may be anywhere in travel less its "
    "margins",
    ("mode", "word"): "{} is in force where the macro has not set it",
    ("optional stop", "either"): "the optional stop switch may be on or off (M1)",
}
"""What the verdict says of an assumption; nothing of what was said by hand, or is accepted with a reason."""


def claim(
    evidence: Evidence,
    result: Verdict,
    findings: Sequence[Finding],
    accepted: Mapping[str, str],
    proved: str = "Proved",
) -> str:
    """What is proved if all that is assumed holds, or why nothing is: for pages that list the assumptions beside it.

    ``proved`` is what it is called where nothing is left open.
    """
    if result == "refused":
        return f"Not proved: {how_many(sum(finding.severity is Severity.REFUSE for finding in findings), 'refusal')}"
    if result == "accepted":
        lowered = {finding.rule for finding in findings if finding.lowered}
        reasons = [f"{because} ({rule})" for rule, because in accepted.items() if rule in lowered]
        left = _open(findings, "something")
        return f"Not proved: accepted because {'; '.join(reasons)}{f'; {left} could not be decided' if left else ''}"
    left = _open(findings, "what could not be decided")
    return joined(" ", [f"Proved but for {left}" if left else proved, scope(evidence, result)])


def scope(evidence: Evidence, result: Verdict) -> str:
    """Where a proof holds: on all of the sheet or within travel only, and from which starts; "" where nothing is."""
    if result in ("refused", "accepted"):
        return ""
    where = "on this sheet" if _has_space(evidence.machine) else "within travel only"
    return joined("", [f"{where} from ", _starts(evidence)])


def sentence(result: Verdict, claimed: str, assumed: Sequence[str]) -> str:
    """The verdict in words, as the bench, the command and every printed page show it."""
    if result == "refused":
        return f"{claimed}."
    given = [", if: ", joined("; ", assumed)] if result != "accepted" else []
    return joined("", [claimed, *given, ". ", NOT_CHECKED])


def _open(findings: Sequence[Finding], unnamed: str) -> str:
    """What could not be decided, by line where it has one, ``unnamed`` where it has none; "" for nothing."""
    undecided = [finding.line for finding in findings if finding.undecided]
    return unnamed if None in undecided else _lines(undecided) if undecided else ""


def _lines(numbers: Sequence[int | None]) -> str:
    return counted("line", [str(line) for line in sorted({line for line in numbers if line})])


def _has_space(machine: Machine) -> bool:
    """Whether the sheet has both something to meet and something to meet it with."""
    solid = any(setup.keep_outs for setup in machine.setups) or bool(machine.enclosures)
    return solid and (machine.tool_stick_out > 0 or machine.nose_radius > 0 or machine.holder_length > 0)


def _starts(evidence: Evidence) -> str:
    if evidence.condition:
        return f"every homed start where {evidence.condition} (the pendant cannot check this)"
    fixed = {name: at for name, at in evidence.start.items() if _whole(evidence.machine, name) != at}
    if fixed:
        return joined(
            " ", ["the start", *(say("{axis} {at}", axis=n.upper(), at=Reading(n, at)) for n, at in fixed.items())]
        )
    return "every homed start"


def _whole(machine: Machine, name: str) -> Interval | None:
    axis = machine.axis(name)
    return axis.travel if axis else None
