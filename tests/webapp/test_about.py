"""Purpose, author, licence and tags of a macro, edited on its page."""

from __future__ import annotations

import re
import tomllib

import pytest

from library import documents
from tests.workshops import keep

ABOUT = {"purpose": "Out of the way", "author": "A. Miller", "licence": "CC-BY-4.0", "tags": "park, corner , park,"}


def send(client, shop, seen=None, **changes):
    head = shop.head("macro", "park")
    macro = documents.parse("macro", head.text)
    held = {"purpose": macro.purpose, "author": macro.author, "licence": macro.licence, "tags": ", ".join(macro.tags)}
    form = held | changes | {"seen": str(head.number if seen is None else seen)}
    return client.post("/shelf/park/about", data=form)


def kept(shop):
    return tomllib.loads(shop.text("macro", "park"))


def test_all_four_are_saved_in_one_revision_that_says_so(client, shop):
    assert send(client, shop, **ABOUT).status_code == 302
    found = kept(shop)
    assert {key: found[key] for key in ("purpose", "author", "licence")} == {
        key: ABOUT[key] for key in ("purpose", "author", "licence")
    }
    assert found["tags"] == ["park", "corner"]
    newest = shop.revisions("macro", "park")[0]
    assert newest.why == "Changed purpose, author, licence and tags"
    assert 'value="A. Miller"' in client.get("/shelf/park").text


def test_what_was_not_changed_is_not_written(client, shop):
    before = shop.text("macro", "park")
    send(client, shop)
    assert shop.text("macro", "park") == before
    send(client, shop, author="Me")
    assert "licence" not in kept(shop) or "licence" in before


def test_no_tags_take_the_key_out(client, shop):
    send(client, shop, tags="one, two")
    send(client, shop, tags=" , ")
    assert "tags" not in kept(shop)


def test_what_another_page_changed_meanwhile_is_merged(client, shop):
    seen = shop.head("macro", "park").number
    keep(shop, "macro", "park", documents.write("macro", {("name",): "Corner"}, shop.text("macro", "park")))
    assert send(client, shop, seen, author="Me").status_code == 302
    assert (kept(shop)["name"], kept(shop)["author"]) == ("Corner", "Me")


def test_the_same_field_changed_twice_shows_both_and_saves_on_demand(client, shop):
    seen = shop.head("macro", "park").number
    keep(shop, "macro", "park", documents.write("macro", {("author",): "Theirs"}, shop.text("macro", "park")))
    answer = send(client, shop, seen, author="Mine")
    assert answer.status_code == 409
    assert "By now it says “Theirs”." in answer.text
    assert 'value="Mine"' in answer.text
    assert kept(shop)["author"] == "Theirs"
    assert send(client, shop, author="Mine").status_code == 302
    assert kept(shop)["author"] == "Mine"


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("author", "x" * 2001),
        ("licence", "a\x07b"),
        ("tags", ", ".join(f"t{n}" for n in range(51))),
        ("tags", "y" * 201),
    ],
)
def test_what_cannot_be_used_is_told_beside_its_field_and_kept(client, shop, field, value):
    before = shop.text("macro", "park")
    answer = send(client, shop, **{field: value})
    assert answer.status_code == 422
    assert f'id="about-{field}"' in answer.text
    assert 'aria-invalid="true"' in answer.text
    assert shop.text("macro", "park") == before


def test_a_form_that_does_not_say_what_it_has_seen_saves_nothing(client, shop):
    before = shop.text("macro", "park")
    assert client.post("/shelf/park/about", data={"author": "Me"}).status_code == 409
    assert shop.text("macro", "park") == before


def test_a_macro_that_cannot_be_read_has_no_such_form(client, shop):
    keep(shop, "macro", "park", "spoilt = ")
    assert "about-author" not in client.get("/shelf/park").text


def test_a_macro_that_names_no_licence_is_said_to_have_the_same_one_on_the_shelf_and_in_a_bundle(client, shop):
    text = shop.text("macro", "park")
    keep(shop, "macro", "park", "".join(line for line in text.splitlines(True) if not line.startswith("licence")), "x")
    assert "<dt>Licence</dt><dd>CC0-1.0</dd>" in client.get("/shelf/park").text
    assert re.search(r"Park <span[^>]*>CC0-1\.0", client.get("/review").text)
