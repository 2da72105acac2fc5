"""Shelves as tests need them: proved before they are read, and of many macros."""

from __future__ import annotations

from library import macros, starter
from library.store import Workshop

HTMX = {"HX-Request": "true"}


def prove_shelf(client):
    """Press the button that proves all of the shelf, as a page with scripts does."""
    answer = client.post("/shelf/verdicts/all", headers=HTMX)
    assert answer.status_code == 200, answer.text


def fill(shop: Workshop, count: int) -> None:
    """Put macros like those of the starter workshop on a shelf until there are so many."""
    texts = list(starter.macros().values())
    for number in range(len(shop.ids("macro")), count):
        text = macros.set_header(texts[number % len(texts)], "name", f"Macro number {number}")
        text = macros.set_header(text, "author", f"Author {number % 17}")
        shop.create("macro", f"m-{number}", lambda id, text=text: macros.set_header(text, "id", id), "made")
