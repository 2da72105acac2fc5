"""Sheets: machine, controller and pendant, each in short, as a form where there is one, and as its document."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from flask import Blueprint, Response, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as BaseResponse

from library import documents, sheets
from webapp import workshop
from webapp.pages import handbook, machine_form
from webapp.pages import sheet as sheet_page
from webapp.pages import stopwatch as stopwatch_page
from webapp.pages.stopwatch import Stopwatch
from webapp.pages.text_fields import from_textarea

blueprint = Blueprint("sheets", __name__, url_prefix="/sheets")
KIND = "/<any(machine, controller, pendant):kind>"
ONLY = "workshop"

NOTICES = {
    "saved": "Saved. Every macro is proved against it from now on.",
    "same": "Nothing has changed, so nothing was saved.",
    "undo": "Undone. Redo brings it back.",
    "redo": "Redone. Undo takes it back.",
    "stopwatch": "The timed rate and acceleration are in the sheet. Undo brings the old ones back.",
    "presets": "A new controller sheet has been started. Undo brings the one before back.",
}
CHANGED_MEANWHILE = (
    "The sheet was changed elsewhere after this page was opened, so nothing has been saved. "
    "What you typed is below: save again to put it over the newer one."
)
SWITCHED = (
    "Not saved yet. The units are switched and every figure is as it was, so that each would be another length. "
    "Convert the figures, or keep them as they are if only the units were wrong: two buttons below the document."
)


@dataclass(frozen=True, slots=True)
class Refused:
    """What was typed and not saved, with the reason, to be shown again."""

    error: str
    text: str | None = None
    switched: bool = False
    line: int | None = None
    typed: dict[str, str] = field(default_factory=dict)
    errors: dict[str, str] = field(default_factory=dict)


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
        documents.parse(kind, typed)
    except documents.DocumentError as error:
        return page(kind, Refused(told(error), text=typed, line=error.line)), 422
    if changed_meanwhile(kind):
        return page(kind, Refused(CHANGED_MEANWHILE, text=typed)), 409
    was = sheet_page.switched_from(kind, workshop.current().text(kind, ONLY), typed)
    figures = request.form.get("figures")
    if was and figures is None:
        return page(kind, Refused(SWITCHED, text=typed, switched=True)), 422
    if was and figures == "convert":
        typed = documents.converted(kind, typed, was)
    return saved(kind, typed, "the document was edited")


@blueprint.post("/machine/values")
def change_values() -> BaseResponse | tuple[str, int]:
    """Save the common values of the machine; 422 with everything as typed where one cannot be used, 409 as above."""
    typed = request.form.to_dict()
    change = machine_form.changed(workshop.current().text("machine", ONLY), typed)
    if change.errors:
        whole = handbook.sentence(change.errors.get("", "Some values cannot be used"))
        return page("machine", Refused(f"Not saved. {whole}", typed=typed, errors=dict(change.errors))), 422
    if changed_meanwhile("machine"):
        return page("machine", Refused(CHANGED_MEANWHILE, typed=typed)), 409
    return saved("machine", change.text, "values were changed")


@blueprint.post("/controller/presets")
def start_from_presets() -> BaseResponse | tuple[str, int]:
    """Start the controller sheet from what was ticked; 422 where two of them contradict each other."""
    spec = "+".join(["as-published", *request.form.getlist("preset")])
    try:
        text = sheets.preset_text(spec)
    except documents.DocumentError as error:
        return page("controller", Refused(f"Not saved. {handbook.sentence(error.why)}")), 422
    return saved("controller", text, f"started from {spec}", notice="presets")


@blueprint.post(f"{KIND}/turn-back")
def turn_back(kind: str) -> BaseResponse:
    """Undo or redo one saved revision."""
    way = "redo" if request.form.get("way") == "redo" else "undo"
    getattr(workshop.current(), way)(kind, ONLY)
    return redirect(url_for("sheets.show", kind=kind, done=way))


def told(error: documents.DocumentError) -> str:
    """A mistake in a document as the page says it."""
    return f"Not saved. {handbook.sentence(str(error))}"


def changed_meanwhile(kind: str) -> bool:
    """Whether the sheet is no longer the one that the posted page showed."""
    return request.form.get("digest") != documents.digest(workshop.current().text(kind, ONLY))


def saved(kind: str, text: str, why: str, *, notice: str = "saved") -> BaseResponse:
    """Keep ``text`` as the newest revision, unless it is what is kept already, and show the page."""
    shop = workshop.current()
    if text == shop.text(kind, ONLY):
        notice = "same"
    else:
        shop.save(kind, ONLY, text, why)
    return redirect(url_for("sheets.show", kind=kind, done=notice))


def page(kind: str, refused: Refused | None = None, *, stopwatch: Stopwatch | None = None) -> str:
    """The page of a sheet, with what was typed and refused if there is any, and what the ``stopwatch`` came to."""
    shop = workshop.current()
    kept = shop.text(kind, ONLY)
    sheet = sheet_page.read(kind, kept)
    text = refused.text if refused and refused.text is not None else kept
    form = (
        machine_form.shown(kept, *((refused.typed, refused.errors) if refused else ())) if kind == "machine" else None
    )
    facts: dict[str, Any] = {
        "kind": kind,
        "titles": sheet_page.TITLES,
        "name": sheet.name,
        "digest": documents.digest(kept),
        "text": text,
        "rows": min(max(text.count("\n") + 2, 12), 40),
        "summary": sheet_page.summary(sheet),
        "unstated": sheet_page.unstated(sheet),
        "drawing": sheet_page.drawing(sheet),
        "can_undo": shop.can_undo(kind, ONLY),
        "can_redo": shop.can_redo(kind, ONLY),
        "notice": NOTICES.get(request.args.get("done", "")),
        "error": refused.error if refused else "",
        "mistakes": form.mistakes if form else {},
        "excerpt": sheet_page.excerpt(text, refused.line) if refused and refused.line else (),
        "form": form,
        "stopwatch": stopwatch or (stopwatch_page.shown(kept) if kind == "machine" else None),
        "presets": sheets.PRESETS if kind == "controller" else {},
        "ticked": request.form.getlist("preset"),
        "switched": bool(refused and refused.switched),
        "mixed": sheet_page.mixed_units(shop.bench()) if kind != "pendant" else "",
    }
    return render_template("sheets.html", **facts)
