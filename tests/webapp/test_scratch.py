"""The scratch bench: examples of Help tried on the machine in force, and nothing of it kept until somebody says so."""

from __future__ import annotations

import html
import re

import pytest

from library import blocks, documents
from parser.proof.rules import RULES
from tests.bulk import in_turn

THROUGH = "G17 G21 G40 G49 G54 G90 G94\nG53 G0 X120 Y70"
FIELD = "step.1.lines"


def verdict(page):
    """The word of the verdict and what stands behind it."""
    return (
        re.sub(r"<[^>]*>|\s+", " ", re.search(r'id="verdict"[^>]*>(.*?)</p>', page, re.DOTALL)[1])
        .replace("  ", " ")
        .strip()
    )


def rows(shop):
    return {
        (kind, id): shop.text(kind, id)
        for kind in ("macro", "machine", "controller", "pendant")
        for id in shop.ids(kind)
    }


def lines(page):
    return html.unescape(re.search(r"<textarea[^>]*>\n?(.*?)</textarea>", page, re.DOTALL)[1])


def test_the_examples_of_a_rule_are_opened_from_its_page(client):
    page = client.get("/help/rules/crosses-keep-out").text
    for which in ("bad", "good"):
        address = f"/scratch?rule=crosses-keep-out&example={which}"
        assert html.escape(address) in page
        opened = client.get(address).text
        assert lines(opened).endswith(getattr(RULES["crosses-keep-out"].manual(), which))
        assert ('<a href="/help/rules/crosses-keep-out">crosses-keep-out</a>' in opened.split('id="results"')[1]) == (
            which == "bad"
        )


@pytest.mark.long
@in_turn(0, 3)
def test_every_example_of_every_rule_and_every_block_opens_and_leaves_nothing(client, shop):
    before, opened = rows(shop), 0
    for id, rule in RULES.items():
        for which in ("bad", "good"):
            if getattr(rule.manual(), which):
                assert client.get(f"/scratch?rule={id}&example={which}").status_code == 200, (id, which)
                opened += 1
    for id in blocks.REGISTRY:
        listed = f'href="/scratch?block={id}"' in client.get(f"/help/blocks/{id}").text
        assert client.get(f"/scratch?block={id}").status_code == (200 if listed else 404), id
        opened += listed
    assert opened > 60
    assert rows(shop) == before


@pytest.mark.parametrize("query", ["rule=none", "rule=crosses-keep-out&example=ugly", "block=none"])
def test_an_example_that_is_not_there_is_not_found(client, query):
    assert client.get(f"/scratch?{query}").status_code == 404


def test_lines_are_tried_with_and_without_scripts_and_kept_nowhere(client, shop):
    before = rows(shop)
    for headers in ({}, {"HX-Request": "true"}):
        page = client.post("/scratch", data={FIELD: THROUGH}, headers=headers).text
        assert "Refused" in page
        assert "crosses-keep-out" in page
        assert ("<html" in page) == (not headers)
    assert lines(client.post("/scratch", data={FIELD: "g53g0z-2", "do": "tidy"}).text) == "G53 G0 Z-2"
    assert rows(shop) == before


def start(page):
    return {axis: re.search(rf'name="at-{axis}" value="([^"]*)"', page)[1] for axis in "xyz"}


def shown_again(page):
    """What the form of a page would send but for its lines and buttons."""
    return {
        html.unescape(name): html.unescape(value)
        for name, value in re.findall(r'form="scratch-form" name="(usual|shown|elevation)" value="([^"]*)"', page)
    } | {f"at-{axis}": value for axis, value in start(page).items()}


def test_a_start_that_nobody_has_chosen_follows_the_lines_and_one_that_was_chosen_stays(client):
    first = client.post("/scratch", data={FIELD: "G21 G90\nG53 G0 Z-2"}).text
    assert "typical-start" not in first
    again = client.post("/scratch", data={FIELD: THROUGH} | shown_again(first)).text
    assert "typical-start" not in again
    chosen = client.post("/scratch", data={FIELD: THROUGH} | shown_again(again) | {"at-x": "33"}).text
    assert start(chosen)["x"] == "33"
    kept = client.post("/scratch", data={FIELD: f"{THROUGH}\nG4 P1"} | shown_again(chosen)).text
    assert start(kept)["x"] == "33"
    usual = client.post("/scratch", data={FIELD: THROUGH, "typical": "yes"} | shown_again(kept)).text
    assert start(usual) == start(again)


