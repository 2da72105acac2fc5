"""What the tests of the pages share: an application on a fresh starter workshop."""

import shutil

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


@pytest.fixture(scope="session")
def once(application, tmp_path_factory):
    """Make of a fresh workshop what many tests begin with, once, and put a copy in the place of the test's own.

    What is given makes it of an application; what that gives back is given to each.
    """
    made = {}

    def lived(make, shop):
        if make not in made:
            folder = tmp_path_factory.mktemp("lived") / "workshop"
            made[make] = folder, make(application(folder))
        folder, result = made[make]
        shutil.copytree(folder, shop.path, dirs_exist_ok=True)
        return result

    return lived
