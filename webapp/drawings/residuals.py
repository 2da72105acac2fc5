"""How far each timing is off the fit: a row for each, a stroke from the middle line to a dot.

Left of the line the move was quicker than the fit says, right of it slower. The grey band is one standard deviation.
Classes: ``band``, ``middle``, ``stem``, ``dot``, ``grid``, ``figure``, ``row-name``, ``row-time``.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from markupsafe import Markup

from webapp.drawings.figures import round_step, trimmed
from webapp.drawings.lettering import width_of
from webapp.drawings.svg import Element, circle, element, group, line, markup, picture, rectangle, text

WIDTH = 460.0
EM = 13.0
"""Size of the lettering that room is left for: the larger one of a narrow screen."""
NARROW = 1.3
ROW = 1.9 * EM
TOP = 1.6 * EM


def draw(names: Sequence[str], residuals: Sequence[float], scatter: float, *, prefix: str = "residuals") -> Markup:
    """The rows ``names`` with their residuals in seconds; ``scatter`` is their standard deviation."""
    left = max(width_of(name, EM) for name in names) + 1.2 * EM
    right = WIDTH - width_of("+0.00 s", EM) - 0.8 * EM
    reach = 1.15 * max(scatter, *(abs(each) for each in residuals))
    middle, scale = (left + right) / 2, (right - left) / (2 * reach)
    bottom = TOP + ROW * len(names)
    parts = [
        rectangle(middle - scatter * scale, TOP, 2 * scatter * scale, bottom - TOP, "band"),
        text(left, TOP - 0.5 * EM, "quicker", "figure"),
        text(right, TOP - 0.5 * EM, "slower", "figure", text_anchor="end"),
        *_grid(reach, middle, scale, bottom),
    ]
    for index, (name, residual) in enumerate(zip(names, residuals, strict=True)):
        level, end = TOP + ROW * (index + 0.5), middle + residual * scale
        parts.append(
            group(
                element("title", f"{name}: {signed(residual)}"),
                text(0.3 * EM, level, name, "row-name", dy="0.35em"),
                line(middle, level, end, level, "stem"),
                circle(end, level, "0.32em", "dot"),
                text(WIDTH - 0.2 * EM, level, signed(residual), "row-time", dy="0.35em", text_anchor="end"),
                class_="row",
            )
        )
    words = "; ".join(f"{name}: {signed(residual)}" for name, residual in zip(names, residuals, strict=True))
    title = "Measured less calculated"
    root = picture(
        WIDTH, bottom + 1.8 * EM, EM / NARROW, title, words, *parts, class_="timeline residuals", prefix=prefix
    )
    return markup(root)


def signed(seconds: float) -> str:
    """Hundredths of a second with their sign: "+0.04 s"."""
    words = trimmed(seconds, 2)
    return f"+{words} s" if seconds > 0 and words != "0" else f"{words} s"


def _grid(reach: float, middle: float, scale: float, bottom: float) -> Iterator[Element]:
    step = round_step(2 * reach, 4)
    count = int(reach / step)
    for index in range(-count, count + 1):
        x = middle + index * step * scale
        yield line(x, TOP, x, bottom, "grid" if index else "middle")
        yield text(x, bottom + 1.2 * EM, signed(index * step), "figure", text_anchor="middle")
