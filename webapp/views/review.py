"""Review: files that come looked over and taken in, bundles handed out, and a macro made portable."""

from __future__ import annotations

from datetime import UTC, datetime

from flask import Blueprint, Response, abort, redirect, render_template, request, url_for
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
from library.share.review import Reviewed, here, step_sentence
from library.share.taking import KEEPS, Keep, TakeError, placed, take_in, told
from library.share.waiting import WaitingError
from library.store import FullError, Head, TakenError
from webapp import progress, workshop
from webapp.drawings.standalone import path_drawing
from webapp.pages import handbook
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


@blueprint.post("/review")
def upload() -> Answer:
    """Keep the files and look them over; 422 for one that holds no macro, with nothing kept."""
    sent = [(each.filename or "file", each.read()) for each in request.files.getlist("file") if each.filename]
    if not sent:
        return _page(error="Nothing was uploaded. Choose a bundle, a pack, a backup or macro documents first."), 422
    try:
        incoming(sent)
        key = waiting.keep(workshop.current(), sent)
    except (IncomingError, WaitingError) as error:
        return _page(error=f"Nothing was kept. {handbook.sentence(str(error))}"), 422
    return redirect(url_for("review.table", key=key))


@blueprint.get("/review/<key>")
def table(key: str) -> str:
    """What each macro would do here, with the choices; 404 for a review that is not there any more."""
    return _table(key, _come(key))


@blueprint.post("/review/<key>")
def take(key: str) -> Answer:
    """Take in what is ticked, all or nothing; 409 where something here changed since, 422 for what cannot be taken."""
    shop, come = workshop.current(), _come(key)
    _, found = review_page.looked_over(come, shop)
    shown = request.form.get("shown")
    if shown != review_page.state(found):
        return _table(key, come, error=CHANGED if shown else UNSEEN), 409
    ticked = set(request.form.getlist("take"))
    keeps = {each.coming.key: _keep(each) for each in found if each.coming.key in ticked}
    if not keeps:
        return _table(key, come, error="Nothing was taken in: tick the macros that are to go on the shelf."), 422
    try:
        taken = take_in(shop, placed(found, keeps, shop), datetime.now(UTC).isoformat(timespec="seconds"))
    except (ClashError, TakenError) as error:
        return _table(key, come, error=told(error)), 409
    except (TakeError, FullError) as error:
        return _table(key, come, error=f"Nothing was taken in. {handbook.sentence(str(error))}"), 422
    if all(each.standing in ("same", "unreadable") or each.coming.key in ticked for each in found):
        waiting.drop(shop, key)
        return redirect(url_for("review.show", taken=len(taken)))
    return redirect(url_for("review.table", key=key, taken=len(taken)))


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
    now, (found,) = review_page.looked_over(come, workshop.current(), macro)
    return render_template(
        "review_macro.html",
        review=key,
        row=review_page.row(found, now.bench),
        drawing=review_page.drawing(found, now.bench),
        machine=now.bench.machine.name,
    )


@blueprint.get("/bundle.zip")
def download() -> Response:
    """A bundle of the macros that are named, with what they run, or of all; 409 where one cannot be bundled."""
    now = here(workshop.current())
    wanted = request.args.getlist("id") or [id for id in now.heads if id in now.shelf]
    texts = {id: head.text for id, head in now.heads.items()}
    try:
        content = bundle.write(bundle.gather(texts, now.bench, wanted, progress.told), now.bench, path_drawing)
    except (BundleError, documents.DocumentError) as error:
        raise Conflict(handbook.sentence(str(error))) from None
    name = f"{wanted[0]}.zip" if len(wanted) == 1 else BUNDLE_NAME
    headers = {"Content-Disposition": f"attachment; filename={name}"}
    return Response(content, mimetype="application/zip", headers=headers)


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
        return incoming(waiting.files(workshop.current(), key))
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
    return render_template(
        "review.html",
        waiting=waiting.every(workshop.current()),
        shelf=sorted(now.shelf.values(), key=lambda each: each.name.casefold()),
        machine=now.bench.machine.name,
        taken=request.args.get("taken", type=int),
        dropped=request.args.get("dropped"),
        error=error,
    )


def _table(key: str, come: Incoming, error: str = "") -> str:
    now, found = review_page.looked_over(come, workshop.current())
    return render_template(
        "review_table.html",
        review=key,
        rows=tuple(review_page.rows(found, now.bench)),
        keeps=review_page.KEEPS,
        sources=come.sources,
        shown=review_page.state(found),
        machine=now.bench.machine.name,
        taken=request.args.get("taken", type=int),
        error=error,
    )


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
