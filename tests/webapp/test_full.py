"""How many macros a workshop holds: met before one more is stored, whichever way it comes in."""

from __future__ import annotations

import pytest

from library import limits, store
from library.store import FullError, Workshop
from tests.webapp.rendered import hidden
from webapp import create_app

WAYS = {
    "made": ("/shelf", "/shelf/new", {"name": "One more"}),
    "added": ("/shelf", "/shelf/add", {"text": "PARK"}),
    "copied": ("/shelf/park", "/shelf/park/duplicate", {}),
    "brought back": ("/shelf", "/shelf/home/bring-back", {}),
}


@pytest.fixture
def shop(tmp_path):
    return Workshop.open(tmp_path / "shop")


@pytest.fixture
def full(shop, monkeypatch):
    """A workshop with as many macros as it may have, and one that was taken off before."""
    shop.delete("macro", "home")
    few = limits.Allowance("a workshop", len(shop.ids("macro")), "macros", "as many as the starter has")
    monkeypatch.setattr(store, "MACROS", few)
    return shop


def test_a_thousand_macros_and_more_are_within_it():
    assert limits.MACROS.most >= 1000
    assert limits.MACROS in limits.TABLE


def test_one_below_it_there_is_room_for_one(shop, monkeypatch):
    few = limits.Allowance("a workshop", len(shop.ids("macro")) + 1, "macros", "one more than the starter has")
    monkeypatch.setattr(store, "MACROS", few)
    assert shop.create("macro", "one", lambda id: "text", "made") == "one"
    with pytest.raises(FullError, match=r"takes at most \d+ macros, and it holds \d+; take some off the shelf"):
        shop.create("macro", "two", lambda id: "text", "made")


def test_nothing_is_stored_beyond_it_by_any_call(full):
    before = full.ids("macro")
    for more in (
        lambda: full.create("macro", "more", lambda id: "text", "made"),
        lambda: full.save("macro", "more", "text", "made", seen=None),
        lambda: full.undo("macro", "home"),
    ):
        with pytest.raises(FullError):
            more()
    assert full.ids("macro") == before


def test_what_is_there_already_is_saved_and_undone_as_ever(full):
    head = full.head("macro", "park")
    full.save("macro", "park", head.text + "# mine\n", "changed", seen=head.number)
    assert full.undo("macro", "park")
    assert full.redo("macro", "park")
    full.save("issue", "1", "text", "another kind", seen=None)


def test_one_taken_off_makes_room_for_another(full):
    full.delete("macro", "park")
    assert full.undo("macro", "home")


@pytest.mark.parametrize("way", WAYS)
def test_the_page_says_so_with_what_was_typed(full, way):
    client = create_app(full.path).test_client()
    path, address, sent = WAYS[way]
    sent = {name: full.text("macro", "park") if value == "PARK" else value for name, value in sent.items()}
    before = full.ids("macro")
    answer = client.post(address, data=hidden(client, path) | sent)
    assert answer.status_code == 422
    assert "he shelf is full: a workshop takes at most" in answer.text
    assert full.ids("macro") == before
    if "name" in sent:
        assert 'value="One more"' in answer.text
