"""The same journey by the keyboard alone: Tab, Enter, arrows and typing."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from library import pack
from tests.browser.reading import lines, settled, severity, unpacked
from tests.bulk import some_of_today

pytestmark = pytest.mark.browser

PAGES = ("/bench/park", "/pendant", "/sheets/machine", "/shelf", "/to-the-machine", "/help")
MOST_STOPS = 200
"""Stops of the Tab key after which something counts as not reachable."""


class Keys:
    """Two hands on a keyboard in front of a page."""

    def __init__(self, page):
        self.page = page

    def press(self, *keys):
        for key in keys:
            self.page.keyboard.press(key)

    def type(self, text):
        self.page.keyboard.type(text)

    def at(self, target):
        return target.count() == 1 and target.evaluate("element => element === document.activeElement")

    def tab_to(self, target, key="Tab"):
        for _ in range(MOST_STOPS):
            if self.at(target):
                return
            self.press(key)
        raise AssertionError(f"the keyboard does not get to {target}")

    def enter(self, target):
        self.tab_to(target)
        self.press("Enter")

    def button(self, name):
        return self.page.get_by_role("button", name=name, exact=True)

    def link(self, name):
        return self.page.get_by_role("link", name=name, exact=True)

    def choose(self, target, label):
        """Arrow down the list of a select, as one does who cannot see its value elsewhere."""
        self.tab_to(target)
        self.press("Home")
        for _ in range(MOST_STOPS):
            if target.evaluate("select => select.selectedOptions[0].label") == label:
                return
            self.press("ArrowDown")
        raise AssertionError(f"{label} is not in the list")

    def add(self, title):
        """Open the list, say what to find, and take the first that is left."""
        steps = self.page.locator(".op:not(.empty)")
        before = steps.count()
        self.enter(self.page.locator("#add"))
        expect(self.page.locator("#find")).to_be_focused()
        self.type(title.lower())
        self.press("Enter")
        expect(steps).to_have_count(before + 1)
        settled(self.page)


@pytest.fixture
def keys(page, site):
    page.goto(f"{site.address}/shelf")
    keys = Keys(page)
    keys.tab_to(page.locator("#new-name"))
    keys.type("By hand")
    keys.press("Enter")
    expect(page).to_have_url(f"{site.address}/bench/by-hand")
    return keys


@pytest.mark.long
@pytest.mark.journey
def test_the_whole_journey_needs_no_mouse(keys, tmp_path):
    page = keys.page

    # The keyboard goes to the first field of a step that was added.
    keys.add("Raise")
    expect(page.locator("#step-1-to")).to_be_focused()
    keys.add("Go to")
    expect(page.locator("#step-2-x")).to_be_focused()
    keys.type("travel.x.middle")
    keys.press("Tab")
    keys.type("travel.y.max - 5 mm")
    expect(page.locator("#step-2-facts .ends")).to_contain_text("145")
    keys.press("Tab")
    expect(severity(page)).to_have_text("Proved")

    # Alt and an arrow move the step one is in; what moved keeps the keyboard.
    keys.press("Alt+ArrowUp")
    expect(severity(page)).to_have_text("Refused")
    settled(page)
    expect(page.locator("#down-1")).to_be_focused()

    # The finding leads to its drawing.
    keys.enter(page.get_by_role("link", name="show in the drawing").first)
    expect(page.locator("#drawing-heading")).to_contain_text("meets Vise")
    settled(page)

    # Undo, a step too many, and remove it.
    keys.tab_to(keys.button("Undo"), "Shift+Tab")
    keys.press("Enter")
    expect(severity(page)).to_have_text("Proved")
    settled(page)
    expect(keys.button("Undo")).to_be_focused()
    keys.add("Dwell")
    keys.enter(keys.button("Remove step 3"))
    expect(page.locator(".op")).to_have_count(2)
    settled(page)
    expect(keys.button("Remove step 2")).to_be_focused()

    # Onto a slot and away.
    keys.tab_to(page.get_by_role("radio", name="Drawing"), "Shift+Tab")
    keys.press("ArrowRight", "ArrowRight", "ArrowRight")
    expect(page.get_by_role("radio", name="Pendant")).to_be_focused()
    settled(page)
    keys.choose(page.locator("#slot"), "position 6 at x100")
    keys.enter(keys.button("Put on this slot"))
    expect(page.locator("#slots")).to_contain_text("Position 6 at x100")
    keys.enter(keys.link("To the machine"))
    expect(page.get_by_role("row", name="By hand")).to_contain_text("6 x100")
    download = keys.button("Download the zip")
    keys.tab_to(download)
    with page.expect_download() as downloading:
        keys.press("Enter")
    path, files = unpacked(downloading.value, tmp_path)
    assert b"G53 G0 X130 Y145" in files["macros/by-hand.nc"]
    assert pack.verify(path) == []


def test_enter_in_a_field_keeps_what_was_typed_and_stays_there(keys):
    keys.add("Raise")
    keys.press("Control+A")
    keys.type("safe.z - 1 mm")
    keys.press("Enter")
    expect(lines(keys.page)).to_contain_text(["G53 G0 Z-3"])
    keys.page.reload()
    expect(keys.page.locator("#step-1-to")).to_have_value("safe.z - 1 mm")


def test_the_first_stop_of_every_page_skips_to_what_it_is_about(page, site):
    for path in PAGES:
        page.goto(site.address + path)
        keys = Keys(page)
        keys.press("Tab")
        expect(page.locator("a.skip")).to_be_focused()
        expect(page.locator("a.skip")).to_be_in_viewport()
        keys.press("Enter")
        expect(page.locator("#main")).to_be_focused()


def test_where_the_keyboard_is_can_be_seen_at_every_stop(page, site):
    for path in some_of_today(PAGES, 1, 2):
        page.goto(site.address + path)
        for _ in range(40):
            page.keyboard.press("Tab")
            seen = page.evaluate(
                "() => { const at = document.activeElement, style = getComputedStyle(at);"
                " return at === document.body || (style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 1)"
                " ? '' : at.outerHTML.slice(0, 120); }"
            )
            assert seen == "", f"{path}: {seen}"


def test_slots_are_filled_from_the_pendant_page_and_nothing_is_saved_on_the_way_through_the_list(page, site):
    page.goto(f"{site.address}/pendant")
    keys = Keys(page)
    slot = page.get_by_label("Macro on position 6 at x100")
    keys.choose(slot, "Measure the part")
    expect(keys.button("Undo")).to_be_disabled()
    keys.enter(keys.button("Put on the slots"))
    expect(page.locator(".slots")).to_contain_text("On the bench: Measure the part")
    page.reload()
    expect(slot.locator("option:checked")).to_have_text("Measure the part")


def test_from_any_field_of_start_the_check_is_one_key_away(page, site):
    page.goto(f"{site.address}/start/table")
    page.locator("#f-keep_out-0-to-2").fill("-81")
    page.keyboard.press("Enter")
    expect(page.locator("#check")).to_contain_text("Saved.")
    expect(page.locator("#check")).to_be_in_viewport()
    expect(page.locator("#check")).to_be_focused()
    keys = Keys(page)
    keys.press("Tab")
    expect(keys.button("Measured today")).to_be_focused()
    page.goto(f"{site.address}/start/table")
    keys.tab_to(keys.link("Skip to the check"))
    keys.press("Enter")
    expect(page.locator("#check")).to_be_focused()
    keys.press("Tab")
    expect(keys.button("Measured today")).to_be_focused()
