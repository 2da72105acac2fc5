"""What the tests of the pages share: an application on a fresh starter workshop."""

import pytest

from library import documents
from tests.workshops import keep


@pytest.fixture
def app(application, tmp_path):
    return application(tmp_path / "workshop")


@pytest.fixture
def shop(app):
    return app.extensions["workshop"]


@pytest.fixture
def client(app):
    return app.test_client()


@pytest.fixture
def put(shop):
    """Make the parking macro one of these steps."""

    def steps(*given, **header):
        changes = {("step",): list(given)} | {(key,): value for key, value in header.items()}
        keep(shop, "macro", "park", documents.write("macro", changes, shop.text("macro", "park")), "made up")

    return steps
