"""Lines written by hand on the bench: numbered, marked where something is wrong, their words explained and offered."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from library import documents
from library.store import Workshop
from tests.browser.reading import opened
from tests.browser.test_accessibility import violations
from tests.workshops import keep

pytestmark = pytest.mark.browser

RAISE = {"block": "raise", "to": "safe.z"}
LINES = "G21 G90\nG53 G0 Z-2\nG53 G0 X500 Y20\nG77 X10\nG80"


@pytest.fixture
def put(site):
    """Let the macro "park" run lines of one's own after a raise."""

    def lines(text):
        shop = Workshop.open(site.folder)
        steps = [RAISE, {"block": "own-lines", "lines": text}]
        keep(shop, "macro", "park", documents.write("macro", {("step",): steps}, shop.text("macro", "park")), "by hand")

    return lines


@pytest.fixture
def field(page, site, put):
    put(LINES)
    page.complaints = []
    page.on("console", lambda told: page.complaints.append(told.text))
    page.goto(f"{site.address}/bench/park")
    opened(page, 2)
    return page.locator("#step-2-lines")


def says(page):
    return page.locator(".own-says")


def numbers(page):
    return [int(each) for each in page.locator(".own-numbers > span > span").all_inner_texts()]


@pytest.mark.journey
def test_lines_are_numbered_as_in_the_file_and_what_is_wrong_is_marked_and_told(page, field):
    field.click()
    expect(page.locator(".own-marks mark")).to_have_text(["X500", "G77"])
    of_the_page = page.locator('#lines li[data-step="2"]').evaluate_all("rows => rows.map(row => +row.id.slice(5))")
    assert numbers(page) == of_the_page
    assert of_the_page[0] > 1
    page.keyboard.press("Control+Home")
    expect(says(page)).to_have_text(re.compile("^G21: "))
    for _ in range(3):
        page.keyboard.press("ArrowDown")
    expect(says(page)).to_have_text(re.compile(f"^Line {of_the_page[3]}, refused: G77 is not in NISTIR 6556"))
    place = page.evaluate("""() => {
        const mark = document.querySelector(".own-marks mark.refuse");
        const field = document.querySelector(".own-lines textarea");
        const [of, within] = [mark, field].map((each) => each.getBoundingClientRect());
        const look = getComputedStyle(field);
        const wide = document.createElement("canvas").getContext("2d");
        wide.font = `${look.fontSize} ${look.fontFamily}`;
        const text = within.left + field.clientLeft + parseFloat(look.paddingLeft);
        return [of.left - text - wide.measureText("G53 G0 ").width, of.width - wide.measureText("X500").width];
    }""")
    assert all(abs(each) < 1.5 for each in place), place  # the mark is behind the very characters
    page.keyboard.press("Control+End")
    page.keyboard.press("Enter")
    page.keyboard.type("X")
    expect(page.locator(".own-numbers > span > span")).to_have_count(6)
    expect(page.locator("#lines li[data-step='2']").last).to_contain_text("X")  # it has been answered
    expect(page.locator("#history button").first).to_be_enabled()
    page.get_by_role("button", name="Tidy the lines of step 2").click()
    expect(field).to_have_value(re.compile("X500"))
    expect(page.locator(".own-marks mark").first).to_be_attached()
    assert not [each for each in page.complaints if "Abort" not in each and "afterRequest" not in each]


def test_a_word_is_chosen_by_keyboard_and_nothing_else_is_taken_from_it(page, field):
    words = page.get_by_role("listbox", name="Words")
    field.click()
    page.keyboard.press("Control+End")
    page.keyboard.press("Enter")
    page.keyboard.type("G5")
    expect(words.get_by_role("option")).to_have_count(8)
    expect(words.get_by_role("option").first).to_have_attribute("aria-setsize", "10")  # G53 to G59.3
    expect(words.get_by_role("option").first).to_contain_text("Takes the point of this line in machine coordinates")
    assert violations(page) == []
    page.keyboard.press("ArrowDown")
    expect(field).to_have_attribute("aria-activedescendant", "completion-0")
    page.keyboard.press("ArrowUp")
    expect(words.get_by_role("option", selected=True)).to_contain_text("G59.3")
    page.keyboard.press("ArrowDown")
    expect(words.get_by_role("option").first).to_have_attribute("aria-selected", "true")
    page.keyboard.press("Enter")
    expect(field).to_have_value(f"{LINES}\nG53")
    expect(words).to_have_count(0)
    expect(says(page)).to_have_text(re.compile("^G53: "))
    page.keyboard.press("Control+z")
    expect(field).to_have_value(f"{LINES}\nG5")
    page.keyboard.press("End")
    page.keyboard.type("4")
    page.keyboard.press("Enter")  # nothing was chosen: a new line, as ever
    page.keyboard.type("(G5")
    expect(field).to_have_value(f"{LINES}\nG54\n(G5")
    expect(words).to_have_count(0)  # in a comment there are no words
    page.keyboard.type(")\nG1")
    expect(words).to_be_visible()
    page.keyboard.press("Escape")
    expect(words).to_have_count(0)
    page.keyboard.press("Control+ ")
    expect(words).to_be_visible()
    page.keyboard.press("Tab")  # is no trap
    expect(field).not_to_be_focused()
    expect(words).to_have_count(0)
    assert page.complaints == []


