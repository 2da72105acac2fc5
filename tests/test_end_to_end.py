"""The whole of it from outside: the real command in a process of its own, on files in a folder."""

from __future__ import annotations

import itertools
import json
import math
import os
import socket
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest

from library import starter
from library.store import Workshop
from tests.bulk import mostly_long

ROOT = Path(__file__).parents[1]
CROSSING = "G21 G90\nG53 G0 Z-60\nG53 G0 X240 Y70\nG53 G0 Z-2\nG80\n"


@pytest.fixture
def clickstop(tmp_path):
    """Call the command as a shell would; the workshop of whoever runs the tests is out of its reach."""
    surroundings = os.environ | {"PYTHONPATH": str(ROOT), "XDG_DATA_HOME": str(tmp_path / "home")}

    def call(*args):
        command = [sys.executable, "-m", "webapp.cli", *map(str, args)]
        return subprocess.run(command, cwd=tmp_path, env=surroundings, capture_output=True, text=True, timeout=60)

    return call


@pytest.fixture
def file(tmp_path):
    def write(name, content):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return path

    return write


@pytest.fixture
def starters(file):
    """The starter macros as files in a folder, as they are."""
    for name, text in starter.macros().items():
        last = file(f"macros/{name}.toml", text)
    return last.parent


def machine(vise_top=-80.0):
    """The starter machine with the top of its vise at that height."""
    return starter.text("machine.toml").replace("[170.0, 105.0, -80.0]", f"[170.0, 105.0, {vise_top}]")


# From the starter workshop to files for the machine


def test_every_starter_macro_is_checked_with_nothing_refused(clickstop, starters):
    done = clickstop("check", starters, "--format", "json")
    assert done.returncode == 0, done.stdout + done.stderr
    verdicts = {Path(each["file"]).stem: each["verdict"] for each in json.loads(done.stdout)}
    assert len(verdicts) >= 6
    assert {name for name, verdict in verdicts.items() if verdict != "proved"} == {"home"}


def test_the_same_macros_unedited_are_proved_on_the_second_machine(clickstop, starters, file):
    second = file("second.toml", starter.text("second/machine.toml"))
    done = clickstop("check", starters, "--machine", second, "--format", "json")
    assert done.returncode == 0, done.stdout + done.stderr
    verdicts = {Path(each["file"]).stem: each["verdict"] for each in json.loads(done.stdout)}
    assert {name for name, verdict in verdicts.items() if verdict != "proved"} == {"home"}


@pytest.mark.parametrize("name", mostly_long(["take.zip", "take"]))
def test_a_pack_is_proved_again_and_one_flipped_byte_is_noticed(clickstop, tmp_path, name):
    target = tmp_path / name
    Workshop.open(tmp_path / "shop")
    taken = clickstop("take", "--workshop", tmp_path / "shop", "--to", target)
    assert taken.returncode == 0, taken.stderr
    assert clickstop("verify", target).returncode == 0
    flip_one_bit(target, "macros/park.nc")
    verified = clickstop("verify", target)
    assert verified.returncode == 1
    assert "macros/park.nc" in verified.stdout


def flip_one_bit(target, path):
    def flipped(content):
        return content[:20] + bytes([content[20] ^ 1]) + content[21:]

    if target.is_dir():
        (target / path).write_bytes(flipped((target / path).read_bytes()))
        return
    with zipfile.ZipFile(target) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    with zipfile.ZipFile(target, "w") as archive:
        for name, content in files.items():
            archive.writestr(name, flipped(content) if name == path else content)


def test_what_is_built_of_a_macro_is_what_is_taken_away(clickstop, tmp_path, starters):
    Workshop.open(tmp_path / "shop")
    clickstop("take", "--workshop", tmp_path / "shop", "--to", tmp_path / "out")
    built = clickstop("build", starters / "park.toml")
    assert built.returncode == 0
    assert words(built.stdout) == words((tmp_path / "out" / "macros" / "park.nc").read_text())


def words(text):
    """The lines of a program without its comments."""
    return [line for line in text.splitlines() if not line.startswith("(")]


