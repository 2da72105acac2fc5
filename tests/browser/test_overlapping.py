"""Answers that overlap: the newest is shown, all of it, and what it saved itself is not taken for another page's."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from library import documents
from library.store import Workshop
from tests.browser.reading import field, press, settled, severity
from tests.browser.workplace import VISE, furnish, macro
from tests.workshops import keep

pytestmark = pytest.mark.browser

LIT = "() => [...document.querySelectorAll('.bench .lit')].map((each) => each.id || each.className.baseVal)"

LEFT = """(field, value) => {
    field.value = value;
    for (const kind of ["input", "change"]) field.dispatchEvent(new Event(kind, { bubbles: true }));
}"""
"""Typed and left at once, before it has been tried."""

BEFORE_IT_IS_SAVED = 400
"""Milliseconds after which what is typed has been tried, and is not saved yet."""


@pytest.fixture
def bench(page, site):
    furnish(site.folder)
    page.complaints = []
    page.on("console", lambda told: page.complaints.append(told.text) if told.type in ("error", "warning") else None)
    page.goto(f"{site.address}/bench/twenty")
    return page


def ends(page, step):
    return page.locator(f"#step-{step}-facts .ends")


def write(page, step, name, text):
    """Put a text in a field key by key, the caret left where it is."""
    there = field(page, step, name)
    there.focus()
    page.keyboard.press("Control+A")
    page.keyboard.type(text)
    return there


def first_of(page, held):
    """The first request that is held, as soon as there is one."""
    for _ in range(1500):
        if held:
            return held.pop(0)
        page.wait_for_timeout(20)
    raise AssertionError("nothing was asked")


def test_what_was_tried_before_it_was_saved_and_comes_after_it_does_not_put_old_lines_back(bench):
    """Whichever renews the results first, the other finds those gone that it was to renew.

    The page's clock stands still meanwhile: on a slow computer what is tried would be saved before the test goes on.
    """
    tried = []
    bench.route("**/try", lambda route: tried.append(route))
    bench.clock.install()
    bench.reload()
    there = field(bench, 4, "x")
    bench.clock.pause_at(bench.evaluate("Date.now()") + 1000)
    there.fill("33 mm")
    bench.clock.run_for(BEFORE_IT_IS_SAVED)
    older = first_of(bench, tried)
    answer = older.fetch()
    there.evaluate(LEFT, "44 mm")
    bench.clock.resume()
    expect(ends(bench, 4)).to_contain_text("44")
    assert tried == [], "nothing newer has taken its place"
    with bench.expect_response("**/try"):
        older.fulfill(response=answer)
    bench.wait_for_timeout(300)
    expect(ends(bench, 4)).to_contain_text("44")
    expect(bench.locator("#lines")).to_contain_text("X44 Y120")
    assert bench.complaints == []


def test_what_was_saved_and_answered_late_does_not_put_old_lines_back_and_is_not_asked_about(bench, site):
    """While results are asked for that take long, what is saved is answered and not shown; more is typed meanwhile."""
    links = []
    bench.route("**/second-opinion*", lambda route: links.append(route))
    bench.get_by_role("link", name="Ask for a second opinion").click()
    first = first_of(bench, links)
    with bench.expect_response("**/save"):
        write(bench, 5, "time", "0.7 s").press("Control+S")
    with bench.expect_response("**/save"):
        write(bench, 5, "time", "0.75 s").press("Control+S")
    first.continue_()
    settled(bench)
    expect(bench.locator("#saved")).to_have_text("Saved")
    expect(bench.locator("#step-5-facts .time")).to_contain_text("0.8 s")
    expect(bench.locator(".clash")).to_have_count(0)
    expect(bench.locator("#step-5-time")).to_have_value("0.75 s")
    assert macro(site.folder, "twenty").step[4].values["time"] == "0.75 s"
    assert bench.complaints == []


@pytest.mark.journey
def test_what_is_typed_while_it_is_being_saved_is_no_other_pages(bench, site):
    """The step was like others: one that the server has changed could be another page's that has moved."""
    kept = []
    bench.route("**/save", lambda route: kept.append(route))
    write(bench, 5, "time", "0.7 s")
    saving = first_of(bench, kept)
    answer = saving.fetch()
    bench.keyboard.press("Home")
    bench.keyboard.type("1")
    bench.wait_for_timeout(600)
    saving.fulfill(response=answer)
    first_of(bench, kept).continue_()
    expect(bench.locator("#saved")).to_have_text("Saved")
    expect(bench.locator("#step-5-facts .time")).to_contain_text("10.7")
    expect(bench.locator("#step-5-time")).to_have_value("10.7 s")
    expect(bench.locator(".bench-ops > .finding")).to_have_count(0)
    assert macro(site.folder, "twenty").step[4].values["time"] == "10.7 s"


