"""The workshop file: every revision kept, undo and redo, and clear words when it cannot be used."""

import io
import sqlite3
import zipfile
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from contextlib import closing
from multiprocessing import get_context

import pytest

from library import backup, documents, starter, store_file
from library.merging import ClashError
from library.store import FILE, DamagedError, StoreError, TakenError, Workshop
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


class TestSaving:
    """Whoever saves says which revision was seen; comparing and saving are one."""

    def test_a_save_on_an_older_revision_is_merged(self, shop):
        seen = shop.head("macro", "park")
        shop.change("macro", "park", lambda head: (head.text.replace('name = "Park"', 'name = "Away"'), "renamed"))
        shop.save("macro", "park", seen.text.replace("safe.z", "safe.z - 1 mm"), "lower", seen=seen.number)
        assert 'name = "Away"' in shop.text("macro", "park")
        assert "safe.z - 1 mm" in shop.text("macro", "park")

    def test_a_clash_saves_nothing_and_holds_both_texts(self, shop):
        seen = shop.head("macro", "park")
        mine, theirs = (seen.text.replace('name = "Park"', f'name = "{name}"') for name in ("Mine", "Theirs"))
        shop.save("macro", "park", theirs, "renamed", seen=seen.number)
        with pytest.raises(ClashError, match="name changed elsewhere meanwhile") as clash:
            shop.save("macro", "park", mine, "renamed", seen=seen.number)
        assert (clash.value.now, clash.value.mine) == (theirs, mine)
        assert shop.text("macro", "park") == theirs

    def test_two_good_changes_that_do_not_go_together_are_a_clash(self, shop):
        seen = shop.head("machine", "workshop")
        shop.save("machine", "workshop", seen.text.replace("[0.0, 260.0]", "[0.0, 70.0]"), "", seen=seen.number)
        mine = documents.write("machine", {("margins", "travel"): 40.0}, seen.text)
        with pytest.raises(ClashError, match="the text"):
            shop.save("machine", "workshop", mine, "", seen=seen.number)

    def test_a_new_document_needs_an_id_that_is_free(self, shop):
        with pytest.raises(TakenError, match='a macro "park" already'):
            shop.save("macro", "park", "x", "", seen=None)

    def test_a_revision_of_another_document_was_not_seen(self, shop):
        with pytest.raises(StoreError, match="no revision"):
            shop.save("macro", "park", "x", "", seen=shop.head("macro", "home").number)

    def test_an_id_is_given_once_even_where_the_macro_was_deleted(self, shop):
        shop.delete("macro", "park")
        assert shop.create("macro", "park", lambda id: f"text of {id}", "made") == "park-2"
        assert shop.text("macro", "park-2") == "text of park-2"

    def test_a_long_id_with_a_number_is_still_an_id(self, shop):
        for _ in range(2):
            name = shop.create("macro", "a" * 60, lambda id: id, "made")
        assert name == "a" * 58 + "-2"

    def test_what_an_edit_raises_saves_nothing(self, shop):
        def fail(head):
            raise KeyError(head.number)

        with pytest.raises(KeyError):
            shop.change("macro", "park", fail)
        assert len(shop.revisions("macro", "park")) == 1

    def test_undo_of_something_newer_than_what_was_seen_does_nothing(self, shop):
        seen = shop.head("macro", "park").number
        shop.change("macro", "park", lambda _: ("newer", ""))
        assert not shop.undo("macro", "park", seen=seen)
        assert shop.text("macro", "park") == "newer"
        with pytest.raises(ClashError):
            shop.delete("macro", "park", seen=seen)

    def test_macros_made_at_once_are_all_there(self, shop):
        with ThreadPoolExecutor(8) as pool:
            ids = list(pool.map(lambda at: shop.create("macro", "new", lambda id: f"{id} {at}", ""), range(16)))
        assert len(set(ids)) == 16
        assert {shop.text("macro", id) for id in ids} == {f"{id} {at}" for at, id in enumerate(ids)}

    def test_fields_changed_by_several_processes_at_once_are_all_there(self, shop):
        with ProcessPoolExecutor(4, mp_context=get_context("spawn")) as pool:
            list(pool.map(_set_fields, [str(shop.path)] * 4, ("x", "y", "z", "name")))
        sheet = shop.bench().machine_sheet
        assert [shop.bench().machine.axis(name).rapid for name in "xyz"] == [909.0, 909.0, 909.0]
        assert sheet.name == "name 9"


