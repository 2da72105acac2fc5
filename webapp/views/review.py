"""Review: files that come looked over and taken in, bundles handed out, and a macro made portable."""

from __future__ import annotations

from contextlib import suppress
from datetime import UTC, datetime
from functools import lru_cache

from flask import Blueprint, Response, abort, redirect, render_template, request, url_for
from jinja2_fragments.flask import render_block
from werkzeug.exceptions import Conflict
from werkzeug.wrappers import Response as BaseResponse

from library import documents
from library.difference import difference
from library.merging import ClashError
from library.share import bundle, waiting
from library.share.incoming import Incoming, IncomingError, incoming
from library.share.lacks import rigid
from library.share.manifest import BundleError
from library.share.needs import needed
from library.share.portable import portable
from library.share.review import Reviewed, compared, here, step_sentence
from library.share.taking import KEEPS, Keep, TakeError, placed, take_in, told, with_runs
from library.share.waiting import WaitingError
from library.store import FullError, Head, TakenError
from webapp import progress, workshop
from webapp.drawings.standalone import path_drawing
from webapp.guard import is_htmx
from webapp.pages import bench as bench_page
from webapp.pages import handbook, shelf_proving
from webapp.pages import review as review_page
from webapp.views.seen import UNSEEN, revision

blueprint = Blueprint("review", __name__)

Answer = BaseResponse | str | tuple[str, int]
CHANGED = "Nothing was taken in: a macro here has changed since this page was shown. Look again, and press again."
MEANWHILE = "Nothing was changed: the macro was, on another page. Look again, and press again."
BUNDLE_NAME = "macros.zip"


@blueprint.get("/review")
def show() -> str:
    """The reviews in progress, a form for what comes, and one for a bundle of what is here."""
    return _page()


@lru_cache(maxsize=2)
def _read(files: tuple[tuple[str, bytes], ...]) -> Incoming:
    """What is in the files that wait, remembered from one page of a review to the next."""
    return incoming(files, progress.told)


@blueprint.post("/review")
def upload() -> Answer:
    """Keep the files and look them over; 422 for one that holds no macro, with nothing kept."""
    sent = [(each.filename or "file", each.read()) for each in request.files.getlist("file") if each.filename]
    if not sent:
        return _page(error="Nothing was uploaded. Choose a bundle, a pack, a backup or macro documents first."), 422
    try:
        _read(tuple(sent))
        key = waiting.keep(workshop.current(), sent)
    except (IncomingError, WaitingError) as error:
        return _page(error=f"Nothing was kept. {handbook.sentence(str(error))}"), 422
    return _on_to(url_for("review.table", key=key))


@blueprint.get("/review/<key>")
def table(key: str) -> str:
    """What each macro would do here, with the choices; 404 for a review that is not there any more."""
    return _table(key, _come(key))


@blueprint.post("/review/<key>")
def take(key: str) -> Answer:
    """Take in what is ticked, all or nothing; 409 where something here changed since, 422 for what cannot be taken."""
    shop, come = workshop.current(), _come(key)
    found = compared(come, here(shop).heads)
    shown = request.form.get("shown")
    if shown != review_page.state(found):
        return _table(key, come, error=CHANGED if shown else UNSEEN), 409
    all_of_it = request.form.get("do") == "all"
    ticked = set(with_runs(found, review_page.usual(found) if all_of_it else request.form.getlist("take")))
    keeps = {each.coming.key: _keep(each) for each in found if each.coming.key in ticked}
    if not keeps:
        return _table(key, come, error="Nothing was taken in: tick the macros that are to go on the shelf."), 422
    try:
        with progress.part(0, 2):
            places = placed(found, keeps, shop, progress.told)
        with progress.part(1, 2):
            taken = take_in(shop, places, datetime.now(UTC).isoformat(timespec="seconds"), progress.told)
    except (ClashError, TakenError) as error:
        return _table(key, come, error=told(error)), 409
    except (TakeError, FullError) as error:
        return _table(key, come, error=f"Nothing was taken in. {handbook.sentence(str(error))}"), 422
    if all(each.standing in ("same", "unreadable") or each.coming.key in ticked for each in found):
        with suppress(OSError):  # they are on the shelf, whatever becomes of the files
            waiting.drop(shop, key)
        return _on_to(url_for("review.show", taken=len(taken)))
    return _on_to(url_for("review.table", key=key, taken=len(taken)))


