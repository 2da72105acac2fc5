"""What a person has opened, written, chosen to see or reached by keyboard is still there after an answer."""

from __future__ import annotations

import io

import pdfplumber
import pytest
from playwright.sync_api import expect

from library import documents
from library.store import Workshop
from tests.browser.reading import field, settled
from tests.workshops import keep

pytestmark = pytest.mark.browser

STEPS = [{"block": "spindle-off"}, {"block": "own-lines", "lines": "G21 G90\nG53 G0 X120 Y70"}]
REASON = "the vise is off on Fridays"


@pytest.fixture
def bench(page, site):
    """The bench with hand-written lines that come too near to the vise and to the bar; complaints of the console."""
    shop = Workshop.open(site.folder)
    keep(shop, "macro", "park", documents.write("macro", {("step",): STEPS}, shop.text("macro", "park")), "by hand")
    page.complaints = []
    page.on("console", lambda told: page.complaints.append(told.text))
    page.goto(f"{site.address}/bench/park")
    return page


def accepted(site):
    return documents.parse("macro", Workshop.open(site.folder).text("macro", "park")).accepted


def fold(page, words):
    return page.locator("#results details", has_text=words).first


def verdict(page):
    return page.locator("#verdict")


def rename(page):
    """An edit that changes none of the findings, answered."""
    with page.expect_response("**/save"):
        page.locator("#head-purpose").fill("Out of the way.")
        page.locator("#head-purpose").blur()
    settled(page)


class TestAButtonRightAfterTyping:
    """What was typed is answered while what the button has asked for is still on its way."""

    def pressed(self, bench, path, press, answer="**/save"):
        """Type, press before that is answered, and let the answer to the press come last."""
        late = []
        bench.route(path, lambda route: late.append(route))
        bench.locator("#head-purpose").fill("Out of the way.")
        with bench.expect_response(answer):
            press()
        bench.wait_for_timeout(200)
        for route in late:
            route.continue_()
        settled(bench)

    def test_a_change_that_was_made_is_shown(self, bench):
        fold(bench, "Fix: put a raise first").locator("summary").click()
        button = bench.get_by_role("button", name="Make this change").first
        self.pressed(bench, "**/bench/park", button.click)
        expect(bench.locator(".op:not(.empty)")).to_have_count(3)
        expect(bench.locator("#head-purpose")).to_have_value("Out of the way.")

    def test_a_start_that_was_required_is_shown(self, bench):
        self.pressed(bench, "**/bench/park", bench.get_by_role("button", name="Require this start").click)
        expect(bench.get_by_label("Starts from")).not_to_have_value("anywhere")

    def test_the_case_that_was_asked_for_is_drawn_and_stays(self, bench):
        self.pressed(bench, "**/drawing?show=*", bench.get_by_role("link", name="show in the drawing").first.click)
        expect(bench.get_by_role("link", name="Show the whole macro again")).to_be_visible()
        bench.wait_for_timeout(500)
        expect(bench.get_by_role("link", name="Show the whole macro again")).to_be_visible()

    def test_a_mistake_is_still_told_when_it_is_answered_twice(self, bench):
        bench.locator("#head-name").fill("")
        for key in ("Tab", "Control+S"):
            with bench.expect_response("**/save"):
                bench.keyboard.press(key)
            settled(bench)
        expect(bench.locator("#head-name-hint")).to_contain_text("not empty")


class TestAfterAnEdit:
    @pytest.mark.journey
    def test_what_was_opened_stays_open(self, bench):
        fold(bench, "Fix: put a raise first").locator("summary").click()
        fold(bench, "Accept with a reason").locator("summary").click()
        rename(bench)
        expect(bench.locator("#results details[open]")).to_have_count(2)

    def test_a_reason_half_written_stays(self, bench):
        fold(bench, "Accept with a reason").locator("summary").click()
        bench.get_by_label("Accepted because").first.fill("the vise")
        rename(bench)
        expect(bench.get_by_label("Accepted because").first).to_have_value("the vise")

    def test_the_case_that_is_shown_stays(self, bench):
        bench.get_by_role("link", name="show in the drawing").first.click()
        expect(bench.locator("#drawing-heading")).to_have_text("Drawing: tool meets Vise")
        rename(bench)
        expect(bench.locator("#drawing-heading")).to_have_text("Drawing: tool meets Vise")

    def test_leaving_the_lines_for_a_finding_keeps_the_place(self, bench):
        summary = fold(bench, "Accept with a reason").locator("summary")
        summary.click()
        with bench.expect_response("**/save"):
            field(bench, 2, "lines").fill("G21 G90\nG53 G0 X120 Y70 ")
            summary.focus()
        settled(bench)
        expect(fold(bench, "Accept with a reason").locator("summary")).to_be_focused()
        expect(bench.locator("#results details[open]")).to_have_count(1)

    def test_nothing_is_complained_of(self, bench):
        bench.get_by_role("link", name="show in the drawing").first.click()
        expect(bench.locator("#drawing")).to_be_focused()
        rename(bench)
        assert bench.complaints == []


