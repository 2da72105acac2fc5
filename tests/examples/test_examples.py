"""The programs beside this run as they stand, and say what they are there to show."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

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


@pytest.mark.parametrize("path", sorted(HERE.glob("[!_t]*.py")), ids=lambda path: path.name)
def test_a_program_takes_only_what_the_parser_promises(path):
    imports = [line for line in path.read_text().splitlines() if "parser" in line and "import" in line]
    assert imports
    assert all(line.startswith("from parser import ") for line in imports)
