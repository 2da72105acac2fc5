"""From nothing to a proved macro on a slot and a zip for the machine, with the mouse."""

from __future__ import annotations

import json
import re

import pytest
from playwright.sync_api import expect

from library import pack
from tests.browser.reading import (
    add,
    field,
    figure,
    lines,
    look_at,
    press,
    settled,
    severity,
    unpacked,
    without_comments,
    written,
)

pytestmark = pytest.mark.browser


@pytest.fixture
def bench(page, site):
    """The bench with a macro of one's own on it that has no steps yet."""
    page.goto(f"{site.address}/bench")
    page.get_by_text("Other macros").click()
    page.get_by_label("New macro").fill("To the corner")
    page.get_by_role("button", name="Create").click()
    expect(page).to_have_url(f"{site.address}/bench/to-the-corner")
    return page


@pytest.mark.journey
def test_from_an_empty_macro_to_a_zip_for_the_machine(bench, site, tmp_path):
    page = bench

    # Build it: the blocks are chosen by name, their values are formulas.
    add(page, "Raise")
    add(page, "Go to")
    field(page, 2, "x").fill("travel.x.max - 20 mm")
    field(page, 2, "y").fill("travel.y.min + 20 mm")
    expect(page.locator("#step-2-x-hint")).to_contain_text("240")
    field(page, 2, "y").blur()
    expect(severity(page)).to_have_text("Proved")
    expect(lines(page)).to_contain_text(["G53 G0 Z-2", "G53 G0 X240 Y20"])

    # While a value is typed the lines, the time and the place where it ends follow, the field still in use.
    before = page.locator("#bar-time").inner_text()
    field(page, 2, "x").fill("")
    field(page, 2, "x").press_sequentially("30 mm", delay=20)
    expect(lines(page)).to_contain_text(["G53 G0 X30 Y20"])
    expect(page.locator("#step-2-facts .ends")).to_contain_text("30")
    expect(field(page, 2, "x")).to_be_focused()
    expect(page.locator("#bar-time")).not_to_have_text(before)
    look_at(page, "Time")
    expect(figure(page, "Time")).to_have_text(page.locator("#bar-time").text_content().removeprefix("Time ").strip())
    look_at(page, "Drawing")

    # Break it: crossing before raising is refused, the finding tells why and its example is drawn.
    press(page, "Move step", 1, "down")
    expect(severity(page)).to_have_text("Refused")
    finding = page.locator(".findings .finding", has=page.get_by_role("link", name="crosses-keep-out")).first
    expect(finding).to_contain_text("Vise")
    finding.get_by_role("link", name="show in the drawing").click()
    expect(page.locator("#drawing-heading")).to_contain_text("meets Vise")
    expect(page.locator("#drawing svg .witness").first).to_be_visible()

    # Fix it by undoing; a step too many is removed again.
    settled(page)
    page.get_by_role("button", name="Undo").click()
    expect(severity(page)).to_have_text("Proved")
    add(page, "Dwell")
    expect(lines(page)).to_contain_text(["G4 P1"])
    press(page, "Remove step", 3)
    expect(page.locator(".op")).to_have_count(2)
    expect(page.locator("#lines")).not_to_contain_text("G4")

    # Put it on a slot that is free, and take it away.
    on_the_page = written(page)
    look_at(page, "Pendant")
    page.get_by_label("Put it on").select_option(label="position 6 at x100")
    page.get_by_role("button", name="Put on this slot").click()
    expect(page.locator("#slots")).to_contain_text("Position 6 at x100")
    page.get_by_role("link", name="To the machine").click()
    expect(page.get_by_role("row", name="To the corner")).to_contain_text("6 x100")
    with page.expect_download() as downloading:
        page.get_by_role("button", name="Download the zip").click()
    path, files = unpacked(downloading.value, tmp_path)
    assert without_comments(files["macros/to-the-corner.nc"].decode().splitlines()) == without_comments(on_the_page)
    assert json.loads(files["slots.json"])
    entry = next(each for each in json.loads(files["manifest.json"])["macros"] if each["id"] == "to-the-corner")
    assert entry["verdict"] == "proved"
    assert pack.verify(path) == []


