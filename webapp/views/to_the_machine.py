"""To the machine: choose what goes, see every file as it will be, print the card and the sheets, and have the zip."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Callable

from flask import Blueprint, Response, abort, render_template, request

from library import pack
from library.pack import Gathered
from library.pack.contents import Pack
from library.pack.printed import CARD, CARD_PAGE, COMMISSIONING, PROVE_OUT
from library.pack.printed.card import size_of
from library.store import Workshop
from library.toml_text import DocumentError
from parser import NoSolverError
from webapp import progress, workshop
from webapp.pages import shelf as shelf_page
from webapp.pages import to_the_machine as to_the_machine_page
from webapp.pages.to_the_machine import Wishes

blueprint = Blueprint("to_the_machine", __name__, url_prefix="/to-the-machine")

CANNOT = (pack.PackError, DocumentError, NoSolverError)
"""What is told on the page where no pack can be made."""

OVERTAKEN = (
    "What goes to the machine has changed since this page showed it: it would be issue {} now. Nothing was taken. "
    "Press Update, look at it again, and download it then."
)

ZIP_NAME = "pack.zip"
PRINTED = {CARD: "image/svg+xml", CARD_PAGE: "text/html", PROVE_OUT: "text/html", COMMISSIONING: "text/html"}


@blueprint.get("")
def show() -> str | tuple[str, int]:
    """What would be written; 409 with the reason where nothing can be."""
    gathered, wishes = _wished()
    shop = workshop.current()
    try:
        made = pack.prepared(shop, _as_wished, progress.told)
        now = pack.fitted(shop)
    except CANNOT as error:
        return _cannot(error, wishes)
    before = pack.last(shop.file.parent)
    size = size_of(made.files[CARD]) if CARD in made.files else ()
    return render_template(
        "to_the_machine.html",
        machine=shop.bench().machine_sheet,
        wishes=wishes,
        files=tuple(to_the_machine_page.files(made.files)),
        going=tuple(to_the_machine_page.outgoing(made.files)),
        left_out=to_the_machine_page.left_out(made.left_out, wishes),
        shelf=shop.bench().shelf,
        before=shelf_page.when(before.taken) if before else "",
        issue=made.goes.issue,
        fitted=now,
        anew=pack.reload(now.kept, made) if now else (),
        changed=tuple(to_the_machine_page.changed(before.files, made.files)) if before else (),
        card=size,
        larger=size != (gathered.printing.card_width, gathered.printing.card_height),
        error="",
    )


@blueprint.get("/pack.zip")
def download() -> Response | tuple[str, int]:
    """The zip, read back and proved again before it is sent; 409 with the reason where that fails. Nothing is kept."""
    return _zip(pack.prepared, lambda shop, made: None)


@blueprint.post("/pack.zip")
def take() -> Response | tuple[str, int]:
    """The same, and it is kept as an issue, with the numbers that it gave, and as the last that was taken.

    409 also where the form says which issue its page showed, and it would be another by now.
    """

    def keep(shop: Workshop, made: Pack) -> None:
        pack.remember(shop.file.parent, made)
        pack.keep(shop, made)

    return _zip(pack.take, keep)


def _zip(make: Callable[..., Pack], keep: Callable[[Workshop, Pack], None]) -> Response | tuple[str, int]:
    shop = workshop.current()
    try:
        made = make(shop, _as_wished, progress.told)
        if request.form.get("issue", made.goes.issue.number) != made.goes.issue.number:
            raise pack.PackError(OVERTAKEN.format(made.goes.issue))
        content = pack.zipped(made)
    except CANNOT as error:
        return _cannot(error, _wished()[1])
    keep(shop, made)
    return Response(
        content, mimetype="application/zip", headers={"Content-Disposition": f"attachment; filename={ZIP_NAME}"}
    )


@blueprint.get("/printed/<name>")
def printed(name: str) -> Response | tuple[str, int]:
    """A page to be printed, byte for byte as it goes; 404 for one that is not in the pack, 409 where there is none."""
    if name not in PRINTED:
        abort(404)
    try:
        files = pack.prepared(workshop.current(), _as_wished).files
    except CANNOT as error:
        return _cannot(error, _wished()[1])
    content = files.get(name) or abort(404)
    policy = f"default-src 'none'; style-src {own_styles(content)}; base-uri 'none'; frame-ancestors 'none'"
    return Response(content, mimetype=PRINTED[name], headers={"Content-Security-Policy": policy})


def own_styles(page: bytes) -> str:
    """What a policy names the style sheets within a page by, which may be used there and no others (CSP 3, 2.3.1)."""
    sums = [hashlib.sha256(style).digest() for style in re.findall(rb"<style>(.*?)</style>", page, re.DOTALL)]
    return " ".join(f"'sha256-{base64.b64encode(each).decode()}'" for each in sums) or "'none'"


def _as_wished(gathered: Gathered) -> Gathered:
    return to_the_machine_page.wished(gathered, workshop.current().bench(), request.args)[0]


def _wished() -> tuple[Gathered, Wishes]:
    shop = workshop.current()
    return to_the_machine_page.wished(pack.gather(shop), shop.bench(), request.args)


def _cannot(error: Exception, wishes: Wishes) -> tuple[str, int]:
    machine = workshop.current().bench().machine_sheet
    told = {"machine": machine, "wishes": wishes, "error": str(error)}
    return render_template("to_the_machine.html", **dict.fromkeys(("files", "outgoing", "left_out"), ()), **told), 409
