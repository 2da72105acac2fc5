"""What a margin asks, drawn for Help: tools beside and inside a vise, and a wide tool under a box on the frame.

Front views, both to one scale, 1 mm of the machine for a unit of the view box. A box as it is drawn on the sheet is a
wide line, the margin round it a narrow long-dash double-dot line (ISO 128-2, 05.1; for a margin this use is ours), a
tool that cannot be a dashed one. Classes: those of the elevations; ``margin`` on the outline of the margin,
``impossible`` on the tool that is left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from webapp.drawings.edges import Point
from webapp.drawings.marks import arrowhead
from webapp.drawings.svg import Element, circle, group, line, markup, picture, polyline, rectangle, text

WIDTH = 250.0
EM = 9.0
"""Size of the lettering that room is left for: the larger one of a narrow screen."""
NARROW = 1.3
MARGIN = 16.0
"""mm: larger than on most sheets, so that it can be seen and a tool can stand in it."""


@dataclass(frozen=True, slots=True)
class Upright:
    """A box seen from the front, mm: left, right, bottom, top."""

    left: float
    right: float
    bottom: float
    top: float

    def grown(self, margin: float, *, below: bool) -> Upright:
        """The box with ``margin`` round it; under it only where it has an underside."""
        bottom = self.bottom - margin if below else self.bottom
        return Upright(self.left - margin, self.right + margin, bottom, self.top + margin)


@dataclass(frozen=True, slots=True)
class Sketch:
    """Where X and Z of the machine come on the page: X ``west`` at its left edge, Z ``ceiling`` at its upper one."""

    west: float
    ceiling: float

    def at(self, x: float, z: float) -> Point:
        return x - self.west, self.ceiling - z

    def rectangle(self, box: Upright, class_: str) -> Element:
        left, top = self.at(box.left, box.top)
        return rectangle(left, top, box.right - box.left, box.top - box.bottom, class_)


VISE = Upright(0.0, 84.0, 0.0, 50.0)
TOOL_RADIUS, TIP, CUT_OFF = 5.0, 20.0, 86.0
"""Half the width of the three tools, the height of their tips, and where the drawing breaks them off."""

DUCT = Upright(0.0, 96.0, 70.0, 98.0)
SPINDLE, NOSE_RADIUS, NOSE = -34.0, 12.0, 22.0
CUTTER_RADIUS, CUTTER_LENGTH = 52.0, 14.0
"""X of the spindle, its half width and the height of its nose; the tool in it, wider than the nose."""


def beside_the_vise(margin: float = MARGIN, *, prefix: str = "margin-vise") -> Markup:
    """A vise with its margin, and three tools: one goes away, one goes in, one stands where none can."""
    sheet = Sketch(-92.0, 138.0)
    gap = 0.25 * margin
    beside, against = VISE.left - gap - TOOL_RADIUS, VISE.right + gap + TOOL_RADIUS
    inside = (VISE.left + VISE.right) / 2
    parts = [
        *_box(sheet, VISE, "Vise, as drawn", (inside, 6.0)),
        sheet.rectangle(VISE.grown(margin, below=False), "phantom margin"),
        line(*sheet.at(-88.0, 0.0), *sheet.at(154.0, 0.0), "outline"),
        *_tool(sheet, beside, "outline"),
        *_tool(sheet, against, "outline"),
        *_tool(sheet, inside, "hidden impossible"),
        _way(sheet, (beside, TIP), (beside - 44.0, TIP)),
        _way(sheet, (beside, CUT_OFF + 6.0), (beside, CUT_OFF + 34.0)),
        _way(sheet, (against, TIP), (against - 34.0, TIP)),
        _cross(sheet, (VISE.right, TIP)),
        _label(sheet, "1", (-84.0, 80.0), ("goes away:", "never blamed")),
        _label(sheet, "2", (against + 15.0, 80.0), ("goes in:", "refused")),
        _label(sheet, "3", (inside - 24.0, 118.0), ("inside the vise:", "left out")),
        _margin_name(sheet, (VISE.right + margin, 40.0), (VISE.right + margin + 12.0, 40.0)),
        text(*sheet.at(-88.0, -11.0), "Table", "name"),
    ]
    words = (
        "A vise as drawn, with the margin round its sides and over its top. Tool 1 stands beside it within the margin "
        "and goes away, sideways or up: never blamed. Tool 2 stands within the margin on the other side and goes in: "
        "refused. Tool 3 would stand inside the vise as drawn, which cannot be: it is left out."
    )
    return _finished("A vise and its margin, from the front", words, parts, 156.0, prefix)


def under_the_frame(margin: float = MARGIN, *, prefix: str = "margin-frame") -> Markup:
    """A box on the frame with its margin, and a tool wider than the nose that comes up under it."""
    sheet = Sketch(-112.0, 126.0)
    rim = SPINDLE + CUTTER_RADIUS - 8.0
    cutter = Upright(SPINDLE - CUTTER_RADIUS, SPINDLE + CUTTER_RADIUS, NOSE - CUTTER_LENGTH, NOSE)
    middle = (DUCT.left + DUCT.right) / 2
    parts = [
        *_box(sheet, DUCT, "Box on the frame", (middle, 80.0)),
        sheet.rectangle(DUCT.grown(margin, below=True), "phantom margin"),
        text(*sheet.at(middle + 10.0, DUCT.bottom - 8.0), "underside", "note", dy="0.35em", text_anchor="middle"),
        *_spindle(sheet),
        sheet.rectangle(cutter, "outline tool"),
        text(*sheet.at(SPINDLE - NOSE_RADIUS - 4.0, 64.0), "spindle nose", "note", text_anchor="end"),
        _way(sheet, (rim, NOSE), (rim, DUCT.bottom)),
        _cross(sheet, (rim, DUCT.bottom - margin)),
        _label(sheet, "4", (36.0, 30.0), ("wider than the nose,", "coming up: refused")),
        _margin_name(sheet, (DUCT.right - 26.0, DUCT.bottom - margin), (DUCT.right - 18.0, 44.0)),
    ]
    words = (
        "A box fixed to the frame, with the margin round it, under it too. Tool 4 is wider than the spindle nose that "
        "holds it. The spindle passes beside the box, but the rim of the tool comes up to the margin under it: refused."
    )
    return _finished("A box on the frame and its margin, from the front", words, parts, 127.0, prefix)


def _finished(title: str, words: str, parts: Sequence[Element], height: float, prefix: str) -> Markup:
    return markup(
        picture(WIDTH, height, EM / NARROW, title, words, *parts, class_="margins", prefix=prefix),
    )


def _box(sheet: Sketch, box: Upright, name: str, at: Point) -> Iterator[Element]:
    yield group(sheet.rectangle(box, "body"), class_="keep-out")
    yield sheet.rectangle(box, "outline box")
    yield text(*sheet.at(*at), name, "name", text_anchor="middle")


def _tool(sheet: Sketch, x: float, line_type: str) -> Iterator[Element]:
    """A tool with its centre line, broken off above."""
    left, right = x - TOOL_RADIUS, x + TOOL_RADIUS
    ends = [(left, CUT_OFF), (left, TIP), (right, TIP), (right, CUT_OFF)]
    yield polyline([sheet.at(*point) for point in ends], f"{line_type} tool")
    yield _break(sheet, left, right, CUT_OFF)
    yield line(*sheet.at(x, CUT_OFF + 5.0), *sheet.at(x, TIP - 5.0), "centre-line")


def _spindle(sheet: Sketch) -> Iterator[Element]:
    """The spindle above its nose, broken off above the box on the frame."""
    left, right, top = SPINDLE - NOSE_RADIUS, SPINDLE + NOSE_RADIUS, 110.0
    ends = [(left, top), (left, NOSE), (right, NOSE), (right, top)]
    yield polyline([sheet.at(*point) for point in ends], "outline nose")
    yield _break(sheet, left, right, top)
    yield line(*sheet.at(SPINDLE, top + 5.0), *sheet.at(SPINDLE, NOSE - CUTTER_LENGTH - 6.0), "centre-line")


def _break(sheet: Sketch, left: float, right: float, z: float) -> Element:
    middle, bend = (left + right) / 2, (right - left) / 8
    points = [(left, z), (middle - bend, z), (middle - bend / 2, z + bend), (middle + bend / 2, z - bend)]
    return polyline([sheet.at(*point) for point in [*points, (middle + bend, z), (right, z)]], "break-line")


def _way(sheet: Sketch, begin: Point, end: Point) -> Element:
    """A rapid, with an arrowhead at its end."""
    (x1, y1), (x2, y2) = sheet.at(*begin), sheet.at(*end)
    return group(polyline([(x1, y1), (x2, y2)], "path rapid"), arrowhead((x2, y2), (x2 - x1, y2 - y1), 0.9 * EM))


def _cross(sheet: Sketch, at: Point) -> Element:
    """Where a tool meets what it must not."""
    (x, y), r = sheet.at(*at), 0.45 * EM
    strokes = [(x - r, y - r), (x + r, y + r)], [(x - r, y + r), (x + r, y - r)]
    return group(*(polyline(stroke, "cross") for stroke in strokes), class_="meeting")


def _label(sheet: Sketch, number: str, at: Point, words: Sequence[str]) -> Element:
    """A number in a ring, as in the list under the drawing, and what becomes of the tool."""
    x, y = sheet.at(*at)
    rows = [text(x + 1.1 * EM, y + 1.15 * EM * row, each, "note", dy="0.35em") for row, each in enumerate(words)]
    ring = circle(x, y, "0.8em", "ring")
    return group(ring, text(x, y, number, "number", dy="0.35em", text_anchor="middle"), *rows, class_="label")


def _margin_name(sheet: Sketch, edge: Point, at: Point) -> Element:
    x, y = sheet.at(*at)
    return group(line(*sheet.at(*edge), x, y, "leader"), text(x + 0.3 * EM, y, "margin", "note", dy="0.35em"))
