"""What the drawings of times and speeds have in common: width, lettering, upright rules and the finished sheet."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from markupsafe import Markup

from webapp.drawings.svg import Element, line, picture, text

WIDTH = 460.0
EM = 13.0
"""Size of the lettering that room is left for: the larger one of a narrow screen."""
NARROW = 1.3
ROW = 1.9 * EM
"""Height of a row, where there are rows."""


def rules(
    steps: Iterable[float], place: Callable[[float], float], top: float, bottom: float, word: Callable[[float], str]
) -> Iterator[Element]:
    """An upright rule at each of ``steps``, named underneath; the one at nothing stands out where some are below it."""
    values = list(steps)
    for value in values:
        x = place(value)
        yield line(x, top, x, bottom, "middle" if value == 0.0 and min(values) < 0.0 else "grid")
        yield text(x, bottom + 1.2 * EM, word(value), "figure", text_anchor="middle")


def finished(bottom: float, title: str, words: str, *parts: Element, class_: str = "") -> Markup:
    """The sheet, with room for names under ``bottom``; ``class_`` tells it from the timeline, and begins its ids."""
    size = (WIDTH, bottom + 1.8 * EM, EM / NARROW)
    return picture(*size, title, words, *parts, class_=f"timeline {class_}".rstrip(), prefix=class_ or "timeline")
