"""Nothing lies over the drawing: neither its tools nor what is said while something is done with it."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

SIZES = ((768, 1024), (820, 1180), (1024, 768), (1440, 900))
PAGES = ("/bench/present-part", "/bench/park", "/scratch?block=present-table")
COVERED = """() => {
    const seen = (element) => element.checkVisibility() && element.getBoundingClientRect().width > 0;
    const box = (element) => element.getBoundingClientRect();
    const drawn = [...document.querySelectorAll("#elevations .sheet :is(path, rect, line, circle, text)")].filter(seen);
    const frame = box(document.querySelector("#elevations"));
    const around = [".view-tools", ".side-tabs label", ".line-types", ".drawing-says p", ".player", ".drawing-foot"];
    const others = document.querySelectorAll([...around, ".bench-ops", ".scratch > form"].join());
    // What rolls goes below the player, which stays; it is rolled up to be read.
    const side = document.querySelector("#drawing"), rolls = side.scrollHeight > side.clientHeight + 1;
    const below = (one, other) => rolls && other.closest(".player") && one.matches(".line-types, .drawing-foot");
    const overlap = (a, b) => Math.min(a.right, b.right) - Math.max(a.left, b.left) > 0.5
        && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 0.5;
    const inFrame = (a) => ({ left: Math.max(a.left, frame.left), right: Math.min(a.right, frame.right),
        top: Math.max(a.top, frame.top), bottom: Math.min(a.bottom, frame.bottom) });
    const parts = [...others].filter(seen).filter((each) => each.textContent.trim());
    const told = (element) => element.outerHTML.slice(0, 60);
    const covered = (part) => drawn.some((each) => overlap(box(part), inFrame(box(each))));
    const apart = (one, other) => one.contains(other) || other.contains(one) || below(one, other) || below(other, one)
        || !overlap(box(one), box(other));
    return {
        drawn: drawn.length,
        parts: parts.length,
        over: parts.filter(covered).map(told),
        each: parts.flatMap((one, at) => parts.slice(at + 1).filter((other) => !apart(one, other))
            .map((other) => [told(one), told(other)])),
    };
}"""
SIZE = "svg => [svg.clientWidth, svg.clientHeight]"
WITHIN = """() => [...document.querySelectorAll(".drawing-says p")].every((each) => {
    const said = each.getBoundingClientRect(), place = each.parentElement.getBoundingClientRect();
    return said.height === 0 || (said.bottom <= place.bottom + 1 && said.top >= place.top - 1);
})"""


@pytest.mark.parametrize(("width", "height"), SIZES)
@pytest.mark.parametrize("path", PAGES)
def test_nothing_covers_the_drawing_whatever_is_said(page, site, path, width, height):
    page.set_viewport_size({"width": width, "height": height})
    page.goto(site.address + path)
    page.wait_for_function("document.querySelector('#elevations svg').classList.contains('draggable')")
    before = page.evaluate(COVERED)
    assert before["drawn"] > 50
    assert before["parts"] >= 4
    assert (before["over"], before["each"]) == ([], [])
    size = page.locator("#elevations svg").evaluate(SIZE)
    page.locator("#scrub").evaluate("scrub => { scrub.value = 0.4; scrub.dispatchEvent(new Event('input')); }")
    page.get_by_role("button", name="Let go").click()
    expect(page.locator("#let-go-says")).to_contain_text("Let go at")
    after = page.evaluate(COVERED)
    expect(page.locator("#let-go-says")).to_be_visible()
    assert (after["over"], after["each"]) == ([], [])
    assert page.locator("#elevations svg").evaluate(SIZE) == size, "nothing moves about"
    assert page.evaluate(WITHIN), "all of it can be read"


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_the_keys_of_the_drawing_are_told_beside_it(page, site, width, height):
    page.set_viewport_size({"width": width, "height": height})
    page.goto(f"{site.address}/bench/present-part")
    page.wait_for_function("document.querySelector('#elevations svg').classList.contains('draggable')")
    page.locator("#side-view").focus()
    while page.evaluate("document.activeElement.id") != "elevations":
        page.keyboard.press("Tab")
    expect(page.locator("#viewport-keys")).to_be_visible()
    found = page.evaluate(COVERED)
    assert (found["over"], found["each"]) == ([], [])
    assert page.evaluate(WITHIN)
