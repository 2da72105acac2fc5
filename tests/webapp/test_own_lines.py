"""The words that are offered where lines are written by hand, and the field itself."""

from __future__ import annotations

from library import documents
from parser.language.words import LETTERS, WORDS
from tests.workshops import keep


def test_every_word_and_letter_is_known_with_what_it_does(client):
    found = {each["word"]: each for each in client.get("/own-lines/words").json}
    assert set(WORDS) | set(LETTERS) <= set(found)
    assert all(each["says"] for each in found.values())
    assert found["G53"]["not"] == ""


def test_what_the_controller_lacks_says_why_and_its_own_words_are_there(client, shop):
    changes = {("unsupported",): ["G81"], ("extra_words",): {"M62": "ignore"}}
    keep(shop, "controller", "workshop", documents.write("controller", changes, shop.text("controller", "workshop")))
    found = {each["word"]: each for each in client.get("/own-lines/words").json}
    assert found["G81"]["not"]
    assert found["M62"]["says"] == "Does nothing that moves or lasts."


def test_only_own_lines_have_what_helps_to_write_them(client, put):
    assert "data-own-lines" not in client.get("/bench/park").text
    put({"block": "own-lines", "lines": "G21 <b>"})
    page = client.get("/bench/park").text
    assert page.count("data-own-lines") == 1
    assert "G21 &lt;b&gt;</textarea>" in page
