"""A finding is fixed on the bench by hand, by keyboard and without scripts."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from library import documents
from library.store import Workshop
from tests.browser.pages import spoil_park
from tests.browser.test_accessibility import violations
from tests.bulk import mostly_long

pytestmark = pytest.mark.browser


@pytest.fixture
def bench(page, site):
    """The bench with a macro that crosses the vise."""
    spoil_park(site)
    page.goto(f"{site.address}/bench/park")
    return page


def finding(page):
    return page.locator("li.finding.refuse").first


def steps(site):
    return [each.block for each in documents.parse("macro", Workshop.open(site.folder).text("macro", "park")).step]


@pytest.mark.journey
def test_the_change_is_seen_before_it_is_made(bench, site):
    button = finding(bench).get_by_role("button", name="Make this change")
    expect(button).to_be_hidden()
    finding(bench).get_by_text("Fix: put a raise first").click()
    expect(finding(bench).get_by_role("group", name="Steps that change")).to_contain_text("+ Raise to safe.z")
    expect(finding(bench)).to_contain_text("Then: Proved")
    assert steps(site) == ["go-to"]
    button.click()
    expect(bench.locator("#step-1-to")).to_have_value("safe.z")
    expect(bench.locator("#verdict")).to_contain_text("Proved")
    assert steps(site) == ["raise", "go-to"]
    bench.get_by_role("button", name="Undo").click()
    expect(finding(bench)).to_be_visible()
    assert steps(site) == ["go-to"]


def test_it_is_made_by_keyboard_and_goes_on_at_the_new_step(bench):
    finding(bench).locator("summary").first.focus()
    bench.keyboard.press("Enter")
    for _ in range(3):  # the steps, the lines, the button
        bench.keyboard.press("Tab")
    bench.keyboard.press("Enter")
    expect(bench.locator("#step-1-to")).to_be_focused()


def test_it_is_made_without_scripts(chromium, site):
    spoil_park(site)
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{site.address}/bench/park")
    finding(page).get_by_text("Fix: put a raise first").click()
    finding(page).get_by_role("button", name="Make this change").click()
    expect(page.locator("#step-1-to")).to_have_value("safe.z")
    context.close()
    assert steps(site) == ["raise", "go-to"]


def test_the_start_condition_takes_one_click_and_a_raise_stands_before_it(bench):
    offers = bench.locator(".safe-start")
    offers.get_by_role("link", name="put a raise first").click()
    expect(finding(bench).get_by_role("button", name="Make this change")).to_be_visible()
    offers.get_by_text("What a start condition changes").click()
    expect(offers.get_by_role("group", name="Steps that change under the condition")).to_contain_text("z >= -34 mm")
    offers.get_by_role("button", name="Require this start").click()
    expect(bench.locator("#head-start")).to_have_value("z >= -34 mm")
    expect(bench.locator("#verdict")).to_contain_text("the pendant cannot check this")


@pytest.mark.journey
@pytest.mark.parametrize("scheme", mostly_long(["light", "dark"]))
@pytest.mark.parametrize("width", mostly_long([380, 1400]))
def test_open_fixes_are_accessible_and_fit(bench, scheme, width):
    bench.emulate_media(color_scheme=scheme)
    bench.set_viewport_size({"width": width, "height": 900})
    for fold in bench.locator("details.offer").all():
        fold.evaluate("each => { each.open = true; }")
    assert violations(bench) == []
    assert bench.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
