"""Playback: table and head stand in the drawing where the plan says, and another start is a drag away."""

from __future__ import annotations

import re
from importlib.resources import files

import numpy as np
import pytest
from playwright.sync_api import expect

from library import documents
from library.proving import prove_macro
from library.store import Workshop
from parser.times import sampling
from parser.times.timed_path import start_values, timed_path
from tests.browser.reading import field
from tests.bulk import mostly_long
from tests.workshops import keep

pytestmark = pytest.mark.browser

TOUR = '''format = "clickstop-macro/1"
id = "tour"
name = "Tour"
purpose = "Every axis moves, an arc is in it, and it waits."
start = "anywhere"

[[step]]
block = "own-lines"
lines = """
{units} G90 G17 G94
G53 G0 Z{z}
G53 G0 X{x} Y{y}
G54
G53 G1 X{x2} Y{y2} F{feed}
G4 P0.5
G53 G0 Z{z2}
"""
'''
METRIC = {"units": "G21", "z": -2, "x": 20, "y": 140, "x2": 60, "y2": 100, "feed": 900, "z2": -10}
INCH = {"units": "G20", "z": -0.2, "x": -15, "y": -1, "x2": -12, "y2": -4, "feed": 40, "z2": -0.5}
MACHINES = {
    "the table carries X and Y": ("", METRIC),
    "the head carries Y": (files("library.starter").joinpath("second/machine.toml").read_text(), INCH),
}


@pytest.fixture(params=mostly_long(MACHINES))
def tour(request, page, site):
    """The bench with the tour on it, on a machine of either kind, and the report on it."""
    machine, figures = MACHINES[request.param]
    shop = Workshop.open(site.folder)
    if machine:
        keep(shop, "machine", "workshop", machine, "another machine")
    keep(shop, "macro", "tour", TOUR.format(**figures), "a tour")
    page.goto(f"{site.address}/bench/tour")
    page.wait_for_function("document.querySelector('#elevations svg').classList.contains('draggable')")
    macro = documents.parse("macro", shop.text("macro", "tour"))
    return page, prove_macro(macro, shop.bench()).report


def seek(page, time):
    page.locator("#scrub").evaluate(
        "(scrub, time) => { scrub.value = time; scrub.dispatchEvent(new Event('input')); }", str(time)
    )
    return float(page.locator("#scrub").input_value())


def stands(page, view, what):
    """Left and top of a part on the screen, and how many pixels a mm has there."""
    return page.locator(f"#elevations-{view} {what}").first.evaluate(
        "part => { const box = part.getBoundingClientRect(); "
        "return [box.left + scrollX, box.top + scrollY, part.ownerSVGElement.getScreenCTM().a]; }"
    )


def start_of(page, report):
    """The start as the fields say it, in mm."""
    size = 25.4 if report.machine.axis("x").travel.low < 0 else 1.0
    return {axis: float(page.locator(f"#at-{axis}").input_value()) * size for axis in "xyz"}


def planned(report, times, start):
    return sampling.sample_at(report.trace, report.machine, report.controller, start, np.array(times)).positions


PARTS = {"table": ".table .body", "head": ".moves-head .nose"}
VIEWS = {"plan": ("x", "y"), "front": ("x", "z")}


@pytest.mark.journey
def test_at_any_moment_table_and_head_stand_where_the_plan_says(tour):
    page, report = tour
    before = {(view, part): stands(page, view, which) for view in VIEWS for part, which in PARTS.items()}
    total, start = float(page.locator("#scrub").get_attribute("max")), start_of(page, report)
    for share in (0.03, 0.07, 0.14, 0.21, 0.28, 0.33, 0.41, 0.5, 0.57, 0.64, 0.72, 0.8, 0.87, 0.93, 1.0):
        time = seek(page, share * total)
        places = planned(report, [0.0, time], start)
        for view, axes, part, which in [(*view, *part) for view in VIEWS.items() for part in PARTS.items()]:
            left, top, scale = stands(page, view, which)
            was_left, was_top, _ = before[view, part]
            across, up = (
                (1 if part == "head" else -1) * (places[axis][1] - places[axis][0])
                if report.machine.axis(axis).carried_by == part
                else 0.0
                for axis in axes
            )
            assert left - was_left == pytest.approx(across * scale, abs=1.0), (view, part)
            assert was_top - top == pytest.approx(up * scale, abs=1.0), (view, part)


def test_the_tip_stays_on_the_path_while_both_move(tour):
    page, report = tour
    seek(page, 0.7 * float(page.locator("#scrub").get_attribute("max")))
    ends = page.evaluate(
        """() => {
            const head = document.querySelector("#elevations-plan .moves-head .nose").getBoundingClientRect();
            const tip = new DOMPoint(head.left + head.width / 2, head.top + head.height / 2);
            return [...document.querySelectorAll("#elevations-plan .path")].map((path) => {
                const there = tip.matrixTransform(path.getScreenCTM().inverse());
                const steps = [...Array(400).keys()].map((i) => path.getPointAtLength(path.getTotalLength() * i / 399));
                return Math.min(...steps.map((p) => Math.hypot(p.x - there.x, p.y - there.y)));
            });
        }"""
    )
    assert min(ends) < 0.01 * report.machine.axis("x").travel.length


