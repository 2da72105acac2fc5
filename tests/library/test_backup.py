"""A workshop in one file: verified when written and before it is put back; what it replaces is kept."""

from __future__ import annotations

import hashlib
import json
import sqlite3
import zipfile

import pytest

from library import backup
from library.backup import BackupError
from library.store import FILE, StoreError, Workshop
from tests.workshops import keep


@pytest.fixture
def shop(tmp_path):
    found = Workshop.open(tmp_path / "workshop")
    keep(found, "macro", "park", "one")
    keep(found, "macro", "park", "two")
    return found


@pytest.fixture
def written(shop, tmp_path):
    backup.write(shop, tmp_path / "kept.zip")
    return tmp_path / "kept.zip"


def test_every_revision_comes_back(shop, written, tmp_path):
    assert backup.restore(written, tmp_path / "new") is None
    again = Workshop(tmp_path / "new")
    assert again.revisions("macro", "park") == shop.revisions("macro", "park")
    assert again.undo("macro", "park")
    assert again.text("macro", "park") == "one"
    assert [path.name for path in (tmp_path / "new").iterdir() if not path.name.startswith(FILE)] == []


def test_what_is_replaced_is_kept(shop, written):
    keep(shop, "macro", "park", "three")
    kept = backup.restore(written, shop.path)
    assert Workshop(shop.path).text("macro", "park") == "two"
    with sqlite3.connect(kept) as connection:
        assert connection.execute("SELECT count(*) FROM revisions WHERE text = 'three'").fetchone() == (1,)


def test_a_damaged_workshop_can_be_put_back_over(shop, written):
    shop.file.write_bytes(b"\x5a" * 10_000)
    with pytest.raises(StoreError, match="clickstop restore"):
        Workshop(shop.path)
    backup.restore(written, shop.path)
    assert Workshop(shop.path).text("macro", "park") == "two"


def test_a_backup_that_is_there_is_not_overwritten(shop, written):
    before = written.read_bytes()
    with pytest.raises(BackupError, match="is there already"):
        backup.write(shop, written)
    assert written.read_bytes() == before


def _with(written, name, content):
    with zipfile.ZipFile(written) as archive:
        files = {entry: archive.read(entry) for entry in archive.namelist()}
    with zipfile.ZipFile(written, "w") as archive:
        for entry, kept in ({**files, name: content}).items():
            archive.writestr(entry, kept)


@pytest.mark.parametrize(
    ("spoil", "told"),
    [
        (lambda path: path.write_bytes(path.read_bytes()[:-40]), "cannot be read"),
        (lambda path: path.write_bytes(b"no zip"), "cannot be read"),
        (lambda path: path.unlink(), "is not there"),
        (lambda path: _with(path, FILE, b"other"), "checksum is another"),
        (lambda path: _with(path, "more", b""), "no backup of a workshop"),
        (lambda path: _with(path, "backup.json", b"[" * 9000), "cannot be read"),
        (lambda path: _with(path, "backup.json", b"[]"), "cannot be read"),
        (lambda path: _with(path, "backup.json", json.dumps({"format": "x"}).encode()), "another version"),
    ],
)
def test_what_is_not_whole_is_refused_and_nothing_touched(shop, written, spoil, told):
    spoil(written)
    with pytest.raises(BackupError, match=told):
        backup.restore(written, shop.path)
    assert shop.text("macro", "park") == "two"


def test_a_damaged_file_within_a_backup_is_refused(shop, written):
    content = b"SQLite format 3\0" + b"\x5a" * 5000
    _with(written, FILE, content)
    about = {"format": backup.FORMAT, "sha256": hashlib.sha256(content).hexdigest()}
    _with(written, "backup.json", json.dumps(about).encode())
    with pytest.raises(BackupError, match="damaged"):
        backup.restore(written, shop.path)
    assert shop.text("macro", "park") == "two"


def _spoilt(shop, statement, *given):
    with sqlite3.connect(shop.file) as connection:
        connection.execute("PRAGMA journal_mode = DELETE")
        connection.execute(statement, given)


class TestADamagedWorkshop:
    def told(self, shop, tmp_path):
        with pytest.raises(BackupError, match="no backup of it is written: it could not be put back") as told:
            backup.write(shop, tmp_path / "kept.zip")
        assert not (tmp_path / "kept.zip").exists()
        assert len(str(told.value)) < 600
        return str(told.value)

    def test_gets_no_backup_that_could_not_be_put_back(self, shop, tmp_path):
        _spoilt(shop, "UPDATE revisions SET why = ''")
        content = bytearray(shop.file.read_bytes())
        content[-4096:] = bytes(4096)
        shop.file.write_bytes(content)
        assert "clickstop restore" in self.told(shop, tmp_path)

    def test_with_an_earlier_text_that_is_none_gets_none_either(self, shop, tmp_path):
        _spoilt(shop, "UPDATE revisions SET text = CAST(? AS TEXT) WHERE text = 'one'", b"\xff\xfe" * 5000)
        assert str(shop.file) in self.told(shop, tmp_path)

    def test_with_a_text_whose_place_on_the_disk_was_wiped_gets_none_either(self, shop, tmp_path):
        _spoilt(shop, "UPDATE revisions SET text = CAST(? AS TEXT) WHERE text = 'two'", bytes(5000))
        assert 'the macro "park" holds zero bytes' in self.told(shop, tmp_path)

    def test_whose_macro_stands_nowhere_gets_none_either(self, shop, tmp_path):
        _spoilt(shop, "UPDATE documents SET head = 10000 WHERE kind = 'macro'")
        assert "no revision" in self.told(shop, tmp_path)


def test_a_text_that_is_none_is_not_told_in_full(shop):
    _spoilt(shop, "UPDATE revisions SET text = CAST(? AS TEXT) WHERE text = 'two'", b"\xff\xfe" * 5000)
    with pytest.raises(StoreError, match=r"damaged.*\.\.\.\).*clickstop restore") as told:
        shop.text("macro", "park")
    assert len(str(told.value)) < 400
