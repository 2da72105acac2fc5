"""The bench is a place to work: one window, at every width, by hand and by keyboard, with scripts and without."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.reading import add, choose, field, lines, look_at, opened, press, settled, severity
from tests.browser.workplace import furnish, macro

pytestmark = pytest.mark.browser

WIDE = ((1440, 900), (1920, 1080), (2560, 1440))
TABLET = ((768, 1024), (1024, 768))
PHONE = (360, 740)

WHOLE = """(selector) => {
    const { left, top, right, bottom, width, height } = document.querySelector(selector).getBoundingClientRect();
    return width > 0 && height > 0 && left >= -1 && top >= -1 && right <= innerWidth + 1 && bottom <= innerHeight + 1;
}"""
SMALL = """() => [...document.querySelectorAll('.bench :is(button, select, summary, input, .side-tabs label)')]
    .filter((each) => !each.matches('[type=hidden], [type=radio], [type=range], [type=checkbox], .visually-hidden'))
    .filter((each) => each.checkVisibility() && !each.closest('details:not([open]) > :not(summary)'))
    .filter((each) => each.getBoundingClientRect().height < 43.9).map((each) => each.outerHTML.slice(0, 90))"""


@pytest.fixture
def bench(page, site):
    """The bench with twenty steps on it; complaints of the console."""
    furnish(site.folder)
    page.complaints = []
    page.on("console", lambda told: page.complaints.append(told.text))
    page.goto(f"{site.address}/bench/twenty")
    return page


def blocks(site, id="twenty"):
    return [("off " if step.off else "") + step.block for step in macro(site.folder, id).step]


def sideways(page):
    return page.evaluate("document.documentElement.scrollWidth - innerWidth")


@pytest.mark.long
@pytest.mark.journey
def test_at_every_width_what_is_needed_is_in_sight_while_a_step_is_edited(bench, site):
    grown = []
    for width, height in (*WIDE, *TABLET):
        bench.set_viewport_size({"width": width, "height": height})
        for id in ("across", "twenty"):
            bench.goto(f"{site.address}/bench/{id}")
            opened(bench, 2)
            for part in (".bench-bar", "#verdict", "#undo", "#step-2 summary", "#elevations svg", "#play", "#add"):
                assert bench.evaluate(WHOLE, part), f"{part} of {id} at {width}"
            assert bench.evaluate("document.documentElement.scrollHeight <= innerHeight"), f"{id} at {width}"
            assert sideways(bench) <= 0, f"{id} at {width}"
        last = field(bench, 20, "margin")
        last.focus()
        assert bench.evaluate(WHOLE, "#step-20-margin"), width
        assert bench.evaluate(WHOLE, "#elevations svg"), width
        if (width, height) in TABLET:
            assert bench.evaluate(SMALL) == [], f"targets are 44 px high at {width}"
        else:
            grown.append(bench.locator("#elevations svg").bounding_box()["height"])
    assert grown == sorted(set(grown)), "the drawing grows with the window"
    bench.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
    for id in ("across", "twenty"):
        bench.goto(f"{site.address}/bench/{id}")
        opened(bench, 2)
        assert sideways(bench) <= 0
    field(bench, 20, "margin").focus()
    assert bench.evaluate(WHOLE, ".bench-bar"), "on a phone the bar stays"
    assert bench.locator(".bench-bar").bounding_box()["height"] < 0.25 * PHONE[1]
    assert bench.complaints == []


def test_a_step_is_one_line_that_opens_where_the_keyboard_is(bench):
    heights = bench.locator(".op").evaluate_all("each => each.map((step) => step.getBoundingClientRect().height)")
    assert max(heights) < 36
    assert "as it was" not in bench.locator(".ops").inner_text()
    bench.locator("#open-1").press("ArrowDown")
    bench.keyboard.press("ArrowDown")
    bench.keyboard.press("ArrowDown")
    expect(bench.locator("#open-4")).to_be_focused()
    expect(bench.locator(".op details[open]")).to_have_id("fold-4")
    bench.keyboard.press("Tab")
    expect(bench.locator("#step-4-x")).to_be_focused()
    bench.keyboard.press("Control+A")
    bench.keyboard.type("44 mm")
    expect(bench.locator("#step-4-line")).to_contain_text("44 mm")
    expect(bench.locator("#step-4-facts .ends")).to_contain_text("44")
    expect(bench.locator("#step-4-x")).to_be_focused()


def test_steps_are_inserted_duplicated_switched_off_moved_and_copied(bench, site):
    press(bench, "Insert after step", 2)
    expect(bench.locator("#find")).to_be_focused()
    expect(bench.locator("#after option:checked")).to_have_text("after step 2")
    bench.keyboard.type("operator goes on")
    expect(bench.locator("#none-found")).not_to_be_empty()
    bench.locator("#find").fill("lets the program go")
    expect(bench.locator("#blocks li:visible")).to_have_count(1)
    bench.keyboard.press("Enter")
    expect(bench.locator("#open-3")).to_be_visible()
    settled(bench)
    assert blocks(site)[:4] == ["raise", "spindle-off", "pause", "coolant-off"]
    press(bench, "Insert after step", 3)
    bench.locator("#find").fill("dwell")
    bench.keyboard.press("Enter")
    expect(bench.locator("#step-4-time")).to_be_visible()
    settled(bench)
    assert blocks(site)[3] == "dwell", "who types the name of a block does not mean the one that mentions it"
    press(bench, "Remove step", 4)
    expect(bench.locator("#step-4-time")).to_have_count(0)
    settled(bench)

    press(bench, "Duplicate step", 3)
    expect(bench.locator("#open-4")).to_be_focused()
    press(bench, "Switch step", 4, "off")
    expect(bench.locator("#step-4-line")).to_contain_text("Switched off")
    expect(bench.get_by_role("button", name="Switch step 4 on")).to_be_focused()
    assert blocks(site)[2:5] == ["pause", "off pause", "coolant-off"]

    # Carried by its number, with the mouse.
    grip, target = (bench.locator(f"#step-{number} .op-number").bounding_box() for number in (4, 1))
    bench.mouse.move(grip["x"] + 5, grip["y"] + 5)
    bench.mouse.down()
    bench.mouse.move(target["x"] + 5, target["y"] + 20, steps=5)
    bench.mouse.move(target["x"] + 5, target["y"] + 1, steps=3)
    expect(bench.locator("#step-1")).to_have_class("op drop-before")
    bench.mouse.up()
    expect(bench.locator("#step-1-line")).to_contain_text("Switched off")
    settled(bench)
    assert blocks(site)[:2] == ["off pause", "raise"]
    bench.keyboard.press("Alt+ArrowDown")
    expect(bench.locator("#step-2-line")).to_contain_text("Switched off")
    settled(bench)
    assert blocks(site)[:2] == ["raise", "off pause"]

    bench.get_by_text("Copy to another").click()
    bench.get_by_label("Copy", exact=True).select_option("2")
    bench.get_by_label("to the end of").select_option(label="Straight across")
    bench.get_by_role("button", name="Copy it").click()
    expect(bench).to_have_url(f"{site.address}/bench/across#open-3")
    assert blocks(site, "across") == ["spindle-off", "own-lines", "off pause"]
    assert bench.complaints == []


def test_refusals_are_open_and_first_and_what_always_holds_is_one_line(bench, site):
    bench.goto(f"{site.address}/bench/across")
    expect(bench.locator("#verdict")).to_contain_text("Not proved: 7 refusals.")
    first = bench.locator(".bench-found li.finding").first
    expect(first.locator(".severity").first).to_have_text("refused")
    expect(first.locator(".remedy")).to_be_visible()
    expect(first.get_by_text("Fix: put a raise first")).to_be_visible()
    expect(first.get_by_role("link", name="crosses-keep-out")).to_be_visible()
    expect(bench.locator("#step-2-line")).to_contain_text("refused")
    expect(bench.locator("#standing summary")).to_be_visible()
    expect(bench.locator("#standing li").first).to_be_hidden()
    for rule in ("not-referenced", "release-does-not-stop", "figures-invented"):
        expect(bench.locator(".standing > .where").get_by_role("link", name=rule)).to_be_visible()
    bench.goto(f"{site.address}/bench/twenty")
    expect(bench.locator(".assumed").first).to_be_hidden()
    bench.locator("#because summary").press("Enter")
    expect(bench.locator(".assumed").first).to_be_visible()
    bench.keyboard.press("Escape")
    expect(bench.locator(".assumed").first).to_be_hidden()
    expect(bench.locator("#because summary")).to_be_focused()


def test_the_right_side_shows_one_thing_at_a_time_and_keeps_it(bench):
    look_at(bench, "Speed")
    expect(bench.locator("#speeds svg")).to_be_visible()
    expect(bench.locator("#elevations")).to_have_count(0)
    field(bench, 4, "x").fill("50 mm")
    expect(bench.locator("#step-4-facts .ends")).to_contain_text("50")
    settled(bench)
    expect(bench.locator("#speeds svg")).to_be_visible()
    look_at(bench, "Time")
    expect(bench.locator("#time svg")).to_be_visible()
    press(bench, "Remove step", 20)
    expect(bench.locator(".op")).to_have_count(19)
    settled(bench)
    expect(bench.locator("#time svg")).to_be_visible()
    look_at(bench, "Pendant")
    expect(bench.locator("#slots")).to_be_visible()
    expect(bench.locator("#time")).to_be_hidden()
    look_at(bench, "Drawing")
    expect(bench.locator("#elevations svg")).to_be_visible()
    assert bench.complaints == []


def test_all_of_it_has_a_way_without_scripts(chromium, site):
    furnish(site.folder)
    context = chromium.new_context(java_script_enabled=False, viewport={"width": 1440, "height": 900})
    page = context.new_page()
    page.goto(f"{site.address}/bench/across")
    press(page, "Insert after step", 1)
    expect(page.locator("#after option:checked")).to_have_text("after step 1")
    choose(page, "Raise")
    expect(page.locator("#step-2-to")).to_have_value("safe.z")
    expect(severity(page)).to_have_text("Proved")
    press(page, "Switch step", 2, "off")
    expect(severity(page)).to_have_text("Refused")
    press(page, "Switch step", 2, "on")
    press(page, "Duplicate step", 2)
    press(page, "Move step", 3, "down")
    assert blocks(site, "across") == ["spindle-off", "raise", "own-lines", "raise"]
    add(page, "Dwell")
    field(page, 5, "time").fill("2 s")
    page.get_by_role("button", name="Apply what was typed").click()
    expect(lines(page)).to_contain_text(["G4 P2"])
    page.get_by_role("radio", name="Time").check()
    page.get_by_role("button", name="Show", exact=True).click()
    expect(page.locator("#time svg")).to_be_visible()
    page.get_by_text("Copy to another").click()
    page.get_by_role("button", name="Copy it").click()
    expect(page.locator("#head-name")).to_have_value("Above the work")
    assert blocks(site, "above-work")[-1] == "spindle-off"
    context.close()


def test_a_line_reached_by_the_keyboard_is_gone_into_by_enter_and_closed_by_a_further_one(bench):
    bench.locator("#open-1").press("ArrowDown")
    expect(bench.locator("#fold-2")).to_have_attribute("open", "")
    bench.keyboard.press("Enter")
    expect(bench.locator("#fold-2 .op-form :focus")).to_have_count(1)
    expect(bench.locator("#fold-2")).to_have_attribute("open", "")
    bench.keyboard.press("Shift+Tab")
    expect(bench.locator("#open-2")).to_be_focused()
    bench.keyboard.press("Enter")
    expect(bench.locator("#fold-2:not([open])")).to_have_count(1)


def test_a_new_macro_begins_at_what_adds_its_first_step(page, site):
    page.goto(f"{site.address}/shelf")
    page.get_by_label("Name", exact=True).fill("First")
    page.keyboard.press("Enter")
    expect(page.locator("#add")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("#find")).to_be_focused()


@pytest.mark.journey
def test_on_a_tablet_on_its_side_steps_are_seen_below_what_is_said_of_the_macro(page, site):
    page.set_viewport_size({"width": 1024, "height": 768})
    page.goto(f"{site.address}/bench/present-part")
    expect(page.locator("#open-2")).to_be_in_viewport(ratio=1)
    said = page.locator("#head-hand_rate-hint")
    page.get_by_label("Hand rate").focus()
    expect(said).to_have_css("white-space-collapse", "collapse")
    expect(said).to_have_css("text-wrap-mode", "wrap")
    assert said.evaluate("said => said.scrollWidth <= said.clientWidth"), "all of it is read while one is in the field"


def test_enter_goes_into_the_view_that_is_chosen(page, site):
    page.goto(f"{site.address}/bench/park")
    for view, inside in (("Pendant", "slots"), ("Time", "time"), ("Drawing", "drawing")):
        page.get_by_role("radio", name=view).check()
        expect(page.locator(f"#{inside}")).to_be_visible()
        page.get_by_role("radio", name=view).press("Enter")
        expect(page.locator(f"#{inside}")).to_be_focused()
    assert page.url.endswith("/bench/park")