@blueprint.post("/review/<key>/verdicts")
def prove(key: str) -> Answer:
    """Prove what is on a page of a review and not proved yet, for a while; the page asks again until all is known."""
    shop, kept, come = workshop.current(), workshop.verdicts(), _come(key)
    page = request.values.get("page", 1, type=int)
    wanted, asked = review_page.jobs(come, shop), review_page.table(come, shop, kept, page).open
    spell = shelf_proving.PORTION if is_htmx() else shelf_proving.LONG_PORTION
    shelf_proving.prove(kept, [wanted[row.key] for row in asked], shelf_proving.after(spell))
    if not is_htmx():
        return redirect(url_for("review.table", key=key, page=page))
    now, keys = review_page.table(come, shop, kept, page), {row.key for row in asked}
    came = [row for row in now.rows if row.key in keys and row.verdict]
    return render_block("review_table.html", "came", review=key, table=now, came=came)


@blueprint.post("/review/<key>/verdicts/all")
def prove_all(key: str) -> Answer:
    """Prove all of a review that is not proved yet: with scripts to the end or until it is stopped, else a while."""
    kept, wanted = workshop.verdicts(), review_page.jobs(_come(key), workshop.current()).values()
    known = kept.brief(job.key for job in wanted)
    enough = {} if is_htmx() else {"enough": shelf_proving.after(shelf_proving.LONG_PORTION)}
    shelf_proving.prove(kept, [job for job in wanted if job.key not in known], **enough)
    return _on_to(url_for("review.table", key=key, page=request.values.get("page", 1, type=int)))


def _on_to(address: str) -> BaseResponse:
    """Another page: by a header where a script of the page waits, as it would put what it gets into this one."""
    return Response("", 200, {"HX-Redirect": address}) if is_htmx() else redirect(address)


@blueprint.post("/review/<key>/drop")
def drop(key: str) -> BaseResponse:
    """Forget the files; nothing on the shelf changes."""
    try:
        waiting.drop(workshop.current(), key)
    except WaitingError as error:
        abort(404, str(error))
    return redirect(url_for("review.show", dropped="yes"))


@blueprint.get("/review/<key>/<macro>")
def closer(key: str, macro: str) -> str:
    """One macro that comes, in full; 404 where it is not among them."""
    come = _come(key)
    if all(each.key != macro for each in come.macros):
        abort(404, "There is no such macro in this review.")
    shop = workshop.current()
    row, full, drawing = review_page.one(come, shop, workshop.verdicts(), macro)
    machine = shop.bench().machine.name
    words = bench_page.SEVERITY_WORDS
    return render_template(
        "review_macro.html", review=key, row=row, full=full, drawing=drawing, machine=machine, words=words
    )


@blueprint.get("/bundle.zip")
def download() -> BaseResponse:
    """A bundle of the macros that are named, with what they run, or of all; 409 where one cannot be bundled.

    A script of the page waits until it is made, with progress, and then asks for what is remembered of it.
    """
    shop = workshop.current()
    now = here(shop)
    wanted = request.args.getlist("id") or [id for id in now.heads if id in now.shelf]
    machine, controller, _ = shop.sheets()
    try:
        content = _bundled(machine, controller, tuple(wanted), tuple((id, each.text) for id, each in now.heads.items()))
    except (BundleError, documents.DocumentError) as error:
        raise Conflict(handbook.sentence(str(error))) from None
    if is_htmx():
        return _on_to(url_for("review.download", id=request.args.getlist("id")))
    name = f"{wanted[0]}.zip" if len(wanted) == 1 else BUNDLE_NAME
    headers = {"Content-Disposition": f"attachment; filename={name}"}
    return Response(content, mimetype="application/zip", headers=headers)