def test_a_formula_that_cannot_be_used_is_told_at_its_field_and_keeps_what_was_typed(bench):
    add(bench, "Raise")
    field(bench, 1, "to").fill("safe.zz")
    expect(bench.locator("#step-1-to-hint")).to_contain_text("safe.z")
    expect(field(bench, 1, "to")).to_have_value("safe.zz")
    with bench.expect_response(re.compile("/save$")):
        field(bench, 1, "to").blur()
    bench.reload()
    expect(field(bench, 1, "to")).to_have_value("safe.zz")


def test_what_is_typed_is_kept_without_a_button(bench, site):
    add(bench, "Raise")
    with bench.expect_response(re.compile("/save$")):
        field(bench, 1, "to").fill("safe.z - 1 mm")
        field(bench, 1, "to").blur()
    bench.goto(f"{site.address}/shelf")
    bench.get_by_role("link", name="To the corner", exact=True).click()
    expect(field(bench, 1, "to")).to_have_value("safe.z - 1 mm")


def test_a_button_pressed_slowly_right_after_typing_still_does_its_work(bench):
    add(bench, "Raise")
    field(bench, 1, "to").fill("safe.z - 1 mm")
    undo = bench.get_by_role("button", name="Undo").bounding_box()
    bench.mouse.move(undo["x"] + undo["width"] / 2, undo["y"] + undo["height"] / 2)
    with bench.expect_response(re.compile("/save$")):
        bench.mouse.down()
    bench.wait_for_timeout(400)
    bench.mouse.up()
    expect(field(bench, 1, "to")).to_have_value("safe.z")


def test_an_answer_that_comes_after_a_button_has_changed_the_steps_is_not_shown(bench):
    add(bench, "Raise")
    add(bench, "Dwell")
    late = []
    bench.route("**/try", lambda route: late.append(route))
    with bench.expect_request(re.compile("/try$")):
        field(bench, 1, "to").fill("safe.z - 1 mm")
    press(bench, "Move step", 1, "down")
    expect(bench.locator("#step-2-to")).to_have_value("safe.z - 1 mm")
    expect(lines(bench)).to_contain_text(["G4 P1", "G53 G0 Z-3"])
    shown = written(bench)
    for route in late:
        route.continue_()
    bench.wait_for_timeout(500)
    assert written(bench) == shown
    assert shown.index("G4 P1") < shown.index("G53 G0 Z-3")


def test_the_safe_start_that_a_refusal_offers_makes_it_safe(bench):
    add(bench, "Go to")
    field(bench, 1, "x").fill("travel.x.min + 20 mm")
    field(bench, 1, "y").fill("travel.y.min + 20 mm")
    field(bench, 1, "y").blur()
    expect(severity(bench)).to_have_text("Refused")
    expect(bench.locator("#results")).to_contain_text(re.compile("safe when Z is at or above -34 mm", re.IGNORECASE))
    bench.get_by_role("button", name="Require this start").click()
    expect(severity(bench)).not_to_have_text("Refused")
    expect(bench.get_by_label("Starts from")).not_to_have_value("anywhere")


def test_a_vise_that_grows_on_the_sheet_is_noticed_on_the_bench(page, site):
    page.goto(f"{site.address}/bench/park")
    expect(severity(page)).to_have_text("Proved")
    page.goto(f"{site.address}/sheets/machine")
    text = page.locator("textarea.document, textarea").first
    tall = text.input_value().replace("[170.0, 105.0, -80.0]", "[170.0, 105.0, -20.0]")
    text.fill(tall)
    text.locator("xpath=ancestor::form").get_by_role("button").first.click()
    page.goto(f"{site.address}/bench/park")
    expect(severity(page)).to_have_text("Refused")
    expect(page.locator(".bench-found")).to_contain_text("Vise")
