"""The pages as a browser meets them: served by waitress on a free port from a workshop of the test's own."""

from __future__ import annotations

import threading
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
import waitress
from playwright.sync_api import expect
from waitress.wasyncore import close_all

expect.set_options(timeout=30_000)
"""Milliseconds; a busy computer is slow and not wrong."""


def pytest_configure(config):
    config.addinivalue_line("markers", "journey: what a newcomer's run tries in the browser, one of each kind")


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items):
    """A browser takes long to do anything, so all that is no journey is left to ``.ci/run``."""
    for item in items:
        if item.get_closest_marker("browser") and not item.get_closest_marker("journey"):
            item.add_marker("long")


@dataclass(frozen=True)
class Site:
    """A running site: its address without a slash at the end, and the folder of its workshop."""

    address: str
    folder: Path


@contextmanager
def served(application, folder):
    """A site with the starter workshop in a folder, gone at the end."""
    connections = {}
    server = waitress.create_server(application(folder), map=connections, host="127.0.0.1", port=0, threads=4)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    try:
        yield Site(f"http://127.0.0.1:{server.effective_port}", folder)
    finally:
        server.trigger.pull_trigger(lambda: close_all(connections))
        thread.join(timeout=60)
        server.task_dispatcher.shutdown()
    assert not thread.is_alive()


@pytest.fixture
def site(application, tmp_path):
    """A site with the starter workshop, gone when the test ends."""
    with served(application, tmp_path / "workshop") as running:
        yield running