@lru_cache(maxsize=1)
def _bundled(machine: str, controller: str, wanted: tuple[str, ...], shelf: tuple[tuple[str, str], ...]) -> bytes:
    """The bundle of some macros of a shelf on two sheets, all given as texts; the last one is remembered."""
    bench = documents.bench(machine, controller)
    return bundle.write(bundle.gather(dict(shelf), bench, wanted, progress.told), bench, path_drawing)


@blueprint.get("/portable/<name>")
def show_portable(name: str) -> str:
    """The numbers of a macro that can be landmarks, each with what it would become."""
    return _portable(name)


@blueprint.post("/portable/<name>")
def make_portable(name: str) -> Answer:
    """Make those that are ticked landmarks; 422 where none is, 409 where the macro changed since the page was shown."""
    shop, bench = workshop.current(), here(workshop.current()).bench
    seen = revision()
    if not seen:
        return _portable(name, error=UNSEEN), 422
    head = _head(name)
    made = portable(head.text, bench, request.form.getlist("change"))
    if head.number != seen:
        return _portable(name, error=MEANWHILE), 409
    if not made.changes:
        return _portable(name, error="Nothing was changed: tick the numbers that are to become landmarks."), 422
    try:
        shop.save("macro", name, made.text, "made portable", seen=seen)
    except ClashError:
        return _portable(name, error=MEANWHILE), 409
    return redirect(url_for("review.show_portable", name=name, done=len(made.changes)))


def _come(key: str) -> Incoming:
    """What comes in a review that is in progress; 404 where it is not there any more."""
    try:
        return _read(waiting.files(workshop.current(), key))
    except (WaitingError, IncomingError) as error:
        abort(404, handbook.sentence(str(error)))


def _keep(each: Reviewed) -> Keep:
    """What the form says of a macro whose id is taken; both where it says nothing that is known."""
    said = request.form.get(f"keep-{each.coming.key}", "both")
    return next((keep for keep in KEEPS if keep == said), "both")


def _head(name: str) -> Head:
    shop = workshop.current()
    if name not in shop.ids("macro"):
        abort(404, f"There is no macro {name} on the shelf. It may have been taken off it.")
    return shop.head("macro", name)


def _page(error: str = "") -> str:
    now = here(workshop.current())
    return _rendered(
        "review.html",
        waiting=waiting.every(workshop.current()),
        shelf=sorted(now.shelf.values(), key=lambda each: each.name.casefold()),
        machine=now.bench.machine.name,
        taken=request.args.get("taken", type=int),
        dropped=request.args.get("dropped"),
        error=error,
    )


def _table(key: str, come: Incoming, error: str = "") -> str:
    shop = workshop.current()
    return _rendered(
        "review_table.html",
        review=key,
        table=review_page.table(come, shop, workshop.verdicts(), request.values.get("page", 1, type=int)),
        keeps=review_page.KEEPS,
        sources=come.sources,
        shown=review_page.state(compared(come, here(shop).heads)),
        machine=shop.bench().machine.name,
        taken=request.args.get("taken", type=int),
        error=error,
    )


def _rendered(template: str, **facts: object) -> str:
    """The page, or for a script of it what the page is about alone."""
    return render_block(template, "main", **facts) if is_htmx() else render_template(template, **facts)


def _portable(name: str, error: str = "") -> str:
    head = _head(name)
    bench = here(workshop.current()).bench
    try:
        macro = documents.parse("macro", head.text, name)
    except documents.DocumentError as problem:
        raise Conflict(handbook.sentence(str(problem))) from None
    made = portable(head.text, bench)
    return render_template(
        "portable.html",
        macro=macro,
        seen=head.number,
        rows=tuple(review_page.portable_rows(made.changes, tuple(map(step_sentence, macro.step)))),
        rigid=tuple(rigid(needed(macro, bench).needs)),
        difference=difference(head.text, made.text),
        machine=bench.machine.name,
        done=request.args.get("done", type=int),
        error=error,
    )
