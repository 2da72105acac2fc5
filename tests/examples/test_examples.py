"""The programs beside this run as they stand, and say what they are there to show."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from library.share.folder import sync
from library.store import Workshop

HERE = Path(__file__).parent
ROOT = HERE.parents[1]


def run(name, *arguments):
    """What a program prints, and its exit status."""
    call = [sys.executable, HERE / name, *arguments]
    ran = subprocess.run(call, capture_output=True, text=True, env={"PYTHONPATH": str(ROOT)}, check=False)
    assert ran.stderr == ""
    return ran.stdout.splitlines(), ran.returncode


def test_a_file_that_comes_down_on_the_vise_is_refused_with_its_line(tmp_path):
    file = tmp_path / "over-the-vise.nc"
    file.write_text("%\nG21 G90\nG53 G0 Z-60\nG53 G0 X240 Y70\nG53 G0 Z-2\nG80\n%\n")
    told, status = run("prove_a_file.py", file)
    assert status == 1
    assert told[0] == "Not proved: 1 refusal."
    assert told[1].startswith("line 3: ")
    assert "Vise" in told[1]


def test_a_file_that_stays_above_the_vise_is_proved(tmp_path):
    file = tmp_path / "above-the-vise.nc"
    file.write_text("%\nG21 G90\nG53 G0 Z-2\nG53 G0 X240 Y70\nG80\n%\n")
    told, status = run("prove_a_file.py", file)
    assert status == 0
    assert told[0].startswith("Proved ")


def test_the_safe_start_clears_the_vise_by_its_margin_with_the_longest_tool_and_is_proved():
    told, status = run("find_the_safe_start.py")
    assert status == 0
    assert told[:2] == ["From anywhere: refused.", "It is safe when Z is at or above -38 mm."]  # -80 + 40 + 2
    assert told[2].startswith("Proved ")
    assert "z >= -38 mm" in told[2]


def test_of_two_machines_the_one_that_is_too_short_is_refused():
    told, status = run("compare_two_machines.py")
    assert status == 0
    assert [each.partition(",")[0] for each in told] == ["Bench mill: refused", "Knee mill: proved"]


# A shelf in version control


def checked(folder):
    """Exit status and what the job says of a folder."""
    starter = folder.parent / "clickstop"
    starter.write_text(f'#!/bin/sh\nPYTHONPATH="{ROOT}" exec "{sys.executable}" -m webapp.cli "$@"\n')
    starter.chmod(0o755)
    ran = subprocess.run(
        [folder / "check.sh"],
        capture_output=True,
        text=True,
        env={"CLICKSTOP": str(starter), "XDG_DATA_HOME": str(folder.parent), "PATH": os.environ["PATH"]},
        check=False,
    )
    return ran.returncode, ran.stdout, ran.stderr


@pytest.fixture
def folder(tmp_path):
    """A copy of the folder of macros beside this."""
    return Path(shutil.copytree(HERE / "shelf", tmp_path / "shelf"))


@pytest.mark.skipif(os.name != "posix", reason="the job is a shell script")
def test_a_folder_of_macros_is_proved_with_one_line(folder):
    status, told, _ = checked(folder)
    assert status == 0
    heads = [line for line in told.splitlines() if line.strip() and not line.startswith(" ")]
    assert heads == ["lift.toml: proved", "to-the-front.toml: proved"]


@pytest.mark.skipif(os.name != "posix", reason="the job is a shell script")
def test_the_job_fails_where_a_macro_is_refused_and_where_one_cannot_be_read(folder):
    macro = folder / "lift.toml"
    macro.write_text(macro.read_text().replace('"safe.z"', '"-85 mm"'))
    assert checked(folder)[0] == 1
    macro.write_text("<<<<<<< ours\n" + macro.read_text())
    status, told, why = checked(folder)
    assert (status, told) == (2, "")
    assert "lift.toml" in why


def test_the_folder_is_taken_to_a_shelf_and_stays_as_it_is(folder, tmp_path):
    shop = Workshop.open(tmp_path / "workshop")
    before = {path.name: path.read_text() for path in folder.iterdir()}
    done = {each.id: each.done for each in sync(shop, folder)}
    assert (done["lift"], done["to-the-front"]) == ("added", "added")
    assert {name: (folder / name).read_text() for name in before} == before
    assert shop.text("macro", "lift") == before["lift.toml"]


@pytest.mark.parametrize("path", sorted(HERE.glob("[!_t]*.py")), ids=lambda path: path.name)
def test_a_program_takes_only_what_the_parser_promises(path):
    imports = [line for line in path.read_text().splitlines() if "parser" in line and "import" in line]
    assert imports
    assert all(line.startswith("from parser import ") for line in imports)
