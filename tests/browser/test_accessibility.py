"""Every page by axe-core's rules, in light and in dark."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe

from library import documents
from library.store import Workshop
from tests.browser.pages import EVERY_PAGE, spoil_park
from tests.browser.reading import opened
from tests.bulk import in_turn, some_of_today
from tests.library.share.shops import LIFT, LOW, made
from tests.workshops import keep
from webapp.pages import start

pytestmark = pytest.mark.browser

RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
"""WCAG 2.2 to level AA and what axe-core calls best practice."""

OPENED = (*(f"/start/{part.id}" for part in start.STARTS), "/sheets/machine", "/sheets/controller", "/sheets/pendant")
"""Pages with folds in their forms."""


COLOURS = {"runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}}
"""The rules whose answer hangs on the colours: all that can differ in the dark."""


def violations(page, rules=RULES):
    """What axe finds, one line each with the first element it is about."""
    found = Axe().run(page, options=rules | {"resultTypes": ["violations"]}).response["violations"]
    return [f"{each['id']} ({each['impact']}): {each['help']}: {each['nodes'][0]['html'][:160]}" for each in found]


def in_light_and_dark(page):
    """What axe finds on a page in light, and what more of it in dark."""
    page.emulate_media(color_scheme="light")
    found = violations(page)
    page.emulate_media(color_scheme="dark")
    return found + [f"in the dark: {each}" for each in violations(page, COLOURS)]


@in_turn(0, 2)
def test_refusals_and_mistakes_are_as_accessible_as_what_is_proved(page, site):
    spoil_park(site)
    found = {}
    for path in ("/bench/park?show=0", "/pendant", "/shelf", "/shelf/park", "/to-the-machine", "/nowhere"):
        page.goto(site.address + path)
        found[path] = in_light_and_dark(page)
    page.goto(f"{site.address}/sheets/machine")
    page.get_by_label("Text of the machine sheet").fill("format = ")
    page.get_by_role("button", name="Save the document").click()
    found["a sheet that cannot be read"] = in_light_and_dark(page)
    assert {path: each for path, each in found.items() if each} == {}


def test_a_review_and_what_can_be_made_portable_are_as_accessible(page, site, tmp_path):
    shop = Workshop.open(site.folder)
    keep(shop, "macro", "lift", LIFT.replace("Up.", "Up and away."))
    keep(shop, "macro", "low", LOW)
    (tmp_path / "b.zip").write_bytes(made())
    found = {}
    page.goto(f"{site.address}/portable/low")
    found["portable"] = in_light_and_dark(page)
    page.goto(f"{site.address}/review")
    page.get_by_label("Bundles, packs").set_input_files(tmp_path / "b.zip")
    page.get_by_role("button", name="Look it over").click()
    page.wait_for_url("**/review/*")
    found["review"] = in_light_and_dark(page)
    page.get_by_role("link", name="Lift", exact=True).click()
    page.wait_for_url("**/review/*/*")
    found["one macro"] = in_light_and_dark(page)
    page.goto(f"{site.address}/review")
    found["one that waits"] = in_light_and_dark(page)
    assert {path: each for path, each in found.items() if each} == {}


@in_turn(1, 2)
def test_forms_are_so_with_every_fold_open_and_with_what_is_wrong(page, site):
    found = {}
    for path in some_of_today(OPENED, 1, 3):
        page.goto(site.address + path)
        page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
        found[path] = in_light_and_dark(page)
    page.goto(f"{site.address}/start/axes")
    page.locator('[name="axes.x.rapid"]').fill("fast")
    page.get_by_role("button", name="Measured today").click()
    found["a field that cannot be used"] = in_light_and_dark(page)
    assert {path: each for path, each in found.items() if each} == {}


@pytest.mark.journey
def test_a_field_says_what_it_is_and_what_is_wrong_with_it(page, site):
    page.goto(f"{site.address}/bench/park")
    opened(page, 1)
    field = page.get_by_label("Step 1, Raise: to")
    field.fill("safe.q")
    field.blur()
    page.wait_for_selector("#step-1-to[aria-invalid=true]")
    told = page.locator("#" + field.get_attribute("aria-describedby"))
    assert "safe.z" in told.inner_text()


def test_every_kind_of_document_has_its_page_among_these():
    assert {f"/help/documents/{kind}" for kind in documents.KINDS} <= set(EVERY_PAGE)
