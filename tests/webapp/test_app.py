"""The frame of every page, the script it uses, and what a failure looks like."""

import hashlib
import io
import logging

import pytest

from parser import SheetError
from webapp import create_app
from webapp.application import LARGEST_REQUEST


def test_htmx_is_the_published_file(client):
    # SHA-256 of htmx.min.js 2.0.3 as released on npm; the PyPI distribution ships the same bytes.
    released = "491955cd1810747d7d7b9ccb936400afb760e06d25d53e4572b64b6563b2784e"
    assert hashlib.sha256(client.get("/static/htmx.min.js").data).hexdigest() == released


def test_htmx_is_asked_for_once(client):
    tag = client.get("/static/htmx.min.js").headers["ETag"]
    assert client.get("/static/htmx.min.js", headers={"If-None-Match": tag}).status_code == 304


@pytest.mark.parametrize("page", ["bench", "pendant", "sheets", "shelf", "to-the-machine", "help"])
def test_every_page_of_the_masthead_is_there(client, page):
    assert client.get(f"/{page}", follow_redirects=True).status_code == 200


def test_the_page_one_is_on_is_marked(client):
    page = client.get("/help", follow_redirects=True).text
    assert '<a href="/help" aria-current="page">' in page


def test_the_title_block_names_the_sheets_in_force(app, client):
    page = client.get("/", follow_redirects=True).text
    block = page[page.index("title-block") :]
    assert "Workshop mill" in block
    assert "RS-274/NGC as published" in block


def test_no_page_runs_inline_script_or_style(client):
    page = client.get("/", follow_redirects=True).text
    assert "style=" not in page
    assert "onclick=" not in page
    assert "<script>" not in page


def test_a_missing_page_is_told_in_plain_words(client):
    answer = client.get("/no-such-page")
    assert answer.status_code == 404
    assert "no such page" in answer.text


def test_a_failed_fragment_goes_where_notices_go(client):
    answer = client.get("/bench/no-such-macro/drawing", headers={"HX-Request": "true"})
    assert answer.status_code == 404
    assert answer.headers["HX-Retarget"] == "#notice"
    assert "<html" not in answer.text


def test_a_failed_fragment_is_shown_whatever_part_of_an_answer_was_asked_for(client):
    answer = client.get("/bench/no-such-macro/drawing", headers={"HX-Request": "true"})
    assert answer.text.strip().startswith(f'<p class="{answer.headers["HX-Reselect"].strip(".")} ')
    assert answer.headers["HX-Push-Url"] == "false"


def test_a_request_beyond_any_document_is_refused(client):
    answer = client.post("/shelf/new", data={"name": "x" * (LARGEST_REQUEST + 1)})
    assert answer.status_code == 413
    assert "Choose another file" in answer.text


def test_a_machine_that_makes_no_sense_is_told_in_its_own_words(tmp_path):
    app = create_app(tmp_path / "workshop")

    def refused():
        raise SheetError("travel of axis x", "5 to 0", "It is upside down.", "Write the lower end first.")

    app.add_url_rule("/judged", "judged", refused)
    answer = app.test_client().get("/judged")
    assert answer.status_code == 409
    assert "travel of axis x is 5 to 0. It is upside down. Write the lower end first." in answer.text
    assert "Traceback" not in answer.text


class TestAFailureOfOurOwn:
    @pytest.fixture
    def client(self, tmp_path):
        app = create_app(tmp_path / "workshop")
        app.add_url_rule("/broken", "broken", lambda: 1 / 0)
        return app.test_client()

    def test_is_a_page_without_a_traceback(self, client):
        answer = client.get("/broken")
        assert answer.status_code == 500
        assert "What you had saved is kept" in answer.text
        assert "Traceback" not in answer.text

    def test_is_one_line_on_the_terminal(self, client, caplog):
        with caplog.at_level(logging.ERROR):
            client.get("/broken")
        assert "ZeroDivisionError" in caplog.text
        assert len(caplog.text.splitlines()) == 1


@pytest.mark.parametrize(
    ("path", "heading"),
    [("/sheets/machine/part/tool", "Only for a form of a page"), ("/nowhere", "Nothing of that name")],
)
def test_a_page_that_stops_is_headed_by_plain_words(client, path, heading):
    assert f"<h1>{heading}</h1>" in client.get(path).text


def test_a_zip_that_is_added_as_a_macro_is_sent_where_bundles_go(client):
    file = (io.BytesIO(b"PK\x03\x04\xff"), "bundle.zip")
    answer = client.post("/shelf/add", data={"file": file}, content_type="multipart/form-data")
    assert "are taken in on Review and share" in answer.text
