"""The pages themselves on paper: nothing beyond its edge, and of the manual nothing left out."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from webapp.views import help as help_pages

pytestmark = pytest.mark.browser

A4 = round((210 - 2 * 14) / 25.4 * 96)
"""Pixels between the margins of the sheet (ISO 216; 96 to the inch: CSS Values 4, 6.2)."""
TABLES = ("/shelf", "/to-the-machine", "/pendant", "/sheets/machine", "/help/limits", "/help/words")


@pytest.fixture
def paper(page):
    page.emulate_media(media="print")
    page.set_viewport_size({"width": A4, "height": 1000})
    return page


@pytest.mark.parametrize("path", TABLES)
def test_a_table_is_printed_as_a_table_and_no_wider_than_the_paper(paper, site, path):
    paper.goto(site.address + path)
    expect(paper.locator(".not-yet")).to_have_count(0)
    table = paper.locator("table:visible").first
    assert table.evaluate("table => getComputedStyle(table.querySelector('tbody tr')).display") == "table-row"
    wide = paper.locator("table, .scroll, main").evaluate_all(
        "(all, most) => all.filter(each => each.scrollWidth > most).map(each => each.outerHTML.slice(0, 80))", A4
    )
    assert wide == []


def test_every_heading_of_the_manual_is_printed(paper, site):
    for topic in help_pages.TOPICS:
        paper.goto(f"{site.address}/help/{topic}")
        left_out = paper.locator("h1, h2, h3").evaluate_all(
            "all => all.filter(each => !each.checkVisibility()).map(each => each.textContent)"
        )
        assert left_out == [], topic
