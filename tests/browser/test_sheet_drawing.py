"""The drawing of the machine sheet is moved and zoomed as that of the bench, and things on it are moved as before."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.reading import settled
from tests.browser.test_drawing import middle

pytestmark = pytest.mark.browser

VIEWBOX = "document.querySelector('#drawn svg').getAttribute('viewBox').split(' ').map(Number)"
VISE = ".view.plan .keep-out[data-name='Vise'] > .body"


@pytest.fixture
def sheet(page, site):
    page.goto(f"{site.address}/sheets/machine?part=table")
    page.wait_for_function("document.querySelector('#drawn').tabIndex === 0")
    page.locator("#drawn").scroll_into_view_if_needed()
    return page


def corner_of(page, which):
    """A place of a box beside what lies over it."""
    box = page.locator(which).bounding_box()
    return box["x"] + 8, box["y"] + 8


@pytest.mark.journey
def test_by_mouse_it_is_zoomed_where_the_pointer_is_and_moved_where_nothing_is_taken_hold_of(sheet):
    whole = sheet.evaluate(VIEWBOX)
    sheet.locator("#drawn").focus()
    at = corner_of(sheet, VISE)
    sheet.mouse.move(*at)
    sheet.mouse.wheel(0, -300)
    sheet.wait_for_function(f"{VIEWBOX}[2] < {whole[2] * 0.6}")
    box = sheet.locator(VISE).bounding_box()
    assert box["x"] < at[0] < box["x"] + box["width"], "what is under the pointer stays there"
    assert box["y"] < at[1] < box["y"] + box["height"]
    frame = sheet.locator("#drawn").bounding_box()
    sheet.mouse.move(frame["x"] + 6, frame["y"] + 200)
    sheet.mouse.down()
    sheet.mouse.move(frame["x"] + 26, frame["y"] + 190, steps=3)
    sheet.mouse.up()
    moved = sheet.locator(VISE).bounding_box()
    assert (moved["x"] - box["x"], moved["y"] - box["y"]) == pytest.approx((20, -10), abs=1.0)
    expect(sheet.locator('[name="keep_out.0.from.0"]')).to_have_value("80")
    sheet.get_by_role("button", name="Fit").click()
    assert sheet.evaluate(VIEWBOX) == pytest.approx(whole, abs=0.01)


def test_by_keys_it_is_zoomed_moved_and_fitted(sheet):
    whole = sheet.evaluate(VIEWBOX)
    sheet.get_by_role("button", name="Fit").focus()
    sheet.keyboard.press("Tab")
    expect(sheet.locator("#drawn")).to_be_focused()
    expect(sheet.locator("#viewport-keys")).to_be_visible()
    for key in ("+", "+", "ArrowRight", "ArrowDown"):
        sheet.keyboard.press(key)
    seen = sheet.evaluate(VIEWBOX)
    assert seen[2] == pytest.approx(whole[2] / 1.25**2, rel=1e-3)
    centred = [whole[at] + (whole[2 + at] - seen[2 + at]) / 2 for at in (0, 1)]
    assert seen[:2] == pytest.approx([centred[at] + 0.15 * seen[2 + at] for at in (0, 1)], rel=1e-2)
    sheet.keyboard.press("0")
    assert sheet.evaluate(VIEWBOX) == pytest.approx(whole, abs=0.01)


def test_by_two_fingers_it_is_zoomed_and_nothing_is_moved_under_them(sheet):
    whole = sheet.evaluate(VIEWBOX)
    fingers = sheet.context.new_cdp_session(sheet)
    x, y = middle(sheet.locator(VISE))
    for kind, apart in (("Start", 20), ("Move", 30), ("Move", 40), ("End", None)):
        points = [] if apart is None else [{"x": x - apart, "y": y}, {"x": x + apart, "y": y}]
        fingers.send("Input.dispatchTouchEvent", {"type": f"touch{kind}", "touchPoints": points})
    assert sheet.evaluate(VIEWBOX)[2] == pytest.approx(whole[2] / 2, rel=0.02)
    settled(sheet)
    expect(sheet.locator('[name="keep_out.0.from.0"]')).to_have_value("80")
    expect(sheet.locator(".ghost")).to_have_count(0)


@pytest.mark.journey
def test_zoomed_a_keep_out_and_a_zero_are_moved_to_scale_and_what_is_looked_at_stays(sheet):
    sheet.locator("#drawn").focus()
    sheet.mouse.move(*corner_of(sheet, VISE))
    sheet.mouse.wheel(0, -200)
    sheet.wait_for_function(f"{VIEWBOX}[0] > 0")
    seen = sheet.evaluate(VIEWBOX)
    a_mm = sheet.locator(VISE).evaluate("body => body.getScreenCTM().a")
    at = corner_of(sheet, VISE)
    sheet.mouse.move(*at)
    sheet.mouse.down()
    sheet.mouse.move(at[0] + 10 * a_mm, at[1] - 20 * a_mm, steps=4)
    sheet.mouse.up()
    expect(sheet.locator('[name="keep_out.0.from.0"]')).to_have_value("90")
    expect(sheet.locator('[name="keep_out.0.from.1"]')).to_have_value("55")
    settled(sheet)
    sheet.wait_for_timeout(400)
    settled(sheet)
    after = sheet.evaluate(VIEWBOX)
    assert after[2] == pytest.approx(seen[2], rel=0.1), "drawn anew it is looked at where it was"
    sheet.get_by_role("button", name="Larger").click()
    assert sheet.evaluate(VIEWBOX)[2] == pytest.approx(after[2] / 1.25, rel=1e-3)


@pytest.mark.parametrize("width", [360, 768, 1024, 1440])
def test_it_fits_the_page_and_says_nothing_on_the_console(page, site, width):
    said = []
    page.on("console", lambda message: said.append(message.text))
    page.set_viewport_size({"width": width, "height": 900})
    page.goto(f"{site.address}/sheets/machine")
    page.get_by_role("button", name="Larger").click()
    frame, drawn = page.locator("#drawn").bounding_box(), page.locator("#drawn svg").bounding_box()
    assert drawn["x"] >= frame["x"] - 1
    assert drawn["width"] <= frame["width"] + 1 <= width
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert said == []


def test_without_scripts_there_is_the_drawing_and_no_tool_that_does_nothing(chromium, site):
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{site.address}/sheets/machine")
    expect(page.locator("#drawn svg")).to_be_visible()
    expect(page.locator(".looks")).to_be_hidden()
    context.close()
