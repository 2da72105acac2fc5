"""Shelf: the macros of the workshop with their verdict, and what can be done with a whole macro."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from urllib.parse import urlencode

from flask import Blueprint, Response, abort, redirect, render_template, request, url_for
from jinja2_fragments.flask import render_block
from werkzeug.wrappers import Response as BaseResponse

from library import documents, machines, macros
from library.difference import difference
from library.fields import slug
from library.merging import ClashError
from library.share import origin
from library.store import FullError, Head, Revision, StoreError
from webapp import workshop
from webapp.guard import is_htmx
from webapp.pages import about, handbook, shelf_index, shelf_list, shelf_proving
from webapp.pages import bench as bench_page
from webapp.pages import shelf as shelf_page
from webapp.pages.shelf_list import Listing, On, ShelfQuery
from webapp.pages.text_fields import from_textarea
from webapp.views import seen

blueprint = Blueprint("shelf", __name__, url_prefix="/shelf")
blueprint.add_app_template_filter(shelf_page.when, "when")

LONGEST_ID = 56
"""Characters of an id made from a name; leaves room for a number within the 60 an id may have."""
NOTICES = {
    "added": "It is on the shelf.",
    "renamed": "Renamed.",
    "about": "Saved.",
    "copied": "This is the copy.",
    "removed": "Taken off the shelf. It can be brought back below.",
    "back": "It is back on the shelf.",
    "restored": "Restored: it is the newest revision now.",
}

CHANGED_MEANWHILE = (
    "It was changed on another page meanwhile. Here it is as it stands now; press again if you still want it."
)

SAME_FIELD = (
    "It was changed on another page meanwhile, and in the same place. What you typed is below; save again to put it "
    "over what stands there now."
)

Answer = BaseResponse | tuple[str, int]


@blueprint.get("")
def show() -> str:
    """Every macro on the shelf."""
    return page()


@blueprint.post("/verdicts")
def prove() -> Answer:
    """Prove what is on a page of the list and not proved yet, for a while; the page asks again until all is known."""
    kept, here, on = workshop.verdicts(), listing(), chosen()
    jobs = [shelf_list.job(row.macro, here.shelf, on) for row in here.open]
    spell = shelf_proving.PORTION if is_htmx() else shelf_proving.LONG_PORTION
    shelf_proving.prove(kept, jobs, shelf_proving.after(spell))
    if not is_htmx():
        return redirect(address(here.asked))
    now, asked = listing(), {each.macro.id for each in jobs}
    came = [row for row in now.rows if row.id in asked and row.verdict]
    return Response(render_block("shelf.html", "came", list=now, came=came, machine=machine_name(chosen())))


@blueprint.post("/verdicts/all")
def prove_all() -> Answer:
    """Prove all of the shelf that is not proved yet: with scripts to the end or until it is stopped, else a while."""
    shop, kept = workshop.current(), workshop.verdicts()
    enough = {} if is_htmx() else {"enough": shelf_proving.after(shelf_proving.LONG_PORTION)}
    shelf_proving.prove(kept, shelf_list.open_on(shelf_index.listed(shop), kept, chosen()), **enough)
    way = address(ShelfQuery.of(request.values))
    return Response("", 200, {"HX-Redirect": way}) if is_htmx() else redirect(way)


@blueprint.post("/new")
def new() -> Answer:
    """An empty macro of the given name, opened on the bench; 422 for a name without a letter or digit, a full shelf."""
    name = request.form.get("name", "").strip()
    shop = workshop.current()
    units = shop.bench().machine_sheet.units
    wanted = slug(name)[:LONGEST_ID].strip("-")
    try:
        documents.parse("macro", bench_page.new_macro(name, wanted, units))
    except documents.DocumentError as error:
        return page(error=f"Not created. {handbook.sentence(error.why)}", new_name=name), 422
    try:
        made = shop.create("macro", wanted, lambda free: bench_page.new_macro(name, free, units), "made")
    except FullError as error:
        return page(error=f"Not created. {handbook.sentence(str(error))}", new_name=name), 422
    return redirect(f"/bench/{made}")


@blueprint.post("/add")
def add() -> Answer:
    """A macro from a file or from text, under an id that is free; 422 with the text kept where it cannot be added."""
    sent = request.files.get("file")
    try:
        text = sent.read().decode() if sent and sent.filename else from_textarea(request.form.get("text", ""))
        source = sent.filename if sent and sent.filename else "the text"
        macro = documents.parse("macro", text, source or "")
    except UnicodeDecodeError:
        return page(
            error="Not added. The file is not text; a macro document in TOML is wanted. Bundles, packs and "
            "backups are zips and are taken in on Review and share."
        ), 422
    except documents.DocumentError as error:
        return page(error=f"Not added. {handbook.sentence(str(error))}", pasted=text), 422
    try:
        name = workshop.current().create("macro", macro.id, lambda free: under(free, text, macro.id), "added")
    except FullError as error:
        return page(error=f"Not added. {handbook.sentence(str(error))}", pasted=text), 422
    return redirect(url_for("shelf.macro", name=name, done="added"))


@blueprint.get("/<name>")
def macro(name: str) -> str:
    """A macro with its revisions and, where two are chosen, what differs between them. 404 for one not on the shelf."""
    require(name)
    return macro_page(name)


@blueprint.get("/<name>.toml")
def download(name: str) -> Response:
    """The document as a file; 404 for one not on the shelf."""
    require(name)
    return Response(
        workshop.current().text("macro", name),
        mimetype="application/toml",
        headers={"Content-Disposition": f"attachment; filename={name}.toml"},
    )


@blueprint.post("/<name>/rename")
def rename(name: str) -> Answer:
    """Another name for the macro, its id as it was; 422 where the name cannot be used, 409 where it has another by now.

    409 as well where the form does not say which revision was shown.
    """
    require(name)
    wanted, shop = request.form.get("name", "").strip(), workshop.current()
    shown = text_shown(name)
    if shown is None:
        return macro_page(name, error=seen.UNSEEN, typed_name=wanted), 409
    try:
        text = macros.set_header(shown, "name", wanted)
        documents.parse("macro", text)
        shop.save("macro", name, text, f"renamed to {wanted}", seen=seen.revision())
    except documents.DocumentError as error:
        return macro_page(name, error=f"Not renamed. {handbook.sentence(error.why)}", typed_name=wanted), 422
    except ClashError:
        return macro_page(name, error=f"Not renamed. {CHANGED_MEANWHILE}", typed_name=wanted), 409
    return redirect(url_for("shelf.macro", name=name, done="renamed"))


@blueprint.post("/<name>/about")
def describe(name: str) -> Answer:
    """Purpose, author, licence and tags; merged with what was saved meanwhile.

    422 where one cannot be used, 409 where somebody else has changed the same one or nothing says what was shown.
    """
    require(name)
    shop, shown = workshop.current(), text_shown(name)
    if shown is None:
        return macro_page(name, error=seen.UNSEEN, typed=about.unseen(shop.text("macro", name), request.form)), 409
    text, names, typed = about.changed(shown, request.form)
    if typed.problems:
        return macro_page(name, error="Not saved. See below what cannot be used.", typed=typed), 422
    try:
        if names:
            shop.save("macro", name, text, about.why(names), seen=seen.revision())
    except ClashError as clash:
        return macro_page(name, error=f"Not saved. {SAME_FIELD}", typed=about.clashed(typed, clash)), 409
    return redirect(url_for("shelf.macro", name=name, done="about" if names else None))


@blueprint.post("/<name>/duplicate")
def duplicate(name: str) -> Answer:
    """A copy under a free id; 422 where the shelf is full."""
    require(name)
    shop = workshop.current()
    text = shop.text("macro", name)
    titled = macros.set_header(text, "name", f"{documents.parse('macro', text).name} (copy)")
    try:
        copy = shop.create("macro", name, lambda free: macros.set_header(titled, "id", free), f"copied from {name}")
    except FullError as error:
        return macro_page(name, error=f"Not copied. {handbook.sentence(str(error))}"), 422
    return redirect(url_for("shelf.macro", name=copy, done="copied"))


@blueprint.post("/<name>/delete")
def delete(name: str) -> Answer:
    """Take the macro off the shelf; its revisions are kept. 409 where it was changed since, or nothing says of when."""
    require(name)
    if not seen.revision():
        return macro_page(name, error=seen.UNSEEN), 409
    try:
        workshop.current().delete("macro", name, seen=seen.revision())
    except ClashError:
        return macro_page(name, error=f"Not taken off the shelf. {CHANGED_MEANWHILE}"), 409
    return redirect(url_for("shelf.show", done="removed"))


@blueprint.post("/<name>/bring-back")
def bring_back(name: str) -> Answer:
    """Put a macro that was taken off the shelf back on it; 404 for one that was not taken off it, 409 as above."""
    shop = workshop.current()
    if name not in shop.deleted("macro"):
        abort(404, f"There is no macro {name} to bring back.")
    if not seen.revision():
        return page(error=seen.UNSEEN), 409
    try:
        back = shop.undo("macro", name, seen=seen.revision())
    except FullError as error:
        return page(error=f"Not brought back. {handbook.sentence(str(error))}"), 422
    if not back:
        return page(error=f"Not brought back. {CHANGED_MEANWHILE}"), 409
    return redirect(url_for("shelf.show", done="back"))


@blueprint.post("/<name>/restore")
def restore(name: str) -> Answer:
    """Make an earlier revision the newest; 404 for one that does not exist, 409 as above."""
    require(name)
    shop = workshop.current()
    found = revision(name, "revision", request.form) or abort(404)
    shown, why = seen.revision(), f"restored from {shelf_page.when(found.saved)}"
    if not shown:
        return macro_page(name, error=seen.UNSEEN), 409

    def again(head: Head) -> tuple[str, str]:
        if shown != head.number:
            raise ClashError(("the macro",), head.text, found.text or "")
        return found.text or head.text, why

    try:
        shop.change("macro", name, again)
    except ClashError:
        return macro_page(name, error=f"Not restored. {CHANGED_MEANWHILE}"), 409
    return redirect(url_for("shelf.macro", name=name, done="restored"))


def text_shown(name: str) -> str | None:
    """The macro as the posted page showed it, None where the form does not say which revision that was."""
    try:
        return workshop.current().seen("macro", name, seen.revision())
    except StoreError:
        return None


def revision(name: str, field: str, given: Mapping[str, str]) -> Revision | None:
    """The revision that a field of a form names by its number, None where it names none that holds a text."""
    kept = workshop.current().revisions("macro", name)
    return next((each for each in kept if str(each.number) == given.get(field) and each.text is not None), None)


def under(id: str, text: str, was: str) -> str:
    """The text of a macro under an id, the one that it has or another."""
    return text if id == was else macros.set_header(text, "id", id)


def require(name: str) -> None:
    """404 for a macro that is not on the shelf."""
    if name not in workshop.current().ids("macro"):
        abort(404, f"There is no macro {name} on the shelf. It may have been taken off it.")


def page(*, error: str = "", new_name: str = "", pasted: str = "") -> str:
    """The shelf, with what was typed and refused if there is any."""
    shop = workshop.current()
    return render_template(
        "shelf.html",
        list=listing(),
        machine=machine_name(chosen()),
        machines=machines.machines(shop),
        removed=shelf_page.removed(shop),
        notice=NOTICES.get(request.args.get("done", "")),
        error=error,
        new_name=new_name,
        pasted=pasted,
        choices=shelf_list,
    )


def address(asked: ShelfQuery) -> str:
    """The address of a page of the list."""
    query = urlencode(asked.query)
    return url_for("shelf.show") + (f"?{query}" if query else "")


def listing() -> Listing:
    """The page of the list that the address asks for."""
    shop = workshop.current()
    asked = ShelfQuery.of(request.values)
    slots = shelf_page.labels(documents.parse("pendant", shop.text("pendant", shelf_page.ONLY)))
    return shelf_list.listing(shop, workshop.verdicts(), asked, chosen(), slots)


def machine_name(on: On) -> str:
    """What a machine is called; raises DocumentError."""
    return documents.bench(on.machine, on.controller).machine.name


def chosen() -> On:
    """The machine that the address asks for, the one in force where it asks for none that there is."""
    shop, on = workshop.current(), request.values.get("on", "")
    found = next((each for each in machines.machines(shop) if each.id == on), None) if on else None
    return On.of(found.machine, found.controller) if found else shelf_page.in_force(shop)


def macro_page(
    name: str, *, error: str = "", typed_name: str | None = None, typed: about.TypedAbout | None = None
) -> str:
    """One macro, with what was typed and refused if there is any."""
    shop = workshop.current()
    shelf = shelf_index.listed(shop)
    found, on = shelf[name], shelf_page.in_force(shop)
    verdict = shelf_proving.known(workshop.verdicts(), shelf_list.job(found, shelf, on))
    slots = shelf_page.labels(documents.parse("pendant", shop.text("pendant", shelf_page.ONLY)))
    revisions = [each for each in shop.revisions("macro", name) if each.text is not None]
    asked = "from" in request.args or "to" in request.args
    old = revision(name, "from", request.args) or next(iter(revisions[1:]), None)
    new = revision(name, "to", request.args) or next(iter(revisions), None)
    head = shop.head("macro", name)
    try:
        document = documents.parse("macro", head.text)
    except documents.DocumentError:
        document = None
    facts: dict[str, Any] = {
        "macro": found,
        "verdict": verdict,
        "slots": slots.get(name, ()),
        "origin": origin.of(shop, name),
        "text": head.text,
        "seen": head.number,
        "about": about.fields(document, typed),
        "typed_name": found.name if typed_name is None else typed_name,
        "revisions": revisions,
        "compared": (old and old.number, new and new.number),
        "difference": difference(old.text or "", new.text or "") if asked and old and new else None,
        "notice": NOTICES.get(request.args.get("done", "")),
        "error": error,
    }
    return render_template("shelf_macro.html", **facts)
