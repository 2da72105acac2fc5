"""What is taken to the machine, and how a change of it is noticed."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import os
import re
import zipfile
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType

import pytest
from hypothesis import given
from hypothesis import strategies as st

from library import pack
from library.limits import PACK_ENTRIES
from library.names import cell, file_name
from library.pack import Gathered, PackError
from library.room import PROGRAM_FLASH
from library.store import Workshop
from tests.library.benches import MILL, PENDANT, controller

CONTROLLER = controller(acknowledge='"TAKEN"')
SLOTS = PENDANT + '[slots."4"]\nx1 = "lift"\nx10 = "present"\n[slots."5"]\nx1 = "lift"\n'


def document(id, *steps, **header):
    head = "".join(f'{key} = "{value}"\n' for key, value in {"id": id, "name": id.title(), **header}.items())
    return f'format = "clickstop-macro/1"\n{head}' + "".join(f"[[step]]\n{step}\n" for step in steps)


LIFT = document("lift", 'block = "raise"')
PRESENT = document("present", 'block = "raise"', 'block = "present-table"')
LOW = document("low", 'block = "go-to"\nx = "travel.x.middle"\ny = "travel.y.middle"')
BROKEN = document("broken", 'block = "raise"\nto = "nowhere"')


def gathered(pendant=SLOTS, controller=CONTROLLER, machine=MILL, **macros):
    return Gathered(machine, controller, pendant, {"lift": LIFT, "present": PRESENT, **macros})


def made_anew(**changes):
    return pack.make(gathered(**changes))


@lru_cache(maxsize=64)
def made(**changes):
    """The pack of some documents, made once: the same documents give the same bytes, which has a test of its own."""
    once = made_anew(**changes)
    return replace(once, files=MappingProxyType(once.files), left_out=MappingProxyType(once.left_out))


def manifest(taken):
    return json.loads(taken.files["manifest.json"])


def on_slot(id):
    return PENDANT + f'[slots."4"]\nx1 = "{id}"\n'


# What it holds


def test_it_holds_the_macros_on_slots_the_table_the_documents_and_the_manifest():
    assert set(made().files) == {
        "documents/controller.toml",
        "documents/machine.toml",
        "documents/macros/lift.toml",
        "documents/macros/present.toml",
        "documents/pendant.toml",
        "README.txt",
        "card.html",
        "card.svg",
        "commissioning.html",
        "first-run/lift--slow.nc",
        "first-run/present--slow.nc",
        "macros/lift.nc",
        "macros/present.nc",
        "manifest.json",
        "pendant/board.c",
        "pendant/pendant.h",
        "pendant/sender.h",
        "pendant/slots.h",
        "printed.sha256",
        "prove-out.html",
        "slots.csv",
        "slots.json",
    }


def test_the_manifest_has_the_digest_of_every_other_file():
    taken = made()
    digests = {path: hashlib.sha256(content).hexdigest() for path, content in taken.files.items()}
    printed = [line.split("  ") for line in taken.files["printed.sha256"].decode().splitlines()]
    assert {path: digest for digest, path in printed} == {
        path: digests.pop(path)
        for path in ("card.html", "card.svg", "commissioning.html", "manifest.json", "prove-out.html")
    }
    digests.pop("printed.sha256")
    assert manifest(taken)["files"] == digests


def test_the_manifest_says_what_was_proved_under_which_assumptions():
    lift = next(entry for entry in manifest(made())["macros"] if entry["id"] == "lift")
    assert lift["verdict"] == "proved"
    assert any("40 mm" in assumption for assumption in lift["assumptions"])
    assert lift["sentence"].startswith("Proved on this sheet")
    assert "read back" in manifest(made())["checked"]


def test_two_slots_with_one_macro_share_its_file():
    lift = next(entry for entry in manifest(made())["macros"] if entry["id"] == "lift")
    assert lift["slots"] == ["4 x1", "5 x1"]
    assert lift["file"] == "macros/lift.nc"


def test_the_same_documents_give_the_same_bytes():
    assert pack.zipped(made_anew()) == pack.zipped(made_anew())


def test_a_workshop_is_taken_as_it_stands(tmp_path):
    workshop = Workshop.open(tmp_path / "workshop")
    taken = pack.make(pack.gather(workshop))
    assert {entry["id"] for entry in manifest(taken)["macros"]} <= set(workshop.ids("macro"))
    assert len(manifest(taken)["macros"]) >= 6
    assert pack.write(taken, tmp_path / "out.zip") is None


# What is left out


def test_a_refused_macro_is_left_out_with_the_reason():
    taken = made(pendant=on_slot("low"), low=LOW)
    assert "macros/low.nc" not in taken.files
    assert "crosses-keep-out" in manifest(taken)["left_out"]["low"]
    assert json.loads(taken.files["slots.json"])["slots"] == []


def test_a_macro_that_cannot_be_built_is_left_out_with_the_step():
    assert "step 1" in made(pendant=on_slot("broken"), broken=BROKEN).left_out["broken"]


def test_a_macro_document_that_cannot_be_read_is_left_out():
    assert "stepp" in made(odd=document("odd") + "stepp = 1\n").left_out["odd"]


def test_a_macro_on_no_slot_is_left_out():
    assert made(low=LOW).left_out == {"low": "it is on no slot of the pendant"}


def test_a_macro_that_was_not_chosen_is_left_out_and_the_others_keep_their_numbers(tmp_path):
    numbered = controller(file_name='"{number}.nc"', acknowledge='"TAKEN"')
    taken = pack.make(replace(gathered(controller=numbered), chosen=frozenset({"present"})))
    assert taken.left_out == {"lift": "it was not chosen"}
    assert [path for path in taken.files if path.startswith("macros/")] == ["macros/2.nc"]
    pack.write(taken, tmp_path / "out")
    assert pack.verify(tmp_path / "out") == []


def test_a_slot_with_a_macro_that_does_not_exist_is_left_out():
    assert "no macro 'gone'" in made(pendant=on_slot("gone")).left_out["slot 4 x1"]


def test_a_slot_on_a_position_that_drives_an_axis_is_left_out():
    assert "drives the X axis" in made(pendant=PENDANT + '[slots.X]\nx1 = "lift"\n').left_out["slot X x1"]


def test_a_line_that_the_pendant_cannot_hold_leaves_its_macro_out():
    assert "the pendant holds 8" in made(pendant=SLOTS + "[memory]\nlongest_line = 8\n").left_out["lift"]


def test_macros_beyond_the_memory_of_the_pendant_are_left_out():
    # lift takes 17 characters, 2 ends, 2 pointers of 4 bytes, a macro of 4, a stage of 12 and 2 slots of 6
    taken = made(pendant=SLOTS + f"[memory]\nflash = {PROGRAM_FLASH + 56}\n")
    assert set(taken.left_out) == {"present"}
    assert "1 left" in taken.left_out["present"]


# Names that do no harm


@pytest.mark.parametrize(
    ("template", "name"),
    [
        ("{slug}.nc", "lift.nc"),
        ("O{number}", "O7"),  # common practice
        ("../../{slug}.nc", "lift.nc"),
        ("/etc/{slug}", "etc-lift"),
        ("C:\\{slug}.nc", "C-lift.nc"),
        ("nul.{number}", "macro-nul.7"),  # a device on some systems (memory)
        ("...", "lift"),
    ],
)
def test_a_file_name_cannot_leave_its_folder(template, name):
    assert file_name(template, "lift", 7) == name


def test_a_file_name_that_is_too_long_keeps_its_ending_and_its_number():
    slug = "a" * 60
    name = file_name("{slug}-{slug}-{slug}.nc", slug, 12)
    assert len(name) == 120
    assert name.endswith("-12-aaaaaaaaaaaaa.nc")


def test_two_macros_of_one_file_name_are_refused():
    # "con" is a device on some systems (memory), so its file gets a prefix
    both = {id: document(id, 'block = "raise"') for id in ("con", "macro-con")}
    pendant = PENDANT + '[slots."4"]\nx1 = "con"\nx10 = "macro-con"\n'
    with pytest.raises(PackError, match=r"con and macro-con would both be written to macro-con\.nc"):
        made(pendant=pendant, **both)


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@a", "\t=1"])  # formulas (common practice)
def test_a_cell_is_not_taken_for_a_formula(text):
    assert cell(text) == "'" + text


def test_quotes_in_a_name_stay_inside_their_cell():
    named = document("lift", 'block = "raise"', name='Up \\"high\\", far')
    rows = list(csv.DictReader(io.StringIO(made(lift=named).files["slots.csv"].decode(), newline="")))
    assert rows[0]["name"] == 'Up "high", far'


@given(template=st.text(max_size=200), slug=st.from_regex(r"[a-z0-9]+(-[a-z0-9]+)*", fullmatch=True))
def test_no_template_makes_a_file_name_that_could_do_harm(template, slug):
    name = file_name(template, slug, 7)
    assert re.fullmatch(r"[A-Za-z0-9_][A-Za-z0-9._-]{0,119}", name)


# On disk


def test_a_folder_is_written_whole_and_verifies(tmp_path):
    assert pack.write(made(), tmp_path / "out") is None
    assert pack.verify(tmp_path / "out") == []
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_a_zip_is_written_and_verifies(tmp_path):
    pack.write(made(), tmp_path / "out.zip")
    assert pack.verify(tmp_path / "out.zip") == []
    assert zipfile.ZipFile(tmp_path / "out.zip").testzip() is None


def test_what_is_there_already_is_not_overwritten(tmp_path):
    pack.write(made(), tmp_path / "out")
    with pytest.raises(PackError, match="is there already"):
        pack.write(made(), tmp_path / "out")


def test_what_is_replaced_is_kept_aside(tmp_path):
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "mine.txt").write_text("mine")
    for number in (1, 2):
        assert pack.write(made(), tmp_path / "out", replace=True) == tmp_path / f"out.before-{number}"
    assert (tmp_path / "out.before-1" / "mine.txt").read_text() == "mine"
    assert pack.verify(tmp_path / "out") == []


@pytest.mark.parametrize("name", ["", ".", "..", "/", "/dev/null"])
@pytest.mark.parametrize("aside", [False, True])
def test_a_pack_takes_the_place_of_no_folder_without_a_name_and_of_no_device(tmp_path, monkeypatch, name, aside):
    (tmp_path / "mine.txt").write_text("mine")
    monkeypatch.chdir(tmp_path)
    with pytest.raises(PackError, match=r"no name that a pack could be given|neither a file nor"):
        pack.write(made(), Path(name), replace=aside)
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


def test_nothing_appears_where_what_was_written_is_not_proved(tmp_path):
    taken = made()
    spoilt = replace(taken, files={**taken.files, "macros/lift.nc": b"G0 X1\n"})
    with pytest.raises(PackError, match="could not be proved again"):
        pack.write(spoilt, tmp_path / "out")
    assert list(tmp_path.iterdir()) == []


# Verifying


@pytest.fixture
def folder(tmp_path):
    pack.write(made(), tmp_path / "out")
    return tmp_path / "out"


def found(folder):
    return {(difference.path, difference.kind) for difference in pack.verify(folder)}


@pytest.mark.parametrize("path", sorted(set(made().files) - {"manifest.json", "printed.sha256"}))
def test_one_flipped_bit_of_any_file_is_noticed(folder, path):
    content = bytearray((folder / path).read_bytes())
    content[len(content) // 2] ^= 1
    (folder / path).write_bytes(content)
    assert (path, "changed") in found(folder)


def test_a_missing_file_is_noticed(folder):
    (folder / "macros" / "lift.nc").unlink()
    assert found(folder) == {("macros/lift.nc", "missing")}


def test_an_added_file_is_noticed(folder):
    (folder / "macros" / "more.nc").write_text("G0\n")
    assert found(folder) == {("macros/more.nc", "added")}


def forge(folder, **changes):
    """Change files and put their digests right in the manifest."""
    said = json.loads((folder / "manifest.json").read_text())
    for path, content in changes.items():
        (folder / path).write_bytes(content)
        said["files"][path] = hashlib.sha256(content).hexdigest()
    (folder / "manifest.json").write_text(json.dumps(said))


def test_a_macro_that_is_no_longer_proved_is_noticed_even_if_its_digest_fits(folder):
    forge(folder, **{"macros/lift.nc": b"%\nG21 G90\nG53 G0 X130 Y75\nG80\n%\n"})
    assert ("macros/lift.nc", "not-proved") in found(folder)


def test_a_manifest_that_says_more_than_was_proved_is_noticed(folder):
    said = json.loads((folder / "manifest.json").read_text())
    said["macros"][0]["assumptions"] = []
    (folder / "manifest.json").write_text(json.dumps(said))
    assert found(folder) == {("manifest.json", "changed")}


def test_a_manifest_that_cannot_name_its_macros_is_one_clear_line(folder):
    said = json.loads((folder / "manifest.json").read_text())
    said["macros"][0]["id"] = ["lift"]
    (folder / "manifest.json").write_text(json.dumps(said))
    with pytest.raises(PackError, match=r"^manifest\.json"):
        pack.verify(folder)


@pytest.mark.parametrize("content", ["", "{}", "[]", '{"format": "clickstop-takeaway/1", "files": [], "macros": []}'])
def test_a_manifest_that_cannot_be_read_is_one_clear_line(folder, content):
    (folder / "manifest.json").write_text(content)
    with pytest.raises(PackError, match=r"^manifest\.json") as error:
        pack.verify(folder)
    assert "\n" not in str(error.value)


@pytest.mark.parametrize("width", ["1" + "0" * 400, "1e999", "NaN", "9" * 5000])
def test_a_manifest_with_a_number_that_measures_nothing_is_one_clear_line(folder, width):
    text = (folder / "manifest.json").read_text()
    forged, changed = re.subn(r'("card_mm": \[\s*)[\d.]+', rf"\g<1>{width}", text)
    assert changed == 1
    (folder / "manifest.json").write_text(forged)
    with pytest.raises(PackError, match=r"^manifest\.json cannot be read") as error:
        pack.verify(folder)
    assert "\n" not in str(error.value)


def test_a_file_that_is_no_zip_is_one_clear_line(tmp_path):
    (tmp_path / "out.zip").write_bytes(b"PK no")
    with pytest.raises(PackError, match="is not a zip"):
        pack.verify(tmp_path / "out.zip")


def test_a_folder_that_is_no_pack_is_one_clear_line(tmp_path):
    with pytest.raises(PackError, match=r"has no manifest\.json"):
        pack.verify(tmp_path)


def test_a_path_that_does_not_exist_is_one_clear_line(tmp_path):
    with pytest.raises(PackError, match="does not exist"):
        pack.verify(tmp_path / "gone")


# What stands at the destination


def test_a_workshop_is_never_put_aside(tmp_path):
    shop = Workshop.open(tmp_path / "of mine" / "workshop")
    for destination in (shop.path, shop.path.parent):
        with pytest.raises(PackError, match="holds a workshop"):
            pack.write(made(), destination, replace=True)
    assert shop.ids("macro")


@pytest.mark.parametrize("name", ["out.zip", "out"])
def test_of_several_that_write_to_one_name_at_once_one_says_that_it_did(tmp_path, name):
    taken = made()

    def write(_):
        try:
            pack.write(taken, tmp_path / name)
        except PackError as error:
            return str(error)
        return "written"

    with ThreadPoolExecutor(4) as pool:
        told = sorted(pool.map(write, range(4)))
    assert told[-1] == "written"
    assert all("is there already" in each for each in told[:-1])
    assert len(told) == 4
    assert pack.verify(tmp_path / name) == []
    assert [path.name for path in tmp_path.iterdir()] == [name]


def test_working_folders_of_a_killed_process_are_cleared_away(tmp_path):
    old, young = tmp_path / ".clickstop-writing-old", tmp_path / ".clickstop-writing-young"
    for folder in (old, young):
        folder.mkdir()
        (folder / "fresh").write_text("half")
    for each in (old / "fresh", old):
        os.utime(each, (0, 0))
    pack.write(made(), tmp_path / "out")
    assert not old.exists()
    assert young.exists()


def test_files_behind_a_link_are_not_taken_for_files_of_the_pack(folder, tmp_path):
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "more.nc").write_text("G0 X0\n")
    (folder / "macros" / "more").symlink_to(tmp_path / "elsewhere", target_is_directory=True)
    with pytest.raises(PackError, match="more is a link"):
        pack.verify(folder)


def test_what_is_no_file_is_not_waited_for(folder):
    os.mkfifo(folder / "macros" / "pipe")
    with pytest.raises(PackError, match="pipe is no file"):
        pack.verify(folder)


# A controller that answers nothing


def test_where_nothing_is_answered_the_macro_files_go_and_the_slot_table_does_not():
    blind = made(controller=controller())
    assert {"macros/lift.nc", "first-run/lift--slow.nc", "prove-out.html"} <= set(blind.files)
    assert not {"slots.json", "slots.csv", "pendant/slots.h"} & set(blind.files)
    assert "he controller answers nothing" in blind.left_out["slot table"]
    assert pack.differences(blind.files) == []


def test_only_working_folders_of_ours_are_cleared_away(tmp_path):
    for name, file in ((".clickstop-old", "notes.txt"), (".clickstop-writing-mine", "notes.txt")):
        (tmp_path / name).mkdir()
        (tmp_path / name / file).write_text("mine")
        os.utime(tmp_path / name, (0, 0))
    pack.write(made(), tmp_path / "out")
    assert len(list(tmp_path.glob(".clickstop-*/notes.txt"))) == 2


def test_the_file_of_a_workshop_is_never_put_aside(tmp_path):
    shop = Workshop.open(tmp_path / "w")
    with pytest.raises(PackError, match="file of a workshop"):
        pack.write(made(), shop.file, replace=True)
    assert shop.ids("macro")


def test_a_folder_of_very_many_folders_is_not_read_in_part(folder):
    for number in range(2 * PACK_ENTRIES.most):
        (folder / "documents" / f"d{number}").mkdir()
    with pytest.raises(PackError, match="holds more than"):
        pack.verify(folder)
