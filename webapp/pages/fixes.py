"""Fixes and the start condition as the bench offers them: the change first, and what applying it leaves."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace

from library import fixes
from library.blocks import REGISTRY
from library.difference import DifferentLine
from library.fixes import Fix
from library.limits import FIXES
from library.proving import Proved
from parser.findings import Severity
from parser.quantities import how_many
from parser.report import Report
from webapp.pages import shelf as shelf_page
from webapp.pages.editing import VERDICT, Edited, field_name
from webapp.pages.summary import VERDICT_SHAPES, verdict_word
from webapp.remembered import remembered, report_bytes

NO_LONGER = "This fix no longer fits the macro as it is now; those offered below do."


@dataclass(frozen=True, slots=True)
class Offer:
    """One change to choose: ``label`` says what it does, ``word`` and ``sentence`` what is proved after it.

    ``id`` names it on the page, ``fixes`` counts the findings that go with it.
    """

    id: str
    value: str
    label: str
    steps: tuple[DifferentLine, ...]
    lines: tuple[DifferentLine, ...]
    shape: str
    word: str
    sentence: str
    fixes: int


@dataclass(frozen=True, slots=True)
class Offers:
    """What is offered for a macro, by finding.

    A change that fixes several findings is offered at the first of them and in ``also`` of the others. ``raise_first``
    is better than a start condition; None where it is not offered.
    """

    by_finding: Mapping[int, tuple[Offer, ...]]
    also: Mapping[int, tuple[Offer, ...]]
    raise_first: Offer | None


@dataclass(frozen=True, slots=True)
class SafeStartOffer:
    """The safe start in words, and the start condition that asks for it; "" and None where there is none."""

    sentence: str
    condition: Offer | None
    start: str


def _moves_times_boxes(report: Report) -> int:
    machine = report.machine
    boxes = sum(1 + len(setup.keep_outs) + len(machine.enclosures) for setup in machine.setups)
    return len(report.trace.moves) * boxes


def _bytes_of(found: tuple[Fix, ...]) -> int:
    return sum(report_bytes(each.proved.report) for each in found)


@remembered(_bytes_of)
def _found(macro: str, machine: str, controller: str, others: shelf_page.Others, head: int = 0) -> tuple[Fix, ...]:
    proved = shelf_page.proved(macro, machine, controller, others, head)
    bench = replace(shelf_page.bench(machine, controller, others), head=proved.built.head)
    if _moves_times_boxes(proved.report) > FIXES.most:
        return ()
    return fixes.find(macro, bench, proved)


@remembered(_bytes_of)
def _condition(macro: str, machine: str, controller: str, others: shelf_page.Others, head: int = 0) -> tuple[Fix, ...]:
    """The start condition alone; nothing where none is offered."""
    proved = shelf_page.with_safe_start(macro, machine, controller, others, head)
    bench = replace(shelf_page.bench(machine, controller, others), head=proved.built.head)
    if _moves_times_boxes(proved.report) > FIXES.most:
        return ()
    condition = fixes.start_condition(macro, bench, proved)
    return (condition,) if condition else ()


def to_be_sought(proved: Proved) -> bool:
    """Whether a macro has a safe start to be sought: one that is whole, and refused from somewhere."""
    return proved.report.refused and not proved.problems


def safe_start(
    macro: str, machine: str, controller: str, others: shelf_page.Others = (), head: int = 0
) -> SafeStartOffer:
    """The safe start of a macro, all given as the text of their documents. Raises DocumentError."""
    if not to_be_sought(shelf_page.proved(macro, machine, controller, others, head)):
        return SafeStartOffer("", None, "")
    told = shelf_page.with_safe_start(macro, machine, controller, others, head).report.safe_start.sentence
    for condition in _condition(macro, machine, controller, others, head):
        return SafeStartOffer(told, _offer(condition, condition.proved.report, 0), condition.proved.macro.start)
    return SafeStartOffer(told, None, "")


def offers(macro: str, machine: str, controller: str, others: shelf_page.Others = (), head: int = 0) -> Offers:
    """What is offered for a macro, all given as the text of their documents. Raises DocumentError."""
    found = _found(macro, machine, controller, others, head)
    proved = shelf_page.proved(macro, machine, controller, others, head)
    findings = proved.report.findings
    alike: dict[str, list[Fix]] = {}
    for each in found:
        alike.setdefault(each.text, []).append(each)
    offered = {text: _offer(same[0], proved.report, len(same)) for text, same in alike.items()}
    twice = Counter(each.id for each in offered.values())
    offered = {
        text: replace(each, id=f"{each.id}-{at}") if twice[each.id] > 1 else each
        for at, (text, each) in enumerate(offered.items(), start=1)
    }
    first: dict[int, tuple[Offer, ...]] = {}
    also: dict[int, tuple[Offer, ...]] = {}
    for index, each_of in fixes.by_finding(found).items():
        first[index] = tuple(offered[each.text] for each in each_of if alike[each.text][0] is each)
        also[index] = tuple(offered[each.text] for each in each_of if alike[each.text][0] is not each)
    refused = [each for each in found if findings[each.finding or 0].severity is Severity.REFUSE]
    raised = next((each for each in refused if each.key.startswith("raise.")), None)
    return Offers(
        first,
        also,
        offered[raised.text] if raised else None,
    )


def fix(macro: str, key: str, machine: str, controller: str, others: shelf_page.Others = ()) -> Edited:
    """The text after the fix of that key; told where it is not offered any more."""
    asked = _condition if key == "start" else _found
    chosen = next((each for each in asked(macro, machine, controller, others) if each.key == key), None)
    if chosen is None:
        return Edited(macro, told=NO_LONGER)
    return Edited(chosen.text, f"Fix: {chosen.title}", _focus(chosen))


def _focus(chosen: Fix) -> str:
    """Where to go on: the first field of the step that was changed, or the verdict where the start was."""
    if chosen.step == 0:
        return VERDICT
    block = REGISTRY.get(chosen.proved.macro.step[chosen.step - 1].block)
    return field_name(chosen.step, block.fields[0]).replace(".", "-") if block and block.fields else ""


def _offer(chosen: Fix, before: Report, count: int) -> Offer:
    report = chosen.proved.report
    return Offer(
        "fix-" + re.sub("[^a-z0-9-]", "-", chosen.key),
        f"fix {chosen.key}",
        chosen.title,
        chosen.steps,
        chosen.lines,
        VERDICT_SHAPES[report.verdict],
        verdict_word(chosen.proved),
        _gain(before, report, count) if report.refused else report.sentence,
        count,
    )


def _gain(before: Report, after: Report, count: int) -> str:
    """What a change is good for that leaves something refused."""
    had, left = _refusals(before), _refusals(after)
    goes = "This finding goes" if count == 1 else f"These {count} findings go"
    remaining = f"{left} of {had} refusals remain" if left < had else f"the {how_many(left, 'refusal')} stay"
    return f"{goes}; {'1 refusal remains' if left == 1 else remaining}."


def _refusals(report: Report) -> int:
    return sum(finding.severity is Severity.REFUSE for finding in report.findings)
