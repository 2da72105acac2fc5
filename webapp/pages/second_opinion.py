"""What the page of a second opinion shows: how far two proofs agree about a macro, and where they do not."""

from __future__ import annotations

from dataclasses import dataclass, replace

from library import documents, verdicts
from library.proving import Proved, prove_macro
from parser.opinion import Disagreement
from parser.report import Report
from webapp import progress, workshop
from webapp.pages import shelf
from webapp.pages.shelf import ONLY
from webapp.remembered import remembered, report_bytes

SHAPES = {"agreed": "proved", "in part": "caution", "differs": "refuse", "not compared": "caution"}
WORDS = {"agreed": "agreed", "in part": "agreed in part", "differs": "differs", "not compared": "not compared"}


@dataclass(frozen=True, slots=True)
class Shown:
    """The second opinion on a macro. ``missing`` says what to install where there is no solver, "" where there is."""

    id: str
    name: str
    shape: str
    word: str
    verdict: str
    sentence: str
    differences: tuple[Disagreement, ...] = ()
    missing: str = ""


def shown(id: str, macro: str) -> Shown:
    """A macro, given as the text of its document, proved twice; raises NoSolverError."""
    found = _asked(macro)
    second = found.report.second
    assert second is not None
    return Shown(
        id,
        found.macro.name,
        SHAPES[second.outcome],
        WORDS[second.outcome],
        verdicts.in_words(found.report),
        second.sentence,
        second.differences,
    )


def without(id: str, macro: str, missing: str) -> Shown:
    """The same where there is no solver."""
    return Shown(id, documents.parse("macro", macro).name, "caution", "not asked", "", "", missing=missing)


def to_keep(macro: str) -> str:
    """The questions about a macro as a text; raises NoSolverError."""
    second = _asked(macro).report.second
    assert second is not None
    return second.to_send or second.text


def _asked(macro: str) -> Proved:
    shop = workshop.current()
    return _proved(macro, shop.text("machine", ONLY), shop.text("controller", ONLY), shelf.others(shop, macro))


def _bytes_of(found: Proved) -> int:
    return report_bytes(found.report) + _text_bytes(found.report)


def _text_bytes(report: Report) -> int:
    return 0 if report.second is None else len(report.second.text) + len(report.second.to_send)


@remembered(_bytes_of)
def _proved(macro: str, machine: str, controller: str, others: shelf.Others = ()) -> Proved:
    on = replace(shelf.bench(machine, controller, others), second=True)
    return prove_macro(documents.parse("macro", macro), on, seek_start=False, progress=progress.told)
