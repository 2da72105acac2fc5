"""The path of a macro at a glance: plan over front view in a few square centimetres, without lettering.

Classes for the style sheet: ``thumb`` on the svg; ``travel``, ``box`` and ``path`` with ``rapid`` ``feed`` or
``dogleg``, as in the large drawing; ``begin`` is where the typical start is and ``finish`` where the macro ends.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from itertools import groupby, pairwise

from markupsafe import Markup

from parser.machine import LINEAR, Corner
from parser.quantities import Figures, how_many
from parser.report import Report
from webapp.drawings import scene
from webapp.drawings.edges import Point
from webapp.drawings.lettering import Patch
from webapp.drawings.scene import DrawnPath, Scene
from webapp.drawings.svg import NAMESPACE, Element, between, circle, element, group, polyline, rendered
from webapp.drawings.views import View

WIDE, HIGH = 96.0, 84.0
"""Units of the view box; the style sheet gives it its size."""
EDGE, GAP = 3.0, 5.0
FINE = 0.7
"""Parts of a path that are nearer to one another than this are drawn as one."""
MOST_POINTS = 1_500
"""Points after which the path is cut off (our choice): nobody makes out more at this size."""


def draw(report: Report, figures: Figures) -> Markup:
    """The path of a report from its typical start, as an ``svg`` that says the same in words."""
    shown = scene.of_report(report)
    parts: list[Element] = []
    left = MOST_POINTS
    for view, scale in _views(shown):
        drawn, left = _path(view, scale, shown.path, left)
        parts.append(group(*_around(view, scale, shown), *drawn, *_ends(view, scale, shown)))
    picture = element(
        "svg",
        *parts,
        xmlns=NAMESPACE,
        viewBox=f"0 0 {WIDE:g} {HIGH:g}",
        class_="thumb",
        role="img",
        aria_label=in_words(shown, figures),
    )
    return rendered(picture)


_ATTRIBUTE = r'(?:x|y|width|height|cx|cy|r|d|class)="[-\w ., ]*"'
_ONE = re.compile(
    rf'<svg xmlns="{re.escape(NAMESPACE)}" viewBox="[\d. ]+" class="thumb" role="img" aria-label="[^"<>]*">'
    rf"(?:<g>(?:<(?:rect|path|circle)(?: {_ATTRIBUTE})+ ?/>)*</g>)*</svg>"
)


def is_one(text: str) -> bool:
    """Whether a text is such a picture and nothing else, so that it may stand in a page whoever wrote it down."""
    return _ONE.fullmatch(text) is not None


def in_words(shown: Scene, figures: Figures) -> str:
    """What the picture shows: the moves, and where the tip of the nose begins and ends."""
    moves = len({each.line for each in shown.path})
    if not moves:
        return "Path: nothing moves."
    ends = [_place(shown.begin, figures), _place(shown.finish or shown.begin, figures)]
    where = f"from {ends[0]} to {ends[1]}" if shown.finish else f"from {ends[0]} and back"
    return f"Path: {how_many(moves, 'line')} with motion, {where}."


def _place(at: Corner, figures: Figures) -> str:
    return " ".join(f"{axis.upper()} {figures.coordinate(axis, value)}" for axis, value in zip(LINEAR, at, strict=True))


def _views(shown: Scene) -> Iterator[tuple[View, float]]:
    """Plan and front view one above the other, both to one scale, and that scale."""
    x, y, z = shown.travel
    scale = min((WIDE - 2 * EDGE) / max(x.length, 1.0), (HIGH - 2 * EDGE - GAP) / max(y.length + z.length, 1.0))
    side = (WIDE - scale * x.length) / 2
    top = (HIGH - GAP - scale * (y.length + z.length)) / 2
    for up, reach, begin in ((1, y, top), (2, z, top + scale * y.length + GAP)):
        corner = side - scale * x.low, begin + scale * reach.high
        patch = Patch(side, begin, side + scale * x.length, begin + scale * reach.length)
        yield View("plan" if up == 1 else "front", 0, up, (corner[0], corner[1]), patch, 0.0, 0.0), scale


def _at(view: View, scale: float, point: Corner) -> Point:
    """Where a point of the machine comes: a view is at full size, and this is to scale."""
    return view.page((scale * point[0], scale * point[1], scale * point[2]))


def _around(view: View, scale: float, shown: Scene) -> Iterator[Element]:
    patch = view.patch
    yield between((patch.left, patch.top), (patch.right, patch.bottom), "travel")
    for box in shown.boxes:
        (x1, y1), (x2, y2) = _at(view, scale, box.low), _at(view, scale, box.high)
        low = _within(x1, patch.left, patch.right), _within(y1, patch.top, patch.bottom)
        high = _within(x2, patch.left, patch.right), _within(y2, patch.top, patch.bottom)
        if low[0] != high[0] and low[1] != high[1]:
            yield between(low, high, "box")


def _within(value: float, low: float, high: float) -> float:
    return min(max(value, low), high)


def _path(view: View, scale: float, path: tuple[DrawnPath, ...], left: int) -> tuple[list[Element], int]:
    """The path in one view with at most so many points, and how many more there may be."""
    drawn: list[Element] = []
    for look, run in groupby(path, key=lambda stretch: stretch.look):
        points = [_at(view, scale, point) for stretch in run for point in stretch.points]
        kept = [points[0]]
        for point in points[1:-1]:
            if math.dist(kept[-1], point) >= FINE:
                kept.append(point)
        kept = [*kept, points[-1]][: max(left, 0)]
        left -= len(kept)
        if sum(math.dist(*pair) for pair in pairwise(kept)) >= FINE:
            drawn.append(polyline(kept, f"path {look}"))
    return drawn, left


def _ends(view: View, scale: float, shown: Scene) -> Iterator[Element]:
    yield circle(*_at(view, scale, shown.begin), 2.0, "begin")
    if shown.finish:
        yield circle(*_at(view, scale, shown.finish), 1.6, "finish")
