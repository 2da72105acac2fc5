"""Pendant: the pendant as its sheet describes it, and which macro stands on which slot."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from flask import Blueprint, redirect, render_template, request, url_for
from jinja2_fragments.flask import render_block
from werkzeug.wrappers import Response

from library import documents, jogs, pack, toml_text
from library.jog_figures import ANSWER_MS
from library.merging import ClashError
from library.sheets import PendantSheet
from library.store import Head
from webapp import guard, workshop
from webapp.drawings import pendant as drawing
from webapp.pages import handbook, shelf_index, still_held, trying
from webapp.pages import pendant as pendant_page
from webapp.pages import sheet as sheet_page
from webapp.pages import shelf as shelf_page
from webapp.pages.shelf import ONLY, ShelfEntry
from webapp.pages.shelf_index import Listed
from webapp.views import seen

blueprint = Blueprint("pendant", __name__, url_prefix="/pendant")

NOTICES = {
    "undo": "Undone. Redo brings it back.",
    "redo": "Redone. Undo takes it back.",
    "as-it-is": "Nothing was undone or redone: there was nothing, or the sheet was changed on another page meanwhile.",
    "fitted": "Kept: this issue is on the machine.",
}


MOST_CHOICES = 60
"""Macros that each slot lists by itself (our choice); of more there is one list, and a slot is a field to type in."""

CHANGED_MEANWHILE = (
    "Not saved: another page has changed a slot that you changed too. The slots are shown as they stand now; "
    "choose again where you want yours."
)
FITTED_MEANWHILE = (
    "Not saved: another page has said meanwhile which issue is on the machine. It is shown below; say it again if it "
    "is another one."
)


@dataclass(frozen=True, slots=True)
class SlotRow:
    """A slot: its id on the page, its field in the form, the macro id on it and what is known of that macro."""

    id: str
    name: str
    increment: str
    macro: str
    on_shelf: ShelfEntry | None


@dataclass(frozen=True, slots=True)
class SelectorRow:
    """A position of the selector with its slots; ``does`` says what one does that is not spare, "" of one that is."""

    label: str
    does: str
    slots: tuple[SlotRow, ...]


@blueprint.get("")
def show() -> str:
    """The pendant and its slots."""
    return render_template("pendant.html", **facts())


@blueprint.post("")
def put() -> Response | str | tuple[str, int]:
    """Put macros on slots, as far as the form says something else than the page showed.

    422 where one cannot be put, 409 where another page has changed one of these slots meanwhile or where the form does
    not say what the page showed.
    """
    if "board" not in request.form or any(
        f"was.{name}" not in request.form for name in request.form if name.startswith("slot.")
    ):
        return answer(error=seen.UNSEEN), 409
    taken: list[str] = []
    called = _called(shelf_index.listed(workshop.current())) if "typed" in request.form else {}

    def meant(wanted: str, shown: str) -> str:
        """The id of the macro that a slot was given, by its id or its name where it was typed."""
        wanted = wanted.strip()
        if not called or wanted in ("", shown):
            return wanted
        if wanted.casefold() not in called:
            raise documents.DocumentError(f'there is no macro "{wanted}" alone on the shelf; choose one that is listed')
        return called[wanted.casefold()]

    def put_on(head: Head) -> tuple[str, str]:
        text, changes = head.text, []
        if request.form["board"] != board(text):
            taken.append("the positions of the selector, or the increments")
            return text, ""
        for row in rows(documents.parse("pendant", text), {}):
            for slot in row.slots:
                wanted, shown = (request.form.get(name, slot.macro) for name in (slot.name, f"was.{slot.name}"))
                wanted = meant(wanted, shown)
                if wanted in (slot.macro, shown):
                    continue
                if shown != slot.macro:
                    taken.append(f"{row.label} {slot.increment} (by now {slot.macro or 'nothing'}, you: {wanted})")
                text = toml_text.set_value(text, ("slots", row.label, slot.increment), wanted or None)
                changes.append(f"{wanted or 'nothing'} on {row.label} {slot.increment}")
        documents.parse("pendant", text)
        return (head.text, "") if taken else (text, ", ".join(changes))

    try:
        workshop.current().change("pendant", ONLY, put_on)
    except documents.DocumentError as error:
        return answer(error=f"Not saved. {handbook.sentence(str(error))}"), 422
    if taken:
        return answer(error=f"{CHANGED_MEANWHILE} {'; '.join(taken)}."), 409
    return answer() if guard.is_htmx() else redirect(url_for("pendant.show"))


@blueprint.get("/try")
def attempt() -> str:
    """The pendant after the deeds of ``?did=``: what would be sent, and why nothing fires; for htmx that part alone."""
    if not guard.is_htmx():
        return render_template("pendant.html", **facts())
    return render_block("pendant.html", "trying", sheet=workshop.current().bench().pendant, **tried())


def tried() -> dict[str, Any]:
    """What the part of the page shows in which the pendant is tried; the problem alone where it cannot be."""
    shop = workshop.current()
    try:
        found = trying.tried(shop, request.args.get("did", ""))
    except (pack.PackError, documents.DocumentError) as error:
        return {"tried": None, "tried_problem": handbook.sentence(str(error)), "tried_drawing": ""}
    sheet = shop.bench().pendant
    at = (sheet.positions[found.position].label, sheet.increments[found.increment])
    places = {each.label: number for number, each in enumerate(sheet.positions)}

    def turn(position: str, step: str) -> str:
        word = f"t{places[position]},{sheet.increments.index(step)}"
        return url_for("pendant.attempt", did=f"{found.did} {word}".strip()) + "#try"

    drawn = drawing.draw(sheet, {}, at, link=turn, prefix="try")
    return {"tried": found, "tried_problem": "", "tried_drawing": drawn}


@blueprint.post("/fitted")
def fit() -> Response | tuple[str, int]:
    """Say which issue is on the machine and since when.

    422 where it was never taken or the day is none, 409 where another page has said so meanwhile, or the form does not
    say which was shown.
    """
    if "was" not in request.form:
        return render_template("pendant.html", **facts(seen.UNSEEN)), 409
    day = request.form.get("since", "").strip() or datetime.now().date().isoformat()
    try:
        pack.fit(workshop.current(), request.form.get("issue", ""), day, seen=request.form.get("was", 0, type=int))
    except ClashError:
        return render_template("pendant.html", **facts(FITTED_MEANWHILE)), 409
    except pack.IssueError as error:
        return render_template("pendant.html", **facts(f"Not saved. {handbook.sentence(str(error))}")), 422
    return redirect(url_for("pendant.show", done="fitted"))


@blueprint.post("/turn-back")
def turn_back() -> Response | tuple[str, int]:
    """Undo or redo one saved revision of the pendant sheet; 409 where the form does not say which was shown."""
    if not seen.revision():
        return answer(error=seen.UNSEEN), 409
    way = "redo" if request.form.get("way") == "redo" else "undo"
    turned = getattr(workshop.current(), way)("pendant", ONLY, seen=seen.revision())
    return redirect(url_for("pendant.show", done=way if turned else "as-it-is"))


def _called(shelf: Mapping[str, Listed]) -> dict[str, str]:
    """The ids of the macros of a shelf by what they may be called in small letters, as far as only one is meant."""
    by_name: dict[str, list[str]] = {}
    for each in shelf.values():
        by_name.setdefault(each.name.casefold(), []).append(each.id)
    names = {name: ids[0] for name, ids in by_name.items() if len(ids) == 1}
    ids = {id: id for id in shelf if len(by_name.get(id, ())) < 2}
    return ids | names | {label.casefold(): id for id, label in labelled(shelf).items()}


def labelled(shelf: Mapping[str, Listed]) -> dict[str, str]:
    """What each macro is called in a list of all: its name, and its id where others have the same."""
    names = Counter(each.name.casefold() for each in shelf.values())
    return {id: each.name if names[each.name.casefold()] == 1 else f"{each.name} ({id})" for id, each in shelf.items()}


def answer(error: str = "") -> str:
    """The board alone for htmx, with the focus on what it comes to, else the page."""
    if guard.is_htmx():
        return render_block("pendant.html", "board", **facts(error), renewed=True)
    return render_template("pendant.html", **facts(error))


def facts(error: str = "") -> dict[str, Any]:
    """What the page shows."""
    shop = workshop.current()
    bench = shop.bench()
    shelf = {each.id: each for each in shelf_page.entries(shop)}
    listed = labelled(shelf_index.listed(shop)) if len(shelf) > MOST_CHOICES else {}
    return {
        "listed": dict(sorted(listed.items(), key=lambda each: each[1].casefold())),
        "sheet": bench.pendant,
        "rows": rows(bench.pendant, shelf),
        "shelf": shelf,
        "drawing": drawing.draw(bench.pendant, {name: each.name for name, each in shelf.items()}),
        "whole": pendant_page.whole(shelf_page.whole_pendant(shop)),
        "gesture": sheet_page.gesture(bench.pendant),
        "seen": shop.head("pendant", ONLY).number,
        "board": board(shop.text("pendant", ONLY)),
        "jog": pendant_page.jog(bench),
        "no_jog": jogs.why_not(bench),
        "answer_ms": ANSWER_MS,
        **tried(),
        "issues": still_held.choices(shop),
        "fitted": pack.fitted(shop),
        "fitted_seen": pack.fitted_revision(shop),
        "can_undo": shop.can_undo("pendant", ONLY),
        "can_redo": shop.can_redo("pendant", ONLY),
        "notice": NOTICES.get(request.args.get("done", "")),
        "error": error,
    }


def board(text: str) -> str:
    """The positions and increments of a pendant sheet, so that a page can say which slots it showed."""
    pendant = documents.parse("pendant", text)
    return " ".join([*(position.label for position in pendant.positions), "/", *pendant.increments])


def rows(pendant: PendantSheet, shelf: dict[str, ShelfEntry]) -> tuple[SelectorRow, ...]:
    """The positions in the order of the selector, the spare ones with a slot for each increment."""
    found = []
    for place, position in enumerate(pendant.positions):
        held = pendant.slots.get(position.label, {})
        slots = tuple(
            SlotRow(
                drawing.slot_id(position.label, increment),
                f"slot.{place}.{column}",
                increment,
                held.get(increment, ""),
                shelf.get(held.get(increment, "")),
            )
            for column, increment in enumerate(pendant.increments)
        )
        does = f"drives {position.drives.upper()}" if position.drives else "" if position.spare else "dead"
        found.append(SelectorRow(position.label, does, slots if position.spare else ()))
    return tuple(found)
