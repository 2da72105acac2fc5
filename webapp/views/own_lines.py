"""Own lines: the words of the controller in force, and what each does, for whoever writes lines by hand."""

from __future__ import annotations

from flask import Blueprint, Response, jsonify

from parser.language import words
from webapp import workshop
from webapp.pages import handbook

blueprint = Blueprint("own_lines", __name__, url_prefix="/own-lines")


@blueprint.get("/words")
def known() -> Response:
    """Every word and letter with what it does, and why macros may not use it here, "" where they may."""
    controller = workshop.current().bench().controller
    found = [
        {"word": info.word, "says": info.meaning, "not": refused}
        for info, _, _, refused in handbook.word_rows(controller)
    ]
    found += [{"word": word, "says": does, "not": ""} for word, does in handbook.extra_word_rows(controller)]
    letters = [{"word": letter, "says": says, "not": ""} for letter, says in words.LETTERS.items()]
    return jsonify(found + letters)
