"""Repairs and the start condition as the bench offers them: the change first, and what applying it leaves."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from library import repair
from library.blocks import REGISTRY
from library.repair import Change, Repair
from parser.findings import Severity
from webapp import present, shelving
from webapp.editing import Edited, field_name

KINDS = {"-": "gone", "+": "new", " ": "same"}
NO_LONGER = "This mend no longer fits the macro as it is now. What is offered below does."


@dataclass(frozen=True, slots=True)
class Offer:
    """One change to choose: ``label`` says what it does, ``word`` and ``sentence`` what is proved after it."""

    value: str
    label: str
    steps: tuple[tuple[str, Change], ...]
    lines: tuple[tuple[str, Change], ...]
    shape: str
    word: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Offers:
    """What is offered for a macro: by finding, and for where it starts.

    ``raise_first`` comes before ``condition``, the start condition under which nothing is refused; either may be None.
    """

    by_finding: Mapping[int, tuple[Offer, ...]]
    raise_first: Offer | None
    condition: Offer | None
    start: str


@lru_cache(maxsize=64)
def _repairs(
    macro: str, machine: str, controller: str, others: shelving.Others
) -> tuple[tuple[Repair, ...], Repair | None]:
    sheets = shelving.Pair.read(machine, controller, others)
    proved = shelving.proved(macro, machine, controller, others)
    return repair.repairs(macro, sheets, proved), repair.start_condition(macro, sheets, proved)


def offers(macro: str, machine: str, controller: str, others: shelving.Others = ()) -> Offers:
    """What is offered for a macro, all given as the text of their documents. Raises DocumentError."""
    found, condition = _repairs(macro, machine, controller, others)
    findings = shelving.proved(macro, machine, controller, others).report.findings
    refused = [each for each in found if findings[each.finding or 0].severity is Severity.REFUSE]
    raised = next((each for each in refused if each.key.startswith("raise.")), None)
    return Offers(
        {index: tuple(map(_offer, each)) for index, each in repair.by_finding(found).items()},
        _offer(raised) if raised and condition else None,
        _offer(condition) if condition else None,
        condition.proved.macro.start if condition else "",
    )


def mend(macro: str, key: str, machine: str, controller: str, others: shelving.Others = ()) -> Edited:
    """The text after the mend of that key; told where it is not offered any more."""
    found, condition = _repairs(macro, machine, controller, others)
    chosen = next((each for each in (*found, condition) if each is not None and each.key == key), None)
    if chosen is None:
        return Edited(macro, told=NO_LONGER)
    return Edited(chosen.text, f"Mended: {chosen.title}", _focus(chosen))


def _focus(chosen: Repair) -> str:
    """The field to go on with: the first of the step that was changed, or the start."""
    if chosen.step == 0:
        return "head-start"
    block = REGISTRY.get(chosen.proved.macro.step[chosen.step - 1].block)
    return field_name(chosen.step, block.fields[0]).replace(".", "-") if block and block.fields else ""


def _offer(chosen: Repair) -> Offer:
    report = chosen.proved.report
    return Offer(
        f"mend {chosen.key}",
        chosen.title,
        tuple((KINDS[each.mark], each) for each in chosen.steps),
        tuple((KINDS[each.mark], each) for each in chosen.lines),
        present.VERDICT_SHAPES[report.verdict],
        present.VERDICT_WORDS[report.verdict],
        report.sentence,
    )
