"""The shelf in a browser: verdicts that come behind the page, finding by keyboard, and several machines."""

from __future__ import annotations

from itertools import islice, repeat
from time import sleep

import pytest
from playwright.sync_api import expect

from library import machines, starter
from library.store import Workshop
from tests.webapp.shelves import fill
from webapp import progress
from webapp.pages import shelf_proving

pytestmark = pytest.mark.browser


@pytest.fixture
def filled(site):
    """A shelf of sixty macros, two pages of the list."""
    fill(Workshop(site.folder), 60)
    return site


def test_rows_stand_there_at_once_and_get_their_verdicts_one_after_the_other(page, filled):
    page.goto(f"{filled.address}/shelf")
    expect(page.locator(".shelf tbody tr")).to_have_count(50)
    expect(page.locator(".shelf .verdict")).to_have_count(50)
    expect(page.locator(".shelf .thumb")).to_have_count(50)
    expect(page.locator("#to-prove .hint")).to_have_count(0)


def test_the_focus_stays_where_it_is_while_verdicts_come(page, filled):
    page.goto(f"{filled.address}/shelf")
    page.locator("#q").focus()
    page.keyboard.type("macro num")
    expect(page.locator(".shelf .verdict")).to_have_count(50)
    expect(page.locator("#q")).to_be_focused()
    expect(page.locator("#q")).to_have_value("macro num")
    page.keyboard.press("Enter")
    expect(page).to_have_url(f"{filled.address}/shelf?q=macro+num&verdict=&tag=&need=&sort=name")
    expect(page.locator(".counted")).to_contain_text("46 of 60 macros.")


def test_all_are_proved_by_a_button_and_then_narrowed(page, filled):
    page.goto(f"{filled.address}/shelf?verdict=conditional")
    page.get_by_role("button", name="Prove all").click()
    expect(page.locator(".shelf .verdict").first).to_have_text("Proved but for line 14")
    expect(page.get_by_role("button", name="Prove all")).to_have_count(0)


def test_without_scripts_a_button_proves_what_is_shown(chromium, filled):
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{filled.address}/shelf?q=retract")
    expect(page.locator(".not-yet").first).to_be_visible()
    for _ in range(page.locator(".not-yet").count()):  # on a slow computer one at a time
        with page.expect_navigation():
            page.get_by_role("button", name="Prove them").click()
        assert page.url == f"{filled.address}/shelf?q=retract"
        if not page.locator(".not-yet").count():
            break
    expect(page.locator(".not-yet")).to_have_count(0)
    context.close()


def test_a_machine_is_added_and_put_in_force_and_the_shelf_proved_on_both(page, site):
    page.goto(f"{site.address}/sheets/machines")
    page.get_by_label("a copy of the one in force").check()
    page.get_by_label("Name", exact=True).fill("Second mill")
    page.get_by_role("button", name="Add", exact=True).click()
    page.get_by_role("button", name="Put in force Second mill").click()
    expect(page.locator("footer")).to_contain_text("Second mill")
    page.get_by_role("link", name="The whole shelf on each of them").click()
    page.get_by_role("button", name="Prove them").click()
    expect(page.locator(".matrix tbody .verdict")).to_have_count(2 * len(starter.macros()))
    expect(page.locator(".matrix tfoot")).to_contain_text(f"{len(starter.macros())} may go to it")


def test_proving_on_all_machines_can_be_stopped_and_keeps_what_is_known(page, filled, monkeypatch):
    quick = islice(repeat(shelf_proving.verdict), 5)

    def until_stopped(_):
        while True:
            progress.told(0.0)
            sleep(0.02)

    monkeypatch.setattr(shelf_proving, "verdict", lambda job: next(quick, until_stopped)(job))
    shop = Workshop(filled.folder)
    machines.add(shop, starter.text("second/machine.toml"), starter.text("controller.toml"), "added")
    page.goto(f"{filled.address}/shelf-on-machines")
    page.get_by_role("button", name="Prove them").click()
    page.locator("#working").get_by_role("button", name="Stop").click()
    expect(page.locator("#notice")).to_contain_text("Stopped.")
    page.reload()
    expect(page.locator(".matrix tbody .verdict")).to_have_count(5)
    expect(page.locator(".matrix tfoot")).to_contain_text("not proved yet")
