"""The table of words in Help."""

import re

from library import documents
from parser.language.words import LETTERS, WORDS
from parser.machine import Controller
from tests.workshops import keep
from webapp.pages.handbook import EXTRA_WORDS, extra_word_rows, word_rows


def row(page, word):
    return re.search(rf'<tr id="{re.escape(word)}">.*?</tr>', page, re.S)[0]


def test_every_published_word_and_letter_has_its_row(app):
    page = app.test_client().get("/help/words").text
    for word, info in WORDS.items():
        assert info.section in row(page, word)
    for letter in LETTERS:
        assert f'<th scope="row"><code>{letter}</code></th>' in page


def test_a_word_that_is_not_supported_says_why(app):
    page = app.test_client().get("/help/words").text
    assert re.search(r"<td[^>]*>yes</td>", row(page, "G1"))
    assert re.search(r"<td[^>]*>no: a pendant macro cuts no contour", row(page, "G41"))


def test_what_the_controller_sheet_departs_in_is_shown(app):
    shop = app.extensions["workshop"]
    changes = {("unsupported",): ["M60"], ("extra_words",): {"M98": "call"}, ("machine_moves",): False}
    keep(
        shop, "controller", "workshop", documents.write("controller", changes, shop.text("controller", "workshop")), ""
    )
    page = app.test_client().get("/help/words").text
    assert "the controller sheet lists it as unsupported" in row(page, "M60")
    assert "moves in machine coordinates are not understood" in row(page, "G53")
    assert "<td>your controller sheet</td>" in page
    assert page.count("<code>M98</code>") == 1


def test_the_dwell_reads_the_word_of_the_controller():
    reads = {info.word: letters for info, _, letters, _ in word_rows(Controller(dwell_word="S"))}
    assert reads["G4"] == "S"
    assert reads["G82"].split()[-1] == "P"


def test_all_that_a_sheet_may_say_of_a_word_is_told():
    words = {f"M{100 + number}": does for number, does in enumerate(EXTRA_WORDS)}
    assert [does for _, does in extra_word_rows(Controller(extra_words=words))] == list(EXTRA_WORDS.values())
