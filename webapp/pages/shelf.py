"""The macros of a workshop as the shelf, the pendant and the pack show them: verdict, time, where each is used."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime

from library import documents, sequences
from library.bench import Bench
from library.blocks.run_macro import run_by
from library.numbering import slots
from library.proving import Proved, prove_macro
from library.sequences import WholePendant
from library.sheets import PendantSheet
from library.store import Workshop
from parser.quantities import seconds_spread
from webapp import progress
from webapp.pages import bench as bench_page
from webapp.pages import shelf_index
from webapp.pages.shelf_list import On
from webapp.pages.summary import summary
from webapp.remembered import remembered, report_bytes

ONLY = "workshop"
Others = tuple[tuple[str, str], ...]
"""Macros that a macro runs: id and text of each."""


@dataclass(frozen=True, slots=True)
class ShelfEntry:
    """A macro on the shelf. ``shape`` goes with the word of its verdict; ``slots`` are labels such as "4 x10".

    ``reservations`` say what the verdict leaves to whoever fires it: a start condition, the reason for which it is
    accepted, what could not be decided.
    """

    id: str
    name: str
    purpose: str
    tags: tuple[str, ...]
    shape: str
    word: str
    sentence: str
    time: str
    slots: tuple[str, ...]
    reservations: tuple[str, ...] = ()

    @property
    def bench(self) -> str:
        return f"/bench/{self.id}"


def bench(machine: str, controller: str, others: Others = ()) -> Bench:
    """The bench of sheets and of the macros that steps run, all given as texts; raises DocumentError."""
    return documents.bench(machine, controller, shelf={id: documents.parse("macro", text, id) for id, text in others})


def others(shop: Workshop, macro: str) -> Others:
    """The macros of the shelf that a macro runs, and those that these run; one that cannot be read is left out."""
    found: dict[str, str] = {}
    waiting, there = [macro], set(shop.ids("macro"))
    while waiting:
        with suppress(documents.DocumentError):
            for id in run_by(documents.parse("macro", waiting.pop())):
                if id in there and id not in found:
                    found[id] = shop.text("macro", id)
                    waiting.append(found[id])
    readable = []
    for id, text in found.items():
        with suppress(documents.DocumentError):
            documents.parse("macro", text, id)
            readable.append((id, text))
    return tuple(readable)


def _bytes_of(found: Proved) -> int:
    return report_bytes(found.report)


@remembered(_bytes_of)
def proved(macro: str, machine: str, controller: str, others: Others = ()) -> Proved:
    """A macro proved on two sheets, all given as the text of their documents, with the macros that it runs.

    Its safe start is not sought, which would hold up the rest. Raises DocumentError. The page that waits for it is told
    how far it has come, and may stop it (see ``working``).
    """
    on = bench(machine, controller, others)
    return prove_macro(documents.parse("macro", macro), on, seek_start=False, progress=progress.told)


@remembered(_bytes_of)
def with_safe_start(macro: str, machine: str, controller: str, others: Others = ()) -> Proved:
    """The same with its safe start sought; who waits for it may stop that too."""
    on = bench(machine, controller, others)
    return prove_macro(documents.parse("macro", macro), on, progress=progress.told)


def entry(shop: Workshop, name: str) -> ShelfEntry:
    """One macro of the workshop ``shop``; one whose document cannot be used says so in place of a verdict."""
    sheets = shop.bench()
    on = labels(sheets.pendant).get(name, ())
    try:
        text = shop.text("macro", name)
        found = proved(text, shop.text("machine", ONLY), shop.text("controller", ONLY), others(shop, text))
    except documents.DocumentError as error:
        return ShelfEntry(name, name, "", (), "refuse", "Cannot be read", str(error), "", on)
    told = summary(found, sheets.figures)
    totals = found.report.plan.totals
    return ShelfEntry(
        id=name,
        name=found.macro.name,
        purpose=found.macro.purpose,
        tags=found.macro.tags,
        shape=told.shape,
        word=told.word,
        sentence=told.sentence,
        time="; ".join([seconds_spread(totals.seconds), *bench_page.waits(found.report)]),
        slots=on,
        reservations=told.reservations,
    )


def entries(shop: Workshop) -> tuple[ShelfEntry, ...]:
    """Every macro on the shelf, by name; only those on a slot of the pendant with their verdict."""
    used = labels(shop.bench().pendant)
    found = []
    for each in shelf_index.listed(shop).values():
        plain = ShelfEntry(each.id, each.name, each.facts.purpose, each.facts.tags, "", "", "", "", ())
        found.append(entry(shop, each.id) if each.id in used else plain)
    return tuple(sorted(found, key=lambda each: each.name.casefold()))


def in_force(shop: Workshop) -> On:
    """The machine that counts in the workshop."""
    return On.of(*shop.sheets()[:2])


def whole_pendant(shop: Workshop) -> WholePendant:
    """Every slot of the pendant and every sequence of them, proved."""
    machine, controller = shop.text("machine", ONLY), shop.text("controller", ONLY)
    whole = shop.bench()
    texts = {name: shop.text("macro", name) for name in labels(whole.pendant) if name in whole.shelf}
    found = {name: proved(text, machine, controller, others(shop, text)) for name, text in texts.items()}
    return sequences.whole_pendant(whole, found)


@dataclass(frozen=True, slots=True)
class Removed:
    """A macro that was taken off the shelf; ``seen`` is the number of the revision that says so."""

    id: str
    name: str
    seen: int


def removed(shop: Workshop) -> tuple[Removed, ...]:
    """The macros that were taken off the shelf, with the name each had last."""
    found = []
    for id in shop.deleted("macro"):
        revisions = shop.revisions("macro", id)
        last = next((each.text for each in revisions if each.text is not None), "")
        seen = next((each.number for each in revisions if each.current), 0)
        try:
            found.append(Removed(id, documents.parse("macro", last).name, seen))
        except documents.DocumentError:
            found.append(Removed(id, id, seen))
    return tuple(found)


def when(saved: str) -> str:
    """The moment of a revision, from ISO 8601 as people write it: "25 Nov 2026, 09:51 UTC"."""
    try:
        moment = datetime.fromisoformat(saved).astimezone(UTC)
    except (ValueError, OverflowError):
        return f"an unreadable time ({saved[:40]})"
    return f"{moment.day} {moment:%b %Y, %H:%M} UTC"


def labels(pendant: PendantSheet) -> Mapping[str, tuple[str, ...]]:
    """The labels of the slots that each macro is on."""
    found: dict[str, tuple[str, ...]] = {}
    for slot in slots(pendant):
        found[slot.macro] = (*found.get(slot.macro, ()), slot.label)
    return found