def test_a_finding_stays_drawn_until_its_line_goes_or_another_start_is_typed(client):
    first = client.post("/scratch", data={FIELD: THROUGH}).text
    key = re.search(r'name="show" value="([^"]*)"', first)[1]
    drawn = client.post("/scratch", data={FIELD: THROUGH, "show": key} | shown_again(first)).text
    assert "meets Vise" in drawn.split("drawing-heading")[2]
    kept = client.post("/scratch", data={FIELD: f"{THROUGH}\nG4 P1", "turn": "side"} | shown_again(drawn)).text
    assert "meets Vise" in kept.split("drawing-heading")[2]
    assert 'name="elevation" value="side"' in kept
    for change in ({FIELD: "G21 G90\nG53 G0 Z-2"}, {FIELD: THROUGH, "at-x": "1"}):
        gone = client.post("/scratch", data={FIELD: THROUGH} | shown_again(kept) | change).text
        assert "shown" not in shown_again(gone)
        assert 'name="elevation" value="side"' in gone


def test_a_start_that_is_no_number_is_told_beside_its_field(client):
    page = client.post("/scratch", data={FIELD: THROUGH, "at-x": "here"}).text
    assert "is not a number" in page
    assert start(page)["x"] == "here"


def test_saved_it_is_a_macro_of_these_lines_on_the_bench(client, shop):
    answer = client.post("/scratch", data={FIELD: THROUGH, "do": "save", "name": "Through the vise"})
    assert answer.headers["Location"] == "/bench/through-the-vise"
    macro = documents.parse("macro", shop.text("macro", "through-the-vise"))
    assert [(each.block, each.values["lines"]) for each in macro.step] == [("own-lines", THROUGH)]


def test_an_example_of_a_block_is_saved_as_its_step_and_as_lines_once_they_were_changed(client, shop):
    written = lines(client.get("/scratch?block=raise").text)
    for name, text, block in (("As it is", written, "raise"), ("Changed", f"{written}\nG4 P1", "own-lines")):
        client.post("/scratch?block=raise", data={FIELD: text, "do": "save", "name": name})
        macro = documents.parse("macro", shop.text("macro", name.lower().replace(" ", "-")))
        assert [each.block for each in macro.step] == [block]


def test_a_name_that_cannot_be_one_is_told_and_the_lines_are_still_there(client, shop):
    before = rows(shop)
    answer = client.post("/scratch", data={FIELD: THROUGH, "do": "save", "name": "!!"})
    assert answer.status_code == 422
    assert "Not saved." in answer.text
    assert lines(answer.text) == THROUGH
    assert rows(shop) == before


@pytest.mark.parametrize(
    "text", ["", "%", "\x00", "<b>&amp;", "é(", "G1 X" + "9" * 400, "\n\n\nG53 G0 Z-2\n\n", "\r\nG21\r\n"]
)
def test_any_text_may_be_tried(client, text):
    answer = client.post("/scratch", data={FIELD: text})
    assert answer.status_code in (200, 422)
    assert "<b>&" not in answer.text


@pytest.mark.parametrize("headers", [{}, {"HX-Request": "true"}])
def test_more_than_a_document_may_hold_takes_the_place_of_the_verdict_and_stays_in_the_field(client, headers):
    many = "G53 G0 Z-2\n" * 12_000
    answer = client.post("/scratch", data={FIELD: many}, headers=headers)
    assert answer.status_code == 200, "an answer to a script with an error would stand on the console"
    assert "A document takes at most 10,000 lines" in verdict(answer.text)
    assert headers or lines(answer.text) == many


def test_a_bench_without_lines_says_once_what_to_do_and_calls_nothing_wrong(client):
    for page in (client.get("/scratch").text, client.post("/scratch", data={FIELD: " \n"}).text):
        assert verdict(page).startswith("No lines yet Write or paste lines.")
        assert "is empty" not in page
        assert 'aria-invalid="true"' not in page


def test_fields_for_documents_say_how_much_they_take(client):
    for address in ("/scratch", "/shelf", "/sheets/machine"):
        assert re.search(r'<textarea[^>]* data-most-lines="10000" data-most-bytes="256000"', client.get(address).text)
