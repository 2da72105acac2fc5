"""The workshop file: every revision kept, undo and redo, and clear words when it cannot be used."""

import sqlite3
from concurrent.futures import ThreadPoolExecutor

import pytest

from library import starter
from library.store import FILE, StoreError, Workshop
from tests.workshops import keep


@pytest.fixture
def shop(tmp_path):
    return Workshop.open(tmp_path / "new" / "workshop")


def current(shop):
    return [revision.why for revision in shop.revisions("macro", "park") if revision.current]


def test_a_missing_directory_becomes_the_starter_workshop(shop):
    assert set(shop.ids("macro")) == set(starter.macros())
    assert shop.text("machine", "workshop") == starter.text("machine.toml")
    assert [path.name for path in shop.path.iterdir()] == [FILE]


def test_an_existing_workshop_is_opened_as_it_was_left(shop):
    keep(shop, "macro", "park", "mine", "typed")
    assert Workshop.open(shop.path).text("macro", "park") == "mine"
    assert Workshop(shop.path).text("macro", "park") == "mine"


def test_the_sheets_come_as_models_with_the_digests_of_their_texts(shop):
    found = shop.bench()
    assert (found.machine.name, found.pendant.name) == ("Workshop mill", "Hand pendant")
    assert set(found.digests) == {"machine", "controller", "pendant"}
    assert all(len(digest) == 64 for digest in found.digests.values())


def test_undo_and_redo_walk_along_the_revisions(shop):
    keep(shop, "macro", "park", "one", "first")
    keep(shop, "macro", "park", "two", "second")
    assert shop.undo("macro", "park")
    assert shop.text("macro", "park") == "one"
    assert shop.undo("macro", "park")
    assert not shop.can_undo("macro", "park")
    assert not shop.undo("macro", "park")
    assert shop.text("macro", "park") == starter.macros()["park"]
    assert shop.redo("macro", "park")
    assert shop.redo("macro", "park")
    assert not shop.can_redo("macro", "park")
    assert not shop.redo("macro", "park")
    assert shop.text("macro", "park") == "two"


def test_saving_after_an_undo_clears_redo_and_drops_no_revision(shop):
    for text in ("one", "two"):
        keep(shop, "macro", "park", text, text)
    shop.undo("macro", "park")
    keep(shop, "macro", "park", "three", "three")
    assert not shop.can_redo("macro", "park")
    assert [revision.text for revision in shop.revisions("macro", "park")][:3] == ["three", "two", "one"]
    shop.undo("macro", "park")
    assert shop.text("macro", "park") == "one"
    assert current(shop) == ["one"]


def test_saving_the_same_text_again_makes_no_revision(shop):
    keep(shop, "macro", "park", shop.text("macro", "park"), "nothing new")
    assert len(shop.revisions("macro", "park")) == 1
    assert not shop.can_undo("macro", "park")


def test_a_text_that_is_no_good_document_is_kept_all_the_same(shop):
    keep(shop, "macro", "park", "half a li", "typed")
    assert shop.text("macro", "park") == "half a li"


def test_a_deleted_document_is_gone_and_comes_back_with_undo(shop):
    shop.delete("macro", "park")
    assert "park" not in shop.ids("macro")
    assert shop.deleted("macro") == ("park",)
    with pytest.raises(StoreError, match=r'there is no macro "park" in this workshop; it has above-work'):
        shop.text("macro", "park")
    assert shop.undo("macro", "park")
    assert shop.text("macro", "park") == starter.macros()["park"]


def test_a_document_that_never_was_has_no_text_and_no_history(shop):
    with pytest.raises(StoreError, match=r'there is no macro "none"'):
        shop.text("macro", "none")
    with pytest.raises(StoreError, match=r'there is no macro "none"'):
        shop.delete("macro", "none")
    assert shop.revisions("macro", "none") == ()
    assert not shop.undo("macro", "none")
    assert not shop.can_redo("macro", "none")


def test_a_revision_says_why_and_when(shop):
    keep(shop, "macro", "park", "one", "raised first")
    newest = shop.revisions("macro", "park")[0]
    assert (newest.why, newest.text, newest.current) == ("raised first", "one", True)
    assert newest.saved.endswith("+00:00")


def test_many_threads_lose_nothing(shop):
    with ThreadPoolExecutor(8) as pool:
        list(pool.map(lambda number: shop.change("macro", "park", lambda _: (f"text {number}", "thread")), range(40)))
    texts = {revision.text for revision in shop.revisions("macro", "park")}
    assert {f"text {number}" for number in range(40)} <= texts
    while shop.undo("macro", "park"):
        pass
    assert shop.text("macro", "park") == starter.macros()["park"]


def test_opening_at_the_same_time_makes_one_workshop(tmp_path):
    with ThreadPoolExecutor(6) as pool:
        shops = list(pool.map(lambda _: Workshop.open(tmp_path / "w"), range(6)))
    assert len({shop.ids("macro") for shop in shops}) == 1
    assert len(shops[0].revisions("macro", "park")) == 1


def refused(call):
    with pytest.raises(StoreError) as caught:
        call()
    assert "\n" not in str(caught.value)
    return str(caught.value)


def test_a_directory_with_other_things_in_it_is_left_alone(tmp_path):
    (tmp_path / "letter.txt").write_text("Dear")
    assert "holds other files (letter.txt) and no workshop" in refused(lambda: Workshop.open(tmp_path))
    assert [path.name for path in tmp_path.iterdir()] == ["letter.txt"]


def test_a_file_is_no_directory(tmp_path):
    (tmp_path / "file").write_text("x")
    assert "is not a directory" in refused(lambda: Workshop.open(tmp_path / "file"))
    assert "is not a directory" in refused(lambda: Workshop.open(tmp_path / "file" / "below"))


def test_a_directory_that_cannot_be_made_is_said():
    assert "cannot be used for a workshop" in refused(lambda: Workshop.open("/proc/none/workshop"))


def test_a_damaged_file_is_said(tmp_path):
    (tmp_path / FILE).write_bytes(b"this is not a database" * 100)
    assert "is damaged or not a workshop" in refused(lambda: Workshop.open(tmp_path))


def test_another_database_is_not_taken_for_a_workshop(tmp_path):
    connection = sqlite3.connect(tmp_path / FILE)
    connection.execute("CREATE TABLE songs (name TEXT)")
    connection.close()
    assert "is not a workshop of this program" in refused(lambda: Workshop.open(tmp_path))


def test_a_workshop_of_a_newer_program_is_not_touched(shop):
    connection = sqlite3.connect(shop.file)
    connection.execute("PRAGMA user_version = 9")
    connection.close()
    assert "was written by a newer Clickstop; update the program" in refused(lambda: Workshop.open(shop.path))


def test_a_workshop_whose_file_was_taken_away_is_said(shop):
    shop.file.unlink()
    assert "there is no workshop in" in refused(lambda: shop.ids("macro"))
    assert "there is no workshop in" in refused(lambda: Workshop(shop.path))
