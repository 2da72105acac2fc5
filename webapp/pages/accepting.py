"""Refusals that a macro accepts with a reason: which may be, what is accepted now, and what has no effect."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from library import documents, macros
from library.documents import DocumentError
from library.proving import Proved
from parser.findings import Finding, Severity
from parser.proof.rules import RULES
from webapp.pages.editing import VERDICT, Edited

NO_REASON = "Write why it is accepted: the reason is printed beside the verdict wherever the macro goes."
NO_LONGER = "This rule cannot be accepted in a macro. What is refused has to be fixed."


@dataclass(frozen=True, slots=True)
class Accepted:
    """An entry of a macro's ``accepted``; ``idle`` says why it is without effect, "" where something is accepted."""

    rule: str
    title: str
    because: str
    idle: str


def may_accept(rule: str) -> bool:
    """Whether a macro may lower the refusals of a rule with a written reason."""
    return rule in RULES and RULES[rule].accepts


def accepted(proved: Proved) -> tuple[Accepted, ...]:
    """What the macro accepts, in the order of its document."""
    findings = proved.report.findings
    return tuple(
        Accepted(
            each.rule,
            RULES[each.rule].manual().title if each.rule in RULES else "",
            each.because,
            _idle(each.rule, findings),
        )
        for each in proved.macro.accepted
    )


def _idle(rule: str, findings: Sequence[Finding]) -> str:
    if rule not in RULES:
        return "there is no rule of this name"
    if RULES[rule].severity is not Severity.REFUSE:
        return "this rule refuses nothing, so there is nothing to accept"
    if not RULES[rule].accepts:
        return "a refusal of this rule cannot be accepted"
    if not any(each.rule == rule and each.lowered for each in findings):
        return "nothing of the kind is refused now"
    return ""


def reasons(proved: Proved) -> Iterator[str]:
    """Why a macro is accepted, one sentence for each rule that has an effect."""
    for each in accepted(proved):
        if not each.idle:
            yield f"Accepted because {each.because.rstrip('.')} ({each.rule})"


def accept(text: str, rule: str, because: str, field: str) -> Edited:
    """The text with the refusals of a rule accepted; told at ``field``, the id of the control, where that cannot be."""
    if not may_accept(rule):
        return Edited(text, told=NO_LONGER)
    reason = " ".join(because.split())
    if not reason:
        return Edited(text, told=NO_REASON, focus=field)
    try:
        changed = macros.accept(text, rule, reason)
        documents.parse("macro", changed)
    except DocumentError as error:
        return Edited(text, told=error.why, focus=field)
    return Edited(changed, f"Accepted {rule}: {reason}", VERDICT)


def take_back(text: str, rule: str) -> Edited:
    """The text without its acceptance of a rule."""
    return Edited(macros.take_back(text, rule), f"Took back the acceptance of {rule}", VERDICT)