def _set_fields(path, field):
    """Change one field ten times, each time from a page that was loaded before the others have saved."""
    shop = Workshop(path)
    for turn in range(10):
        seen = shop.head("machine", "workshop")
        where, value = (("name",), f"name {turn}") if field == "name" else (("axes", field, "rapid"), 900.0 + turn)
        text = documents.write("machine", {where: value}, seen.text)
        shop.save("machine", "workshop", text, f"{field} {turn}", seen=seen.number)


class TestADamagedStore:
    def test_a_revision_that_is_its_own_predecessor_ends(self, shop):
        with sqlite3.connect(shop.file) as connection:
            connection.execute("UPDATE revisions SET previous = number WHERE kind = 'macro' AND id = 'park'")
        assert shop.can_redo("macro", "park") in (True, False)
        assert [each.text for each in shop.revisions("macro", "park")] == [starter.macros()["park"]]

    def test_text_that_is_not_utf_8_is_told_as_damage_and_the_rest_can_be_read(self, shop):
        with sqlite3.connect(shop.file) as connection:
            connection.execute("UPDATE revisions SET text = CAST(X'FF80' AS TEXT) WHERE kind = 'macro' AND id = 'park'")
        with pytest.raises(DamagedError, match="damaged"):
            shop.text("macro", "park")
        found = {(kind, id) for kind, id, _ in shop.readable()}
        assert ("macro", "home") in found
        assert ("macro", "park") not in found
        assert ("machine", "workshop") in found

    def test_a_file_with_a_damaged_page_is_told_as_damage(self, shop):
        with sqlite3.connect(shop.file) as connection:
            connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        content = bytearray(shop.file.read_bytes())
        content[4096:] = b"\x5a" * (len(content) - 4096)
        shop.file.write_bytes(content)
        with pytest.raises(DamagedError, match="clickstop restore"):
            shop.text("macro", "park")
        assert list(shop.readable()) == []

    def test_a_layout_that_is_not_utf_8_is_told_as_damage(self, shop):
        with sqlite3.connect(shop.file) as connection:
            connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        content = shop.file.read_bytes()
        assert b"CREATE TABLE documents" in content
        shop.file.write_bytes(content.replace(b"CREATE TABLE documents", b"CRE\x8fTE TABLE documents"))
        with pytest.raises(DamagedError, match="clickstop restore"):
            shop.text("macro", "park")
        assert list(shop.readable()) == []

    def test_documents_that_are_there_twice_are_both_offered_under_names_of_their_own(self, shop):
        with sqlite3.connect(shop.file) as connection:
            connection.execute("CREATE TABLE loose AS SELECT * FROM documents")
            connection.execute("INSERT INTO loose SELECT * FROM documents WHERE kind IN ('machine', 'macro')")
            connection.execute("DROP TABLE documents")
            connection.execute("ALTER TABLE loose RENAME TO documents")
        with zipfile.ZipFile(io.BytesIO(backup.salvage(shop))) as archive:
            names = archive.namelist()
        assert len(set(names)) == len(names)
        assert {"machine.toml", "machine-2.toml", "macros/park.toml", "macros/park-2.toml"} <= set(names)

    def test_a_store_that_another_program_holds_is_told_as_that(self, shop, monkeypatch):
        monkeypatch.setattr(store_file, "_WAIT", 0.05)
        with closing(sqlite3.connect(shop.file, isolation_level=None)) as other:
            other.execute("BEGIN EXCLUSIVE")
            with pytest.raises(StoreError, match="in use by another program"):
                shop.change("macro", "park", lambda _: ("x", ""))
