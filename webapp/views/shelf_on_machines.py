"""The shelf on every machine of the workshop, in one table, proved while one waits or stops it."""

from __future__ import annotations

from flask import Blueprint, Response, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as BaseResponse

from webapp import workshop
from webapp.guard import is_htmx
from webapp.pages import shelf_on_machines, shelf_proving
from webapp.pages.shelf_list import ShelfQuery

blueprint = Blueprint("shelf_on_machines", __name__, url_prefix="/shelf-on-machines")


@blueprint.get("")
def show() -> str:
    """The table as far as it is known."""
    asked = ShelfQuery.of(request.args)
    found = shelf_on_machines.table(workshop.current(), workshop.verdicts(), asked)
    return render_template("shelf_on_machines.html", table=found)


@blueprint.post("/verdicts")
def prove() -> BaseResponse:
    """Prove what is not known yet, with scripts to the end or until it is stopped, else a while."""
    shop, kept = workshop.current(), workshop.verdicts()
    enough = {} if is_htmx() else {"enough": shelf_proving.after(shelf_proving.LONG_PORTION)}
    shelf_proving.prove(kept, shelf_on_machines.jobs(shop, kept), **enough)
    way = url_for("shelf_on_machines.show")
    return Response("", 200, {"HX-Redirect": way}) if is_htmx() else redirect(way)
