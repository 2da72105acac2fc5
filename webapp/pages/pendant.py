"""The whole pendant as its page shows it: what is proved, in one sentence, and each finding with the macros in it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from library.bench import Bench
from library.jog_figures import FASTEST, JogFigures, jog_figures
from library.sequences import WholePendant, names
from parser.findings import Finding, Severity
from parser.machine import ROTARY
from parser.quantities import Figures, figure, seconds
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


@dataclass(frozen=True, slots=True)
class JogRow:
    """What the wheel does on an axis at an increment, in words."""

    where: str
    click: str
    keeps_up: str
    none_lost: str
    turn: str
    runs_on: str


def jog(bench: Bench) -> tuple[JogRow, ...]:
    """The jog figures of every axis and increment."""
    return tuple(_jog_row(each, bench.figures) for each in jog_figures(bench))


def _jog_row(each: JogFigures, figures: Figures) -> JogRow:
    def far(value: float, places: int) -> str:
        return f"{figure(value, places)} deg" if each.axis in ROTARY else figures.length(value, places)

    lost = f", {figure(each.dropped, 0)} clicks are dropped" if round(each.dropped) else ""
    none_lost = figure(each.none_lost, 1 if each.none_lost < 20 else 0)
    return JogRow(
        f"{each.axis.upper()} {each.increment}",
        far(each.step, 3),
        f"{figure(each.keeps_up, 1)} clicks a second",
        f"{'more than ' if each.none_lost >= FASTEST else ''}{none_lost} a second",
        f"{far(each.turned, 2)} a second{lost}",
        f"{far(each.runs_on, 2)} in {seconds(each.seconds)}",
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
