"""What a margin asks, drawn for Help: tools beside and inside a vise, and a wide tool under a box on the frame.

Front views, both to one scale, 1 mm of the machine for a unit of the view box; they never change, so they stand as
pictures beside this. A box as it is drawn on the sheet is a wide line, the margin round it a narrow long-dash
double-dot line (ISO 128-2, 05.1; for a margin this use is ours), a tool that cannot be a dashed one. Classes: those of
the elevations; ``margin`` on the outline of the margin, ``impossible`` on the tool that is left out.
"""

from __future__ import annotations

from importlib.resources import files

from markupsafe import Markup

MARGIN = 16.0
"""mm: larger than on most sheets, so that it can be seen and a tool can stand in it."""


def beside_the_vise() -> Markup:
    """A vise with its margin, and three tools: one goes away, one goes in, one stands where none can."""
    return _picture("margin_vise.svg")


def under_the_frame() -> Markup:
    """A box on the frame with its margin, and a tool wider than the nose that comes up under it."""
    return _picture("margin_frame.svg")


def _picture(name: str) -> Markup:
    return Markup(files("webapp.drawings").joinpath(name).read_text(encoding="utf-8"))
