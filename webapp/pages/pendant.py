"""The whole pendant as its page shows it: what is proved, in one sentence, and each finding with the macros in it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from library.sequences import WholePendant, names
from parser.findings import Finding, Severity
from webapp.pages import bench as bench_page
from webapp.pages.summary import VERDICT_SHAPES

Pair = tuple[str, str]


@dataclass(frozen=True, slots=True)
class WholeRow:
    """A finding on the whole; ``case`` is in pieces, each with the id of the macro it names, "" for other words."""

    id: str
    shape: str
    severity: str
    case: tuple[tuple[str, str], ...]
    message: str
    remedy: str
    rule: str


@dataclass(frozen=True, slots=True)
class Whole:
    """The verdict on the whole pendant. ``broken`` maps a macro to the rows of the refused pairs that it is in."""

    shape: str
    word: str
    sentence: str
    rows: tuple[WholeRow, ...]
    broken: Mapping[str, tuple[str, ...]]
    empty: bool


def whole(pendant: WholePendant) -> Whole:
    """What the page says of the pendant."""
    ids = {name: id for id, name in names({id: each for id, each in pendant.proved.items() if each.exportable}).items()}
    rows = []
    broken: dict[str, tuple[str, ...]] = {}
    for number, finding in enumerate(pendant.findings, start=1):
        pair = finding.runners and (ids[finding.runners[0]], ids[finding.runners[1]])
        rows.append(_row(f"whole-{number}", finding, pair))
        if pair and finding.severity is Severity.REFUSE:
            for macro in dict.fromkeys(pair):
                broken[macro] = (*broken.get(macro, ()), f"whole-{number}")
    return Whole(
        VERDICT_SHAPES[pendant.verdict],
        pendant.word,
        pendant.sentence,
        tuple(rows),
        broken,
        not pendant.slots,
    )


def _row(id: str, finding: Finding, pair: Pair | None) -> WholeRow:
    case: tuple[tuple[str, str], ...] = ((f"{finding.case[0].upper()}{finding.case[1:]}", ""),) if finding.case else ()
    if pair and finding.runners:
        first, second = zip(finding.runners, pair, strict=True)
        case = (first, (", and again", "")) if first == second else (first, (", then ", ""), second)
    return WholeRow(
        id,
        str(finding.severity),
        bench_page.SEVERITY_WORDS[finding.severity],
        case,
        finding.message,
        finding.remedy,
        finding.rule,
    )
