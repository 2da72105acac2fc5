"""The review page: what each macro that comes would do here, and what may be done with it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from markupsafe import Markup

from library.bench import Bench
from library.documents import digest
from library.names import as_bytes
from library.proving import Proved
from library.share import foreign, lacks
from library.share.incoming import Incoming
from library.share.portable import Portion
from library.share.review import Beside, Here, Others, Reviewed, here, review, step_sentence
from library.share.taking import Keep
from library.store import SINGLETON, Workshop
from parser.findings import Finding
from parser.quantities import seconds_spread
from webapp import progress
from webapp.drawings import elevations
from webapp.pages import shelf as shelf_page
from webapp.pages.summary import sentence, summary

STANDINGS = {
    "new": "New here.",
    "same": "On the shelf already, to the letter.",
    "different": "The shelf has another macro of this id.",
    "unreadable": "This is no macro that can be read.",
}

KEEPS: tuple[tuple[Keep, str], ...] = (
    ("both", "Keep both: it gets a name and an id of its own"),
    ("theirs", "Take theirs, in place of mine"),
    ("mine", "Keep mine"),
)


@dataclass(frozen=True, slots=True)
class ReviewRow:
    """A macro that comes, as the table and its own page show it; ``shape`` goes with the word of its verdict.

    ``ticked`` says whether it is taken in unless somebody says otherwise, ``can`` whether it may be.
    """

    key: str
    id: str
    name: str
    purpose: str
    author: str
    licence: str
    source: str
    standing: str
    told: str
    can: bool
    ticked: bool
    shape: str
    word: str
    sentence: str
    time: str
    there: str
    missing: tuple[str, ...]
    foreign: tuple[str, ...]
    rigid: tuple[str, ...]
    beside: Beside | None
    runs: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    assumptions: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()
    steps: tuple[str, ...] = ()
    lines: tuple[str, ...] = ()
    figures: tuple[tuple[str, str], ...] = ()


def looked_over(come: Incoming, shop: Workshop, key: str | None = None) -> tuple[Here, tuple[Reviewed, ...]]:
    """The workshop as it stands, and the review of what comes to it, or of the one with this key alone.

    What was proved before is remembered.
    """
    now = here(shop)
    machine, controller = shop.text("machine", SINGLETON), shop.text("controller", SINGLETON)

    def prove(text: str, others: Others) -> Proved:
        return shelf_page.proved(text, machine, controller, others)

    return now, review(come, now, prove, progress.told, only=key)


def rows(found: Iterable[Reviewed], bench: Bench) -> Iterator[ReviewRow]:
    """The rows of the table."""
    for each in found:
        yield row(each, bench)


def row(each: Reviewed, bench: Bench) -> ReviewRow:
    """One macro that comes."""
    coming, macro, proved = each.coming, each.coming.macro, each.proved
    home = coming.source.home
    if macro is None or proved is None:
        return ReviewRow(
            coming.key, coming.id, coming.id, "", "", "", coming.source.name, each.standing, STANDINGS[each.standing],
            can=False, ticked=False, shape="refuse", word="Cannot be read", sentence=sentence(coming.wrong), time="",
            there="", missing=(), foreign=(), rigid=(), beside=None,
        )  # fmt: skip
    told = summary(proved, bench.figures)
    return ReviewRow(
        key=coming.key,
        id=coming.id,
        name=macro.name,
        purpose=macro.purpose,
        author=macro.author,
        licence=macro.licence,
        source=coming.source.name,
        standing=each.standing,
        told=STANDINGS[each.standing],
        can=each.standing != "same",
        ticked=each.standing != "same" and coming.asked,
        shape=told.shape,
        word=told.word,
        sentence=told.sentence,
        time=seconds_spread(proved.report.plan.totals.seconds),
        there=f"{home.machine}: {coming.there.sentence}" if coming.there and home else "",
        missing=tuple(sentence(lacks.worded(lack)) for lack in each.lacks),
        foreign=tuple(foreign.worded(one, bench.figures, home.machine if home else "") for one in each.foreign),
        rigid=each.rigid,
        beside=each.beside,
        runs=each.needs.macros if each.needs else (),
        findings=proved.report.findings,
        assumptions=told.assumptions,
        problems=tuple(sentence(str(problem)) for problem in proved.problems),
        steps=tuple(step_sentence(step) for step in macro.step),
        lines=proved.built.lines,
        figures=told.figures,
    )


def drawing(each: Reviewed, bench: Bench) -> Markup | None:
    """What it would do here, drawn from its own lines; None for one that cannot be read."""
    if each.proved is None:
        return None
    return elevations.draw(each.proved.report, title=each.proved.macro.name, units=bench.machine_sheet.units)


def state(found: Iterable[Reviewed]) -> str:
    """What a form says was shown: the revision here of every macro that comes under its id."""
    shown = [[each.coming.id, each.beside.head.number if each.beside else each.standing] for each in found]
    return digest(as_bytes(shown).decode())


@dataclass(frozen=True, slots=True)
class PortableRow:
    """A number of a macro that can be a landmark: its key in a form, its step and value, what it is and would be."""

    key: str
    step: int
    sentence: str
    parameter: str
    was: str
    becomes: str
    others: tuple[str, ...] = field(default=())


def portable_rows(portions: Iterable[Portion], sentences: tuple[str, ...]) -> Iterator[PortableRow]:
    """The rows of the table of what can be made portable."""
    for each in portions:
        at = each.formula
        yield PortableRow(each.key, at.step, sentences[at.step - 1], at.parameter, at.text, each.becomes, each.others)
