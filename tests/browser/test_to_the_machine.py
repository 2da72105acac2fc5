"""Taking macros to the machine, as a person does it: choose, look, print, and come back to see what has changed."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from library.store import Workshop
from tests.browser.pages import spoil_park
from tests.browser.reading import unpacked
from tests.workshops import keep

pytestmark = pytest.mark.browser


def test_what_was_chosen_is_shown_printed_and_taken(page, site, tmp_path):
    page.goto(f"{site.address}/to-the-machine")
    page.get_by_label("Home").uncheck()
    page.get_by_label("Width, mm").fill("100")
    page.get_by_label("Height, mm").fill("70")
    page.get_by_label("Z, mm").fill("-10")
    page.get_by_role("button", name="Update").click()
    page.wait_for_url("**/to-the-machine?choosing=*", wait_until="load")
    expect(page.get_by_label("Home")).not_to_be_checked()
    expect(page.locator("#left-out + dl")).to_contain_text("It was not chosen")
    drawing = page.get_by_role("img", name="The legend card")
    # 96 px to the inch (CSS Values 4, 6.2): 112 mm with the cut marks
    assert drawing.evaluate("image => image.decode().then(() => image.naturalWidth)") == pytest.approx(
        112 / 25.4 * 96, abs=1
    )
    with page.expect_download() as downloading:
        page.get_by_role("button", name="Download the zip").click()
    _, files = unpacked(downloading.value, tmp_path)
    assert "macros/home.nc" not in files
    page.get_by_role("link", name="Print the prove-out sheets").click()
    expect(page.get_by_role("heading", name="Present the part", exact=True)).to_be_visible()
    expect(page.get_by_text("Jogged to").first).to_contain_text("Z -10")
    assert page.content().count("<h1>") == 5


def test_what_cannot_go_is_marked_where_it_is_chosen_and_leads_to_the_reason(page, site):
    spoil_park(site)
    page.goto(f"{site.address}/to-the-machine")
    park = page.get_by_label("Park")
    expect(park).to_be_disabled()
    expect(park).not_to_be_checked()
    expect(page.get_by_role("link", name="1 left out")).to_be_visible()
    page.get_by_role("link", name="Left out", exact=True).click()
    expect(page.locator("dt:target + dd")).to_contain_text("Not proved:")
    expect(page.locator("dt:target + dd")).to_be_in_viewport()
    page.get_by_label("Width, mm").fill("100")
    page.get_by_role("button", name="Update").click()
    page.wait_for_url("**/to-the-machine?choosing=*", wait_until="load")
    expect(page.get_by_role("link", name="1 left out")).to_be_visible()


def test_the_printed_pages_come_with_their_styles_from_the_site_as_well(page, site):
    page.goto(f"{site.address}/to-the-machine/printed/prove-out.html")
    plate = page.get_by_role("heading", name="Cautions").first
    assert plate.evaluate("heading => getComputedStyle(heading).backgroundColor") == "rgb(0, 0, 0)"
    page.goto(f"{site.address}/to-the-machine/printed/card.html")
    assert page.locator("body").evaluate("body => getComputedStyle(body).marginTop") == "0px"


def test_what_has_changed_since_is_told_on_coming_back(page, site):
    page.goto(f"{site.address}/to-the-machine")
    with page.expect_download():
        page.get_by_role("button", name="Download the zip").click()
    page.reload()
    expect(page.get_by_text("every byte is as it was taken")).to_be_visible()
    shop = Workshop.open(site.folder)
    keep(shop, "macro", "park", shop.text("macro", "park").replace('name = "Park"', 'name = "Drive away"'), "")
    page.reload()
    expect(page.locator("#since ~ .files")).to_contain_text("macros/park.nc")
    page.locator("#since ~ .files summary", has_text="macros/park.nc").click()
    expect(page.get_by_text("+ (Drive away)")).to_be_visible()
