"""The scratch bench: an example of Help, or lines of one's own, tried without touching any macro of the workshop."""

from __future__ import annotations

from flask import Blueprint, abort, redirect, render_template, request
from jinja2_fragments.flask import render_block
from werkzeug.wrappers import Response

from library import documents
from library.documents import DocumentError
from library.fields import slug
from library.sheets import plain_controller
from library.store import FullError
from parser.language.formatter import tidy
from webapp import workshop
from webapp.guard import is_htmx
from webapp.pages import handbook
from webapp.pages import scratch as scratch_page
from webapp.pages.scratch import HelpExample
from webapp.pages.shelf import ONLY
from webapp.views.shelf import LONGEST_ID

blueprint = Blueprint("scratch", __name__, url_prefix="/scratch")

Answer = str | Response | tuple[str, int]


@blueprint.get("")
def show() -> Answer:
    """An example by ``?rule=`` and ``?example=bad|good`` or by ``?block=``, else nothing yet. 404 for one not there."""
    example = _example()
    return _page(example, example.lines)


@blueprint.post("")
def press() -> Answer:
    """What the lines come to, tidied first or saved as a macro where the button says so; else nothing is kept.

    It is drawn as ``webapp.pages.scratch.wanted`` reads the form.
    """
    lines = request.form.get(scratch_page.FIELD, "").replace("\r\n", "\n")
    example, button = _example(), request.form.get("do", "try")
    if button == "tidy":
        controller = plain_controller(documents.parse("controller", workshop.current().text("controller", ONLY)))
        lines = tidy(lines, controller)
    return _save(example, lines) if button == "save" else _page(example, lines)


def _example() -> HelpExample:
    rule, block = request.args.get("rule", ""), request.args.get("block", "")
    if rule:
        return scratch_page.of_rule(rule, request.args.get("example", "bad")) or abort(404)
    if block:
        return scratch_page.of_block(block, workshop.current().bench()) or abort(404)
    return HelpExample()


def _page(example: HelpExample, lines: str, told: str = "", name: str = "") -> Answer:
    tried = scratch_page.tried(workshop.current(), lines, request.form)
    shown = {"example": example, "page": tried, "told": told, "name": name, "query": request.query_string.decode()}
    if is_htmx():
        return str(render_block("scratch.html", "results", **shown))
    page = render_template("scratch.html", **shown)
    return (page, 422) if told else page


def _save(example: HelpExample, lines: str) -> Answer:
    name = request.form.get("name", "").strip()
    shop = workshop.current()
    bench, wanted = shop.bench(), slug(name)[:LONGEST_ID].strip("-")
    try:
        documents.parse("macro", scratch_page.document(name, wanted, bench, lines, example))
    except DocumentError as error:
        return _page(example, lines, f"Not saved. {handbook.sentence(error.why)}", name)
    try:
        made = shop.create(
            "macro",
            wanted,
            lambda free: scratch_page.document(name, free, bench, lines, example),
            "made from a scratch",
        )
    except FullError as error:
        return _page(example, lines, f"Not saved. {handbook.sentence(str(error))}", name)
    return redirect(f"/bench/{made}", 303)
