"""Macros come in bundles, packs, backups and documents, several files at once, and each says what it is."""

import hashlib
import json
import sqlite3
from contextlib import closing

import pytest

from library import archive, backup, pack
from library.share.incoming import IncomingError, incoming
from library.store import Workshop
from tests.library import test_pack
from tests.library.share.shops import LIFT, LOW, document, made


def ids(*files):
    return [each.id for each in incoming(files).macros]


def test_a_bundle_brings_its_macros_with_what_was_proved_there():
    come = incoming([("b.zip", made("present"))])
    assert [(each.id, each.asked) for each in come.macros] == [("lift", False), ("present", True)]
    assert come.macros[0].there.verdict == "proved"
    (source,) = come.sources
    assert (source.kind, source.home.machine, source.home.landmarks["safe.z"]) == ("bundle", "Mill", -2.0)


def test_a_pack_brings_the_documents_in_it_and_its_machine():
    content = pack.zipped(test_pack.made())
    come = incoming([("p.zip", content)])
    assert [each.id for each in come.macros] == ["lift", "present"]
    assert (come.sources[0].kind, come.sources[0].home.machine) == ("pack", "Mill")


def test_a_backup_brings_every_macro_as_it_stands(tmp_path):
    shop = Workshop.open(tmp_path / "w")
    backup.write(shop, tmp_path / "b.zip")
    come = incoming([("b.zip", (tmp_path / "b.zip").read_bytes())])
    assert [each.id for each in come.macros] == list(shop.ids("macro"))
    assert all(each.text == shop.text("macro", each.id) for each in come.macros)
    assert (come.sources[0].kind, come.sources[0].home.machine) == ("backup", shop.bench().machine.name)


FOR_EVER = "WITH RECURSIVE n (a) AS (SELECT 1 UNION ALL SELECT a + 1 FROM n) SELECT a FROM n"


@pytest.mark.parametrize(
    "change",
    [
        f"DROP TABLE documents; CREATE VIEW documents AS {FOR_EVER};",
        f"CREATE TRIGGER t AFTER INSERT ON revisions BEGIN {FOR_EVER}; END;",
        "CREATE INDEX i ON revisions (length(text));",
        "ALTER TABLE revisions ADD COLUMN more TEXT;",
    ],
)
def test_a_backup_that_would_run_something_when_it_is_read_is_refused(tmp_path, change):
    shop = Workshop.open(tmp_path / "w")
    shop.copy(tmp_path / "copy")
    with closing(sqlite3.connect(tmp_path / "copy")) as connection:
        connection.executescript(change)
    content = (tmp_path / "copy").read_bytes()
    about = {"format": backup.FORMAT, "sha256": hashlib.sha256(content).hexdigest(), "bytes": len(content)}
    files = {backup.MANIFEST: json.dumps(about).encode(), "clickstop.sqlite": content}
    with pytest.raises(IncomingError, match="not laid out as a workshop is"):
        incoming([("b.zip", archive.packed(files))])


def test_documents_come_under_the_id_that_they_give_themselves():
    come = incoming([("anything.toml", LIFT.encode()), ("low.toml", b"\xef\xbb\xbf" + LOW.encode())])
    assert [(each.id, each.source.kind) for each in come.macros] == [("lift", "document"), ("low", "document")]


def test_several_files_of_every_kind_come_at_once_and_each_macro_has_a_key_of_its_own():
    come = incoming([("b.zip", made("lift", "low")), ("lift.toml", LIFT.encode())])
    assert [each.id for each in come.macros] == ["lift", "low", "lift"]
    assert len({each.key for each in come.macros}) == 3


def test_the_same_file_twice_comes_once():
    content = made("lift")
    assert ids(("b.zip", content), ("b.zip", content)) == ["lift"]


def test_a_document_that_cannot_be_read_comes_with_the_reason_and_stops_no_other():
    come = incoming([("wrong.toml", b'format = "clickstop-macro/1"\nname = 3\n'), ("lift.toml", LIFT.encode())])
    assert come.macros[0].macro is None
    assert come.macros[0].wrong.startswith("line 2: name is")
    assert come.macros[1].wrong == ""


def test_a_sheet_is_no_macro_and_says_so():
    come = incoming([("machine.toml", test_pack.MILL.encode())])
    assert "a macro is wanted" in come.macros[0].wrong


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"\xff\xfe\x00", r"photo: .* neither a zip nor text|photo is neither a zip nor text"),
        (b"PK\x03\x04 and no more", "cut short"),
        (archive.packed({"a.txt": b"a"}), "it is no bundle"),
        (archive.packed({"backup.json": b"{}", "clickstop.sqlite": b""}), "cannot be read"),
        (archive.packed({"documents/machine.toml": b"\xff", "documents/macros/a.toml": b"a"}), "is not text"),
    ],
)
def test_what_holds_no_macros_is_told_with_the_name_of_the_file(content, said):
    with pytest.raises(IncomingError, match=said) as caught:
        incoming([("photo", content)])
    assert str(caught.value).startswith("photo")


def test_too_many_at_once_are_refused():
    files = [(f"m{n}.toml", document(f"m{n}").encode()) for n in range(1001)]
    with pytest.raises(IncomingError, match="1,001 macros would come"):
        incoming(files)
