"""Start: the first pages of a workshop whose machine nobody has confirmed."""

from __future__ import annotations

from flask import Blueprint, abort, redirect, render_template, request, url_for
from jinja2_fragments.flask import render_block
from werkzeug.wrappers import Response

from library import confirming, days
from library.documents import DocumentError
from library.fields import Units
from library.merging import ClashError, Keeping
from webapp import workshop
from webapp.pages import handbook, start
from webapp.pages import sheet as sheet_page
from webapp.pages.forms import page as form_page
from webapp.pages.forms import taking
from webapp.pages.forms.page import TypedPart
from webapp.pages.start import StartPart
from webapp.views import seen
from webapp.views.sheets import CHANGED_MEANWHILE, ONLY, seen_text, sheet_units

blueprint = Blueprint("start", __name__, url_prefix="/start")

UNITS_MEANWHILE = (
    "Nothing has been saved: a sheet was changed elsewhere after this page was opened. Here it is as it stands now; "
    "press again if you still want it in other units."
)


@blueprint.get("")
def first() -> Response:
    """To the first part that is not done."""
    shop = workshop.current()
    return redirect(url_for("start.show", id=start.first_open(shop.bench(), shop.text("pendant", ONLY)).id))


@blueprint.get("/<id>")
def show(id: str) -> str:
    """One part."""
    return page(part_of(id))


@blueprint.post("/<id>")
def keep(id: str) -> Response | str | tuple[str, int]:
    """Save a part, confirmed today or left as invented, and go on; 422 and 409 with all that was typed.

    Enter in a field says nothing of the day: it saves and goes to the check at the foot, where the day is said.
    """
    part, shop = part_of(id), workshop.current()
    taken = taking.taken(part.kind, seen_text(part.kind), request.form, id, sheet_units())
    if taken.text is None:
        error = f"Not saved. {handbook.sentence(taken.told)}" if taken.typed.errors else ""
        return page(part, taken.typed, error=error), 422 if error else 200
    if not seen.revision():
        return page(part, taken.typed, error=seen.UNSEEN, anew=True), 409
    try:
        head = shop.save(part.kind, ONLY, taken.text, f"start: {part.title.lower()}", seen=seen.revision())
        if request.form.get("day"):
            confirm(part, head.number, head.text, taken.text)
    except ClashError as clash:
        return page(part, taken.typed, error=CHANGED_MEANWHILE.format(", ".join(clash.fields[:6])), anew=True), 409
    onward = start.after(part) if request.form.get("day") else part
    if onward is part:
        return redirect(url_for("start.show", id=part.id, saved="yes", _anchor="check"))
    if onward is None:
        return redirect(start.leads_to(shop.ids("macro")))
    return redirect(url_for("start.show", id=onward.id))


def confirm(part: StartPart, number: int, text: str, shown: str) -> None:
    """Keep the day on which what a page asks was measured, or that it is invented.

    What another page has put in meanwhile was not ``shown`` here, so nobody has confirmed it. It is saved after the
    figures, for a day that is there already stands for those of before.
    """
    today = days.today() if request.form.get("day") == "today" else None
    parts = start.confirmed_by(part, sheet_page.read(part.kind, text))
    unseen = confirming.changed(part.kind, shown, text, parts) if today else ()
    made = confirming.confirm(part.kind, text, {each: today for each in parts if each not in unseen})
    why = f"start: {part.title.lower()} {'confirmed' if today else 'left as it is'}"
    workshop.current().save(part.kind, ONLY, made, why, seen=number)


@blueprint.post("/<id>/drawing")
def draw(id: str) -> str:
    """The drawing of a part with what is typed so far; as it is kept where that cannot be used."""
    part = part_of(id)
    text = seen_text(part.kind)
    try:
        taken = taking.taken(part.kind, text, request.form, id, sheet_units())
        return grown(part, taken.text or text)
    except (DocumentError, ValueError):
        return grown(part, text)


def grown(part: StartPart, text: str) -> str:
    """The drawing with what is to be asked about it. Raises DocumentError, ValueError."""
    drawn, asked = start.drawing(part, text), start.questions(part, text)
    return render_block("start.html", "grown", drawing=drawn, questions=asked)


@blueprint.post("/units")
def change_units() -> Response | tuple[str, int]:
    """Machine and controller in mm or inches, both or neither, every figure as long as it was; 409 as above."""
    shop, axes = workshop.current(), part_of("axes")
    heads = {kind: shop.head(kind, ONLY) for kind in ("machine", "controller")}
    if not seen.revision():
        return page(axes, error=seen.UNSEEN), 409
    if seen.revision() != heads["machine"].number:
        return page(axes, error=UNITS_MEANWHILE), 409
    units: Units = "inch" if request.form.get("units") == "inch" else "mm"
    texts = start.in_units(units, heads["machine"].text, heads["controller"].text)
    why = f"start: in {units}"
    try:
        shop.save_all(Keeping(kind, ONLY, text, why, heads[kind].number) for kind, text in texts.items())
    except ClashError:
        return page(axes, error=UNITS_MEANWHILE), 409
    return redirect(url_for("start.show", id="axes"))


def part_of(id: str) -> StartPart:
    """A part by its id in the address; 404 where there is none."""
    return start.by_id(id) or abort(404)


def page(part: StartPart, typed: TypedPart | None = None, *, error: str = "", anew: bool = False) -> str:
    """The page of a part, with what was typed and not saved if there is any.

    That is shown over what its page showed; where another page has changed the same, over what stands there now.
    """
    shop = workshop.current()
    head = shop.head(part.kind, ONLY)
    again = typed is not None and not anew
    text = seen_text(part.kind) if again else head.text
    form = form_page.shown(part.kind, text, sheet_units(), typed or TypedPart(), base="/start", home=part.id)
    onward = start.after(part)
    return render_template(
        "start.html",
        part=part,
        form=form,
        of=workshop.machine_token(),
        asked=[form.part(id) for id in part.forms],
        folded=[form.part(id) for id in part.folded],
        seen=seen.revision() if again else head.number,
        ticks=start.ticks(shop.bench(), shop.text("pendant", ONLY)),
        number=start.STARTS.index(part) + 1,
        onward=url_for("start.show", id=onward.id) if onward else start.leads_to(shop.ids("macro")),
        last=onward is None,
        saved="saved" in request.args,
        drawing=drawn(part, text),
        questions=start.questions(part, text),
        error=error,
        mistakes=form.mistakes,
        units=sheet_units(),
    )


def drawn(part: StartPart, text: str) -> str:
    """The drawing of a part as it is kept, "" where it cannot be drawn."""
    try:
        return start.drawing(part, text)
    except (DocumentError, ValueError):
        return ""
