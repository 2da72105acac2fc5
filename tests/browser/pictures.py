"""Pictures of every page as a person sees it: wide, on a tablet, on a phone, in the dark, and printed.

By hand, from the project's folder, into a folder that is made where it is missing:

    python -m tests.browser.pictures DIR [PART-OF-A-PATH ...]

Without a part of a path every page is taken, and the picture in the README is taken anew.
"""

from __future__ import annotations

import io
import re
import sys
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import sync_playwright

import webapp
from tests.browser.conftest import served
from tests.browser.pages import EVERY_PAGE
from tests.browser.workplace import furnish
from tests.conftest import ARGUMENTS, CHROMIUM
from webapp import create_app

PATIENCE = 120_000
"""Milliseconds."""
SIZES = {
    "wide": {"viewport": {"width": 1440, "height": 900}},
    "tablet": {"viewport": {"width": 820, "height": 1180}, "has_touch": True},
    "phone": {"viewport": {"width": 360, "height": 740}, "has_touch": True},
    "dark": {"viewport": {"width": 1440, "height": 900}, "color_scheme": "dark"},
}
README = Path(webapp.__file__).parent / "static" / "readme" / "bench.png"
SHOWN = "/bench/present-part"
"""The page of the README."""


def named(path: str) -> str:
    return re.sub(r"[^\w-]+", "-", path.strip("/")) or "home"


def take(browser, address: str, folder: Path, paths: tuple[str, ...]) -> int:
    """Take every page in every size, whole; returns how many pictures were written."""
    for size, options in SIZES.items():
        context = browser.new_context(**options)
        page = context.new_page()
        for path in paths:
            page.goto(address + path, timeout=PATIENCE)
            page.screenshot(path=folder / f"{named(path)}.{size}.png", full_page=True)
            if size == "wide":
                page.pdf(path=folder / f"{named(path)}.pdf", print_background=True)
        context.close()
    return len(paths) * (len(SIZES) + 1)


def main(folder: Path, parts: list[str]) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    pages = (*EVERY_PAGE, "/bench/twenty")
    paths = tuple(path for path in pages if not parts or any(part in path for part in parts))
    with (
        tempfile.TemporaryDirectory() as shop,
        served(create_app, Path(shop) / "workshop") as site,
        sync_playwright() as playwright,
    ):
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        if not parts:
            page = browser.new_page(viewport={"width": 1440, "height": 900})
            page.goto(site.address + SHOWN)
            picture = Image.open(io.BytesIO(page.screenshot()))
            picture.quantize(64).save(README, optimize=True)  # ink on paper has few colours
        furnish(site.folder)
        print(f"{take(browser, site.address, folder, paths)} pictures in {folder}")
        browser.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2:])
