"""Tidying lines written by hand on the bench."""

from pathlib import Path

import pytest

from library import documents, macros
from tests.webapp.test_bench import BENCH, fields
from tests.workshops import keep

WRITTEN = "g90 g21\ng53g0 z-02.0  (clear)\nno line at all"
TIDY = "G21 G90\nG53 G0 Z-2 (clear)\nno line at all"


@pytest.fixture
def app(application, tmp_path: Path):
    app = application(tmp_path / "workshop")
    shop = app.extensions["workshop"]
    text = macros.add_step(shop.text("macro", "present-part"), "own-lines", {"lines": WRITTEN})
    keep(shop, "macro", "present-part", text, "Added lines")
    return app


@pytest.fixture
def client(app):
    return app.test_client()


def steps(app):
    return documents.parse("macro", app.extensions["workshop"].text("macro", "present-part")).step


def press(client, number):
    return client.post(BENCH, data=fields(client.get(BENCH).text) | {"do": f"tidy {number}"}, follow_redirects=True)


def test_only_steps_with_lines_of_their_own_have_the_button(client, app):
    page = client.get(BENCH).text
    assert page.count('value="tidy ') == 1
    assert f'value="tidy {len(steps(app))}"' in page


def test_the_button_tidies_the_lines_and_leaves_what_cannot_be_read(client, app):
    assert press(client, len(steps(app))).status_code == 200
    assert steps(app)[-1].values["lines"] == TIDY


def test_what_was_typed_just_before_is_tidied_too(client, app):
    sent = fields(client.get(BENCH).text)
    name = f"step.{len(steps(app))}.lines"
    client.post(BENCH, data=sent | {name: "g4p0.50", "do": f"tidy {len(steps(app))}"})
    assert steps(app)[-1].values["lines"] == "G4 P0.5"


def test_it_can_be_undone(client, app):
    press(client, len(steps(app)))
    client.post(BENCH, data=fields(client.get(BENCH).text) | {"do": "undo"})
    assert steps(app)[-1].values["lines"] == WRITTEN


@pytest.mark.parametrize("number", ["1", "99", "0", "", "x"])
def test_a_step_without_lines_of_its_own_is_left_as_it_is(client, app, number):
    before = steps(app)
    assert press(client, number).status_code == 200
    assert steps(app) == before
