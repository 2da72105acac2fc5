"""The second opinion asked for on the pages: its progress, and the button that stops it."""

from __future__ import annotations

import re
import time

import pytest
from playwright.sync_api import expect

from parser.proof.second import solver

pytestmark = pytest.mark.browser


def test_asking_can_be_stopped_and_asked_again(page, site, monkeypatch):
    answers = solver._Solver._answers

    def without_end(self, *args):
        while True:
            self._goes_on()
            time.sleep(0.02)

    complaints = []
    page.on("console", lambda told: complaints.append(told.text))
    monkeypatch.setattr(solver, "_known", {})
    monkeypatch.setattr(solver._Solver, "_answers", without_end)
    page.goto(f"{site.address}/bench/park")
    ask = page.get_by_role("link", name="Ask for a second opinion")
    ask.click()
    expect(page.locator("#working progress")).to_have_attribute("value", "0.5")  # the first proof is done
    page.locator("#working").get_by_role("button", name="Stop").click()
    expect(page.locator("#notice")).to_contain_text("Stopped")
    expect(page.locator("#working")).to_be_hidden()
    expect(ask).to_be_visible()
    monkeypatch.setattr(solver._Solver, "_answers", answers)
    ask.click()
    expect(page.locator("#second-opinion")).to_contain_text("both proofs agree")
    assert complaints == []


def test_a_pack_is_wished_for_with_one_and_the_focus_and_the_address_say_so(page, site):
    page.goto(f"{site.address}/to-the-machine")
    page.get_by_label("Have everything that goes proved twice").check()
    page.get_by_role("button", name="Update").click()
    expect(page.get_by_text("Proved twice").first).to_be_visible()
    expect(page).to_have_url(re.compile("/to-the-machine\\?choosing=yes&.*&second-opinion=yes$"))
    expect(page.get_by_role("button", name="Update")).to_be_focused()
    expect(page.get_by_label("Have everything that goes proved twice")).to_be_checked()
    page.reload()
    expect(page.get_by_label("Have everything that goes proved twice")).to_be_checked()
    with page.expect_download() as got:
        page.get_by_role("button", name="Download the zip").click()
    assert got.value.suggested_filename == "pack.zip"
