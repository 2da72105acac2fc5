"""What a person reads off the bench and off the zip."""

from __future__ import annotations

import zipfile
from contextlib import nullcontext

from playwright.sync_api import expect


def settled(page):
    """Wait until nothing is on its way and what came last answers to the keyboard and the mouse."""
    expect(page.locator(".htmx-request, .htmx-swapping, .htmx-added, .htmx-settling")).to_have_count(0)


def severity(page):
    """The word the verdict begins with, as a locator."""
    return page.locator("#verdict .severity")


def opened(page, step):
    """Open the line of a step into its form, where it is not."""
    fold = page.locator(f"#fold-{step}")
    if fold.get_attribute("open") is None:
        fold.locator("summary").click()
    expect(fold).to_have_attribute("open", "")


def field(page, step, name):
    """A field of a step that is there to be filled in, as a locator."""
    opened(page, step)
    return page.locator(f"#step-{step}-{name}")


def press(page, does, step, way=""):
    """Press a button of a step, such as "Remove step 3" or "Move step 1 down"."""
    opened(page, step)
    button = page.get_by_role("button", name=f"{does} {step} {way}".strip(), exact=True)
    with nullcontext() if scripted(page) else page.expect_navigation():
        button.click()


def scripted(page):
    """Whether scripts run; without them what is pressed loads the page anew."""
    return page.locator("html.scripted").count() > 0


def add(page, title):
    """Add a step with the mouse."""
    steps = page.locator(".op:not(.empty)")
    before = steps.count()
    page.get_by_text("Add a step", exact=True).click()
    choose(page, title)
    expect(steps).to_have_count(before + 1)
    settled(page)


def choose(page, title):
    """Choose a block of the open list; without scripts it is a plain one."""
    if scripted(page):
        page.locator("#blocks").get_by_role("button", name=title, exact=True).click()
    else:
        page.get_by_label("Block", exact=True).select_option(label=title)
        page.get_by_role("button", name="Add it", exact=True).click()


def look_at(page, side):
    """Choose what the right side of the bench shows."""
    page.get_by_role("radio", name=side, exact=True).check()
    settled(page)


def lines(page):
    """The lines of the macro, as a locator that has one element for each."""
    return page.locator("#lines li code")


def written(page):
    """The lines of the macro as the page shows them now."""
    return lines(page).all_inner_texts()


def without_comments(lines):
    """What the controller acts on."""
    return [line for line in lines if not line.startswith("(")]


def figure(page, name):
    """The figure that stands beside ``name`` under time and distance, as a locator."""
    return page.locator(".bench-figures div", has=page.get_by_text(name, exact=True)).locator("dd")


def unpacked(download, folder):
    """The files of a downloaded zip, by path."""
    path = folder / download.suggested_filename
    download.save_as(path)
    with zipfile.ZipFile(path) as archive:
        assert archive.testzip() is None
        return path, {name: archive.read(name) for name in archive.namelist()}
