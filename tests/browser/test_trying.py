"""The pendant tried on its page, as a person does it: with and without scripts, with the keyboard alone."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

DEEDS = ("4", "Wait a second", "Press enable", "The clicks of the gesture", *("Wait a second",) * 4)


def do(page, deed):
    """Press a link of the part, and wait until the deed is in the address of the others."""
    before = page.locator("#deed-wait").get_attribute("href")
    page.locator("#try").get_by_role("link", name=deed, exact=True).click()
    expect(page.locator("#deed-wait")).not_to_have_attribute("href", before)


@pytest.mark.journey
def test_a_macro_is_fired_by_its_gesture_and_played_on_the_drawing(page, site):
    page.goto(f"{site.address}/pendant")
    for deed in DEEDS:
        do(page, deed)
    expect(page.locator("#try")).to_contain_text("Retract was fired")
    expect(page.locator("#try pre")).to_contain_text("G53 G0 Z-2")
    drawing = page.locator("#try #drawing")
    expect(drawing).to_contain_text("Retract on the drawing")
    head = drawing.locator("#elevations-front-head")
    before = head.get_attribute("transform")
    drawing.get_by_role("button", name="Play").click()
    expect(head).not_to_have_attribute("transform", before or "")
    expect(drawing.locator("#whereabouts")).to_contain_text("line 2")
    expect(page.locator("#try pre .running")).to_have_text("G53 G0 Z-2")
    do(page, "Let enable go")  # the drawing is swapped, and its player with it
    drawing.get_by_role("button", name="Play").click()
    expect(drawing.locator("#whereabouts")).to_contain_text("line 2")


def test_without_scripts_it_is_a_page_for_each_deed(chromium, site):
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{site.address}/pendant")
    for deed in DEEDS:
        do(page, deed)
    expect(page.locator("#try")).to_contain_text("Retract was fired")
    context.close()


def test_with_the_keyboard_the_same_button_keeps_the_focus(page, site):
    page.goto(f"{site.address}/pendant")
    do(page, "5")
    expect(page.locator("#deed-position-5")).to_be_focused()
    page.wait_for_function("!document.querySelector('.htmx-settling, .htmx-swapping, .htmx-request')")
    page.locator("#deed-wait").focus()
    before = page.locator("#deed-wait").get_attribute("href")
    page.keyboard.press("Enter")
    expect(page.locator("#deed-wait")).not_to_have_attribute("href", before)
    expect(page.locator("#deed-wait")).to_be_focused()
