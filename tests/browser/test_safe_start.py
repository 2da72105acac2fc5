"""The safe start arrives when it has been found: it holds nothing up, and no older one takes the place of a newer."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.pages import spoil_park
from tests.browser.reading import field, press

pytestmark = pytest.mark.browser

OFFERED = re.compile("safe when Z is at or above", re.IGNORECASE)


@pytest.fixture
def asked(page, site):
    """A bench with a refusal whose safe start is on its way, and the requests for it, none of them let through."""
    spoil_park(site)
    held = []
    page.complaints = []
    page.on("console", lambda told: page.complaints.append(told.text))
    page.route("**/safe-start", lambda route: held.append(route))
    page.goto(f"{site.address}/bench/park")
    expect(page.locator("#safe-start .seeking")).to_be_visible()
    return held


def verdict(page):
    return page.locator("#verdict .severity")


@pytest.mark.journey
def test_the_verdict_is_there_while_the_safe_start_is_sought_and_stays(page, asked):
    expect(verdict(page)).to_have_text("Refused")
    expect(page.locator("#elevations svg").first).to_be_visible()
    expect(page.locator("#safe-start .seek")).to_be_hidden()
    asked.pop(0).continue_()
    expect(page.locator("#safe-start")).to_contain_text(OFFERED)
    expect(page.get_by_role("button", name="Require this start")).to_be_visible()


def test_what_is_typed_meanwhile_is_answered_and_its_own_safe_start_is_shown(page, asked):
    field(page, 1, "x").fill("travel.x.min + 60 mm")
    page.locator("#step-1-x").blur()
    expect(page.locator("#lines")).to_contain_text("X60")
    expect(verdict(page)).to_have_text("Refused")
    while len(asked) < 2:
        page.wait_for_timeout(50)
    page.wait_for_timeout(500)
    older, *_, newest = asked
    newest.continue_()
    expect(page.locator("#safe-start")).to_contain_text(OFFERED)
    found = page.locator("#safe-start").inner_text()
    older.fulfill(status=200, content_type="text/html", body='<div id="safe-start">an older answer</div>')
    page.wait_for_timeout(500)
    assert page.locator("#safe-start").inner_text() == found


def test_saving_what_was_tried_already_ends_no_search_for_good(page, asked):
    """What is saved comes to the same as what is shown, which is left as it is; the search was ended all the same."""
    field(page, 1, "x").fill("travel.x.min + 60 mm")
    expect(page.locator("#lines")).to_contain_text("X60")
    more_than(1, asked, page)
    for _ in range(2):
        before = len(asked)
        with page.expect_response("**/save"):
            page.locator("#step-1-x").press("Control+S")
        more_than(before, asked, page)
    asked[-1].continue_()
    expect(page.locator("#safe-start")).to_contain_text(OFFERED)


def more_than(number, asked, page):
    for _ in range(600):
        if len(asked) > number:
            return
        page.wait_for_timeout(50)
    raise AssertionError("no search has begun anew")


def test_an_edit_that_heals_the_macro_ends_the_search(page, asked):
    ended = []
    page.on("request", lambda request: ended.append(request.url) if request.url.endswith("/stop") else None)
    press(page, "Remove step", 1)
    expect(verdict(page)).not_to_have_text("Refused")
    expect(page.locator("#safe-start")).to_have_count(0)
    page.wait_for_timeout(300)
    assert ended
    assert page.complaints == []


def test_a_search_that_is_ended_is_no_error_on_the_console(page, asked):
    field(page, 1, "x").fill("travel.x.min + 60 mm")
    page.locator("#step-1-x").blur()
    expect(page.locator("#lines")).to_contain_text("X60")
    while len(asked) < 2:
        page.wait_for_timeout(50)
    assert page.complaints == []


def test_one_that_fails_leaves_a_link_to_ask_again(page, site, asked):
    asked.pop(0).abort()
    link = page.get_by_role("link", name="Seek the safe start")
    expect(link).to_be_visible()
    link.click()
    expect(page.locator("#safe-start")).to_contain_text(OFFERED)


def test_without_scripts_a_link_asks_for_it(chromium, site):
    spoil_park(site)
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{site.address}/bench/park")
    expect(page.locator("#safe-start .seeking")).to_be_hidden()
    page.get_by_role("link", name="Seek the safe start").click()
    expect(page.locator("#safe-start")).to_contain_text(OFFERED)
    page.get_by_role("button", name="Require this start").click()
    expect(page.locator("#head-start")).to_have_value("z >= -34 mm")
    context.close()
