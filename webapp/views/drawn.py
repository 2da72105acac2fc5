"""The drawing of a macro as a file of its own."""

from __future__ import annotations

from flask import Blueprint
from werkzeug.wrappers import Response

from webapp.drawings.standalone import standalone
from webapp.views import bench
from webapp.views.bench_edits import as_it_stands

blueprint = Blueprint("drawn", __name__)


@blueprint.get("/bench/<macro_id>/drawing.svg")
def download(macro_id: str) -> Response:
    """What the bench draws for the same address, to be kept; 404 for a macro that is not there."""
    page = bench.assemble(macro_id, as_it_stands(macro_id), show=bench.shown_finding(), side="drawing")
    assert page.views is not None
    name = {"Content-Disposition": f'attachment; filename="{page.id}.svg"'}
    return Response(standalone(page.views.whole()), mimetype="image/svg+xml", headers=name)