def test_what_is_lit_stays_lit_when_an_answer_comes(bench):
    there = field(bench, 4, "x")
    there.focus()
    bench.mouse.move(0, 0)
    before = bench.evaluate(LIT)
    assert {"step-4", "line-17"} <= set(before)
    there.fill("33 mm")
    expect(ends(bench, 4)).to_contain_text("33")
    settled(bench)
    bench.wait_for_timeout(100)
    assert set(bench.evaluate(LIT)) == set(before)


def test_no_step_is_marked_as_running_once_its_run_is_gone(bench):
    there = field(bench, 4, "x")
    bench.locator("#scrub").focus()
    bench.keyboard.press("End")
    expect(bench.locator(".op.running")).to_have_count(1)
    there.fill("33 mm")
    expect(ends(bench, 4)).to_contain_text("33")
    expect(bench.locator(".running")).to_have_count(0)


def blocks(site):
    return [step.block for step in macro(site.folder, "twenty").step]


def slowed(page, latency):
    """Let every answer take so many milliseconds longer."""
    session = page.context.new_cdp_session(page)
    session.send("Network.enable")
    pace = {"offline": False, "latency": latency, "downloadThroughput": -1, "uploadThroughput": -1}
    session.send("Network.emulateNetworkConditions", pace)


def test_a_step_moved_by_keyboard_alone_keeps_the_focus_and_goes_on_before_the_answer(bench, site):
    bench.locator("#open-1").focus()
    for _ in range(3):
        bench.keyboard.press("ArrowDown")
    bench.keyboard.press("Alt+ArrowDown")
    expect(bench.locator("#down-5")).to_be_focused()
    settled(bench)
    assert blocks(site)[3:7] == ["dwell", "go-to", "present-table", "go-to"]
    slowed(bench, 500)
    bench.keyboard.press("Alt+ArrowDown")
    bench.keyboard.press("Alt+ArrowDown")
    expect(bench.locator("#down-7")).to_be_focused()
    expect(bench.locator(".bench-ops > .finding")).to_have_count(0)
    assert blocks(site)[3:7] == ["dwell", "present-table", "go-to", "go-to"]
    assert bench.complaints == []


def test_a_button_pressed_twice_at_once_does_what_it_says_once(bench, site):
    slowed(bench, 300)
    before = blocks(site)
    for does in ("Duplicate", "Remove"):
        press(bench, f"{does} step", 5)
        bench.get_by_role("button", name=f"{does} step 5", exact=True).click()
        expect(bench.locator(".op")).to_have_count(21 if does == "Duplicate" else 20)
        settled(bench)
        bench.wait_for_timeout(300)
        expect(bench.locator(".bench-ops > .finding")).to_have_count(0)
        expect(bench.locator("#saved")).to_have_text("Saved")
    assert blocks(site) == before


def test_whoever_comes_back_sees_the_verdict_on_the_sheets_as_they_are_now(page, site):
    furnish(site.folder)
    page.goto(f"{site.address}/bench/twenty")
    expect(severity(page)).to_have_text("Proved")
    shop = Workshop.open(site.folder)
    taller = {("keep_out",): [VISE | {"to": [170.0, 105.0, -3.0]}]}
    keep(shop, "machine", "workshop", documents.write("machine", taller, shop.text("machine", "workshop")), "taller")
    page.evaluate("dispatchEvent(new Event('focus'))")
    expect(severity(page)).to_have_text("Refused")
    settled(page)
    page.evaluate("document.getElementById('elevations').looked = 'here'")
    with page.expect_response("**/save"):
        page.evaluate("dispatchEvent(new Event('focus'))")
    settled(page)
    assert page.evaluate("document.getElementById('elevations').looked") == "here", "nothing has changed"
    text = documents.write("macro", {("purpose",): "Elsewhere"}, shop.text("macro", "twenty"))
    keep(shop, "macro", "twenty", text, "elsewhere")
    page.evaluate("dispatchEvent(new Event('focus'))")
    expect(page.locator("#head-purpose")).to_have_value("Elsewhere")
