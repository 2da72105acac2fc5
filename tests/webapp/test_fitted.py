"""What is on the machine, on the pages and at the terminal."""

import re

import pytest
from click.testing import CliRunner

from library import pack
from tests.bulk import mostly_long
from tests.webapp.rendered import hidden
from tests.workshops import keep
from webapp.cli import main

VISE = '\n[[keep_out]]\nname = "Tall vise"\nfrom = [20.0, 100.0, -130.0]\nto = [240.0, 165.0, -5.0]\n'


def with_an_issue(app):
    shop = app.extensions["workshop"]
    assert app.test_client().post("/to-the-machine/pack.zip").status_code == 200
    return pack.known(shop)[0].issue


def with_an_issue_on_a_machine_that_changed(app):
    client, shop = app.test_client(), app.extensions["workshop"]
    taken = with_an_issue(app)
    client.post("/pendant/fitted", data=hidden(client, "/pendant") | {"issue": taken.number, "since": "2026-05-04"})
    keep(shop, "machine", "workshop", shop.text("machine", "workshop") + VISE, "a new vise")


@pytest.fixture
def taken(shop, once):
    """The issue of a pack that was taken by the page."""
    return once(with_an_issue, shop)


@pytest.fixture
def with_a_new_vise(shop, once):
    once(with_an_issue_on_a_machine_that_changed, shop)


def run(*args):
    return CliRunner().invoke(main, [str(arg) for arg in args])


def test_before_anything_was_taken_the_page_says_so(client):
    assert "No pack was taken yet" in client.get("/pendant").text


def test_a_pack_that_was_taken_can_be_said_to_be_on_the_machine(client, shop, taken):
    answer = client.post(
        "/pendant/fitted",
        data=hidden(client, "/pendant") | {"issue": taken.number, "since": "2026-05-04"},
        follow_redirects=True,
    )
    assert f"Issue <b>{taken}</b> since 2026-05-04." in answer.text
    assert "STILL HOLDS" not in answer.text
    assert pack.fitted(shop).since == "2026-05-04"


def test_an_issue_that_was_never_taken_is_refused_on_the_page(client, taken):
    answer = client.post("/pendant/fitted", data=hidden(client, "/pendant") | {"issue": "feedbeef", "since": ""})
    assert answer.status_code == 422
    assert "o issue &#39;feedbeef&#39; was taken" in answer.text


PAGES = ("/bench/park", "/sheets/machine", "/shelf", "/pendant", "/to-the-machine", "/help")


@pytest.mark.parametrize("path", mostly_long(PAGES, keep=3))
def test_every_page_says_what_is_not_proved_any_more(client, with_a_new_vise, path):
    text = client.get(path).text
    assert re.search(r"THE PENDANT STILL HOLDS issue \d{4}-\d\d-\d\d [0-9a-f]{8}, fitted 2026-05-04: ", text)


def test_the_page_of_the_pack_names_the_issue_and_what_to_load_anew(client, shop, with_a_new_vise):
    text = client.get("/to-the-machine").text
    assert "To load anew: <code>the pendant&#39;s program</code>" in text
    assert str(pack.prepared(shop).goes.issue) in text


def test_at_the_terminal_what_is_fitted_is_said_and_asked(tmp_path, shop, taken):
    workshop = ("--workshop", shop.path)
    assert f"Nobody has said what is on the machine. Issues that were taken: {taken}" in run("fitted", *workshop).stdout
    said = run("fitted", taken, "--on", "2026-05-04", *workshop)
    assert (said.exit_code, said.stdout.splitlines()) == (
        0,
        [
            f"Issue {taken} is on the machine since 2026-05-04.",
            "All of it is proved, and is what the workshop has.",
        ],
    )
    keep(shop, "machine", "workshop", shop.text("machine", "workshop") + VISE, "a new vise")
    asked = run("fitted", *workshop)
    assert asked.exit_code == 1
    assert "THE PENDANT STILL HOLDS" in asked.stdout
    assert "crosses-keep-out" in asked.stdout
    again = run("take", "--to", tmp_path / "out", *workshop)
    assert f"To load anew, as issue {taken} is fitted: the pendant's program" in again.stderr


def test_another_gesture_than_the_fitted_one_is_told_on_every_page_and_at_the_terminal(client, shop, taken):
    client.post("/pendant/fitted", data=hidden(client, "/pendant") | {"issue": taken.number, "since": "2026-05-04"})
    assert "STILL HOLDS" not in client.get("/pendant").text
    text = shop.text("pendant", "workshop")
    other = re.sub(r"turns = \[.*?\]", "turns = [7, -7]", text)
    assert other != text
    keep(shop, "pendant", "workshop", other, "another gesture")
    assert "the gesture is not what the workshop has now" in client.get("/shelf").text
    asked = run("fitted", "--workshop", shop.path)
    assert asked.exit_code == 1
    assert "  the gesture: differs. " in asked.stdout


@pytest.mark.parametrize(
    ("args", "why"),
    [
        (("feedbeef",), "no issue 'feedbeef' was taken from this workshop"),
        (("--on", "2026-05-04"), "name the issue before it"),
    ],
)
def test_at_the_terminal_what_cannot_be_used_is_told(shop, args, why):
    result = run("fitted", *args, "--workshop", shop.path)
    assert (result.exit_code, result.stdout) == (2, "")
    assert why in result.stderr


def test_whoever_saves_a_part_of_a_sheet_reads_there_what_that_does_to_the_machine(client, with_a_new_vise):
    said = client.get("/sheets/machine?done=lost&part=table").text
    part = said[said.index('id="part-table"') : said.index('id="part-setups"')]
    assert "Saved. What has changed counts as invented again" in part
    assert "THE PENDANT STILL HOLDS" in part
    assert said.count("Saved. What has changed") == 1
