"""How far each timing is off the fit: a row for each, a stroke from the middle line to a dot.

Left of the line the move was quicker than the fit says, right of it slower. The grey band is one standard deviation.
Classes: ``band``, ``middle``, ``stem``, ``dot``, ``grid``, ``figure``, ``row-name``, ``row-time``.
"""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

from webapp.drawings.charts import EM, ROW, WIDTH, finished, rules
from webapp.drawings.figures import round_step, trimmed
from webapp.drawings.lettering import width_of
from webapp.drawings.svg import circle, element, group, line, rectangle, text

TOP = 1.6 * EM


def draw(names: Sequence[str], residuals: Sequence[float], scatter: float) -> Markup:
    """The rows ``names`` with their residuals in seconds; ``scatter`` is their standard deviation."""
    left = max(width_of(name, EM) for name in names) + 1.2 * EM
    right = WIDTH - width_of("+0.00 s", EM) - 0.8 * EM
    reach = 1.15 * max(scatter, *(abs(each) for each in residuals))
    middle, scale = (left + right) / 2, (right - left) / (2 * reach)
    bottom = TOP + ROW * len(names)
    step = round_step(2 * reach, 4)
    times = [count * step for count in range(-int(reach / step), int(reach / step) + 1)]
    parts = [
        rectangle(middle - scatter * scale, TOP, 2 * scatter * scale, bottom - TOP, "band"),
        text(left, TOP - 0.5 * EM, "quicker", "figure"),
        text(right, TOP - 0.5 * EM, "slower", "figure", text_anchor="end"),
        *rules(times, lambda time: middle + time * scale, TOP, bottom, signed),
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
    return finished(bottom, title, words, *parts, class_="residuals")


def signed(seconds: float) -> str:
    """Hundredths of a second with their sign: "+0.04 s"."""
    words = trimmed(seconds, 2)
    return f"+{words} s" if seconds > 0 and words != "0" else f"{words} s"
