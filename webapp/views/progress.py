"""What a page asks about the work it waits for."""

from __future__ import annotations

from flask import Blueprint, jsonify
from werkzeug.wrappers import Response

from webapp import progress

blueprint = Blueprint("working", __name__, url_prefix="/working")


@blueprint.get("/<name>")
def share(name: str) -> Response:
    """The share done of a request under way, null where it has ended."""
    work = progress.under_way().get(name)
    return jsonify(share=work and work.share)


@blueprint.post("/<name>/stop")
def stop(name: str) -> tuple[str, int]:
    """End the work on a request; nothing happens where it has ended."""
    work = progress.under_way().get(name)
    if work:
        work.stopping = True
    return "", 204
