"""The drawing is looked at closely, read off, dragged about and kept, by mouse, fingers, keys, and without scripts."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest
from playwright.sync_api import expect

from library import documents
from library.store import Workshop
from tests.browser.pages import spoil_park
from tests.browser.reading import settled
from tests.browser.test_accessibility import violations
from tests.workshops import keep

pytestmark = pytest.mark.browser

POINTS = '''format = "clickstop-macro/1"
id = "points"
name = "Points"
purpose = "Places that are gone to."
start = "anywhere"

[[step]]
block = "raise"
to = "safe.z"

[[step]]
block = "go-to"
x = "travel.x.max - 40 mm"
y = "20"

[[step]]
block = "pause"

[[step]]
block = "visit"
points = """
30 mm, travel.y.max - 80 mm

200, min(120, 130)
"""
wait = "dwell"
time = "1 s"
'''
VIEWBOX = "document.querySelector('#elevations svg').getAttribute('viewBox').split(' ').map(Number)"

ON_SCREEN = "(({ x, y }) => [x, y])(path.getPointAtLength(at).matrixTransform(path.getScreenCTM()))"


@pytest.fixture
def bench(page, site):
    """The bench with points to go to."""
    shop = Workshop.open(site.folder)
    keep(shop, "macro", "points", POINTS, "points")
    page.goto(f"{site.address}/bench/points")
    page.wait_for_function("document.querySelector('#elevations')?.tabIndex === 0")
    return page, shop


def step(shop, number):
    return documents.parse("macro", shop.text("macro", "points")).step[number - 1].values


def middle(locator):
    box = None
    while box is None:  # the drawing is being drawn anew
        locator.wait_for(state="attached")
        box = locator.bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def drag(page, locator, across, down):
    x, y = middle(locator)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + across / 2, y + down / 2)
    page.mouse.move(x + across, y + down)
    page.mouse.up()


def on_screen(page, name):
    """Pixels of a mm in a view."""
    return page.evaluate("name => document.querySelector(`#elevations-${name}`).getScreenCTM().a", name)


def test_it_is_moved_and_zoomed_by_keys_mouse_and_fingers_and_fits_again(bench):
    page, _ = bench
    frame, whole = page.locator("#elevations"), page.evaluate(VIEWBOX)
    frame.focus()
    page.keyboard.press("ArrowRight")
    assert page.evaluate(VIEWBOX) == whole
    for key in ("+", "+", "ArrowRight", "ArrowDown"):
        page.keyboard.press(key)
    x, y, width, height = page.evaluate(VIEWBOX)
    assert width == pytest.approx(whole[2] / 1.25**2, abs=0.01)
    assert (x, y) == (
        pytest.approx((whole[2] - width) / 2 + 0.15 * width, abs=0.1),
        pytest.approx((whole[3] - height) / 2 + 0.15 * height, abs=0.1),
    )
    page.keyboard.press("0")
    assert page.evaluate(VIEWBOX) == pytest.approx(whole, abs=0.01)

    at = page.locator("#elevations-plan .work-zero .zero-ring").first
    before = middle(at)
    page.mouse.move(*before)
    page.mouse.wheel(0, -300)
    assert page.evaluate(VIEWBOX)[2] == pytest.approx(whole[2] / 1.25**3, abs=0.01)
    assert middle(at) == pytest.approx(before, abs=1.5)
    corner = frame.bounding_box()
    page.mouse.move(corner["x"] + 5, before[1])
    page.mouse.down()
    page.mouse.move(corner["x"] + 35, before[1] + 20, steps=3)
    page.mouse.up()
    assert middle(at) == pytest.approx((before[0] + 30, before[1] + 20), abs=1.5)
    seen = page.evaluate(VIEWBOX)
    page.locator("#open-2").click()
    page.locator("#step-2-y").fill("30")
    expect(page.locator("#lines")).to_contain_text("Y30")
    settled(page)
    assert page.evaluate(VIEWBOX) == pytest.approx(seen, abs=0.5), "a change of a step leaves what is looked at"
    page.get_by_role("button", name="Fit").click()
    assert page.evaluate(VIEWBOX)[2] == pytest.approx(whole[2], abs=0.01)

    expect(page.locator("#saved")).to_have_text("Saved")
    settled(page)
    fingers = page.context.new_cdp_session(page)
    x, y = middle(frame)
    for kind, apart, down in (("Start", 40, 0), ("Move", 60, 0), ("Move", 80, 0), ("End", None, 0)):
        points = [] if apart is None else [{"x": x - apart, "y": y + down}, {"x": x + apart, "y": y + down}]
        fingers.send("Input.dispatchTouchEvent", {"type": f"touch{kind}", "touchPoints": points})
    assert page.evaluate(VIEWBOX)[2] == pytest.approx(whole[2] / 2, rel=0.02)
    page.get_by_role("button", name="Smaller").click()
    assert page.evaluate(VIEWBOX)[2] == pytest.approx(whole[2] / 2 * 1.25, rel=0.02)


def test_values_are_read_off_by_pointer_and_by_keys(bench):
    page, _ = bench
    tip, frame = page.locator("#elevations .tip"), page.locator("#elevations")
    page.locator("#elevations-plan").scroll_into_view_if_needed()
    begin, end = page.locator("#elevations-plan .paths [data-step='2'] .path").evaluate(
        f"path => [0, path.getTotalLength()].map((at) => {ON_SCREEN})"
    )
    page.mouse.move(begin[0] + 0.75 * (end[0] - begin[0]), begin[1] + 0.75 * (end[1] - begin[1]) + 3)
    expect(tip).to_have_text(
        re.compile(r"^Step 2, line \d+: crosses to X 220 Y 20\. Here X 19[678]\.\d\d Y 3[345]\.\d\d Z -2\.00 mm$")
    )
    page.keyboard.press("Escape")
    expect(tip).to_be_hidden()
    page.mouse.move(*middle(page.locator("#elevations-plan .keep-out[data-name='Vise'] .body")))
    vise = page.locator("#elevations-front .keep-out[data-name='Vise'] .body").bounding_box()
    page.mouse.move(vise["x"] + 12, vise["y"] + vise["height"] - 12)
    expect(tip).to_have_text("Vise: X 80 to 170, Y 35 to 105, up to Z -80 mm")
    assert page.locator("#elevations title").count() == 1, "no second words beside ours"
    page.mouse.move(1, 1)
    expect(tip).to_be_hidden()
    frame.focus()
    page.keyboard.press("n")
    expect(tip).to_have_text(re.compile(r"^Step 1, line \d+: raises to Z -2\. Ends at X 130\.00 Y 75\.00 Z -2\.00 mm$"))
    expect(tip).to_have_attribute("aria-live", "polite")
    page.keyboard.press("n")
    expect(tip).to_have_text(
        re.compile(r"^Step 2, line \d+: crosses to X 220 Y 20\. Ends at X 220\.00 Y 20\.00 Z -2\.00 mm$")
    )
    expect(page.locator("#step-2")).to_have_class(re.compile(r"\blit\b"))
    page.keyboard.press("p")
    page.keyboard.press("p")
    expect(tip).to_contain_text("up to Z")


@pytest.mark.journey
def test_points_of_steps_are_dragged_and_their_fields_follow_as_if_typed(bench):
    page, shop = bench
    revisions = len(shop.revisions("macro", "points"))
    handle = page.locator("#elevations-plan .handle[data-step='2']")
    handle.scroll_into_view_if_needed()
    a_mm = on_screen(page, "plan")
    with page.expect_response(lambda answer: answer.url.endswith("/save")):
        drag(page, handle, -30 * a_mm, -50 * a_mm)
    expect(page.locator("#step-2-x")).to_have_value("travel.x.max - 70 mm")
    expect(page.locator("#step-2-y")).to_have_value("70")
    expect(page.locator("#dragged")).to_have_text(
        "Step 2: X travel.x.max - 70 mm, still relative to the machine; Y 70. Undo takes it back."
    )
    expect(page.locator("#lines")).to_contain_text("X190 Y70")
    assert (step(shop, 2)["x"], step(shop, 2)["y"]) == ("travel.x.max - 70 mm", "70")
    assert len(shop.revisions("macro", "points")) == revisions + 1

    settled(page)
    second, a_mm = page.locator("#elevations-plan .handle[data-step='4'][data-row='1']"), on_screen(page, "plan")
    with page.expect_response(lambda answer: answer.url.endswith("/save")):
        drag(page, second, 10 * a_mm, 20 * a_mm)
    expect(page.locator("#step-4-points")).to_have_value("30 mm, travel.y.max - 80 mm\n\n210, min(120, 130) - 20 mm\n")
    expect(page.locator("#lines")).to_contain_text("X210 Y100")

    x, y = middle(page.locator("#elevations-plan .handle[data-step='2']"))
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 40, y + 40, steps=2)
    page.keyboard.press("Escape")
    page.mouse.up()
    expect(page.locator("#step-2-y")).to_have_value("70")
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("#step-4-points")).to_have_value("30 mm, travel.y.max - 80 mm\n\n200, min(120, 130)\n")
    front = page.locator("#elevations-front .handle[data-step='2']")
    drag(page, front, 0, 30)
    expect(page.locator("#step-2-z")).to_have_value("")


@pytest.mark.parametrize(
    ("text", "by", "units", "after"),
    [
        ("20", 5, "mm", "25"),
        ("-2.5 mm", 5, "inch", "2.5 mm"),
        ("1 in", 25.4, "mm", "2 in"),
        ("1", 25.4, "inch", "2"),
        ("travel.y.max - 20 mm", 5, "mm", "travel.y.max - 15 mm"),
        ("travel.y.max - 20 mm", 20, "mm", "travel.y.max"),
        ("travel.y.max - 20 mm", 35, "mm", "travel.y.max + 15 mm"),
        ("travel.y.max", -5, "mm", "travel.y.max - 5 mm"),
        ("travel.y.max / 2", 5, "mm", "travel.y.max / 2 + 5 mm"),
        ("safe.z * -3", 5, "mm", "safe.z * -3 + 5 mm"),
        ("max(safe.z, 0 - 3 mm)", 5, "mm", "max(safe.z, 0 - 3 mm) + 5 mm"),
    ],
)
def test_a_formula_that_is_dragged_keeps_what_it_is_relative_to(page, site, text, by, units, after):
    page.goto(f"{site.address}/help")
    script = "async ([text, by, units]) => (await import('/static/shifting.js')).shifted(text, by, units, 'mm')"
    assert page.evaluate(script, [text, by, units]) == after


def lit(page):
    """What is lit: findings, steps, lines and pieces of path."""
    return page.evaluate(
        """() => [...document.querySelectorAll(".lit")].flatMap(({ id, dataset, parentElement }) =>
            dataset.finding ? ["finding"] : dataset.piece && parentElement.matches(".paths") ? ["piece " + dataset.line]
            : id.startsWith("line-") || id.startsWith("step-") ? [id] : [])"""
    )


def test_a_finding_its_step_its_line_and_its_piece_light_up_together_and_show_leaves_the_sheet_in_sight(page, site):
    spoil_park(site)
    page.goto(f"{site.address}/bench/park")
    page.wait_for_function("document.querySelector('#elevations')?.tabIndex === 0")
    finding = page.locator(".finding[data-line][data-step]", has_text="Vise").first
    line, number = finding.get_attribute("data-line"), finding.get_attribute("data-step")
    together = {"finding", f"step-{number}", f"line-{line}", f"piece {line}"}
    finding.hover()
    assert set(lit(page)) == together
    finding.get_by_role("link").first.focus()
    page.mouse.move(1, 1)
    assert set(lit(page)) == together
    for part in (page.locator(f"#line-{line} a"), page.locator(f"#path-words [data-line='{line}'] a")):
        page.locator("#path-words summary").evaluate("fold => (fold.parentElement.open = true)")
        part.focus()
        assert together <= set(lit(page))
    piece = page.locator(f"#elevations-plan .paths [data-line='{line}'] .path").first
    piece.scroll_into_view_if_needed()
    x, y = piece.evaluate(f"path => [path.getTotalLength() * 0.2].map((at) => {ON_SCREEN})[0]")
    page.mouse.move(x, y)
    page.mouse.move(x + 1, y)
    assert together <= set(lit(page))
    assert not {each for each in lit(page) if each.startswith(("line-", "step-"))} - together
    page.get_by_role("link", name="Side view", exact=True).click()
    expect(page.locator("#elevations-side")).to_be_visible()
    page.get_by_role("button", name="Larger").click()
    show = finding.get_by_role("link", name="show in the drawing")
    show.click()
    expect(page.locator("#drawing-heading")).to_contain_text("meets")
    expect(page.locator("#elevations-side .called.bad")).to_be_visible()
    assert page.evaluate(VIEWBOX)[0] == 0, "what is shown is shown whole"
    for seen in ("#elevations .called.bad", ".op >> nth=0"):
        expect(page.locator(seen).first).to_be_in_viewport()
    page.get_by_role("link", name="Show the whole macro again").click()
    expect(page.locator("#drawing-heading")).to_have_text("Drawing")
    expect(page.locator("#elevations-side")).to_be_visible()
    page.set_viewport_size({"width": 380, "height": 800})
    show.click()
    expect(page.locator("#drawing-heading")).to_contain_text("meets")
    page.wait_for_function(
        """() => {
            const [bar, heading, views] = [".bench-bar", "#drawing-heading", "#elevations svg"].map((each) =>
                document.querySelector(each).getBoundingClientRect());
            return bar.bottom <= heading.top && views.bottom > 0 && views.top < innerHeight / 2;
        }"""
    )


def player(page, part):
    return page.locator(f"#drawing .player {part}")


def test_it_stops_where_somebody_waits_skips_waits_and_shows_what_still_moves_after_letting_go(bench):
    page, _ = bench
    page.clock.install(time=0)
    page.clock.pause_at(1)
    read = "document.getElementById('scrub').valueAsNumber"
    total = float(page.locator("#scrub").get_attribute("max"))
    play = player(page, "#play")
    play.click()
    page.clock.run_for(20_000)
    expect(player(page, "#waiting")).to_have_text(re.compile(r"^It waits for the operator \(line \d+\)\.$"))
    expect(play).to_have_text("Play")
    held = page.evaluate(read)
    page.get_by_role("button", name="Let go", exact=True).click()
    expect(page.locator("#let-go-says")).to_contain_text("nothing moves any more")
    play.click()
    page.clock.run_for(1000)
    assert page.evaluate(read) == pytest.approx(held + 1.0, abs=0.05)
    assert page.locator("#elevations .paths .running").count() >= 1
    running = page.locator(".bench-lines li.running").get_attribute("data-line")
    assert page.locator("#elevations-plan .paths .running").first.get_attribute("data-line") == running
    expect(page.locator("#step-4.running")).to_have_count(1)

    page.get_by_label("Skip waits").check()
    page.locator("#scrub").evaluate("scrub => { scrub.value = 0; scrub.dispatchEvent(new Event('input')); }")
    page.clock.run_for(int(1000 * (total - 1.9)))
    assert page.evaluate(read) == pytest.approx(total, abs=0.05), "two dwells of a second were left out"

    page.locator("#scrub").evaluate(
        "(scrub, time) => { scrub.value = time; scrub.dispatchEvent(new Event('input')); }", str(held - 1.0)
    )
    page.get_by_role("button", name="Let go", exact=True).click()
    expect(page.locator("#let-go-says")).to_contain_text(
        re.compile(r"it goes on for [\d.]+ mm and 1\.0 s\. The line that runs")
    )
    expect(page.locator("#elevations .goes-on")).to_have_count(2)
    ends = page.evaluate(
        """() => ["plan", "front"].map((name) => {
            const view = document.querySelector(`#elevations-${name}`);
            const trail = view.querySelector(".goes-on");
            const path = view.querySelector(".paths [data-step='2'] .path");
            const [one, other] = [trail, path].map((each) => each.getPointAtLength(each.getTotalLength()));
            return Math.hypot(one.x - other.x, one.y - other.y);
        })"""
    )
    assert max(ends) < 0.1, "it goes on to the end of the last line before the pause"
    page.clock.run_for(3000)
    assert page.evaluate(read) == pytest.approx(held, abs=0.01)


def test_without_scripts_it_is_whole_said_in_words_and_can_be_kept(chromium, site, tmp_path):
    keep(Workshop.open(site.folder), "macro", "points", POINTS, "points")
    context = chromium.new_context(java_script_enabled=False, accept_downloads=True)
    page = context.new_page()
    page.goto(f"{site.address}/bench/points")
    page.get_by_role("link", name="Side view", exact=True).click()
    for name in ("plan", "front", "side"):
        expect(page.locator(f"#elevations-{name}")).to_be_visible()
        assert page.locator(f"#elevations-{name} .paths .path").count() >= 2
    expect(page.locator(".looks")).to_be_hidden()
    page.get_by_text("The drawing in words").click()
    expect(page.locator("#path-words li")).to_contain_text(
        ["raises to Z -2", "crosses to X 220 Y 20", "waits for the operator"]
    )
    with page.expect_download() as kept:
        page.get_by_role("link", name="SVG").click()
    kept.value.save_as(tmp_path / "points.svg")
    assert kept.value.suggested_filename == "points.svg"
    text = (tmp_path / "points.svg").read_text()
    views = [
        each.get("class") for each in ElementTree.fromstring(text).iter() if "view" in each.get("class", "").split()
    ]
    assert views == ["view plan", "view front", "view side"]
    assert "<style>" in text
    assert "href" not in text
    context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_with_everything_open(page, site, scheme):
    keep(Workshop.open(site.folder), "macro", "points", POINTS, "points")
    page.emulate_media(color_scheme=scheme)
    page.goto(f"{site.address}/bench/points?elevation=side")
    page.locator("#path-words summary").click()
    page.locator("#elevations").focus()
    page.keyboard.press("n")
    page.get_by_role("button", name="Let go", exact=True).click()
    assert violations(page) == []


def test_a_machine_that_brakes_is_drawn_as_far_as_it_may_still_go(page, site):
    page.goto(f"{site.address}/help")
    left = page.evaluate(
        """async () => {
            const { whatGoesOn } = await import("/static/letting_go.js");
            const release = { ends: [1, 2], mm: [12, 0], s: [0.3, 0], because: "the button is wired to a stop" };
            const run = { times: [0, 1, 2], waits: [], seconds: 2, unit: "in", size: 25.4, release };
            return [0.5, 1.5].map((time) => whatGoesOn(run, time, (at) => ({ x: 40 * Math.min(at, 1), y: 0 })));
        }"""
    )
    assert (
        left[0]["says"] == "Let go at 0.5 s: it goes on for 0.47 in and 0.3 s at most. The button is wired to a stop."
    )
    assert left[0]["trail"] == [{"x": 20, "y": 0}, {"x": pytest.approx(32), "y": 0}]
    assert left[0]["brakes"]
    assert left[1]["says"] == "Let go at 1.5 s: nothing moves any more."


def test_where_less_motion_is_asked_for_it_goes_from_line_to_line(page, site):
    keep(Workshop.open(site.folder), "macro", "points", POINTS, "points")
    page.emulate_media(reduced_motion="reduce")
    page.goto(f"{site.address}/bench/points")
    page.wait_for_function("document.querySelector('#elevations')?.tabIndex === 0")
    page.clock.install(time=0)
    page.clock.pause_at(1)
    head = page.locator("#elevations-front .moves-head")
    before = middle(head)
    player(page, "#play").click()
    page.clock.run_for(1000)
    assert page.evaluate("document.getElementById('scrub').valueAsNumber") == pytest.approx(1.0, abs=0.05)
    assert middle(head) == pytest.approx(before, abs=0.2), "the first line is still on its way"
    page.clock.run_for(1500)
    raised = middle(head)
    assert before[1] - raised[1] == pytest.approx(32 * on_screen(page, "front"), abs=1.0)
    page.clock.run_for(300)
    assert middle(head) == pytest.approx(raised, abs=0.2), "and so is the second"


def test_a_keep_out_is_dragged_on_the_drawing_of_its_sheet_and_escape_leaves_it(page, site):
    page.goto(f"{site.address}/sheets/machine?part=table")
    box = page.locator(".view.plan .keep-out[data-name='Vise'] > .body")
    a_mm = box.evaluate("body => body.getScreenCTM().a")
    corner = box.bounding_box()
    at = corner["x"] + 8, corner["y"] + 8  # beside the bar that lies over it
    page.mouse.move(*at)
    page.mouse.down()
    page.mouse.move(at[0] + 40, at[1] + 40)
    page.keyboard.press("Escape")
    page.mouse.up()
    for name, value in {"from.0": "80", "from.1": "35"}.items():
        expect(page.locator(f'[name="keep_out.0.{name}"]')).to_have_value(value)
    page.mouse.move(*at)
    page.mouse.down()
    page.mouse.move(at[0] + 10 * a_mm, at[1] - 20 * a_mm)
    page.mouse.up()
    for name, value in {"from.0": "90", "to.0": "180", "from.1": "55", "to.1": "125", "to.2": "-80"}.items():
        expect(page.locator(f'[name="keep_out.0.{name}"]')).to_have_value(value)
    expect(page.locator(".view.plan .keep-out[data-name='Vise'] > title")).to_contain_text("X 90 to 180, Y 55 to 125")
