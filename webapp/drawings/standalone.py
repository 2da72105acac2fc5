"""A drawing as a file of its own: the same SVG with the style that a page would give it, in light colours."""

from __future__ import annotations

import re
from functools import cache
from importlib.resources import files

from markupsafe import Markup

from library.proving import Proved
from webapp.drawings import elevations

_COLOURS = re.compile(r":root \{(.*?)\}", re.DOTALL)


def path_drawing(proved: Proved) -> bytes:
    """The drawing of what a macro does, for a bundle."""
    return standalone(elevations.draw(proved.report, title=proved.macro.name, units=proved.report.units))


def standalone(drawing: Markup) -> bytes:
    """A drawing of a page with its style in it; nothing in it is fetched or run."""
    head, end, rest = str(drawing).partition(">")
    return f"{head}{end}<style>{_style()}</style>{rest}\n".encode()


@cache
def _style() -> str:
    static = files("webapp").joinpath("static")
    colours = _COLOURS.search(static.joinpath("clickstop.css").read_text(encoding="utf-8"))
    assert colours is not None, "clickstop.css begins with the colours"
    style = f"svg{{{colours[1]}background:var(--paper)}}" + static.joinpath("drawings.css").read_text(encoding="utf-8")
    plain = re.sub(r"/\*.*?\*/", "", style, flags=re.DOTALL)
    return re.sub(r"\s+", " ", plain).replace("<", "").replace("&", "")
