"""Points of a step are moved by the keyboard as well."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from library.store import Workshop
from tests.browser.reading import field, settled
from tests.browser.test_drawing import POINTS
from tests.workshops import keep

pytestmark = pytest.mark.browser


def test_a_point_is_moved_by_the_arrow_keys_and_keeps_the_focus_while_it_is_drawn_anew(page, site):
    keep(Workshop.open(site.folder), "macro", "points", POINTS, "points")
    page.goto(f"{site.address}/bench/points")
    field(page, 4, "points")
    point = page.get_by_role("button", name="Point 1 of step 4: arrow keys move it").first
    point.focus()
    for key in ("ArrowRight", "Shift+ArrowRight", "ArrowUp"):
        page.keyboard.press(key)
        settled(page)
    expect(page.locator("#step-4-points")).to_have_value("41 mm, travel.y.max - 79 mm\n\n200, min(120, 130)\n")
    expect(page.locator("#lines")).to_contain_text("X41 Y71")
    settled(page)
    expect(point).to_be_focused()
    expect(page.locator("#dragged")).to_contain_text("Step 4: point 1 41 mm, travel.y.max - 79 mm")
    expect(page.locator("#saved")).to_have_text("Saved")
    settled(page)
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("#step-4-points")).to_have_value("30 mm, travel.y.max - 80 mm\n\n200, min(120, 130)\n")
