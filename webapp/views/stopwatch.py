"""The stopwatch on the machine page: work the timings out, and take what came out over into the sheet."""

from __future__ import annotations

from flask import Blueprint, request
from werkzeug.wrappers import Response

from library import documents
from webapp import workshop
from webapp.pages import stopwatch as stopwatch_page
from webapp.views import sheets

blueprint = Blueprint("stopwatch", __name__, url_prefix="/sheets/machine/stopwatch")


@blueprint.post("")
def work_out() -> str | tuple[str, int]:
    """The machine page with what the timings come to; 422 where they cannot tell."""
    section = stopwatch_page.shown(kept(), request.form)
    page = sheets.page("machine", stopwatch=section)
    return page if section.determined else (page, 422)


@blueprint.post("/take-over")
def take_over() -> Response | tuple[str, int]:
    """Put rate and acceleration into the sheet; 422 as above, 409 where the sheet changed meanwhile."""
    section = stopwatch_page.shown(kept(), request.form)
    if not section.determined:
        return sheets.page("machine", stopwatch=section), 422
    try:
        text = stopwatch_page.taken_over(sheets.seen_text("machine"), section)
    except documents.DocumentError as error:
        return sheets.page("machine", sheets.Refused(sheets.told(error)), stopwatch=section), 422
    return sheets.saved(
        "machine", text, f"axis {section.axis.upper()} was timed", notice="stopwatch", stopwatch=section
    )


def kept() -> str:
    """The machine sheet as last saved."""
    return str(workshop.current().text("machine", sheets.ONLY))
