"""A shelf and a folder come to the same state, three-way, and nothing that somebody wrote is overwritten."""

import os
import random

import pytest

from library import documents
from library.share.folder import FolderError, export, sync
from library.store import Workshop
from tests.library.share.shops import LIFT, LOW, OWN, document
from tests.workshops import keep


@pytest.fixture
def shop(tmp_path):
    made = Workshop.open(tmp_path / "w")
    for id in made.ids("macro"):
        made.delete("macro", id)
    keep(made, "macro", "lift", LIFT)
    keep(made, "macro", "low", LOW)
    return made


@pytest.fixture
def folder(shop, tmp_path):
    """A folder that the shelf was exported to."""
    export(shop, tmp_path / "d")
    return tmp_path / "d"


def done(found):
    return {(each.id or each.file): each.done for each in found}


def texts(folder):
    return {path.name: path.read_text() for path in sorted(folder.iterdir())}


def test_export_writes_every_document_as_it_stands_and_nothing_else(shop, folder):
    assert texts(folder) == {"lift.toml": LIFT, "low.toml": LOW}
    assert done(sync(shop, folder)) == {}


def test_export_leaves_what_is_there_and_differs(shop, folder):
    (folder / "lift.toml").write_text(LIFT + "# by hand\n")
    found = export(shop, folder)
    assert done(found) == {"lift": "conflict"}
    assert "shelf sync" in found[0].why
    assert (folder / "lift.toml").read_text().endswith("# by hand\n")


def test_a_change_in_the_folder_comes_to_the_shelf_with_its_comments(shop, folder):
    changed = LIFT.replace("# as we do it here", "# as everybody does")
    (folder / "lift.toml").write_text(changed)
    assert done(sync(shop, folder)) == {"lift": "changed"}
    assert shop.text("macro", "lift") == changed
    assert shop.revisions("macro", "lift")[0].why == "synced with the folder d"


def test_a_change_on_the_shelf_goes_to_the_folder(shop, folder):
    keep(shop, "macro", "lift", LIFT + "# more\n")
    assert done(sync(shop, folder)) == {"lift": "written"}
    assert (folder / "lift.toml").read_text() == LIFT + "# more\n"


def test_changes_of_different_fields_on_both_sides_are_merged(shop, folder):
    (folder / "lift.toml").write_text(LIFT.replace("Up.", "Up and away."))
    keep(shop, "macro", "lift", LIFT.replace('"Lift"', '"Lift it"'))
    assert done(sync(shop, folder)) == {"lift": "merged"}
    both = documents.parse("macro", shop.text("macro", "lift"))
    assert (both.name, both.purpose) == ("Lift it", "Up and away.")
    assert (folder / "lift.toml").read_text() == shop.text("macro", "lift")
    assert done(sync(shop, folder)) == {}


def test_changes_of_one_field_on_both_sides_are_a_conflict_and_both_stay(shop, folder):
    one, other = LIFT.replace("Up.", "Up and away."), LIFT.replace("Up.", "Upwards.")
    (folder / "lift.toml").write_text(one)
    keep(shop, "macro", "lift", other)
    for _ in range(2):
        (found,) = sync(shop, folder)
        assert (found.done, found.left) == ("conflict", True)
        assert "both have changed purpose" in found.why
        assert ((folder / "lift.toml").read_text(), shop.text("macro", "lift")) == (one, other)


def test_a_conflict_is_over_once_both_are_alike(shop, folder):
    (folder / "lift.toml").write_text(LIFT.replace("Up.", "Up and away."))
    keep(shop, "macro", "lift", LIFT.replace("Up.", "Upwards."))
    sync(shop, folder)
    (folder / "lift.toml").write_text(shop.text("macro", "lift"))
    assert done(sync(shop, folder)) == {}
    keep(shop, "macro", "lift", LIFT)
    assert done(sync(shop, folder)) == {"lift": "written"}


def test_new_ones_go_either_way(shop, folder):
    (folder / "anything.toml").write_text(OWN)
    keep(shop, "macro", "fresh", document("fresh", {"block": "raise"}))
    assert done(sync(shop, folder)) == {"own": "added", "fresh": "written"}
    assert shop.text("macro", "own") == OWN
    assert "fresh.toml" in texts(folder)
    (folder / "anything.toml").write_text(OWN + "# more\n")
    assert done(sync(shop, folder)) == {"own": "changed"}, "its file keeps its name"


def test_one_taken_out_of_the_folder_is_taken_off_the_shelf_and_can_be_brought_back(shop, folder):
    (folder / "low.toml").unlink()
    assert done(sync(shop, folder)) == {"low": "taken-off"}
    assert shop.ids("macro") == ("lift",)
    assert shop.undo("macro", "low")
    assert shop.text("macro", "low") == LOW


def test_one_taken_off_the_shelf_is_taken_out_of_the_folder(shop, folder):
    shop.delete("macro", "low")
    assert done(sync(shop, folder)) == {"low": "removed"}
    assert list(texts(folder)) == ["lift.toml"]


@pytest.mark.parametrize("gone", ["shelf", "folder"])
def test_one_taken_out_on_one_side_and_changed_on_the_other_is_a_conflict(shop, folder, gone):
    if gone == "shelf":
        shop.delete("macro", "low")
        (folder / "low.toml").write_text(LOW + "# more\n")
    else:
        (folder / "low.toml").unlink()
        keep(shop, "macro", "low", LOW + "# more\n")
    (found,) = sync(shop, folder)
    assert (found.done, f"taken out of the {gone}" in found.why) == ("conflict", True)
    assert ("low" in shop.ids("macro"), "low.toml" in texts(folder)) == (gone != "shelf", gone == "shelf")


