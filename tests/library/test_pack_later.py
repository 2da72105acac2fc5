"""A pack long after: what has changed within it, in the workshop it came from, and in what can be proved."""

from __future__ import annotations

import hashlib
import json
import os
from dataclasses import replace
from pathlib import Path

import pytest

from library import names, pack
from library.pack import PackError, contents, manifest
from library.store import Workshop
from tests.library.benches import MILL, ONE_ZERO, PENDANT
from tests.library.test_pack import document, gathered, made, made_anew, on_slot
from tests.workshops import keep

VISE_IN_THE_WAY = MILL.replace("to = [170.0, 105.0, -80.0]", "to = [170.0, 150.0, -1.0]")


@pytest.fixture
def folder(tmp_path):
    pack.write(made(), tmp_path / "out")
    return tmp_path / "out"


def since(folder, **changes):
    found = pack.verify(folder, gathered(**changes))
    return {(difference.path, difference.kind) for difference in found}


# The workshop since


def test_a_workshop_that_has_not_changed_makes_no_difference(folder):
    assert since(folder) == set()


def test_a_sheet_that_has_changed_since_is_noticed(folder):
    assert since(folder, machine=ONE_ZERO) == {("documents/machine.toml", "outdated")}


def test_a_change_that_only_the_pendant_sheet_has_is_noticed(folder):
    assert since(folder, pendant=PENDANT) == {("documents/pendant.toml", "outdated")}


@pytest.mark.long
def test_a_macro_that_the_sheets_of_now_no_longer_prove_is_noticed(folder):
    # lift goes to Z -2, which from Z 0 is down: within the margin of a vise whose top is at Z -1
    assert since(folder, machine=VISE_IN_THE_WAY) == {
        ("documents/machine.toml", "outdated"),
        *((f"macros/{macro}.nc", "not-proved") for macro in ("lift", "present")),
        *((f"first-run/{macro}--slow.nc", "not-proved") for macro in ("lift", "present")),
    }


def test_a_macro_that_has_changed_since_is_noticed(folder):
    assert since(folder, lift=document("lift", 'block = "park"')) == {("documents/macros/lift.toml", "outdated")}


def test_a_macro_that_is_gone_is_noticed(folder):
    now = gathered()
    now = replace(now, macros={id: text for id, text in now.macros.items() if id != "lift"})
    (found,) = pack.verify(folder, now)
    assert str(found) == "documents/macros/lift.toml: the workshop no longer has the macro lift"


@pytest.mark.long
def test_a_workshop_on_disk_is_compared_as_it_stands(tmp_path):
    workshop = Workshop.open(tmp_path / "workshop")
    pack.write(pack.make(pack.gather(workshop)), tmp_path / "out.zip")
    assert pack.verify(tmp_path / "out.zip", pack.gather(workshop)) == []
    text = workshop.text("machine", "workshop")
    keep(workshop, "machine", "workshop", text.replace("2400.0", "2300.0"), "slower")
    assert [found.kind for found in pack.verify(tmp_path / "out.zip", pack.gather(workshop))] == ["outdated"]


# The lines that the pendant sends


def rewritten(folder, path, change):
    """Change a file and put its digest right in the manifest, and that of the manifest in the list of the pages."""
    content = change((folder / path).read_text()).encode()
    (folder / path).write_bytes(content)
    said = json.loads((folder / "manifest.json").read_text())
    said["files"][path] = hashlib.sha256(content).hexdigest()
    before = (folder / "manifest.json").read_bytes()
    after = json.dumps(said).encode()
    (folder / "manifest.json").write_bytes(after)
    listing = (folder / "printed.sha256").read_text()
    sums = (hashlib.sha256(each).hexdigest() for each in (before, after))
    (folder / "printed.sha256").write_text(listing.replace(*sums))
    return {(difference.path, difference.kind) for difference in pack.verify(folder)}


def test_lines_of_the_slot_table_that_are_not_proved_are_noticed_even_if_the_digest_fits(folder):
    found = rewritten(folder, "slots.json", lambda text: text.replace("G53 G0 Z-2", "G53 G0 Z-99"))
    assert found == {("slots.json", "not-proved")}


def test_lines_that_are_proved_but_are_other_lines_are_noticed_even_if_the_digest_fits(folder):
    found = rewritten(folder, "slots.json", lambda text: text.replace("G53 G0 Z-2", "G53 G0 Z-1"))
    assert ("slots.json", "changed") in found


@pytest.mark.parametrize("content", ["", "[]", '{"slots": 3}', '{"slots": [{"macro": "lift"}]}'])
def test_a_slot_table_that_cannot_be_read_is_noticed(folder, content):
    assert rewritten(folder, "slots.json", lambda _: content) == {("slots.json", "not-proved")}


def test_a_header_whose_digest_was_made_to_fit_is_noticed(folder):
    found = rewritten(folder, "pendant/slots.h", lambda text: text.replace("G53 G0 Z-2", "G53 G0 Z-9"))
    assert ("pendant/slots.h", "changed") in found


def test_a_head_that_says_more_than_was_proved_is_noticed_even_if_the_digest_fits(folder):
    found = rewritten(folder, "macros/lift.nc", lambda text: text.replace("Verdict: proved", "Verdict: blessed"))
    assert ("macros/lift.nc", "changed") in found


def test_what_was_left_out_is_no_difference(tmp_path):
    taken = made(low=document("low", 'block = "raise"'))
    assert taken.left_out == {"low": "it is on no slot of the pendant"}
    pack.write(taken, tmp_path / "out")
    assert pack.verify(tmp_path / "out") == []


