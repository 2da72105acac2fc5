"""The bench asks for a second opinion: a part of the page, a page of its own without scripts, and a file."""

from __future__ import annotations

import sys

from library import documents
from parser.proof.rules import contacts
from tests.workshops import keep
from webapp import workshop

HTMX = {"HX-Request": "true"}
ADDRESS = "/bench/present-part/second-opinion"


def test_the_bench_offers_a_second_opinion(client):
    assert ADDRESS in client.get("/bench/present-part").get_data(as_text=True)


def test_it_says_that_both_agree_in_a_part_of_the_page_or_on_a_page_of_its_own(client):
    part = client.get(ADDRESS, headers=HTMX).get_data(as_text=True)
    assert 'id="second-opinion"' in part
    assert "<html" not in part
    assert "both proofs agree" in part
    assert "Proved twice." in part
    whole = client.get(ADDRESS).get_data(as_text=True)
    assert "<html" in whole
    assert "both proofs agree" in whole


def test_it_says_what_was_not_asked(client):
    assert "not asked of line" in client.get("/bench/home/second-opinion").get_data(as_text=True)


def test_its_questions_are_a_file(client):
    answer = client.get(f"{ADDRESS}/questions.smt2")
    assert answer.status_code == 200
    assert "(set-logic QF_NRA)" in answer.get_data(as_text=True)
    assert answer.headers["Content-Disposition"] == 'attachment; filename="present-part.smt2"'


def test_where_the_two_differ_it_shows_both_answers_and_offers_the_file_to_send(app, client, monkeypatch):
    step = {"block": "go-to", "x": "120 mm", "y": "70 mm", "z": "-60 mm"}
    with app.app_context():
        shop = workshop.current()
        keep(shop, "macro", "park", documents.write("macro", {("step",): [step]}, shop.text("macro", "park")))
    monkeypatch.setattr(contacts, "bodies", lambda machine: ())
    shown = client.get("/bench/park/second-opinion").get_data(as_text=True)
    assert "by the first proof nothing is met, by the second there is a case" in shown
    assert "The file to send" in shown
    assert "Please report it" in client.get("/bench/park/second-opinion/questions.smt2").get_data(as_text=True)


def test_without_the_solver_it_says_what_to_install(client, monkeypatch):
    monkeypatch.setitem(sys.modules, "z3", None)
    shown = client.get("/bench/retract/second-opinion").get_data(as_text=True)
    assert "clickstop[second]" in shown
    assert client.get("/bench/retract/second-opinion/questions.smt2").status_code == 409


def test_a_macro_that_is_not_there_has_none(client):
    assert client.get("/bench/nothing/second-opinion").status_code == 404