class TestTheFocus:
    def test_showing_a_finding_goes_to_the_drawing_and_back_again(self, bench):
        bench.get_by_role("link", name="show in the drawing").first.press("Enter")
        expect(bench.locator("#drawing")).to_be_focused()
        bench.get_by_role("link", name="Show the whole macro again").press("Enter")
        expect(bench.locator("#drawing-heading")).to_have_text("Drawing")
        expect(bench.locator("#drawing")).to_be_focused()

    def test_requiring_a_start_goes_to_the_verdict(self, bench):
        bench.get_by_role("button", name="Require this start").press("Enter")
        expect(verdict(bench)).to_contain_text("Proved with a condition")
        expect(verdict(bench)).to_be_focused()

    def test_putting_macros_on_slots_goes_to_what_it_comes_to(self, page, site):
        page.goto(f"{site.address}/pendant")
        page.locator(".slot-table select").last.select_option("park")
        page.get_by_role("button", name="Put on the slots").press("Enter")
        expect(page.locator("#whole-verdict")).to_be_focused()

    def test_undoing_the_only_change_goes_on_at_redo(self, bench):
        rename(bench)
        while bench.locator("#undo").is_enabled():
            with bench.expect_response("**/bench/park"):
                bench.locator("#undo").press("Enter")
            settled(bench)
        expect(bench.locator("#redo")).to_be_focused()


class TestAccepting:
    @pytest.mark.journey
    def test_it_takes_only_the_keyboard(self, bench, site):
        fold(bench, "Accept with a reason").locator("summary").focus()
        bench.keyboard.press("Enter")
        bench.keyboard.press("Tab")
        bench.keyboard.press("Enter")
        field = bench.get_by_label("Accepted because").first
        expect(field).to_be_focused()
        expect(bench.locator("#results .accept .problem")).to_contain_text("Write why it is accepted")
        assert accepted(site) == ()
        bench.keyboard.type(REASON)
        bench.keyboard.press("Enter")
        expect(verdict(bench)).to_contain_text(f"Not proved: accepted because {REASON} (crosses-keep-out)")
        expect(verdict(bench)).to_be_focused()
        bench.get_by_role("button", name="Take back").press("Enter")
        expect(verdict(bench)).to_contain_text("Not proved: 2 refusals.")
        bench.get_by_role("button", name="Undo").click()
        expect(verdict(bench)).to_contain_text(REASON)

    def test_it_works_without_scripts(self, bench, chromium, site):
        context = chromium.new_context(java_script_enabled=False)
        page = context.new_page()
        page.goto(f"{site.address}/bench/park")
        fold(page, "Accept with a reason").locator("summary").click()
        page.get_by_role("button", name="Accept crosses-keep-out").first.click()
        expect(page.locator("#results .accept .problem")).to_contain_text("Write why it is accepted")
        page.get_by_label("Accepted because").first.fill(REASON)
        page.get_by_role("button", name="Accept crosses-keep-out").first.click()
        expect(verdict(page)).to_contain_text(f"accepted because {REASON}")
        page.get_by_role("button", name="Take back").click()
        expect(verdict(page)).to_contain_text("Not proved: 2 refusals.")
        context.close()


def test_on_paper_the_lines_are_there_and_what_only_helps_on_a_screen_is_not(bench):
    with pdfplumber.open(io.BytesIO(bench.pdf(format="A4"))) as pdf:
        text = "\n".join(page.extract_text() for page in pdf.pages)
    sheet = text[text.index("Operation sheet") : text.index("Findings")]
    assert "G53 G0 X120 Y70" in sheet
    for useless in ("Fix:", "Accept with a reason", "show in the drawing", "Require this start", "fixes this finding"):
        assert useless not in text


class TestWhatWasTypedIsSaved:
    """Without the field being left: when typing pauses, and when the page is left before that."""

    def purpose(self, site):
        return documents.parse("macro", Workshop.open(site.folder).text("macro", "park")).purpose

    def eventually(self, page, site, wanted):
        for _ in range(50):
            if self.purpose(site) == wanted:
                return True
            page.wait_for_timeout(100)
        return False

    def test_when_typing_pauses(self, bench, site):
        bench.locator("#head-purpose").fill("")
        with bench.expect_response("**/save"):
            bench.locator("#head-purpose").press_sequentially("Aside")
        expect(bench.locator("#head-purpose")).to_be_focused()
        assert self.eventually(bench, site, "Aside")
        bench.reload()
        expect(bench.locator("#head-purpose")).to_have_value("Aside")

    def test_when_the_page_is_loaded_anew_at_once(self, bench, site):
        bench.locator("#head-purpose").fill("In a hurry")
        bench.reload()
        assert self.eventually(bench, site, "In a hurry")