def test_both_new_and_different_is_a_conflict(shop, tmp_path):
    (tmp_path / "d").mkdir()
    (tmp_path / "d" / "lift.toml").write_text(LIFT + "# theirs\n")
    found = {each.id: each for each in sync(shop, tmp_path / "d")}
    assert (found["lift"].done, found["low"].done) == ("conflict", "written")
    assert "never synced" in found["lift"].why


def test_an_empty_folder_takes_nothing_off_the_shelf(shop, folder):
    for path in folder.iterdir():
        path.unlink()
    with pytest.raises(FolderError, match="holds none of the 2 macros"):
        sync(shop, folder)
    assert shop.ids("macro") == ("lift", "low")
    assert done(export(shop, folder)) == {"lift": "written", "low": "written"}


def test_a_folder_that_is_not_there_is_said(shop, tmp_path):
    with pytest.raises(FolderError, match="is not a folder"):
        sync(shop, tmp_path / "no")
    assert not (tmp_path / "no").exists()


def test_sheets_and_other_files_are_left_alone(shop, folder):
    (folder / "machine.toml").write_text(shop.text("machine", "workshop"))
    (folder / "README.md").write_text("ours")
    assert done(sync(shop, folder)) == {}


def test_a_file_that_cannot_be_read_is_told_and_its_macro_stays_on_the_shelf(shop, folder):
    (folder / "lift.toml").write_text("format = 3\n")
    keep(shop, "macro", "lift", LIFT + "# more\n")
    (found,) = sync(shop, folder)
    assert (found.file, found.done) == ("lift.toml", "unreadable")
    assert "lift" in shop.ids("macro")
    assert (folder / "lift.toml").read_text() == "format = 3\n"
    (folder / "lift.toml").write_text(LIFT)
    assert done(sync(shop, folder)) == {"lift": "written"}


def test_marks_of_a_merge_of_version_control_are_told_with_their_line(shop, folder):
    (folder / "lift.toml").write_text("<<<<<<< ours\n" + LIFT)
    (found,) = sync(shop, folder)
    assert (found.done, found.why.startswith("line 1:")) == ("unreadable", True)


def test_two_files_of_one_id_are_told(shop, folder):
    (folder / "more.toml").write_text(LIFT + "# more\n")
    (found,) = sync(shop, folder)
    assert (found.file, found.done) == ("more.toml", "unreadable")
    assert "as lift.toml has" in found.why


@pytest.mark.skipif(not hasattr(os, "symlink"), reason="a disk without links")
def test_a_link_is_not_followed(shop, folder, tmp_path):
    (tmp_path / "elsewhere.toml").write_text(OWN)
    (folder / "own.toml").symlink_to(tmp_path / "elsewhere.toml")
    (found,) = sync(shop, folder)
    assert (found.file, found.done) == ("own.toml", "unreadable")
    assert "own" not in shop.ids("macro")


def test_lines_that_version_control_has_ended_otherwise_are_no_change(shop, folder):
    (folder / "lift.toml").write_bytes(LIFT.replace("\n", "\r\n").encode())
    assert done(sync(shop, folder)) == {}
    keep(shop, "macro", "lift", LIFT + "# more\n")
    assert done(sync(shop, folder)) == {"lift": "written"}


def test_a_macro_that_cannot_be_read_on_the_shelf_is_told(shop, folder):
    keep(shop, "macro", "lift", "no macro")
    (found,) = sync(shop, folder)
    assert (found.id, found.done) == ("lift", "unreadable")
    assert (folder / "lift.toml").read_text() == LIFT


def test_two_workshops_share_one_folder_as_version_control_would(shop, folder, tmp_path):
    other = Workshop.open(tmp_path / "other")
    for id in other.ids("macro"):
        other.delete("macro", id)
    assert done(sync(other, folder)) == {"lift": "added", "low": "added"}
    keep(other, "macro", "lift", LIFT + "# by the other\n")
    sync(other, folder)
    assert done(sync(shop, folder)) == {"lift": "changed"}
    assert shop.text("macro", "lift") == LIFT + "# by the other\n"


def test_a_folder_that_cannot_be_written_is_said(shop, folder):
    keep(shop, "macro", "lift", LIFT + "# more\n")
    (folder / "lift.toml").unlink()
    (folder / "lift.toml").mkdir()
    with pytest.raises(FolderError, match="cannot be used"):
        sync(shop, folder)


@pytest.mark.parametrize("seed", range(30))
def test_whatever_two_people_do_both_sides_end_alike_or_are_left_as_they_were(shop, folder, seed):
    chance = random.Random(seed)
    for _ in range(6):
        for _ in range(chance.randrange(3)):
            _change(shop, folder, chance)
        before = {id: shop.text("macro", id) for id in shop.ids("macro")}, texts(folder)
        if not texts(folder):
            continue
        found = {each.id: each for each in sync(shop, folder)}
        on_shelf = {f"{id}.toml": shop.text("macro", id) for id in shop.ids("macro")}
        left = {f"{id}.toml" for id, each in found.items() if each.left}
        assert {name for name in {*on_shelf, *texts(folder)} if on_shelf.get(name) != texts(folder).get(name)} == left
        for name in left:
            assert (before[0].get(name.removesuffix(".toml")), before[1].get(name)) == (
                on_shelf.get(name),
                texts(folder).get(name),
            )


def _change(shop, folder, chance):
    id = chance.choice(["lift", "low", "own"])
    text = document(id, {"block": "raise"}, purpose=chance.choice("ab"), author=chance.choice("cd"))
    path = folder / f"{id}.toml"
    match chance.randrange(4):
        case 0:
            keep(shop, "macro", id, text)
        case 1 if id in shop.ids("macro"):
            shop.delete("macro", id)
        case 2:
            path.write_text(text)
        case _:
            path.unlink(missing_ok=True)
