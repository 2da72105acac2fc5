"""Every page: free of what axe-core finds, as wide as the screen at most, quiet, and fetched from nowhere else."""

from __future__ import annotations

import pytest

from tests.browser.pages import EVERY_PAGE, spoil_park
from tests.browser.test_accessibility import in_light_and_dark
from tests.bulk import some_of_today

pytestmark = pytest.mark.browser

WIDTHS = (1400, 820, 380)
PAGES = ("/bench/park?show=0", *EVERY_PAGE)
LOOKED_OVER = some_of_today(PAGES, 2, 18)
"""The pages that axe is asked about in this run; all else is held of every page."""


@pytest.mark.parametrize("half", [0, 1])
def test_every_page_keeps_what_is_promised_of_all(page, site, half):
    spoil_park(site)
    elsewhere, console, amiss, wider = [], [], {}, {}
    page.on("request", lambda asked: elsewhere.append(asked.url) if not asked.url.startswith(ours) else None)
    page.on("console", lambda said: console.append((page.url, said.text)) if said.type in LOUD else None)
    ours = (site.address, "data:")
    for path in PAGES[half::2]:
        page.goto(site.address + path)
        if path in LOOKED_OVER:
            amiss[path] = in_light_and_dark(page)
        for width in WIDTHS:
            page.set_viewport_size({"width": width, "height": 900})
            needed = page.evaluate("document.documentElement.scrollWidth")
            if needed > width:
                wider[path, width] = needed
        page.set_viewport_size({"width": WIDTHS[0], "height": 1000})
    assert {path: each for path, each in amiss.items() if each} == {}
    assert wider == {}
    assert elsewhere == []
    assert console == []


LOUD = ("error", "warning")
