"""Two workshops with different machines exchange macros: one is refused on the other, repaired there and comes back."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from library import documents
from library.store import Workshop
from tests.browser.conftest import served
from tests.browser.reading import field, severity
from tests.library.benches import MILL, ROUTER
from tests.library.share.shops import ANSWERS, SHELF, document
from tests.workshops import keep

pytestmark = pytest.mark.browser

FAR = document("far", {"block": "raise"}, {"block": "go-to", "x": "240 mm", "y": "140 mm"}, name="Far corner")
FIVE = {"far": FAR, **{id: SHELF[id] for id in ("lift", "present", "nudge", "own")}}


def stocked(folder, machine, macros):
    """A workshop with one machine and nothing but these macros."""
    shop = Workshop(folder)
    for id in shop.ids("macro"):
        shop.delete("macro", id)
    keep(shop, "machine", "workshop", machine)
    keep(shop, "controller", "workshop", ANSWERS)
    keep(shop, "pendant", "workshop", 'format = "clickstop-pendant/1"\n')
    for id, text in macros.items():
        keep(shop, "macro", id, text)
    return shop


def bundled(page, site, path, *names):
    """Download a bundle of macros, ticked by name, or of all."""
    page.goto(f"{site.address}/review")
    for name in names:
        page.get_by_label(name).check()
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Download the bundle").click()
    waiting.value.save_as(path)
    return path


def looked_over(page, site, path):
    """Upload a file and see its review."""
    page.goto(f"{site.address}/review")
    page.get_by_label("Bundles, packs, backups").set_input_files(path)
    page.get_by_role("button", name="Look it over").click()
    expect(page.get_by_role("heading", name="Review", exact=True)).to_be_visible()


def row(page, name):
    return page.locator("tbody tr", has=page.get_by_role("link", name=name, exact=True))


@pytest.mark.journey
def test_five_macros_go_to_another_machine_and_the_one_that_is_repaired_there_comes_back(
    page, site, application, tmp_path
):
    mill = stocked(site.folder, MILL, FIVE)
    with served(application, tmp_path / "other") as other:
        router = stocked(other.folder, ROUTER, {})
        looked_over(page, other, bundled(page, site, tmp_path / "five.zip"))
        assert router.ids("macro") == ()
        expect(row(page, "Far corner").locator(".verdict")).to_have_text("Refused")
        expect(row(page, "Far corner")).to_contain_text("is outside this travel")
        expect(row(page, "Lift").locator(".verdict")).to_have_text("Proved")
        page.reload()
        expect(page.locator("tbody tr")).to_have_count(5)

        page.get_by_role("link", name="Far corner", exact=True).click()
        expect(page.get_by_text("beyond-travel").first).to_be_visible()
        expect(page.locator("svg.elevations")).to_be_visible()
        page.get_by_role("link", name="Back to the review").click()
        page.get_by_role("button", name="Take in what is ticked").click()
        expect(page.get_by_role("status")).to_contain_text("5 macros are new or changed")
        assert set(router.ids("macro")) == set(FIVE)

        page.goto(f"{other.address}/bench/far")
        for label, formula in (("x", "travel.x.max - 20 mm"), ("y", "travel.y.max - 10 mm")):
            typed = field(page, 2, label)
            typed.fill(formula)
            typed.blur()
        expect(severity(page)).to_have_text("Proved")
        back = bundled(page, other, tmp_path / "back.zip", "Far corner")

    looked_over(page, site, back)
    expect(row(page, "Far corner").locator(".verdict")).to_have_text("Proved")
    page.get_by_label("Take theirs, in place of mine").check()
    page.get_by_role("button", name="Take in what is ticked").click()
    expect(page.get_by_role("status")).to_contain_text("1 macro is new or changed")
    repaired = documents.parse("macro", mill.text("macro", "far"))
    assert dict(repaired.step[1].values) == {"x": "travel.x.max - 20 mm", "y": "travel.y.max - 10 mm"}
    assert "# as we do it here" in mill.text("macro", "far")
    page.goto(f"{site.address}/shelf/far")
    expect(page.locator("dd", has_text="bundle back.zip, taken in")).to_contain_text("it told of Router")


def test_the_whole_of_it_works_by_keyboard_and_without_scripts(chromium, site, tmp_path):
    shop = stocked(site.folder, MILL, {"lift": SHELF["lift"]})
    (tmp_path / "lift.toml").write_text(SHELF["lift"].replace("Up.", "Up and away."))
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    looked_over(page, site, tmp_path / "lift.toml")
    page.get_by_label("Keep both").focus()
    page.keyboard.press("ArrowDown")
    page.get_by_role("button", name="Take in what is ticked").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("status")).to_contain_text("1 macro is new or changed")
    context.close()
    assert documents.parse("macro", shop.text("macro", "lift")).purpose == "Up and away."
    assert shop.ids("macro") == ("lift",)
