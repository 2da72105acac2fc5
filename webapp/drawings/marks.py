"""Signs a drawing is lettered with: arrowheads, dimensions, the scale bar, the third-angle symbol, the work zero.

All are drawn for lettering of size ``em``, in units of the view box.
"""

from __future__ import annotations

import math

from webapp.drawings.edges import Point
from webapp.drawings.svg import Element, circle, element, group, line, number, polygon, polyline, rectangle, text


def arrowhead(tip: Point, direction: Point, size: float, class_: str = "arrow") -> Element:
    """A filled arrowhead, three times as long as half its width, its point at ``tip``."""
    length = math.hypot(*direction)
    ux, uy = direction[0] / length, direction[1] / length
    back = tip[0] - ux * size, tip[1] - uy * size
    half = size / 3
    return polygon(
        [tip, (back[0] - uy * half, back[1] + ux * half), (back[0] + uy * half, back[1] - ux * half)], class_
    )


def dimension(low: Point, high: Point, level: float, words: str, em: float) -> Element:
    """A dimension line with extension lines to ``level``: over two points side by side, or beside one above the other.

    The words of an upright one read from the right (ISO 129-1).
    """
    upright = low[0] == high[0]
    beyond = level + math.copysign(0.35 * em, level - low[0 if upright else 1])

    def at(point: Point, off: float) -> Point:
        return (off, point[1]) if upright else (point[0], off)

    begin, end = at(low, level), at(high, level)
    x, y = (begin[0] + end[0]) / 2, (begin[1] + end[1]) / 2
    out = (0, 1) if upright else (-1, 0)
    turned = f"rotate(-90 {number(x)} {number(y)})" if upright else None
    return group(
        line(*low, *at(low, beyond), "extension"),
        line(*high, *at(high, beyond), "extension"),
        line(*begin, *end, "dimension"),
        arrowhead(begin, out, 0.75 * em, "arrow-dimension"),
        arrowhead(end, (-out[0], -out[1]), 0.75 * em, "arrow-dimension"),
        text(x, y, words, "figure", dy="-0.4em", text_anchor="middle", transform=turned),
        class_="dimensions",
    )


def axes(corner: Point, across: str, up: str, em: float) -> Element:
    """Two short arrows that say which way the axes of a view run."""
    x, y = corner
    reach = 1.9 * em
    return group(
        polyline([(x, y - reach), (x, y), (x + reach, y)], "axis"),
        arrowhead((x + reach + 0.5 * em, y), (1, 0), 0.75 * em, "arrow-axis"),
        arrowhead((x, y - reach - 0.5 * em), (0, -1), 0.75 * em, "arrow-axis"),
        text(x + reach + 0.8 * em, y, across, "axis-name", dy="0.35em"),
        text(x, y - reach - 0.9 * em, up, "axis-name", text_anchor="middle"),
        class_="axes",
    )


def scale_bar(corner: Point, length: float, words: str, em: float) -> Element:
    """A bar of the true length, halved by a tick, with its length written over it."""
    x, y = corner
    ticks = [line(x + length * part, y - 0.3 * em, x + length * part, y + 0.3 * em, "scale") for part in (0, 0.5, 1)]
    half = polyline([(x, y), (x + length / 2, y)], "scale-half")
    words_over = text(x + length / 2, y, words, "figure", dy="-0.6em", text_anchor="middle")
    return group(line(x, y, x + length, y, "scale"), half, *ticks, words_over, class_="scale-bar")


def third_angle(centre: Point, em: float) -> Element:
    """The symbol of third-angle projection: a truncated cone and, on the side of its small end, its end view.

    Source: ISO 5456-2:1996, 5.2 (the arrangement; the proportions are ours).
    """
    x, y = centre
    large, small, apart = 0.8 * em, 0.4 * em, 2.1 * em
    left, right = x + apart - large, x + apart + large
    cone = [(left, y - small), (right, y - large), (right, y + large), (left, y + small)]
    return group(
        element("title", "Third-angle projection (ISO 5456-2)"),
        line(x - 1.2 * em, y, right + 0.4 * em, y, "centre-line"),
        line(x, y - 1.2 * em, x, y + 1.2 * em, "centre-line"),
        circle(x, y, large, "symbol"),
        circle(x, y, small, "symbol"),
        polygon(cone, "symbol"),
        class_="third-angle",
    )


def work_zero(at: Point, em: float) -> Element:
    """A work zero: two centre lines and a circle with opposite quarters filled."""
    x, y = at
    r, reach = 0.45 * em, 1.8 * em
    quarters = (
        f"M{number(x)} {number(y)}V{number(y - r)}A{number(r)} {number(r)} 0 0 1 {number(x + r)} {number(y)}Z"
        f"M{number(x)} {number(y)}V{number(y + r)}A{number(r)} {number(r)} 0 0 1 {number(x - r)} {number(y)}Z"
    )
    return group(
        line(x - reach, y, x + reach, y, "centre-line"),
        line(x, y - reach, x, y + reach, "centre-line"),
        circle(x, y, r, "zero-ring"),
        element("path", d=quarters, class_="zero-quarters"),
    )


def operator(at: Point, em: float, *, sideways: bool = False) -> Element:
    """Head and shoulders of the operator, seen from above, named; ``sideways`` where the machine is to one side."""
    x, y = at
    across, deep = (0.32, 1.2) if sideways else (1.2, 0.32)
    words_at = (x, y + 2.3 * em) if sideways else (x + 1.6 * em, y + 0.32 * em)
    shoulders = rectangle(x - across * em, y - deep * em, 2 * across * em, 2 * deep * em, "operator", rx=0.32 * em)
    return group(
        element("title", "The operator stands on this side"),
        shoulders,
        circle(x, y, 0.52 * em, "operator-head"),
        text(*words_at, "operator", "note", text_anchor="middle" if sideways else None),
        class_="operator-mark",
    )
