"""What is typed on the bench is saved, the bar says how that stands, and no way of leaving loses any of it."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from tests.browser.reading import field, opened, press, settled
from tests.browser.workplace import furnish, macro
from tests.bulk import of_today

pytestmark = pytest.mark.browser


@pytest.fixture
def bench(page, site):
    furnish(site.folder)
    page.goto(f"{site.address}/bench/across")
    return page


def saved(page):
    return page.locator("#saved")


def lines_of(site):
    return macro(site.folder, "across").step[1].values["lines"]


def typed(page, text):
    """Type at the end of the lines of the second step, the caret left where it is."""
    lines = field(page, 2, "lines")
    lines.press("Control+End")
    lines.press_sequentially(text)
    return lines


def test_the_bar_says_how_it_stands_while_answers_are_slow(bench, site):
    held = []
    expect(saved(bench)).to_have_text("Saved")
    bench.route("**/save", lambda route: held.append(route))
    lines = typed(bench, "\nG4 P1")
    expect(saved(bench)).to_have_text("Not saved yet")
    expect(saved(bench)).to_have_text("Saving…")
    typed(bench, "\nG4 P2")
    while not held:
        bench.wait_for_timeout(50)
    held.pop(0).continue_()
    expect(bench.locator("#lines")).to_contain_text("G4 P2")
    bench.wait_for_timeout(300)
    expect(saved(bench)).not_to_have_text("Saved")
    while not held:
        bench.wait_for_timeout(50)
    held.pop(0).continue_()
    expect(saved(bench)).to_have_text("Saved")
    expect(lines).to_be_focused()
    assert lines_of(site).endswith("G4 P1\nG4 P2")


@pytest.mark.journey
def test_loading_anew_with_the_caret_in_the_field_loses_nothing(bench, site):
    for way in (bench.reload, lambda: (bench.goto(f"{site.address}/shelf"), bench.go_back())):
        field(bench, 2, "lines").fill("G21 G90\nG53 G0 Z-2")
        expect(bench.locator("#verdict .severity")).to_have_text("Proved")
        typed(bench, "\nG4 P3")
        way()
        expect(bench.locator("#step-2-lines")).to_have_value("G21 G90\nG53 G0 Z-2\nG4 P3")
        expect(saved(bench)).to_have_text("Saved")
        assert lines_of(site).endswith("G4 P3")
        field(bench, 2, "lines").fill("G21")
        bench.keyboard.press("Control+S")
        expect(saved(bench)).to_have_text("Saved")
        assert lines_of(site) == "G21"


def test_what_no_server_has_taken_is_in_the_tab_and_leaving_asks(bench, site):
    asked = []
    bench.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.dismiss()))
    bench.route("**/save", lambda route: route.abort())
    typed(bench, "\nG4 P4")
    expect(saved(bench)).to_contain_text("Not saved: no answer from the program")
    bench.get_by_role("link", name="Shelf").click()
    bench.wait_for_timeout(1000)
    assert asked == ["beforeunload"]
    expect(bench.locator("#step-2-lines")).to_be_visible()
    bench.unroute("**/save")
    expect(saved(bench)).to_have_text("Saved")
    assert lines_of(site).endswith("G4 P4"), "it is tried again by itself"


def test_a_link_lets_what_was_typed_be_saved_first(bench, site):
    typed(bench, "\nG4 P5")
    bench.get_by_role("link", name="Shelf").click()
    expect(bench).to_have_url(f"{site.address}/shelf")
    assert lines_of(site).endswith("G4 P5")


def test_what_cannot_be_kept_says_why_and_leaving_asks(bench):
    asked = []
    bench.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.accept()))
    bench.locator("#head-name").fill("")
    with bench.expect_response("**/save"):
        bench.keyboard.press("Tab")
    expect(saved(bench)).to_contain_text("Not saved: a field cannot be used as typed")
    bench.get_by_role("link", name="Shelf").click()
    expect(bench.get_by_role("heading", name="Shelf", exact=True)).to_be_visible()
    assert asked == ["beforeunload"]


@pytest.mark.parametrize("status", of_today([401, 409, 413, 500], 2))
def test_what_the_program_has_refused_to_save_is_not_called_saved(bench, site, status):
    told = {"HX-Retarget": "#notice", "HX-Reswap": "innerHTML", "Content-Type": "text/html"}
    bench.route("**/bench/across/*", lambda route: route.fulfill(status=status, headers=told, body="<p>Why not</p>"))
    typed(bench, "\nG4 P8")
    expect(saved(bench)).to_have_text("Not saved: see the message at the top.")
    expect(bench.locator("#notice")).to_have_text("Why not")
    bench.unroute("**/bench/across/*")
    typed(bench, "\nG4 P9")
    expect(saved(bench)).to_have_text("Saved")
    expect(bench.locator("#notice")).to_be_empty()
    assert lines_of(site).endswith("G4 P8\nG4 P9")


def test_two_tabs_lose_nothing_of_each_other(bench, site):
    other = bench.context.new_page()
    other.goto(f"{site.address}/bench/across")
    typed(bench, "\nG4 P6")
    expect(saved(bench)).to_have_text("Saved")
    other.locator("#head-purpose").fill("From the other tab")
    expect(saved(other)).to_have_text("Not saved yet")
    expect(saved(other)).to_have_text("Saved")
    settled(other)
    assert lines_of(site).endswith("G4 P6")
    assert macro(site.folder, "across").purpose == "From the other tab"
    bench.locator("#head-purpose").fill("From here")
    expect(bench.get_by_role("button", name="typed here")).to_be_visible()
    expect(saved(bench)).to_contain_text("another page has changed it too")
    bench.get_by_role("button", name="typed here").click()
    expect(bench.locator("#head-purpose")).to_have_value("From here")
    expect(saved(bench)).to_have_text("Saved")
    assert macro(site.folder, "across").purpose == "From here"


def test_what_is_typed_beside_a_step_that_another_tab_moves_can_still_be_copied(bench, site):
    other = bench.context.new_page()
    other.goto(f"{site.address}/bench/across")
    typed(bench, "")
    press(other, "Move step", 2, "up")
    expect(saved(other)).to_have_text("Saved")
    settled(other)
    typed(bench, "\nG4 P7")
    left_over = bench.get_by_label("Step 2, Own lines: lines", exact=True).and_(bench.locator("[readonly]"))
    expect(left_over).to_have_value(re.compile("G4 P7$"))
    expect(left_over).to_be_in_viewport()
    expect(saved(bench)).to_have_text("Not saved: see the note below")


def test_a_question_that_a_newer_one_replaces_is_no_error(bench):
    told = []
    bench.on("console", lambda message: told.append(message.text))
    lines = field(bench, 2, "lines")
    slow = bench.context.new_cdp_session(bench)
    slow.send("Network.enable")
    pace = {"offline": False, "latency": 600, "downloadThroughput": -1, "uploadThroughput": -1}
    slow.send("Network.emulateNetworkConditions", pace)
    for _ in range(4):
        with bench.expect_request("**/try"):
            lines.press_sequentially("0")
    expect(saved(bench)).to_have_text("Saved")
    assert told == []


def test_what_is_typed_behind_a_button_stays_in_its_step(bench, site):
    held = []
    bench.route(lambda address: address.endswith("/bench/across"), lambda route: held.append(route))
    before = lines_of(site)
    opened(bench, 1)
    bench.get_by_role("button", name="Duplicate step 1", exact=True).click()
    while not held:
        bench.wait_for_timeout(50)
    typed(bench, "\nG4 P8")
    held.pop(0).continue_()
    expect(bench.locator("#step-3-lines")).to_have_value(f"{before}\nG4 P8")
    expect(saved(bench)).to_have_text("Saved")
    expect(bench.locator("#step-3-lines")).to_be_focused()
    bench.keyboard.type("0")
    expect(bench.locator("#step-3-lines")).to_have_value(f"{before}\nG4 P80")
    expect(saved(bench)).to_have_text("Saved")
    assert macro(site.folder, "across").step[2].values["lines"] == f"{before}\nG4 P80"