# A vise in the way


def witnesses(done, obstacle):
    assert done.returncode == 1, done.stdout + done.stderr
    found = [each for each in json.loads(done.stdout)["findings"] if each["rule"] == "crosses-keep-out"]
    assert found
    assert {each["severity"] for each in found} == {"refuse"}
    return [each["witness"] for each in found if each["witness"]["obstacle"] == obstacle]


def beside(at, box):
    """Distance in plan from a point to a box, 0 over it."""
    return math.hypot(*(max(low - at[axis], at[axis] - high, 0.0) for axis, low, high in box["plan"]))


def meets(at, tool, box):
    """Whether the tool under a spindle nose at ``at`` is inside the box with its margin around and above it."""
    return beside(at, box) < tool["radius"] + box["margin"] and at["z"] - tool["length"] < box["top"] + box["margin"]


def vise_of(text):
    """The vise and the margin of a machine sheet, read with nothing of ours."""
    sheet = tomllib.loads(text)
    vise = next(box for box in sheet["keep_out"] if box["name"] == "Vise")
    plan = [(axis, vise["from"][place], vise["to"][place]) for place, axis in enumerate("xy")]
    return {"plan": plan, "top": vise["to"][2], "margin": sheet["margins"]["keep_out"]}


def on_the_way(at, stations):
    """Whether a point lies on the straight lines from station to station: going by way of it is no detour."""
    return any(
        math.dist(start, at) + math.dist(at, end) - math.dist(start, end) < 1e-6
        for start, end in itertools.pairwise(stations)
    )


def place(at):
    return (at["x"], at["y"], at["z"])


@pytest.mark.parametrize("name", mostly_long(["park", "present-part", "centre-table", "above-work"], most=1))
def test_a_tall_vise_is_refused_and_the_witness_really_hits_it(clickstop, starters, file, name):
    text = machine(vise_top=-20.0)
    done = clickstop("check", starters / f"{name}.toml", "--machine", file("tall.toml", text), "--format", "json")
    ends = json.loads(done.stdout)["ends"]
    found = witnesses(done, "Vise")
    assert found
    for witness in found:
        start, at, tool = witness["start"], witness["at"], witness["tool"]
        raised = {**start, "z": -2.0}
        assert tool["length"] <= 40.0
        assert tool["radius"] <= 6.0
        assert not meets(start, tool, vise_of(text) | {"margin": 0.0}), "it was in the vise as it is drawn"
        assert meets(at, tool, vise_of(text))
        assert on_the_way(place(at), [place(start), place(raised), place(ends)])


def test_a_low_crossing_is_refused_from_one_known_start_and_the_witness_really_hits_the_vise(clickstop, file):
    program = file("low.nc", CROSSING)
    done = clickstop("check", program, "--start", "20,70,-10", "--format", "json")
    found = witnesses(done, "Vise")
    assert found
    for witness in found:
        assert place(witness["start"]) == (20.0, 70.0, -10.0)
        assert not meets(witness["start"], witness["tool"], vise_of(machine()))
        assert meets(witness["at"], witness["tool"], vise_of(machine()))
        assert on_the_way(place(witness["at"]), [(20, 70, -10), (20, 70, -60), (240, 70, -60), (240, 70, -2)])


def test_the_same_crossing_above_the_vise_is_not_refused(clickstop, file):
    done = clickstop("check", file("high.nc", CROSSING.replace("Z-60", "Z-2")), "--start", "20,70,-10")
    assert done.returncode == 0, done.stdout


# What cannot be used: exit status 2, one line on standard error, nothing on standard output

