"""Help is searched from every page: the best first, a plain line each, and nothing of what is asked is believed."""

from __future__ import annotations

import html
import re

import pytest

from library import blocks
from parser.proof.rules import RULES
from tests.browser.pages import EVERY_PAGE
from tests.bulk import in_turn
from webapp.pages import searching
from webapp.pages.searching import HelpPiece, search
from webapp.views import help as help_pages

RESULT = re.compile(
    r'<li><a href="(.*?)">(.*?)</a> <span class="kind">(.*?)</span>\s*<span class="line">(.*?)</span>', re.DOTALL
)


def found(client, asked):
    answer = client.get("/help/search", query_string={"q": asked})
    assert answer.status_code == 200
    results = answer.text.partition('<ol class="search-results">')[2]
    return [tuple(html.unescape(part) for part in each) for each in RESULT.findall(results)]


@pytest.mark.parametrize(
    ("asked", "first"),
    [
        ("G53", "/help/words#G53"),
        ("crosses-keep-out", "/help/rules/crosses-keep-out"),
        ("proved twice", "/help/proof#twice"),
        ("stick_out", "/help/documents/machine#keys-6"),
        ("dwell", "/help/blocks/dwell"),
        ("run-on", "/help/motion#run-on"),
        ("How do I share macros?", "/help/sharing"),
        ("letting go", "/help/rules/release-does-not-stop"),
    ],
)
def test_what_is_asked_for_by_its_name_comes_first(client, asked, first):
    assert found(client, asked)[0][0].split("#")[0] == first.split("#")[0]
    assert first in [each[0] for each in found(client, asked)[:3]]


@pytest.mark.long
@in_turn(2, 3)
def test_every_block_and_every_rule_is_found_by_its_id(client):
    for path, ids in (("/help/blocks", blocks.REGISTRY), ("/help/rules", RULES)):
        for id in ids:
            assert f"{path}/{id}" in [each[0] for each in found(client, id)[:3]], id


def test_each_result_goes_to_a_place_that_is_there(client):
    addresses = {each[0] for asked in ("macro", "tool", "vise", "G", "check", "limit") for each in found(client, asked)}
    assert len(addresses) > 50
    for address in addresses:
        path, _, anchor = address.partition("#")
        page = client.get(path)
        assert page.status_code == 200, address
        assert not anchor or f'id="{anchor}"' in page.text, address


def test_a_line_shows_the_words_that_were_asked_marked(client):
    line = found(client, "braking")[0][3]
    assert "<mark>braking</mark>" in line
    assert len(re.sub("<.*?>", "", line)) < 1.5 * searching.LONGEST


def test_plurals_and_other_endings_are_no_other_words(client):
    assert found(client, "landmarks")[0][0] == found(client, "landmark")[0][0]


def test_where_no_page_has_all_the_words_those_with_some_are_shown(client):
    assert found(client, "vise zzzq")


def test_nothing_found_says_what_to_try(client):
    answer = client.get("/help/search?q=zzzq")
    assert "Nothing in Help fits" in answer.text
    assert not found(client, "zzzq")


@pytest.mark.parametrize(
    "asked", ["", "   ", "!!!", "\x00", "<script>alert(1)</script>", "a" * 5000, "é ü 刀", "[[", "%"]
)
def test_anything_may_be_asked(client, asked):
    answer = client.get("/help/search", query_string={"q": asked})
    assert answer.status_code == 200
    assert "<script>alert" not in answer.text


def test_no_more_than_a_page_of_them_is_shown(client):
    assert len(found(client, "macro")) == searching.MOST
    assert f"The {searching.MOST} that fit" in client.get("/help/search?q=macro").text


def test_what_stands_in_a_title_comes_before_what_stands_in_a_text():
    entries = [HelpPiece("One", "Help", "/1", "about a vise " * 3), HelpPiece("The vise", "Help", "/2", "nothing")]
    assert [each.entry.url for each in search("vise", entries)] == ["/2", "/1"]


def test_a_rare_word_counts_for_more_than_a_common_one():
    common = [HelpPiece(f"Part {number}", "Help", f"/{number}", "macro") for number in range(9)]
    rare = HelpPiece("Rare", "Help", "/rare", "macro chatter")
    assert search("macro chatter", [*common, rare])[0].entry is rare
    assert len(search("macro chatter", [*common, rare])) == 1


def test_every_page_has_the_field_and_it_needs_no_script(client):
    for path in EVERY_PAGE:
        page = client.get(path).text
        assert '<form role="search" class="help-search" action="/help/search">' in page, path
        assert page.count('id="search-help"') == 1, path


def test_every_heading_of_a_topic_can_be_gone_to(client):
    for topic in help_pages.TOPICS.values():
        page = client.get(f"/help/{topic.name}").text
        anchors = re.findall(r'<h2 id="(.*?)"', page)
        assert "<h2>" not in page, topic.name
        assert len(anchors) == len(set(anchors)), topic.name
