"""Working files that a killed process has left are cleared away later; whatever may be somebody's stays."""

from __future__ import annotations

import os
import time

import pytest

from library import backup, leftovers, pack
from library.store import FILE, StoreError, Workshop

NOW = time.time()
LONG_AGO = NOW - 2 * leftovers.LONGEST_WRITE

FILES = (f"{FILE}.{'0a' * 16}.new", f"{FILE}.{'0a' * 16}.new-journal", f"{leftovers.PACK_PREFIX}ab12_xyz")
FOLDERS = {".clickstop-ab12_xyz": FILE, ".clickstop-writing-ab12_xyz": "fresh", ".clickstop-empty": ""}


def leave(directory, moment=LONG_AGO):
    """Everything that a process may leave when it is killed, last touched at a moment."""
    directory.mkdir(exist_ok=True)
    made = [directory / name for name in FILES]
    for name, inside in FOLDERS.items():
        (directory / name).mkdir()
        made += [directory / name / inside] if inside else []
    for each in made:
        each.write_text("half of it")
    every = [*made, *(directory / name for name in FOLDERS)]
    for each in every:
        os.utime(each, (moment, moment))
    return [directory / name for name in (*FILES, *FOLDERS)]


def there(left):
    return [each.name for each in left if each.exists()]


def test_what_is_old_goes_when_the_workshop_is_opened(tmp_path):
    Workshop.open(tmp_path / "shop")
    left = leave(tmp_path / "shop")
    Workshop.open(tmp_path / "shop")
    assert there(left) == []


def test_what_may_still_be_at_work_stays(tmp_path):
    Workshop.open(tmp_path / "shop")
    left = leave(tmp_path / "shop", NOW)
    Workshop.open(tmp_path / "shop")
    assert there(left) == [each.name for each in left]


def test_a_folder_in_which_something_is_newer_stays(tmp_path):
    left = leave(tmp_path)
    fresh = tmp_path / ".clickstop-ab12_xyz"
    os.utime(fresh / FILE, (NOW, NOW))
    os.utime(fresh, (LONG_AGO, LONG_AGO))
    leftovers.tidy(tmp_path)
    assert there(left) == [fresh.name]


@pytest.mark.parametrize(
    "name",
    [
        f"{FILE}.before-1",
        f"{FILE}-wal",
        "last-pack.zip",
        f"{FILE}.mine.new",
        ".last-pack.zip-of-yesterday-kept",
        ".clickstop-notes.txt",
        "pack.before-1",
    ],
)
def test_a_file_of_another_name_stays_however_old(tmp_path, name):
    kept = tmp_path / name
    kept.write_text("somebody's")
    os.utime(kept, (LONG_AGO, LONG_AGO))
    leftovers.tidy(tmp_path)
    assert kept.read_text() == "somebody's"


def test_a_folder_that_holds_anything_else_stays(tmp_path):
    folder = tmp_path / ".clickstop-mine"
    folder.mkdir()
    (folder / "letter.txt").write_text("somebody's")
    for each in (folder / "letter.txt", folder):
        os.utime(each, (LONG_AGO, LONG_AGO))
    leftovers.tidy(tmp_path)
    assert (folder / "letter.txt").read_text() == "somebody's"


def test_a_link_is_not_followed(tmp_path):
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / FILE).write_text("somebody's")
    link = tmp_path / ".clickstop-link"
    link.symlink_to(elsewhere)
    os.utime(elsewhere / FILE, (LONG_AGO, LONG_AGO))
    os.utime(elsewhere, (LONG_AGO, LONG_AGO))
    leftovers.tidy(tmp_path)
    assert (elsewhere / FILE).read_text() == "somebody's"


def test_backup_restore_and_take_clear_where_they_write(tmp_path):
    shop = Workshop.open(tmp_path / "shop")
    for number, deed in enumerate(
        (
            lambda at: backup.write(shop, at / "kept.zip"),
            lambda at: backup.restore(tmp_path / "0" / "kept.zip", at),
            lambda at: pack.write(pack.take(shop), at / "taken"),
        )
    ):
        at = tmp_path / str(number)
        left = leave(at)
        deed(at)
        assert there(left) == []


def test_a_restore_that_was_killed_does_not_keep_the_folder_from_being_used(tmp_path):
    leave(tmp_path / "shop", NOW)
    assert Workshop.open(tmp_path / "shop").ids("macro")


def test_another_file_in_it_still_does(tmp_path):
    leave(tmp_path / "shop")
    (tmp_path / "shop" / "letter.txt").write_text("somebody's")
    with pytest.raises(StoreError, match=r"letter\.txt"):
        Workshop.open(tmp_path / "shop")
