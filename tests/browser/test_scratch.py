"""The scratch bench: what is tried is played, looked at and lit line by line as on the bench, and nothing is kept."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from tests.browser.reading import settled, severity

pytestmark = pytest.mark.browser

TOUR = "G17 G21 G40 G49 G54 G90 G94\nG53 G0 Z-2\nG4 P3\nG53 G1 X30 Y120 F900\nG53 G0 X100"
LINES = "#scratch-form textarea"
READY = "document.querySelector('#elevations svg').classList.contains('draggable')"
WIDTHS = (360, 768, 1024, 1440)


@pytest.fixture
def tour(page, site):
    """The scratch bench with five lines on it: raise, dwell, feed, rapid."""
    page.goto(f"{site.address}/scratch")
    page.wait_for_function(READY)
    page.locator(LINES).fill(TOUR)
    expect(page.locator("#lines li[data-step]")).to_have_count(5)
    settled(page)
    return page


def read(page):
    return page.locator("#scrub").evaluate("scrub => scrub.valueAsNumber")


def last(page):
    return float(page.locator("#scrub").get_attribute("max"))


def numbers(page, kind):
    """The places, from 1, of the lines of the field whose numbers are lit or running."""
    found = page.locator(".own-numbers > span > span").evaluate_all(
        "(all, kind) => all.flatMap((each, at) => each.classList.contains(kind) ? [at + 1] : [])", kind
    )
    return [each for each in found if each <= 5]


def lit_pieces(page):
    """The places, from 1, of the lines whose pieces of path are lit in the plan."""
    first = int(page.locator("#lines li[data-step]").first.get_attribute("data-line"))
    found = page.locator("#elevations .plan .paths .lit[data-line]").evaluate_all("all => all.map(e => e.dataset.line)")
    return sorted({int(each) - first + 1 for each in found})


@pytest.mark.journey
def test_it_is_played_slower_and_faster_and_past_waits(tour):
    tour.clock.install(time=0)
    tour.clock.pause_at(1)
    tour.get_by_role("button", name="Play").click()
    for rate in ("1", "0.5", "2", "4"):
        tour.get_by_label("Pace").select_option(rate)
        tour.locator("#scrub").evaluate("scrub => { scrub.value = 0.1; scrub.dispatchEvent(new Event('input')); }")
        tour.clock.run_for(500)
        assert read(tour) == pytest.approx(0.1 + 0.5 * float(rate), abs=0.1)
    tour.get_by_label("Pace").select_option("1")
    tour.get_by_label("Skip waits").check()
    tour.locator("#scrub").evaluate("scrub => { scrub.value = 0; scrub.dispatchEvent(new Event('input')); }")
    tour.clock.run_for(int(1000 * (last(tour) - 3.0)) + 200)
    assert read(tour) == pytest.approx(last(tour), abs=0.2)


def test_letting_go_says_and_draws_what_still_moves(tour):
    tour.locator("#scrub").evaluate("scrub => { scrub.value = 5.5; scrub.dispatchEvent(new Event('input')); }")
    tour.get_by_role("button", name="Let go").click()
    expect(tour.locator("#let-go-says")).to_contain_text("Let go at 5.5 s: it goes on for")
    assert tour.locator("#elevations .goes-on").count() == 2


def test_the_line_that_runs_is_marked_beside_the_field(tour):
    tour.locator("#scrub").evaluate("scrub => { scrub.value = 6; scrub.dispatchEvent(new Event('input')); }")
    tour.wait_for_function("document.querySelectorAll('.own-numbers .running').length === 1")
    assert numbers(tour, "running") == [4]


@pytest.mark.journey
def test_line_path_and_words_light_together(tour):
    lines = tour.locator(LINES)
    lines.focus()
    for key, at in (("Control+Home", 1), ("ArrowDown", 2), ("ArrowDown", 3), ("ArrowDown", 4), ("ArrowDown", 5)):
        tour.keyboard.press(key)
        expect(tour.locator(".own-numbers .lit")).to_have_count(1)
        tour.wait_for_timeout(50)
        assert numbers(tour, "lit") == [at]
        assert lit_pieces(tour) == ([at] if at in (4, 5) else []), at
    tour.get_by_text("The drawing in words").click()
    tour.locator("#path-words li", has_text="X 100").hover()
    assert (numbers(tour, "lit"), lit_pieces(tour)) == ([5], [5])
    lines.hover(position={"x": 200, "y": 5.6 + 3.5 * 21.6})
    assert (numbers(tour, "lit"), lit_pieces(tour)) == ([4], [4])
    tour.mouse.move(2, 2)
    tour.locator("#elevations").focus()
    tour.keyboard.press("n")
    assert numbers(tour, "lit") == [2]


def test_a_finding_lights_its_line_and_is_drawn(page, site):
    page.goto(f"{site.address}/scratch?rule=crosses-keep-out")
    page.wait_for_function(READY)
    page.locator(".finding.refuse[data-line]").first.hover()
    assert page.locator(".own-numbers .lit").count() == 1
    page.get_by_role("button", name="Show in the drawing").first.click()
    expect(page.locator("#drawing-heading")).to_contain_text("meets Vise")
    expect(page.locator("#elevations .head.witness")).to_have_count(2)
    page.get_by_role("button", name="Show all of it again").click()
    expect(page.locator("#drawing-heading")).to_have_text("Drawing")


def test_a_start_is_typed_or_dragged_and_stays_while_lines_are_edited(tour):
    tour.locator("#at-x").fill("40")
    tour.keyboard.press("Enter")
    expect(tour.get_by_role("button", name="Typical start")).to_be_visible()
    expect(tour.locator("#at-x")).to_be_focused()
    tour.locator(LINES).fill(TOUR.replace("P3", "P4"))
    expect(tour.locator("#lines")).to_contain_text("P4")
    assert float(tour.locator("#at-x").input_value()) == 40.0
    grip = tour.locator("#elevations-plan .grip")
    grip.scroll_into_view_if_needed()
    box = grip.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    tour.mouse.move(x, y)
    tour.mouse.down()
    tour.mouse.move(x + 30, y - 10, steps=4)
    tour.mouse.up()
    expect(tour.locator("#at-x")).not_to_have_value("40")
    settled(tour)
    moved = float(tour.locator("#at-x").input_value())
    assert moved > 45.0
    tour.get_by_role("button", name="Side view").click()
    expect(tour.locator("#elevations .view")).to_have_count(3)
    assert float(tour.locator("#at-x").input_value()) == moved
    tour.get_by_role("button", name="Typical start").click()
    expect(tour.get_by_role("button", name="Typical start")).to_have_count(0)
    expect(tour.locator("#elevations .view")).to_have_count(3)


@pytest.mark.journey
def test_it_is_all_done_by_keys_alone(page, site):
    page.goto(f"{site.address}/scratch?block=present-table")
    page.wait_for_function(READY)
    page.locator(LINES).focus()
    passed = set()
    for _ in range(40):
        page.keyboard.press("Tab")
        passed.add(page.evaluate("document.activeElement.id"))
        if "at-x" in passed:
            break
    assert {"side-view", "elevations", "play", "scrub", "rate", "skip-waits", "let-go", "at-x"} <= passed
    page.locator("#elevations").focus()
    whole = page.locator("#elevations svg").get_attribute("viewBox")
    page.keyboard.press("+")
    assert page.locator("#elevations svg").get_attribute("viewBox") != whole
    page.keyboard.press("0")
    assert page.locator("#elevations.zoomed").count() == 0
    page.locator("#play").focus()
    page.keyboard.press("Space")
    expect(page.get_by_role("button", name="Pause")).to_be_focused()
    page.keyboard.press("Space")
    page.locator("#scrub").focus()
    page.keyboard.press("End")
    assert read(page) == pytest.approx(last(page))


@pytest.mark.parametrize("width", WIDTHS)
def test_player_and_tools_fit_and_nothing_is_said_on_the_console(page, site, width):
    console = []
    page.on("console", lambda said: console.append(said.text))
    page.set_viewport_size({"width": width, "height": 900})
    page.goto(f"{site.address}/scratch?block=present-table")
    page.wait_for_function(READY)
    boxes = {
        each: page.locator(each).bounding_box() for each in ("#elevations", ".player", ".view-tools", ".drawing-foot")
    }
    assert all(box["x"] >= 0 and box["x"] + box["width"] <= width for box in boxes.values()), boxes
    assert boxes[".player"]["y"] >= boxes["#elevations"]["y"] + boxes["#elevations"]["height"]
    assert boxes[".view-tools"]["y"] + boxes[".view-tools"]["height"] <= boxes["#elevations"]["y"] + 1
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert console == []


def test_without_scripts_finding_start_and_side_view_are_chosen_by_buttons(chromium, site):
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{site.address}/scratch?rule=crosses-keep-out")
    expect(page.locator(".player")).to_be_hidden()
    page.get_by_role("button", name="Show in the drawing").first.click()
    expect(page.locator("#drawing-heading")).to_contain_text("meets Vise")
    page.get_by_role("button", name="Side view").click()
    expect(page.locator("#elevations .view")).to_have_count(3)
    expect(page.locator("#drawing-heading")).to_contain_text("meets Vise")
    page.locator("#at-x").fill("40")
    page.keyboard.press("Enter")
    expect(page.locator("#drawing-heading")).to_have_text("Drawing")
    assert page.locator("#at-x").input_value() == "40"
    page.locator(LINES).fill("G21 G90\nG53 G0 Z-2")
    page.get_by_role("button", name="Try", exact=True).click()
    assert page.locator("#at-x").input_value() == "40"
    page.get_by_role("button", name="Typical start").click()
    assert page.locator("#at-x").input_value() != "40"
    expect(severity(page)).to_have_text(re.compile("Proved"))
    context.close()
