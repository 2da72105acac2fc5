"""What every test may ask for: an application on a new workshop, and a page in the system's Chromium."""

from __future__ import annotations

import os
import shutil
from copy import copy

import pytest
from hypothesis import HealthCheck, settings

from tests.bulk import examples
from webapp import create_app, workshop

# How long an example takes, or takes to be made, says more about what else the machine does than about the code.
settings.register_profile(
    "steady", deadline=None, max_examples=examples(100), suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("steady")

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
OFF = (
    # what a window with an address bar loads for its list of suggestions, anew for each page: most of what a page costs
    *("WebUIOmniboxPopup", "WebUIOmniboxAimPopup"),
    # what Playwright turns off, said once more, as the last list may be the one that counts
    *("AvoidUnnecessaryBeforeUnloadCheckSync", "DestroyProfileOnBrowserClose", "HttpsUpgrades", "LensOverlay"),
    *("HttpsFirstBalancedModeAutoEnable", "MediaRouter", "PaintHolding", "ThirdPartyStoragePartitioning"),
    *("AvoidCorsURLLoaderRestartOnRedirect", "OptimizationHints", "NetworkTimeServiceQuerying", "AimEnabled"),
    "PreconnectToSearch",
)
"""Features of the browser that no test is about."""

ARGUMENTS = [
    *("--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"),
    f"--disable-features={','.join(OFF)}",
]


@pytest.fixture(scope="session")
def application(tmp_path_factory):
    """Make an application on a new workshop in a folder.

    The workshop is made once and copied, and so is the application: routes and templates are put together once, which
    takes longer than most tests do. A test that adds to them makes an application of its own with ``create_app``.
    """
    whole = create_app(tmp_path_factory.mktemp("starter") / "workshop")
    starter = whole.extensions[workshop.KEY].path

    def make(folder):
        shutil.copytree(starter, folder)
        app = copy(whole)
        app.config, app.view_functions = copy(whole.config), dict(whole.view_functions)
        app.extensions = {"working": {}}
        workshop.attach(app, folder)
        assert app.extensions.keys() == whole.extensions.keys()
        return app

    return make


@pytest.fixture(scope="session")
def chromium():
    """The system's Chromium, driven by Playwright; the test is skipped where none is installed."""
    if CHROMIUM is None:
        if os.environ.get("CLICKSTOP_BROWSER_REQUIRED"):
            pytest.fail("Chromium is required here and not installed")
        pytest.skip("browser tests need Chromium: install the package chromium")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture
def page(chromium):
    """A fresh page that fails the test when the page's own scripts fail."""
    context = chromium.new_context(accept_downloads=True, viewport={"width": 1400, "height": 1000})
    page = context.new_page()
    mistakes: list[str] = []
    page.on("pageerror", lambda error: mistakes.append(str(error)))
    yield page
    context.close()
    assert mistakes == []