@pytest.mark.journey
def test_it_plays_in_real_time_pauses_and_plays_slower_and_faster(tour):
    page, _ = tour
    page.clock.install(time=0)
    page.clock.pause_at(1)

    def pace():
        """Seconds played in a second of the page's own clock, which nothing else on the machine slows down."""
        read = "document.getElementById('scrub').valueAsNumber"
        begins = page.evaluate(read)
        page.clock.run_for(1000)
        return page.evaluate(read) - begins

    page.get_by_role("button", name="Play").click()
    assert pace() == pytest.approx(1.0, abs=0.05)
    for rate in ("0.5", "2", "4"):
        page.get_by_label("Pace").select_option(rate)
        assert pace() == pytest.approx(float(rate), abs=0.05)
    page.get_by_role("button", name="Pause").click()
    assert pace() == 0.0


def test_it_says_the_place_the_step_and_the_line_and_stops_at_the_end(tour):
    page, report = tour
    seek(page, 1e6)
    end = planned(report, [1e6], start_of(page, report))
    size = 25.4 if "in," in page.locator("#whereabouts").inner_text() else 1.0
    for axis in "xyz":
        assert f"{axis.upper()} {end[axis][0] / size:.2f}" in page.locator("#whereabouts").inner_text()
    assert "step 1, line" in page.locator("#whereabouts").inner_text()
    expect(page.locator(".bench-lines li.running")).to_have_count(1)
    page.get_by_role("button", name="Play").click()
    expect(page.get_by_role("button", name="Pause")).to_be_visible()


def test_the_head_can_be_dragged_to_another_start_and_all_is_drawn_from_there(tour):
    page, report = tour
    total, before = page.locator("#scrub").get_attribute("max"), start_of(page, report)
    page.locator("#elevations").scroll_into_view_if_needed()
    grip = page.locator("#elevations-plan .grip")
    box, scale = grip.bounding_box(), stands(page, "plan", ".moves-head .nose")[2]
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 20, y + 10, steps=4)
    page.mouse.move(x + 40, y + 20, steps=4)
    page.mouse.up()
    expect(page.get_by_role("link", name="Typical start")).to_be_visible()
    page.wait_for_function("total => document.getElementById('scrub').max !== total", arg=total)
    start = start_of(page, report)
    assert start["x"] - before["x"] == pytest.approx(40 / scale, abs=1.0 / scale)
    assert start["y"] - before["y"] == pytest.approx(-20 / scale, abs=1.0 / scale)
    assert start["z"] == pytest.approx(before["z"], abs=0.013)  # the field has thousandths of an inch
    end = seek(page, 1e6)
    run = timed_path(report.trace, report.machine, report.controller, start_values(report.trace, start))
    assert end == pytest.approx(run.total, abs=0.02)


def test_a_start_can_be_typed_and_stays_while_a_step_is_edited(tour):
    page, report = tour
    low = report.machine.axis("x").travel.low
    wanted = f"{(low + 10) / (25.4 if low < 0 else 1.0):.3f}"
    page.locator("#at-x").fill(wanted)
    page.keyboard.press("Enter")
    expect(page.get_by_role("link", name="Typical start")).to_be_visible()
    expect(page.locator("#at-x")).to_be_focused()
    lines = field(page, 1, "lines")
    lines.fill(lines.input_value().replace("P0.5", "P0.75"))
    expect(page.locator("#lines")).to_contain_text("P0.75")
    assert float(page.locator("#at-x").input_value()) == pytest.approx(float(wanted))
    page.get_by_role("link", name="Typical start").click()
    expect(page.get_by_role("link", name="Typical start")).to_have_count(0)


def test_a_start_outside_is_brought_inside_and_said_so(tour):
    page, report = tour
    page.locator("#at-z").fill("900")
    page.keyboard.press("Enter")
    expect(page.locator("#at-z-hint")).to_contain_text("outside of where this macro may start")
    assert float(page.locator("#at-z").input_value()) == pytest.approx(report.machine.axis("z").travel.high)


def test_it_is_played_by_the_keyboard_alone(tour):
    page, _ = tour
    page.get_by_role("button", name="Play").focus()
    page.keyboard.press("Space")
    expect(page.get_by_role("button", name="Pause")).to_be_focused()
    page.keyboard.press("Space")
    page.keyboard.press("Tab")
    expect(page.locator("#scrub")).to_be_focused()
    page.keyboard.press("End")
    expect(page.locator("#scrub")).to_have_attribute("aria-valuetext", re.compile(r"^\d+\.\d s, step 1$"))
    page.keyboard.press("Home")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    total = float(page.locator("#scrub").get_attribute("max"))
    assert 0.0 < float(page.locator("#scrub").input_value()) < 0.2 * total
