"""The verdict as the bench and the shelf show it: its word, what is claimed, what that rests on, and all in figures."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from library import verdicts
from library.build import Problem
from library.proving import Proved
from parser.motion.moves import EventKind
from parser.quantities import Figures, counted, seconds, seconds_spread
from parser.report import Report
from parser.times.timing import Spread
from webapp.pages import accepting

HEAD_LABELS = {"name": "Name", "start": "Starts from", "hand_rate": "Hand rate", "purpose": "Purpose"}
VERDICT_SHAPES = {"proved": "proved", "conditional": "caution", "accepted": "caution", "refused": "refuse"}
PROOF_RESTS_ON = "It holds if each of these is true today:"
MOST_NAMED = 3
"""Fields named in one sentence; the page marks each (our choice)."""

ACCEPTED_RESTS_ON = "What else was checked still assumes, today:"


@dataclass(frozen=True, slots=True)
class Summary:
    """The verdict, and the figures of the whole macro as pairs.

    ``claim`` is the sentence for a page that lists the assumptions below it, ``lead`` what to say before these; there
    are none to list under a refusal. ``reservations`` are sentences that belong beside the word wherever it stands.
    """

    shape: str
    word: str
    sentence: str
    claim: str
    lead: str
    reservations: tuple[str, ...]
    assumptions: tuple[str, ...]
    figures: tuple[tuple[str, str], ...]


def summary(proved: Proved, figures: Figures) -> Summary:
    """The verdict with its assumptions, and the figures of the whole macro."""
    report = proved.report
    problems = proved.problems
    word = "Not ready" if problems else verdict_word(proved)
    told = _amiss(problems) if problems else report.sentence
    return Summary(
        shape="refuse" if problems else VERDICT_SHAPES[report.verdict],
        word=word,
        sentence=told,
        claim=told if problems else f"{_claim(report, word)}.",
        lead=ACCEPTED_RESTS_ON if report.verdict == "accepted" else PROOF_RESTS_ON,
        reservations=() if problems else tuple(reservations(proved)),
        assumptions=() if problems or report.refused else report.assumptions,
        figures=tuple(_totals(report, figures)),
    )


def _claim(report: Report, word: str) -> str:
    """What is proved, to stand behind the word; only where it holds, if the word says all the rest."""
    return report.scope if report.claim == f"{word} {report.scope}" else report.claim


def verdict_word(proved: Proved) -> str:
    """The verdict as every page names it."""
    return verdicts.in_words(proved.report)


def reservations(proved: Proved) -> Iterator[str]:
    """What a verdict that is not a plain one leaves to the reader, one sentence each without a full stop."""
    report = proved.report
    if report.refused:
        return
    yield from accepting.reasons(proved)
    if proved.macro.conditioned:
        yield f"Only where {proved.macro.start.strip()}: the pendant cannot check this"
    undecided = verdicts.left_open(report)
    if undecided and report.verdict == "accepted":
        what = "something" if None in undecided else verdicts.named(undecided)
        yield f"{what[0].upper()}{what[1:]} could not be decided"


def unusable(summary: Summary, typed: Iterable[str], to_choose: Iterable[str] = ()) -> Summary:
    """A summary for a page with fields that no document can hold: its verdict would be taken for one on those.

    ``to_choose`` are those of them, by what a person calls them, that can be used but were changed elsewhere too.
    """
    names, two = list(typed), list(to_choose)
    wrong = [name for name in names if name not in two]
    told = (
        f"{listed(wrong)} cannot be used as typed. Below is the macro as it was kept."
        if wrong
        else f"Another page has changed {listed(two)} too: choose below."
    )
    return replace(
        summary,
        shape="refuse",
        word="Not ready",
        sentence=told,
        claim=told,
        reservations=(),
        assumptions=(),
    )


def listed(names: Iterable[str]) -> str:
    """Fields in quotation marks, the first few of many."""
    quoted = [f"“{name}”" for name in names]
    more = len(quoted) - MOST_NAMED
    return " and ".join(quoted[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")


def _amiss(problems: Sequence[Problem]) -> str:
    whole = [problem.message for problem in problems if problem.step is None]
    steps = dict.fromkeys(problem.step for problem in problems if problem.step is not None)
    if steps:
        where = counted("step", [str(step) for step in steps])
        whole.append(f"{where} cannot be written yet; the rest is shown as far as it goes")
    return sentence("; ".join(whole))


def sentence(text: str) -> str:
    """The text with a capital and a full stop, "" for nothing."""
    return f"{text[:1].upper()}{text[1:]}." if text else ""


def _totals(report: Report, figures: Figures) -> Iterator[tuple[str, str]]:
    totals, run_on = report.plan.totals, report.plan.run_on
    time = _with_typical(seconds_spread(totals.seconds), seconds(totals.seconds.typical), totals.seconds)
    yield "Time", f"{time}{verdicts.held_to(report, figures)}"
    if totals.operator_pauses:
        yield "Waits for you", "once" if totals.operator_pauses == 1 else f"{totals.operator_pauses} times"
    inputs = sum(event.kind is EventKind.INPUT for event in report.trace.events)
    if inputs:
        yield "Waits for an input", "once" if inputs == 1 else f"{inputs} times"
    for what, spread in (("Rapid", totals.rapid_mm), ("Feed", totals.feed_mm)):
        if spread.most or what == "Rapid":
            yield what, _with_typical(figures.length_spread(spread), figures.length(spread.typical), spread)
    stops = "" if run_on.stops else "; letting go stops nothing"
    yield "Run-on", f"up to {figures.length(run_on.millimetres)}, {seconds(run_on.seconds)}{stops}"


def _with_typical(reach: str, typical: str, spread: Spread) -> str:
    return reach if spread.least == spread.most else f"{reach}, typically {typical}"