def test_an_example_of_help_is_tried_on_a_bench_of_its_own_and_saved_only_when_asked(page, site):
    shop = Workshop.open(site.folder)
    before = shop.ids("macro")
    page.complaints = []
    page.on("console", lambda told: page.complaints.append(told.text))
    page.goto(f"{site.address}/help")
    page.get_by_label("Search Help").fill("crosses-keep-out")
    page.keyboard.press("Enter")
    page.locator(".search-results a").first.click()
    page.get_by_role("link", name="the bad example").click()
    verdict = page.locator("#verdict .severity")
    expect(verdict).to_have_text("Refused")
    expect(page.locator(".own-marks mark")).to_have_text(["X120 Y70"])
    field = page.get_by_label("lines")
    field.click()
    page.keyboard.press("Control+End")
    page.keyboard.press("Home")
    page.keyboard.type("G53 G0 Z-2")
    page.keyboard.press("Escape")
    page.keyboard.press("Enter")
    expect(verdict).to_have_text("Proved")
    expect(field).to_be_focused()
    expect(page.locator(".own-marks mark.refuse")).to_have_count(0)
    assert shop.ids("macro") == before
    assert violations(page) == []
    page.get_by_label("Name of the macro").fill("Raised first")
    page.get_by_role("button", name="Save as a macro").click()
    page.wait_for_url("**/bench/raised-first")
    assert shop.ids("macro") != before
    assert page.complaints == []


def test_of_thousands_of_lines_only_those_in_sight_are_drawn(page, site, put):
    put("G21 G90 G94 F500\n" + "\n".join(f"G53 G1 X{20 + each % 200} Y20" for each in range(3000)))
    page.goto(f"{site.address}/bench/park")
    opened(page, 2)
    field = page.locator("#step-2-lines")
    field.click()
    expect(page.locator(".own-numbers > span > span").first).to_be_visible()
    assert len(numbers(page)) < 150
    field.evaluate("field => { field.scrollTop = field.scrollHeight; }")
    last = page.locator("#lines li[data-step='2']").last.get_attribute("id").removeprefix("line-")
    expect(page.locator(".own-numbers > span > span").last).to_have_text(last)
    assert len(numbers(page)) < 150


def test_without_scripts_it_is_a_plain_field_with_a_button_that_tidies(chromium, site, put):
    put(LINES)
    page = chromium.new_context(java_script_enabled=False).new_page()
    page.goto(f"{site.address}/bench/park")
    opened(page, 2)
    field = page.locator("#step-2-lines")
    expect(field).to_have_value(LINES)
    field.fill("g21 g90\ng53g0z-2")
    page.get_by_role("button", name="Tidy the lines of step 2").click()
    expect(page.locator("#step-2-lines")).to_have_value("G21 G90\nG53 G0 Z-2")
    page.context.close()


SEEN = """() => {
    const box = document.querySelector(".bench-text");
    const { top } = box.getBoundingClientRect();
    return [...box.querySelectorAll("li")].findIndex((line) => line.getBoundingClientRect().bottom > top);
}"""
READ = """() => (async () => {
    const box = document.querySelector(".bench-text");
    for (let place = 0; place < 12000; place += 200) {
        box.scrollTop = place;
        await new Promise((on) => requestAnimationFrame(() => requestAnimationFrame(on)));
    }
})()"""


def test_the_lines_below_stay_where_one_reads_them_while_the_text_is_written_on(page, site, put):
    """Those out of sight are not laid out, and count for as high as they are."""
    put("\n".join(["G21 G90", *(f"(line {number})" for number in range(2, 1001))]))
    page.goto(f"{site.address}/bench/park")
    opened(page, 2)
    lines = page.locator("#step-2-lines")
    lines.press("Control+End")
    page.evaluate(READ)
    before = page.evaluate(SEEN)
    assert before > 400
    lines.press_sequentially("0")
    expect(page.locator("#saved")).to_have_text("Not saved yet")
    expect(page.locator("#saved")).to_have_text("Saved")
    page.wait_for_timeout(100)
    assert abs(page.evaluate(SEEN) - before) <= 1


def test_a_text_that_no_document_may_hold_is_not_put_in_and_told_at_once(page, site):
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    page.goto(f"{site.address}/scratch")
    lines = page.locator("#scratch-form textarea")
    lines.press_sequentially("G21")
    expect(page.locator(".own-numbers")).to_have_count(1)
    page.evaluate("navigator.clipboard.writeText('G1 X1\\n'.repeat(30_000))")
    lines.press("Control+V")
    expect(page.locator("#notice")).to_contain_text("That text has 30,001 lines, and a document takes at most 10,000.")
    expect(lines).to_have_value("G21")
    page.evaluate("navigator.clipboard.writeText('(' + 'x'.repeat(300_000))")
    lines.press("Control+V")
    expect(page.locator("#notice")).to_contain_text("300,001 characters")
    expect(lines).to_have_value("G21")
    lines.press_sequentially(" ")
    expect(page.locator("#notice")).to_be_empty()
