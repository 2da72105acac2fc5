"""What a person reads off the bench and off the zip."""

from __future__ import annotations

import zipfile

from playwright.sync_api import expect


def settled(page):
    """Wait until nothing is on its way and what came last answers to the keyboard and the mouse."""
    expect(page.locator(".htmx-request, .htmx-swapping, .htmx-added, .htmx-settling")).to_have_count(0)


def severity(page):
    """The word the verdict begins with, as a locator."""
    return page.locator(".bench-verdict [role=status] .severity")


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