HEAD = 'format = "clickstop-macro/1"\nid = "odd"\nname = "Odd"\n'
RAISE = '[[step]]\nblock = "raise"\n'
UNUSABLE = {
    "an unknown key": ("odd.toml", HEAD + 'purpos = "none"\n', ["purpos", "purpose"]),
    "an unknown key in a step": ("odd.toml", HEAD + RAISE + 'too = "safe.z"\n', ["too", "to"]),
    "an unknown block": ("odd.toml", HEAD + '[[step]]\nblock = "rais"\n', ["rais", "raise"]),
    "a wrong type": ("odd.toml", HEAD + "tags = 3\n", ["tags"]),
    "a wrong unit": ("odd.toml", HEAD + RAISE + 'to = "5 s"\n', ["step 1", "to", "time", "length"]),
    "a division by zero": ("odd.toml", HEAD + RAISE + 'to = "safe.z / 0"\n', ["step 1", "zero"]),
    "an unknown landmark": ("odd.toml", HEAD + RAISE + 'to = "save.z"\n', ["save.z", "safe.z"]),
    "no TOML": ("odd.toml", HEAD + "[[step\n", ["odd.toml", "line 4"]),
    "a binary file": ("odd.nc", b"\x7fELF\x02\x01\x00\x00", ["odd.nc"]),
    "an empty file": ("odd.nc", b"", ["odd.nc", "empty"]),
    "an empty macro": ("odd.toml", b"", ["odd.toml", "empty"]),
    "a missing file": ("", "", ["missing.nc", "no such file"]),
}
BAD_SHEETS = {
    "an unknown key": ("run_down = 5.0", "rundown = 5.0", ["rundown", "run_down"]),
    "a wrong type": ("rapid = 1200.0", 'rapid = "fast"', ["axes.z.rapid"]),
    "a wrong unit": ('name = "Workshop mill"', 'name = "Workshop mill"\nunits = "furlong"', ["units", "inch"]),
    "travel the wrong way round": ("travel = [-90.0, 0.0]", "travel = [0.0, -90.0]", ["axes.z.travel"]),
    "no axis": ("[axes.x]", "[axes.q]", ["axes"]),
    "an infinite number": ("acceleration = 120.0", "acceleration = inf", ["axes.z.acceleration"]),
}


def cannot_be_used(done, *said):
    assert done.returncode == 2, done.stdout + done.stderr
    assert done.stdout == ""
    assert len(done.stderr.splitlines()) == 1, done.stderr
    assert "Traceback" not in done.stderr
    for word in said:
        assert word in done.stderr


@pytest.mark.parametrize("name", mostly_long(UNUSABLE, keep=2))
def test_a_file_that_cannot_be_used_is_said_in_one_line(clickstop, file, name):
    called, content, said = UNUSABLE[name]
    path = file(called, content) if called else "missing.nc"
    cannot_be_used(clickstop("check", path), *said)


@pytest.mark.parametrize("name", mostly_long(BAD_SHEETS))
def test_a_machine_sheet_that_cannot_be_used_is_said_in_one_line(clickstop, file, name):
    right, wrong, said = BAD_SHEETS[name]
    assert right in machine()
    sheet = file("bad.toml", machine().replace(right, wrong, 1))
    cannot_be_used(clickstop("check", file("good.nc", "G21\n"), "--machine", sheet), "bad.toml", *said)


def test_a_port_in_use_is_said_in_one_line(clickstop, tmp_path):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        done = clickstop("serve", "--workshop", tmp_path / "shop", "--port", port, "--no-browser")
    cannot_be_used(done, str(port), "--port")


def test_a_folder_that_is_no_workshop_is_said_in_one_line_and_left_alone(clickstop, file):
    strange = file("shop/clickstop.sqlite", "the diary of somebody else")
    cannot_be_used(clickstop("check", file("good.nc", "G21\n"), "--workshop", strange.parent), "shop")
    assert strange.read_text() == "the diary of somebody else"


def test_a_stray_character_is_a_finding_with_its_place(clickstop, file):
    done = clickstop("check", file("stray.nc", "G21 G90\nG53 G0 Z-2 §\nG80\n"), "--format", "json")
    assert done.returncode == 1, done.stderr
    found = next(each for each in json.loads(done.stdout)["findings"] if each["rule"] == "unreadable-line")
    assert (found["line"], found["column"], found["severity"]) == (2, 12, "refuse")
