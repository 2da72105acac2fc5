"""Every page: free of what axe-core finds, as wide as the screen at most, quiet, and fetched from nowhere else."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.pages import EVERY_PAGE, spoil_park
from tests.browser.reading import opened, settled
from tests.browser.test_accessibility import in_light_and_dark
from tests.bulk import some_of_today

pytestmark = pytest.mark.browser

WIDTHS = (1400, 820, 380)
PAGES = ("/bench/park?show=0", *EVERY_PAGE)
LOOKED_OVER = some_of_today(PAGES, 2, 14)
"""The pages that axe is asked about in this run; all else is held of every page."""


@pytest.mark.parametrize("half", [0, 1])
def test_every_page_keeps_what_is_promised_of_all(page, site, half):
    spoil_park(site)
    elsewhere, console, amiss, wider = [], [], {}, {}
    page.on("request", lambda asked: elsewhere.append(asked.url) if not asked.url.startswith(ours) else None)
    page.on("console", lambda said: console.append((page.url, said.type, said.text)))
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


def test_what_takes_the_focus_of_an_answer_does_so_without_a_word_on_the_console(page, site):
    spoil_park(site)
    console = []
    page.on("console", lambda said: console.append(said.text))

    def presses(name, path, open_step=False):
        """In a page of its own: a browser complains of the first only."""
        page.goto(site.address + path)
        if open_step:
            opened(page, 1)
        page.get_by_role("button", name=name).first.click()
        settled(page)

    page.goto(f"{site.address}/bench/park")
    page.get_by_role("link", name="show in the drawing").first.click()
    expect(page.locator("#drawing")).to_be_focused()
    presses("Insert after step 1", "/bench/park", open_step=True)
    expect(page.locator("#find")).to_be_focused()
    presses("Move step 1 down", "/bench/home", open_step=True)
    presses("Put on the slots", "/pendant")
    expect(page.locator("#whole-verdict")).to_be_focused()
    page.goto(f"{site.address}/bench/home")
    page.keyboard.press("Control+s")
    settled(page)
    assert console == []
