"""The shelf as a list: which macros are asked for, in which order, and the verdicts of those on one page of it.

Nothing is proved here. A macro without a verdict is listed without one, and counted.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

from library import documents
from library.share.needs import ARITHMETIC
from library.store import Workshop
from parser.quantities import how_many
from webapp import kept_verdicts
from webapp.kept_verdicts import Brief, KeptVerdict, KeptVerdicts
from webapp.pages import shelf_index
from webapp.pages.shelf_index import Listed

PER_PAGE = 50
"""Macros on one page of the list (our choice): more nobody looks through, and each takes its time to be shown."""
LONGEST_SEARCH = 200
MOST_WORDS = 10

ANY = ""
UNKNOWN = "unknown"
VERDICTS: Mapping[str, str] = {
    ANY: "any",
    "proved": "Proved",
    "conditional": "Proved with a condition, or but for lines",
    "accepted": "Accepted, not proved",
    "refused": "Refused",
    "unwritten": "Not ready",
    "unreadable": "Cannot be read",
    UNKNOWN: "not proved yet",
}
"""What the list may be filtered by, the gravest last but for what is not known."""
MAY_LEAVE = frozenset({"proved", "conditional", "accepted"})
GRAVITY = ("unreadable", "unwritten", "refused", "accepted", "conditional", "proved")
SORTS: Mapping[str, str] = {
    "name": "name",
    "verdict": "verdict, refused first",
    "time": "time, shortest first",
    "changed": "last changed first",
    "author": "author",
}
NEEDS: Mapping[str, str] = {
    ANY: "any",
    "probe": "a probe",
    "pause": "a pause for the operator",
    "spindle": "the spindle",
    "coolant": "coolant",
    "tool-change": "a tool change",
    "offsets": "work offsets to be set",
    "stored-point": "a stored point",
    "machine-moves": "moves in machine coordinates",
    ARITHMETIC: "parameters or expressions",
}
"""What macros may need, as ``library.share.needs`` calls it, in words."""
NEEDS_VERDICTS = frozenset({"verdict", "time"})
"""Sorts for which the verdicts of all have to be known."""


@dataclass(frozen=True, slots=True)
class ShelfQuery:
    """What the address of the list asks for; every value is one that there is, or as it was typed.

    ``on`` is the id of the machine whose verdicts are shown, "" for the one in force.
    """

    q: str = ""
    verdict: str = ANY
    tag: str = ANY
    need: str = ANY
    on: str = ""
    sort: str = "name"
    page: int = 1

    @classmethod
    def of(cls, given: Mapping[str, str]) -> ShelfQuery:
        """What is asked for; a value that makes no sense asks for nothing."""
        page = given.get("page", "")
        return cls(
            q=" ".join(given.get("q", "")[:LONGEST_SEARCH].split()),
            verdict=_one_of(VERDICTS, given.get("verdict", ""), ANY),
            tag=given.get("tag", "")[:LONGEST_SEARCH],
            need=_one_of(NEEDS, given.get("need", ""), ANY),
            on=given.get("on", "")[:LONGEST_SEARCH],
            sort=_one_of(SORTS, given.get("sort", ""), "name"),
            page=int(page) if page.isascii() and page.isdigit() and len(page) < 7 else 1,
        )

    @property
    def query(self) -> dict[str, str]:
        """As values of an address, without those that ask for nothing."""
        plain = ShelfQuery()
        return {
            each.name: str(value)
            for each in fields(self)
            if (value := getattr(self, each.name)) != getattr(plain, each.name)
        }

    @property
    def narrowed(self) -> bool:
        """Whether not all of the shelf is asked for."""
        return bool(self.q or self.verdict or self.tag or self.need)

    def on_page(self, number: int) -> dict[str, str]:
        """The address of another page of the same list."""
        return replace(self, page=number).query


@dataclass(frozen=True, slots=True)
class ShelfRow:
    """One macro of the list; ``verdict`` is None where it is not proved yet. ``slots`` are labels such as "4 x10"."""

    macro: Listed
    key: str
    verdict: KeptVerdict | None
    slots: tuple[str, ...]

    @property
    def id(self) -> str:
        """Id of the macro."""
        return self.macro.id


@dataclass(frozen=True, slots=True)
class Listing:
    """One page of the list. ``found`` counts all that was asked for, ``unknown`` those of the shelf without a verdict.

    ``tags`` are all that there are on the shelf, with how many macros have each; ``shelf`` is all of it, as it stood.
    """

    asked: ShelfQuery
    rows: tuple[ShelfRow, ...]
    total: int
    found: int
    pages: int
    unknown: int
    tags: tuple[tuple[str, int], ...]
    shelf: Mapping[str, Listed]

    @property
    def open(self) -> tuple[ShelfRow, ...]:
        """The rows that have no verdict yet."""
        return tuple(row for row in self.rows if row.verdict is None)

    @property
    def told(self) -> str:
        """How many there are, in words."""
        whole = how_many(self.total, "macro")
        if not self.asked.narrowed:
            return f"{whole}."
        return f"{self.found} of {whole}." if self.found else f"None of {whole}."

    @property
    def incomplete(self) -> bool:
        """Whether the list would be another one, were all verdicts known."""
        return bool(self.unknown) and bool(
            self.asked.sort in NEEDS_VERDICTS or self.asked.verdict not in (ANY, UNKNOWN) or self.asked.need
        )


@dataclass(frozen=True, slots=True)
class On:
    """A machine with its controller, as the texts of their sheets and the digests of these."""

    machine: str
    controller: str
    digests: tuple[str, str]

    @classmethod
    def of(cls, machine: str, controller: str) -> On:
        """The machine of these two texts."""
        return cls(machine, controller, (documents.digest(machine), documents.digest(controller)))


def key_of(macro: Listed, shelf: Mapping[str, Listed], on: On) -> str:
    """What the verdict of a macro on a machine is kept under."""
    return kept_verdicts.key(*on.digests, macro.digest, shelf_index.runs(macro, shelf))


@dataclass(frozen=True, slots=True)
class ToProve:
    """A macro to be proved on a machine: the key to keep its verdict under, and id and text of those that it runs.

    All of it is of one moment, so that no verdict is kept under a key of texts that it was not proved with.
    """

    macro: Listed
    on: On
    key: str
    others: tuple[tuple[str, str], ...]


def job(macro: Listed, shelf: Mapping[str, Listed], on: On) -> ToProve:
    """The work of proving a macro with those of a shelf that it runs."""
    return ToProve(macro, on, key_of(macro, shelf, on), shelf_index.texts_run(macro, shelf))


def open_on(shelf: Mapping[str, Listed], kept: KeptVerdicts, on: On) -> list[ToProve]:
    """Every macro of a shelf without a verdict on a machine."""
    keys = {id: key_of(macro, shelf, on) for id, macro in shelf.items()}
    known = kept.brief(keys.values())
    return [job(macro, shelf, on) for id, macro in shelf.items() if keys[id] not in known]


def listing(
    shop: Workshop, kept: KeptVerdicts, asked: ShelfQuery, on: On, slots: Mapping[str, tuple[str, ...]]
) -> Listing:
    """The page of the list that is asked for, the last one where there are not so many."""
    shelf = shelf_index.listed(shop)
    keys = {id: key_of(macro, shelf, on) for id, macro in shelf.items()}
    known = kept.brief(keys.values())
    wanted = [macro for macro in shelf.values() if _wanted(macro, known.get(keys[macro.id]), asked)]
    wanted.sort(key=_order(asked.sort, {id: known.get(key) for id, key in keys.items()}))
    pages = max(1, math.ceil(len(wanted) / PER_PAGE))
    asked = replace(asked, page=min(max(asked.page, 1), pages))
    here = wanted[(asked.page - 1) * PER_PAGE : asked.page * PER_PAGE]
    verdicts = kept.found(keys[macro.id] for macro in here)
    return Listing(
        asked=asked,
        rows=tuple(
            ShelfRow(macro, keys[macro.id], verdicts.get(keys[macro.id]), slots.get(macro.id, ())) for macro in here
        ),
        total=len(shelf),
        found=len(wanted),
        pages=pages,
        unknown=sum(key not in known for key in keys.values()),
        tags=tuple(sorted(Counter(tag for macro in shelf.values() for tag in macro.facts.tags).items())),
        shelf=shelf,
    )


def _wanted(macro: Listed, known: Brief | None, asked: ShelfQuery) -> bool:
    if asked.verdict and asked.verdict != (known.verdict if known else UNKNOWN):
        return False
    if asked.need and (known is None or asked.need not in known.needs):
        return False
    if asked.tag and asked.tag not in macro.facts.tags:
        return False
    return matches(macro, asked)


def matches(macro: Listed, asked: ShelfQuery) -> bool:
    """Whether every word that is searched for stands in a macro."""
    wanted = asked.q.casefold().split()[:MOST_WORDS]
    return not wanted or all(word in macro.words for word in wanted)


def _order(sort: str, known: Mapping[str, Brief | None]) -> Callable[[Listed], tuple[Any, str, str]]:
    """What to sort by; what is not known or not said comes last, and equal ones by name."""

    def by_verdict(macro: Listed) -> int:
        brief = known[macro.id]
        return GRAVITY.index(brief.verdict) if brief and brief.verdict in GRAVITY else len(GRAVITY)

    def by_time(macro: Listed) -> float:
        brief = known[macro.id]
        return math.inf if brief is None or brief.seconds is None else brief.seconds

    def by_author(macro: Listed) -> tuple[bool, str]:
        return not macro.facts.author, macro.facts.author.casefold()

    def last_first(macro: Listed) -> tuple[int, ...]:
        return tuple(-ord(character) for character in macro.saved)

    def alike(macro: Listed) -> int:
        return 0

    by: Mapping[str, Callable[[Listed], Any]] = {
        "verdict": by_verdict,
        "time": by_time,
        "changed": last_first,
        "author": by_author,
    }
    first = by.get(sort, alike)
    return lambda macro: (first(macro), macro.name.casefold(), macro.id)


def _one_of(known: Mapping[str, str], given: str, otherwise: str) -> str:
    return given if given in known else otherwise