# Printed pages


@pytest.fixture
def printing(monkeypatch):
    """A pack with a page that shows the digest of the manifest."""
    pages = (lambda goes, digest: {"card.svg": f"<svg>{digest}</svg>\n".encode()},)
    monkeypatch.setattr(contents, "PAGES", pages)


def test_a_printed_page_may_show_the_digest_of_the_manifest(printing):
    files = made_anew().files
    assert hashlib.sha256(files["manifest.json"]).hexdigest().encode() in files["card.svg"]
    assert "card.svg" not in json.loads(files["manifest.json"])["files"]


def test_printed_pages_have_their_digests_in_a_list_of_their_own(printing):
    files = made_anew().files
    digests = {path: hashlib.sha256(files[path]).hexdigest() for path in ("card.svg", "manifest.json")}
    assert files["printed.sha256"].decode() == "".join(f"{digests[path]}  {path}\n" for path in sorted(digests))


@pytest.mark.parametrize("path", ["card.svg", "printed.sha256", "manifest.json", "pendant/slots.h"])
def test_every_flipped_bit_is_noticed_where_there_are_printed_pages(printing, tmp_path, path):
    taken = made_anew(pendant=on_slot("lift"), low=document("low", 'block = "raise"'))
    pack.write(taken, tmp_path / "out")
    assert pack.verify(tmp_path / "out") == []
    content = taken.files[path]
    for place in range(0, len(content), max(1, len(content) // 12)):
        spoilt = bytearray(content)
        spoilt[place] ^= 1
        assert noticed({**taken.files, path: bytes(spoilt)}), place


def noticed(files):
    try:
        return pack.differences(files)
    except PackError as error:
        return str(error).startswith(manifest.NAME)


def test_printed_pages_that_are_gone_with_their_list_are_noticed(printing):
    files = {path: content for path, content in made_anew().files.items() if path not in ("card.svg", "printed.sha256")}
    assert {found.path for found in pack.differences(files)} == {"card.svg", "printed.sha256"}


# All or nothing


@pytest.mark.parametrize("name", ["out", "out.zip"])
@pytest.mark.parametrize("at", [1, 2, 5])
def test_a_disk_that_fails_leaves_what_was_there(tmp_path, monkeypatch, name, at):
    pack.write(made(), tmp_path / name)
    before = {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    calls = iter(range(1, 1000))

    def failing(_):
        if name == "out.zip" or next(calls) == at:
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", failing)
    with pytest.raises(PackError, match="No space left on device"):
        pack.write(made(), tmp_path / name, replace=True)
    assert {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()} == before


def test_a_folder_that_cannot_take_its_name_leaves_what_was_there(tmp_path, monkeypatch):

    pack.write(made(), tmp_path / "out")
    rename = Path.rename

    def failing(self, target):
        if self.name == "fresh":
            raise OSError(13, "Permission denied")
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", failing)
    with pytest.raises(PackError, match="Permission denied"):
        pack.write(made(), tmp_path / "out", replace=True)
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


# What was changed with everything round it


def disguised(folder, path, change):
    """As ``rewritten``, and the manifest says that another version wrote it all."""
    said = json.loads((folder / "manifest.json").read_text())
    before = (folder / "manifest.json").read_bytes()
    said["program"] = "clickstop 0.0.1"
    after = json.dumps(said).encode()
    (folder / "manifest.json").write_bytes(after)
    listing = (folder / "printed.sha256").read_text()
    sums = (hashlib.sha256(each).hexdigest() for each in (before, after))
    (folder / "printed.sha256").write_text(listing.replace(*sums))
    return rewritten(folder, path, change)


@pytest.mark.parametrize(
    ("path", "change"),
    [
        ("pendant/slots.h", lambda text: text.replace("G53 G0 Z-2", "G53 G0 Z-88")),
        ("pendant/sender.h", lambda text: text.replace("{", "{ ;", 1)),
        ("slots.csv", lambda text: text + "x\n"),
    ],
)
def test_what_reaches_the_machine_is_compared_whatever_version_is_said_to_have_written_it(folder, path, change):
    found = disguised(folder, path, change)
    assert (path, "changed") in found
    assert ("manifest.json", "outdated") in found


def test_a_pack_of_another_version_says_that_it_cannot_be_compared_to_the_byte(tmp_path, monkeypatch):
    with monkeypatch.context() as earlier:
        earlier.setattr(names, "program_version", lambda: "0.0.1")
        pack.write(made_anew(), tmp_path / "out")
    found = {(each.path, each.kind) for each in pack.verify(tmp_path / "out")}
    assert found == {("manifest.json", "outdated")}


def test_a_table_that_is_left_out_with_its_digest_is_missed(folder):
    (folder / "pendant" / "slots.h").unlink()
    said = json.loads((folder / "manifest.json").read_text())
    del said["files"]["pendant/slots.h"]
    before = (folder / "manifest.json").read_bytes()
    (folder / "manifest.json").write_text(json.dumps(said))
    listing = (folder / "printed.sha256").read_text()
    sums = (hashlib.sha256(each).hexdigest() for each in (before, (folder / "manifest.json").read_bytes()))
    (folder / "printed.sha256").write_text(listing.replace(*sums))
    found = {(each.path, each.kind) for each in pack.verify(folder)}
    assert ("pendant/slots.h", "missing") in found
