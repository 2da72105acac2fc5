"""Work that a page waits for: its progress, and stopping it."""

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from tests.webapp.test_bench import BENCH, fields
from webapp import progress
from webapp.pages import shelf as shelf_page

NAMED = {"HX-Request": "true", progress.NAME_HEADER: "abc"}


@pytest.fixture
def app(application, tmp_path: Path):
    shelf_page.proved.cache_clear()
    return application(tmp_path / "workshop")


@pytest.fixture
def client(app):
    return app.test_client()


@pytest.fixture
def asked(monkeypatch, app):
    """What the page is answered while its request is worked on; with ``stop`` it asks to stop halfway."""
    told = progress.told
    elsewhere = ThreadPoolExecutor(1)

    def also_asking(share):
        told(share)
        answer = elsewhere.submit(app.test_client().get, "/working/abc").result().json["share"]
        if answer is None:
            return
        also_asking.answers.append(answer)
        if share > 0.5 and also_asking.stop:
            elsewhere.submit(app.test_client().post, "/working/abc/stop").result()

    also_asking.stop = False
    also_asking.answers = []
    monkeypatch.setattr(progress, "told", also_asking)
    return also_asking


def attempt(client):
    sent = fields(client.get(BENCH).text)
    shelf_page.proved.cache_clear()
    return client.post(f"{BENCH}/try", data=sent, headers=NAMED)


def test_the_share_done_can_be_asked_for_while_the_work_goes_on(client, asked):
    assert attempt(client).status_code == 200
    shares = asked.answers
    assert shares == sorted(shares)
    assert shares[0] < 0.2 < 0.8 < shares[-1]


def test_the_work_stops_where_the_page_asks_and_says_so(client, asked):
    asked.stop = True
    answer = attempt(client)
    assert answer.status_code == 200, "an error would stand on the console of the browser"
    assert answer.headers[progress.STOPPED_HEADER]
    assert "Stopped" in answer.text
    assert answer.headers["HX-Retarget"] == "#notice"
    assert asked.answers[-1] < 0.9


def test_work_that_was_stopped_can_be_done_again(client, asked):
    asked.stop = True
    attempt(client)
    asked.stop = False
    asked.answers.clear()
    assert attempt(client).status_code == 200


def test_nothing_is_kept_of_work_that_has_ended(app, client):
    attempt(client)
    assert client.get("/working/abc").json == {"share": None}
    assert app.extensions["working"] == {}


def test_stopping_what_has_ended_does_nothing(client):
    assert client.post("/working/never/stop").status_code == 204


@pytest.mark.parametrize("name", ["", "x" * 41])
def test_a_request_without_a_usable_name_is_worked_on_as_ever(app, client, name):
    assert client.get(BENCH, headers={progress.NAME_HEADER: name}).status_code == 200
    assert app.extensions["working"] == {}


def test_the_page_carries_the_sign_out_of_sight(client):
    assert '<div id="working" class="working" hidden>' in client.get(BENCH).text
