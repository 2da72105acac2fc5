"""The review page: what each macro that comes would do here, and what may be done with it."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from markupsafe import Markup

from library.bench import Bench
from library.documents import digest
from library.names import as_bytes
from library.proving import Proved
from library.share import foreign, lacks
from library.share.incoming import Coming, Incoming
from library.share.portable import Portion
from library.share.review import Beside, Others, Reviewed, compared, here, looked_at, review, step_sentence
from library.share.taking import Keep
from library.store import SINGLETON, Workshop
from parser.findings import Finding
from webapp import progress
from webapp.drawings import elevations
from webapp.kept_verdicts import KeptVerdict, KeptVerdicts
from webapp.pages import shelf as shelf_page
from webapp.pages import shelf_index, shelf_list, shelf_proving
from webapp.pages.shelf_index import Listed
from webapp.pages.shelf_list import PER_PAGE, ToProve
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
    """A macro that comes, as the table and its own page show it; ``verdict`` is None where it is not proved yet.

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
    verdict: KeptVerdict | None
    there: str = ""
    missing: tuple[str, ...] = ()
    foreign: tuple[str, ...] = ()
    rigid: tuple[str, ...] = ()
    beside: Beside | None = None
    runs: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ReviewInFull:
    """What the page of one macro has beside its row: all that was found, its steps, the lines that it writes here."""

    findings: tuple[Finding, ...]
    assumptions: tuple[str, ...]
    problems: tuple[str, ...]
    steps: tuple[str, ...]
    lines: tuple[str, ...]
    figures: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class ReviewTable:
    """One page of a review. ``told`` counts the verdicts that are known, by their words, the gravest first.

    ``unknown`` counts those of all that comes that are not known yet, ``all`` what is taken in unless somebody says
    otherwise.
    """

    rows: tuple[ReviewRow, ...]
    total: int
    page: int
    pages: int
    told: tuple[tuple[str, int], ...]
    unknown: int
    all: int

    @property
    def open(self) -> tuple[ReviewRow, ...]:
        """The rows without a verdict."""
        return tuple(row for row in self.rows if row.verdict is None)


def jobs(come: Incoming, shop: Workshop) -> dict[str, ToProve]:
    """What is to be proved, by the keys of the macros that come: each with those that came in one file with it."""
    shelf, on = shelf_index.listed(shop), shelf_page.in_force(shop)
    together: dict[tuple[str, str], dict[str, Listed]] = {}
    of_file = {each.key: (each.source.name, each.source.sha256) for each in come.macros}
    for each in come.macros:
        if each.macro:
            together.setdefault(of_file[each.key], dict(shelf))[each.id] = _listed(each)
    return {
        each.key: shelf_list.job(together[of_file[each.key]][each.id], together[of_file[each.key]], on)
        for each in come.macros
        if each.macro
    }


def _listed(each: Coming) -> Listed:
    sum = digest(each.text)
    return Listed(each.id, shelf_index.facts(each.text, sum), sum, each.text, "")


def table(come: Incoming, shop: Workshop, kept: KeptVerdicts, page: int) -> ReviewTable:
    """The page of a review that is asked for, the last one where there are not so many; nothing is proved."""
    now, wanted = here(shop), jobs(come, shop)
    found = compared(come, now.heads)
    pages = max(1, math.ceil(len(found) / PER_PAGE))
    page = min(max(page, 1), pages)
    known = kept.brief(job.key for job in wanted.values())
    shown = found[(page - 1) * PER_PAGE : page * PER_PAGE]
    verdicts = kept.found(wanted[each.coming.key].key for each in shown if each.coming.key in wanted)
    rows = tuple(
        row(looked_at(each, come, now), now.bench, verdicts.get(wanted[each.coming.key].key))
        if each.coming.key in wanted
        else row(each, now.bench, None)
        for each in shown
    )
    counts = Counter(known[job.key].verdict for job in wanted.values() if job.key in known)
    counts["unreadable"] += len(found) - len(wanted)
    return ReviewTable(
        rows,
        len(found),
        page,
        pages,
        tuple((shelf_list.VERDICTS[each], counts[each]) for each in shelf_list.GRAVITY if counts[each]),
        sum(job.key not in known for job in wanted.values()),
        len(usual(found)),
    )


def usual(found: Iterable[Reviewed]) -> tuple[str, ...]:
    """The keys of what is taken in unless somebody says otherwise."""
    return tuple(each.coming.key for each in found if _ticked(each))


def _ticked(each: Reviewed) -> bool:
    return each.standing in ("new", "different") and each.coming.asked


def row(each: Reviewed, bench: Bench, verdict: KeptVerdict | None) -> ReviewRow:
    """One macro that comes."""
    coming, macro = each.coming, each.coming.macro
    home = coming.source.home
    if macro is None:
        wrong = KeptVerdict("unreadable", "refuse", "Cannot be read", sentence(coming.wrong), "", None)
        return ReviewRow(
            coming.key, coming.id, coming.id, "", "", "", coming.source.name, each.standing, STANDINGS[each.standing],
            can=False, ticked=False, verdict=wrong,
        )  # fmt: skip
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
        ticked=_ticked(each),
        verdict=verdict,
        there=f"{home.machine}: {coming.there.sentence}" if coming.there and home else "",
        missing=tuple(sentence(lacks.worded(lack)) for lack in each.lacks),
        foreign=tuple(foreign.worded(one, bench.figures, home.machine if home else "") for one in each.foreign),
        rigid=each.rigid,
        beside=each.beside,
        runs=each.needs.macros if each.needs else (),
    )


def one(come: Incoming, shop: Workshop, kept: KeptVerdicts, key: str) -> tuple[ReviewRow, ReviewInFull, Markup | None]:
    """One macro that comes: its row, what its page has beside it, and what it would do here as a drawing.

    What was proved before is remembered. There is no drawing of one that cannot be read.
    """
    now, wanted = here(shop), jobs(come, shop)
    machine, controller = shop.text("machine", SINGLETON), shop.text("controller", SINGLETON)

    def prove(text: str, others: Others) -> Proved:
        return shelf_page.proved(text, machine, controller, others)

    (found,) = review(come, now, prove, progress.told, only=key)
    macro, proved = found.coming.macro, found.proved
    if macro is None or proved is None:
        return row(found, now.bench, None), ReviewInFull((), (), (), (), (), ()), None
    told = summary(proved, now.bench.figures)
    full = ReviewInFull(
        proved.report.findings,
        told.assumptions,
        tuple(sentence(str(problem)) for problem in proved.problems),
        tuple(step_sentence(step) for step in macro.step),
        proved.built.lines,
        told.figures,
    )
    return row(found, now.bench, shelf_proving.known(kept, wanted[key])), full, drawing(found, now.bench)


def drawing(each: Reviewed, bench: Bench) -> Markup | None:
    """What it would do here, drawn from its own lines; None for one that cannot be read."""
    if each.proved is None:
        return None
    return elevations.draw(each.proved.report, title=each.proved.macro.name, units=bench.machine_sheet.units)


def state(found: Iterable[Reviewed]) -> str:
    """What a form says was shown: the revision here of every macro that comes under its id."""
    shown = [
        [each.coming.id, each.head.number if each.head and each.standing == "different" else each.standing]
        for each in found
    ]
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
