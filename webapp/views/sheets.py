"""Sheets: machine, controller and pendant, each in short, as a form where there is one, and as its document."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, field
from typing import Any

from flask import Blueprint, Response, abort, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as BaseResponse

from library import confirming, days, documents, sheets, toml_text
from library.difference import difference
from library.fields import Units
from library.merging import ClashError
from library.sheets.parts import without_gone
from library.store import StoreError
from webapp import workshop
from webapp.pages import confirmed, handbook
from webapp.pages import sheet as sheet_page
from webapp.pages import stopwatch as stopwatch_page
from webapp.pages.forms import page as form_page
from webapp.pages.forms import presentation, taking
from webapp.pages.forms.page import TypedPart
from webapp.pages.forms.presentation import PARTS
from webapp.pages.stopwatch import Stopwatch
from webapp.pages.text_fields import from_textarea
from webapp.views import seen

blueprint = Blueprint("sheets", __name__, url_prefix="/sheets")
KIND = "/<any(machine, controller, pendant):kind>"
ONLY = "workshop"

NOTICES = {
    "lost": "Saved. What has changed counts as invented again: measure it, and tick it under Measured or invented.",
    "measured": "Kept. A part that is changed loses its day until it is ticked again.",
    "saved": "Saved. Every macro is proved against it from now on.",
    "same": "Nothing has changed, so nothing was saved.",
    "undo": "Undone. Redo brings it back.",
    "redo": "Redone. Undo takes it back.",
    "as-it-is": "Nothing was undone or redone: there was nothing, or the sheet was changed on another page meanwhile.",
    "stopwatch": "The timed rate and acceleration are in the sheet. Undo brings the old ones back.",
    "presets": "A new controller sheet has been started. Undo brings the one before back.",
}
CHANGED_MEANWHILE = (
    "Nothing has been saved: the sheet was changed elsewhere after this page was opened, and in the same place: {}. "
    "What you typed is below. Save again to put it over the newer one, or load the page anew to take that as it is."
)
CONFIRMED_MEANWHILE = (
    "Nothing was kept: {} changed elsewhere after this page was opened. See what is there now, then tick it."
)
SWITCHED = (
    "Not saved yet. The units are switched and every figure is as it was, so that each would be another length. "
    "Convert the figures, or keep them as they are if only the units were wrong: two buttons below the document."
)


@dataclass(frozen=True, slots=True)
class Refused:
    """What was typed and not saved, with the reason, to be shown again; ``now`` is what somebody else has saved."""

    error: str
    text: str | None = None
    now: str | None = None
    switched: bool = False
    line: int | None = None
    typed: TypedPart = field(default_factory=TypedPart)


@blueprint.get("")
def index() -> BaseResponse:
    """To the machine sheet."""
    return redirect(url_for("sheets.show", kind="machine"))


@blueprint.get(KIND)
def show(kind: str) -> str:
    """The page of a sheet."""
    return page(kind)


@blueprint.get(f"{KIND}.toml")
def download(kind: str) -> Response:
    """The document as a file."""
    text = workshop.current().text(kind, ONLY)
    return Response(
        text, mimetype="application/toml", headers={"Content-Disposition": f"attachment; filename={kind}.toml"}
    )


@blueprint.post(KIND)
def replace(kind: str) -> BaseResponse | tuple[str, int]:
    """Save the whole document; 422 with the text as typed where it cannot be used, 409 where it changed meanwhile."""
    typed = from_textarea(request.form.get("text", ""))
    try:
        typed = without_gone(kind, seen_text(kind), typed)
        documents.parse(kind, typed)
    except documents.DocumentError as error:
        return page(kind, Refused(told(error), text=typed, line=error.line)), 422
    was = sheet_page.switched_from(kind, seen_text(kind), typed)
    figures = request.form.get("figures")
    if was and figures is None:
        return page(kind, Refused(SWITCHED, text=typed, switched=True)), 422
    if was and figures == "convert":
        typed = documents.converted(kind, typed, was)
    return saved(kind, typed, "the document was edited", Refused("", text=typed))


@blueprint.post(f"{KIND}/part/<part>")
def change_part(kind: str, part: str) -> BaseResponse | tuple[str, int] | str:
    """Save one part of a sheet's form; 422 with everything as typed where a field cannot be used, 409 as above.

    "add" and "work-out" save nothing: the form comes back with one more row, or with what was touched worked out.
    """
    if part not in [each.id for each in PARTS[kind]]:
        abort(404)
    taken = taking.taken(kind, seen_text(kind), request.form, part, sheet_units())
    if taken.text is None:
        error = f"Not saved. {handbook.sentence(taken.told)}" if taken.typed.errors else ""
        return page(kind, Refused(error, typed=taken.typed)), 422 if error else 200
    why = f"{presentation.titles(kind)[part].lower()}: changed on the form"
    return saved(kind, taken.text, why, Refused("", typed=taken.typed), part=part)


@blueprint.post("/machine/part/<part>/drawing")
def draw_part(part: str) -> str:
    """The drawing with what is typed into a part so far; as it is kept where that cannot be used."""
    text = seen_text("machine")
    taken = taking.taken("machine", text, request.form, part)
    return sheet_page.drawing(sheet_page.read("machine", taken.text or text))


def sheet_units() -> Units:
    """The units of the machine sheet, which the form of the pendant is in."""
    return "inch" if toml_text.read(workshop.current().text("machine", ONLY)).get("units") == "inch" else "mm"


@blueprint.post("/machine/on-table")
def choose_setup() -> BaseResponse | tuple[str, int]:
    """Keep which setup is on the table today, "" for any of them; 422 for none of the sheet, 409 as above."""
    chosen = request.form.get("setup", "")
    try:
        text = documents.write("machine", {("on_table",): chosen or None}, seen_text("machine"))
    except documents.DocumentError as error:
        return page("machine", Refused(told(error))), 422
    return saved("machine", text, f"on the table: {chosen or 'any setup'}")


@blueprint.post("/controller/presets")
def start_from_presets() -> BaseResponse | tuple[str, int]:
    """Start the controller sheet from what was ticked; 422 where two of them contradict each other, 409 as above."""
    spec = "+".join(["as-published", *request.form.getlist("preset")])
    try:
        text = sheets.preset_text(spec)
    except documents.DocumentError as error:
        return page("controller", Refused(f"Not saved. {handbook.sentence(error.why)}")), 422
    return saved("controller", text, f"started from {spec}", notice="presets")


@blueprint.post(f"{KIND}/turn-back")
def turn_back(kind: str) -> BaseResponse | tuple[str, int]:
    """Undo or redo one saved revision, unless the sheet was changed since the page was shown; 409 if it says none."""
    if not seen.revision():
        return page(kind, Refused(seen.UNSEEN)), 409
    way = "redo" if request.form.get("way") == "redo" else "undo"
    turned = getattr(workshop.current(), way)(kind, ONLY, seen=seen.revision())
    return redirect(url_for("sheets.show", kind=kind, done=way if turned else "as-it-is"))


@blueprint.post("/<any(machine, controller, pendant):kind>/measured")
def confirm(kind: str) -> BaseResponse | tuple[str, int]:
    """Keep that the ticked parts were confirmed today, or are invented; 409 where one has changed meanwhile."""
    shop, parts = workshop.current(), request.form.getlist("part")
    today = request.form.get("day") == "today"
    shown, now = seen_text(kind), shop.text(kind, ONLY)
    known = [row.part for row in confirmed.rows(sheet_page.read(kind, shown))]
    if not parts or not set(parts) <= set(known):
        return page(kind, Refused("Nothing was ticked, so nothing was kept. Tick the parts it is true of.")), 422
    other = confirming.changed(kind, shown, now, parts) if today else ()
    if other:
        return page(kind, Refused(CONFIRMED_MEANWHILE.format(", ".join(other)))), 409
    text = confirming.confirm(kind, shown, dict.fromkeys(parts, days.today() if today else None))
    return saved(kind, text, f"{', '.join(parts)}: {'confirmed' if today else 'not confirmed'}", notice="measured")


def told(error: documents.DocumentError) -> str:
    """A mistake in a document as the page says it."""
    return f"Not saved. {handbook.sentence(str(error))}"


def seen_text(kind: str) -> str:
    """The sheet that the posted page showed; as it stands where the page does not say which."""
    shop = workshop.current()
    try:
        return shop.seen(kind, ONLY, seen.revision())
    except StoreError:
        return shop.text(kind, ONLY)


def saved(
    kind: str,
    text: str,
    why: str,
    typed: Refused | None = None,
    *,
    notice: str = "saved",
    part: str = "",
    stopwatch: Stopwatch | None = None,
) -> BaseResponse | tuple[str, int]:
    """Keep ``text`` as the newest revision, merged with what was saved meanwhile, and show the page.

    409 with what was ``typed`` and what stands there now where both changed the same fields.
    """
    shop = workshop.current()
    before = shop.head(kind, ONLY)
    if not seen.revision():
        return page(kind, dataclasses.replace(typed or Refused(""), error=seen.UNSEEN), stopwatch=stopwatch), 409
    try:
        head = shop.save(kind, ONLY, text, why, seen=seen.revision())
    except ClashError as clash:
        error = CHANGED_MEANWHILE.format(", ".join(clash.fields[:6]))
        refused = dataclasses.replace(typed or Refused(""), error=error, now=clash.now)
        return page(kind, refused, stopwatch=stopwatch), 409
    if notice != "measured" and set(days_of(kind, before.text)) - set(days_of(kind, head.text)):
        notice = "lost"
    done = "same" if head.number == before.number else notice
    if part:
        return redirect(url_for("sheets.show", kind=kind, done=done, part=part, _anchor=f"part-{part}"))
    return redirect(url_for("sheets.show", kind=kind, done=done))


def days_of(kind: str, text: str) -> tuple[str, ...]:
    """The parts of a sheet that somebody has confirmed."""
    return tuple(row.part for row in confirmed.rows(sheet_page.read(kind, text)) if row.day)


def page(kind: str, refused: Refused | None = None, *, stopwatch: Stopwatch | None = None) -> str:
    """The page of a sheet, with what was typed and refused if there is any, and what the ``stopwatch`` came to."""
    shop = workshop.current()
    head = shop.head(kind, ONLY)
    kept = head.text
    sheet = sheet_page.read(kind, kept)
    text = refused.text if refused and refused.text is not None else kept
    typed = refused.typed if refused else TypedPart(request.args.get("part", ""))
    again = refused is not None and refused.now is None
    form = form_page.shown(kind, seen_text(kind) if again else kept, sheet_units(), typed, base=f"/sheets/{kind}/part")
    facts: dict[str, Any] = {
        "kind": kind,
        "titles": sheet_page.TITLES,
        "name": sheet.name,
        "seen": head.number if refused is None or refused.now is not None else seen.revision(),
        "newer": difference(seen_text(kind), kept) if refused and refused.now is not None else (),
        "text": text,
        "typed": text != kept,
        "rows": min(max(text.count("\n") + 2, 12), 40),
        "summary": sheet_page.summary(sheet, sheet_units()),
        "to_look_at": sheet_page.to_look_at(sheet),
        "unstated": sheet_page.unstated(sheet),
        "drawing": sheet_page.drawing(sheet),
        "can_undo": shop.can_undo(kind, ONLY),
        "can_redo": shop.can_redo(kind, ONLY),
        "notice": NOTICES.get(request.args.get("done", "")),
        "error": refused.error if refused else "",
        "mistakes": form.mistakes,
        "excerpt": sheet_page.excerpt(text, refused.line) if refused and refused.line else (),
        "form": form,
        "of": workshop.machine_token(),
        "stopwatch": stopwatch or (stopwatch_page.shown(kept) if kind == "machine" else None),
        "presets": sheets.PRESETS if kind == "controller" else {},
        "ticked": request.form.getlist("preset"),
        "switched": bool(refused and refused.switched),
        "setups": [entry.name for entry in sheet.setup] if isinstance(sheet, sheets.MachineSheet) else [],
        "on_table": sheet.on_table if isinstance(sheet, sheets.MachineSheet) else "",
        "parts": confirmed.rows(sheet),
        "mixed": sheet_page.mixed_units(shop.bench()) if kind != "pendant" else "",
    }
    return render_template("sheets.html", **facts)
