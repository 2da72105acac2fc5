"""Buttons are large enough for a finger, and the journey works without scripts."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.pages import spoil_park
from tests.browser.reading import add, field, lines, press, severity, unpacked

pytestmark = pytest.mark.browser


@pytest.mark.long
@pytest.mark.journey
def test_every_button_on_a_phone_is_large_enough_for_a_finger(page, site):
    page.set_viewport_size({"width": 380, "height": 900})
    small = {}
    for path in ("/bench/present-part", "/pendant", "/shelf", "/to-the-machine"):
        page.goto(site.address + path)
        expect(page.locator(".not-yet")).to_have_count(0)
        for button in page.locator("button:visible, select:visible, input:visible:not([type=radio])").all():
            box = button.bounding_box()
            if min(box["width"], box["height"]) < 24:
                small[f"{path} {button.evaluate('element => element.outerHTML')[:80]}"] = box
    assert small == {}, "WCAG 2.2, 2.5.8: targets are at least 24 by 24 CSS pixels"


@pytest.fixture
def plain(chromium, site):
    """A page in a browser that runs no scripts."""
    context = chromium.new_context(java_script_enabled=False, accept_downloads=True)
    yield context.new_page()
    context.close()


@pytest.mark.journey
def test_the_journey_works_without_scripts(plain, site, tmp_path):
    plain.goto(f"{site.address}/shelf")
    plain.get_by_label("Name", exact=True).fill("Plain")
    plain.get_by_role("button", name="Create").click()
    for number, title in enumerate(("Raise", "Dwell"), 1):
        add(plain, title)
        expect(plain.locator(".op:not(.empty)")).to_have_count(number)
    field(plain, 2, "time").fill("2 s")
    plain.get_by_role("button", name="Apply what was typed").click()
    expect(lines(plain)).to_contain_text(["G4 P2"])
    press(plain, "Remove step", 2)
    expect(plain.locator(".op:not(.empty)")).to_have_count(1)
    plain.get_by_role("button", name="Undo").click()
    expect(plain.locator(".op:not(.empty)")).to_have_count(2)
    expect(severity(plain)).to_have_text("Proved")
    plain.get_by_role("radio", name="Pendant").check()
    plain.get_by_role("button", name="Show", exact=True).click()
    plain.get_by_label("Put it on").select_option(label="position 6 at x100")
    plain.get_by_role("button", name="Put on this slot").click()
    expect(plain.locator("#slots")).to_contain_text("Position 6 at x100")
    plain.goto(f"{site.address}/to-the-machine")
    with plain.expect_download() as downloading:
        plain.get_by_role("button", name="Download the zip").click()
    _, files = unpacked(downloading.value, tmp_path)
    assert b"G4 P2" in files["macros/plain.nc"]


def test_a_finding_is_drawn_without_scripts(plain, site):
    spoil_park(site)
    plain.goto(f"{site.address}/bench/park")
    plain.get_by_role("link", name="show in the drawing").first.click()
    expect(plain.locator("#drawing-heading")).to_contain_text("meets Vise")


def test_the_slots_of_the_pendant_are_filled_without_scripts(plain, site):
    plain.goto(f"{site.address}/pendant")
    plain.get_by_label("Macro on position 6 at x100").select_option(label="Park")
    plain.get_by_role("button", name="Put on the slots").click()
    expect(plain.get_by_label("Macro on position 6 at x100").locator("option:checked")).to_have_text("Park")


def test_no_page_is_wider_than_a_phone_without_scripts(chromium, site):
    context = chromium.new_context(java_script_enabled=False, viewport={"width": 360, "height": 740})
    page = context.new_page()
    for path in ("/bench/present-part", "/scratch?rule=crosses-keep-out", "/pendant", "/sheets/machine", "/shelf"):
        page.goto(site.address + path)
        assert page.locator("html").evaluate("html => html.scrollWidth") <= 360, path
    context.close()
