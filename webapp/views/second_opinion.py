"""A second opinion on a macro: the page that has it worked out, and the questions to keep or to send."""

from __future__ import annotations

from flask import Blueprint, make_response, render_template
from jinja2_fragments.flask import render_block
from werkzeug.wrappers import Response

from parser import NoSolverError
from webapp.guard import is_htmx
from webapp.pages import second_opinion as opinion_page
from webapp.views.bench_edits import as_it_stands

blueprint = Blueprint("second_opinion", __name__, url_prefix="/bench/<macro_id>/second-opinion")


@blueprint.get("")
def show(macro_id: str) -> str:
    """What a solver says of a macro as it was last saved. 404 for a macro that is not there."""
    text = as_it_stands(macro_id).text
    try:
        shown = opinion_page.shown(macro_id, text)
    except NoSolverError as error:
        shown = opinion_page.without(macro_id, text, str(error))
    if is_htmx():
        return str(render_block("second_opinion.html", "opinion", page=shown))
    return render_template("second_opinion.html", page=shown)


@blueprint.get("/questions.smt2")
def questions(macro_id: str) -> Response | tuple[str, int]:
    """The questions, for any solver; with what else to send where the two proofs differ. 404 as above."""
    try:
        text = opinion_page.to_keep(as_it_stands(macro_id).text)
    except NoSolverError as error:
        return str(error), 409
    answer = make_response(text)
    answer.headers["Content-Type"] = "text/plain; charset=utf-8"
    answer.headers["Content-Disposition"] = f'attachment; filename="{macro_id}.smt2"'
    return answer
