"""The command: what it prints where, and its exit status, for good input, refusals and what cannot be used."""

import json
import os
import re
import signal
import socket
import subprocess
import sys
import urllib.request
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

import parser
from library import documents, limits, starter
from library.store import Workshop
from parser import SheetError
from tests.workshops import keep
from webapp.cli import COMMANDS, command, main

GOOD = "G21 G90\nG53 G0 Z-2\nG53 G0 X130 Y145\nG80\n"
BEYOND = "G21 G90\nG53 G0 Z-2\nG53 G0 X500\nG80\n"
STRAY = "G21 G90\nG53 G0 Z-2\n$H\n"
ROOT = Path(__file__).parents[2]


@pytest.fixture(autouse=True)
def _own_home(tmp_path, monkeypatch):
    """No test sees, or makes, the workshop of the person who runs it."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)


@pytest.fixture
def run():
    def call(*args):
        return CliRunner().invoke(main, [str(arg) for arg in args])

    return call


@pytest.fixture
def file(tmp_path):
    def write(name, content):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return path

    return write


def cannot_be_used(result, *words):
    """Exit status 2, nothing on standard output, one line on standard error that holds the words."""
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    assert len(result.stderr.splitlines()) == 1
    for word in words:
        assert word in result.stderr


# Help


def every_command():
    return [("clickstop", main), *((name, command(name)) for name in COMMANDS)]


def test_a_name_that_is_empty_is_not_the_folder_one_stands_in(run, file):
    """A shell puts nothing in the place of a variable that is not set."""
    file("part.nc", GOOD)
    cannot_be_used(run("check", ""), "empty")


@pytest.mark.parametrize(("name", "command"), every_command(), ids=[name for name, _ in every_command()])
def test_every_command_and_option_says_what_it_does(name, command):
    assert command.help
    for option in command.params:
        if isinstance(option, click.Option):
            assert option.help, f"{name} {option.name}"
            assert option.help.endswith("."), f"{name} {option.name}"


def test_the_help_lists_every_limit(run):
    told = " ".join(run("--help").output.split())
    for allowed in limits.TABLE:
        assert str(allowed) in told
        assert allowed.of.split()[-1] in told


def test_the_commands_are_those_of_the_design(run):
    known = {"serve", "check", "build", "take", "verify", "fitted", "schema", "shelf", "backup", "restore"}
    assert set(COMMANDS) == known
    assert run("--help").exit_code == 0


# check


def test_a_good_file_is_proved_with_status_0(run, file):
    result = run("check", file("good.nc", GOOD))
    assert result.exit_code == 0, result.output
    assert "good.nc: " in result.stdout
    assert "Time " in result.stdout
    assert "Distance " in result.stdout
    assert "Assumed:" in result.stdout


def test_a_refusal_is_status_1_with_place_rule_and_remedy(run, file):
    result = run("check", file("beyond.nc", BEYOND))
    assert result.exit_code == 1
    assert re.search(r"^ +3:\d+ +refuse +beyond-travel +\S", result.stdout, re.MULTILINE)
    assert "Remedy: " in result.stdout
    assert "Example: from X " in result.stdout


def test_findings_stand_in_columns(run, file):
    lines = run("check", file("beyond.nc", BEYOND)).stdout.splitlines()
    rows = [line for line in lines if re.match(r" +[\d:]* +(refuse|caution|note) ", line)]
    assert len(rows) >= 2
    assert len({re.search(r"refuse|caution|note", row).start() for row in rows}) == 1
    remedies = {line.index("Remedy:") for line in lines if "Remedy:" in line}
    assert len(remedies) == 1


def test_a_stray_character_is_a_finding_and_not_an_unusable_file(run, file):
    result = run("check", file("stray.nc", STRAY))
    assert result.exit_code == 1
    assert "unreadable-line" in result.stdout


def test_one_file_as_json_is_one_object(run, file):
    path = file("good.nc", GOOD)
    result = run("check", path, "--format", "json")
    found = json.loads(result.stdout)
    assert found["file"] == str(path)
    assert found["verdict"] in ("proved", "conditional")
    assert found["machine"]["name"]
    assert re.fullmatch(r"[0-9a-f]{64}", found["machine"]["sha256"])
    assert re.fullmatch(r"[0-9a-f]{64}", found["controller"]["sha256"])
    assert {"moves", "totals", "extents", "ends", "modes_at_end", "safe_start", "findings"} <= found.keys()


def test_several_files_as_json_are_a_list_in_the_order_given(run, file):
    paths = [file("b.nc", GOOD), file("a.nc", BEYOND)]
    result = run("check", *paths, "--format", "json")
    assert [found["file"] for found in json.loads(result.stdout)] == [str(path) for path in paths]
    assert result.exit_code == 1


def test_a_folder_is_searched_for_programs_and_macros_in_order(run, file):
    for name in ("z.nc", "m.NGC", "a.tap"):
        file(f"folder/{name}", GOOD)
    file("folder/notes.txt", "remember the coolant")
    file("folder/machine.toml", starter.text("machine.toml"))
    file("folder/tools.toml", "[tool]\nname = 'somebody else'\n")
    file("folder/park.toml", starter.text("macros/park.toml"))
    folder = file("folder/below/deeper.nc", GOOD).parents[1]
    found = json.loads(run("check", folder, "--format", "json").stdout)
    assert [Path(each["file"]).name for each in found] == ["a.tap", "m.NGC", "park.toml", "z.nc"]


def test_a_folder_of_one_file_is_still_a_list(run, file):
    folder = file("folder/a.nc", GOOD).parent
    assert len(json.loads(run("check", folder, "--format", "json").stdout)) == 1


# check, a whole pendant


@pytest.fixture
def shop(tmp_path):
    return Workshop.open(tmp_path / "shop")


def put_on(shop, slot, id, *steps):
    """Put a macro of these steps on a slot of position 6."""
    text = starter.text("macros/retract.toml").replace('id = "retract"', f'id = "{id}"')
    text = documents.write("macro", {("name",): id.capitalize(), ("step",): list(steps)}, text)
    keep(shop, "macro", id, text, "made")
    keep(
        shop,
        "pendant",
        "workshop",
        documents.write("pendant", {("slots", "6", slot): id}, shop.text("pendant", "workshop")),
        "put",
    )


def own(*lines):
    return {"block": "own-lines", "lines": "\n".join(lines)}


def test_a_workshop_alone_is_checked_slot_by_slot_and_as_a_whole(run, shop, tmp_path):
    result = run("check", "--workshop", tmp_path / "shop")
    assert result.exit_code == 0, result.output
    assert re.search(r"^present-part \(6 x1\): proved$", result.stdout, re.MULTILINE)
    assert re.search(r"^home \(5 x1\): proved but for line \d+$", result.stdout, re.MULTILINE)
    assert re.search(r"^Hand pendant: proved but for line \d+ of Home$", result.stdout, re.MULTILINE)
    assert "No slot and no sequence is refused, even if let go part-way." in result.stdout
    assert "One macro is proved but for a line: Home.\n" in result.stdout


def test_a_workshop_alone_as_json_is_a_list_with_the_pendant_last(run, shop, tmp_path):
    *slots, pendant = json.loads(run("check", "--workshop", tmp_path / "shop", "--format", "json").stdout)
    assert {each["file"]: each["slots"] for each in slots}["park"] == ["5 x10"]
    assert pendant["slots"]["5 x10"] == "park"
    assert pendant["verdict"] in ("proved", "conditional")


def test_a_sequence_that_breaks_a_proof_is_a_refusal(run, shop, tmp_path):
    put_on(shop, "x10", "shift", own("G21", "G10 L2 P1 X10"))
    result = run("check", "--workshop", tmp_path / "shop")
    assert result.exit_code == 1
    assert re.search(r"refuse +sequence-breaks-proof .*\(Shift, then Above ", result.stdout)


def test_a_slot_that_is_refused_is_a_refusal(run, shop, tmp_path):
    put_on(shop, "x10", "plunge", own("G21 G90", "G53 G0 X500"))
    result = run("check", "--workshop", tmp_path / "shop")
    assert result.exit_code == 1
    assert "plunge (6 x10): refused" in result.stdout
    assert "Not proved. One macro is refused: Plunge." in result.stdout


def test_a_slot_whose_macro_cannot_be_written_is_a_refusal_that_says_why(run, shop, tmp_path):
    put_on(shop, "x10", "wrong", {"block": "raise", "to": "nowhere.z"})
    result = run("check", "--workshop", tmp_path / "shop")
    assert result.exit_code == 1
    assert re.search(r"refuse +slot-clash +Wrong cannot be written: step 1: ", result.stdout)


def test_without_a_file_and_without_a_workshop_there_is_nothing_to_check(run):
    cannot_be_used(run("check"), "--workshop")


def test_a_folder_with_nothing_to_check_cannot_be_used(run, tmp_path):
    (tmp_path / "bare").mkdir()
    cannot_be_used(run("check", tmp_path / "bare"), "nothing to check")


@pytest.mark.parametrize(
    ("content", "word"),
    [(b"", "empty"), (b"G21\x00G90", "zero bytes"), (b"G21 (caf\xe9)\n", "UTF-8")],
    ids=["empty", "binary", "other encoding"],
)
def test_what_is_no_text_cannot_be_used(run, file, content, word):
    cannot_be_used(run("check", file("odd.nc", content)), "odd.nc", word)


def test_a_missing_file_cannot_be_used(run):
    cannot_be_used(run("check", "nowhere.nc"), "nowhere.nc", "no such file")


def test_one_unusable_file_among_good_ones_leaves_nothing_on_standard_output(run, file):
    cannot_be_used(run("check", file("good.nc", GOOD), "nowhere.nc"))


def test_a_file_name_with_a_line_end_is_shown_on_one_line(run):
    cannot_be_used(run("check", "no\nwhere.nc"))


@pytest.mark.parametrize(
    "args", [["check"], ["check", "a.nc", "--colour"], ["polish"], ["check", "a.nc", "--format", "x"]]
)
def test_a_call_that_is_not_understood_is_one_line_that_points_to_the_help(run, args):
    cannot_be_used(run(*args), "--help")


@pytest.mark.parametrize("name", starter.macros())
def test_every_starter_macro_is_proved(run, file, name):
    result = run("check", file(f"{name}.toml", starter.text(f"macros/{name}.toml")))
    assert result.exit_code == 0, result.output


@pytest.mark.parametrize("name", starter.macros())
def test_every_starter_macro_is_proved_on_the_second_machine(run, file, name):
    second = file("second.toml", starter.text("second/machine.toml"))
    result = run("check", file(f"{name}.toml", starter.text(f"macros/{name}.toml")), "--machine", second)
    assert result.exit_code == 0, result.output


def test_a_vise_in_the_way_is_refused(run, file):
    tall = file("tall.toml", starter.text("machine.toml").replace("[170.0, 105.0, -80.0]", "[170.0, 105.0, -20.0]"))
    result = run("check", file("park.toml", starter.text("macros/park.toml")), "--machine", tall, "--format", "json")
    found = json.loads(result.stdout)
    assert result.exit_code == 1
    assert "crosses-keep-out" in {each["rule"] for each in found["findings"]}


def test_the_start_can_be_fixed(run, file):
    path = file("raise.nc", "G21 G90\nG53 G0 Z-2\nG80\n")
    anywhere = json.loads(run("check", path, "--format", "json").stdout)
    fixed = json.loads(run("check", path, "--start", "10, 20, -30", "--format", "json").stdout)
    assert anywhere["moves"][0]["from"]["z"] is None
    assert fixed["moves"][0]["from"] == {"x": 10.0, "y": 20.0, "z": -30.0}
    assert fixed["moves"][0]["length"] == {"least": 28.0, "most": 28.0, "typical": 28.0}


def test_a_start_may_leave_the_last_axes_anywhere(run, file):
    path = file("raise.nc", "G21 G90\nG53 G0 Z-2\nG80\n")
    found = json.loads(run("check", path, "--start", "10", "--format", "json").stdout)
    assert found["moves"][0]["from"] == {"x": 10.0, "y": None, "z": None}


def test_a_start_overrides_the_macros_own(run, file):
    own = starter.text("macros/retract.toml").replace("[[step]]", 'start = "z >= -20 mm"\n[[step]]', 1)
    own = re.sub(r'^start = "anywhere".*\n', "", own, flags=re.MULTILINE)
    path = file("retract.toml", own)
    longest = {}
    for start in (None, "anywhere"):
        given = ["--start", start] if start else []
        found = json.loads(run("check", path, *given, "--format", "json").stdout)
        longest[start] = found["moves"][0]["length"]["most"]
    assert longest[None] == pytest.approx(18.0)
    assert longest["anywhere"] == pytest.approx(88.0)


@pytest.mark.parametrize(
    ("start", "words"),
    [
        ("999,0,0", ["X", "999", "outside"]),
        ("1,2,3,4", ["4 numbers"]),
        ("1,up,3", ["up"]),
        ("nan,0,0", ["nan"]),
        ("", ["number"]),
    ],
)
def test_a_start_that_cannot_be_is_said(run, file, start, words):
    cannot_be_used(run("check", file("good.nc", GOOD), "--start", start), "--start", *words)


@pytest.mark.parametrize("command", ["check", "build"])
def test_a_machine_that_cannot_be_is_said(run, file, command):
    sheet = file("slow.toml", starter.text("machine.toml").replace("rapid = 2400.0", "rapid = 5e-324", 1))
    macro = file("park.toml", starter.text("macros/park.toml"))
    cannot_be_used(run(command, macro, "--machine", sheet), f"{sheet}: rapid of axis x is 5e-324", "0.000001 or more")


@pytest.mark.parametrize("command", ["check", "build", "take"])
def test_a_machine_that_only_the_proof_finds_to_make_no_sense_is_said_too(
    run, file, command, tmp_path, monkeypatch, shop
):
    def refused(*_, **__):
        raise SheetError("travel of axis x", "5 to 0", "It is upside down.", "Write the lower end first.")

    monkeypatch.setattr(parser, "examine", refused)
    macro = file("park.toml", starter.text("macros/park.toml"))
    given = ["--workshop", tmp_path / "shop", "--to", tmp_path / "out"] if command == "take" else [macro]
    cannot_be_used(run(command, *given), "travel of axis x is 5 to 0. It is upside down. Write the lower end first.")


def test_words_in_force_beforehand_are_taken_as_known(run, file):
    path = file("short.nc", "G53 G0 Z-2\n")
    assert run("check", path).exit_code == 1
    assert run("check", path, "--assume", "G21 G90").exit_code == 0


def test_an_error_in_the_assumed_words_cannot_be_used(run, file):
    cannot_be_used(run("check", file("good.nc", GOOD), "--assume", "G20 G21"), "assume")


# Sheets


def test_without_a_workshop_the_starter_one_is_used_and_named_and_none_is_made(run, file, tmp_path):
    result = run("check", file("good.nc", GOOD))
    assert "starter workshop" in result.stderr
    assert "Workshop mill" in result.stderr
    assert not (tmp_path / "home").exists()


ASK_FOR_A_WORKSHOP = (
    ("take", "--to", "out"),
    ("fitted",),
    ("fitted", "12345678", "--on", "2026-05-04"),
    ("check",),
    ("check", "good.nc"),
    ("build", "lift.toml"),
    ("backup", "--to", "kept.zip"),
    ("verify", "out"),
)


@pytest.mark.parametrize("call", ASK_FOR_A_WORKSHOP, ids=" ".join)
def test_a_workshop_that_is_named_and_not_there_is_said_and_nothing_is_made(run, file, tmp_path, call):
    file("good.nc", GOOD)
    file("lift.toml", starter.text("macros/retract.toml"))
    before = sorted(tmp_path.rglob("*"))
    cannot_be_used(run(*call, "--workshop", tmp_path / "gone"), "there is no workshop in", "gone", "clickstop serve")
    assert sorted(tmp_path.rglob("*")) == before


@pytest.mark.parametrize("call", [("take", "--to", "out"), ("fitted",), ("backup", "--to", "kept.zip")], ids=" ".join)
def test_without_a_workshop_of_ones_own_it_says_how_to_make_one_and_makes_none(run, tmp_path, call):
    cannot_be_used(run(*call), "you have no workshop yet", "clickstop serve")
    assert list(tmp_path.iterdir()) == []


def test_only_the_help_of_serve_says_that_a_missing_workshop_is_made(run):
    for name in ("take", "fitted", "check", "build"):
        assert "it has to be there" in " ".join(run(name, "--help").stdout.split())
    assert "a missing one is made" in " ".join(run("serve", "--help").stdout.split())


def test_named_sheets_are_used_and_need_no_remark(run, file):
    machine = file("other.toml", starter.text("second/machine.toml"))
    result = run(
        "check",
        file("a.nc", "G20 G90\n"),
        "--machine",
        machine,
        "--controller",
        "dwell-milliseconds",
        "--format",
        "json",
    )
    found = json.loads(result.stdout)
    assert found["machine"]["name"] in starter.text("second/machine.toml")
    assert found["controller"]["name"].endswith("dwell-milliseconds")
    overridden = '[work.G54] is overridden along Z in setup "Plate in the vise": change it there.'
    assert result.stderr == f"Machine sheet: {overridden}\n"


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", ["empty"]),
        (b"\x00\x01", ["zero bytes"]),
        (b"format = 'clickstop-machine/1'\nname = 'a'\ncolour = 3\n", ["colour"]),
        (b"format = 'clickstop-machine/9'\n", ["newer"]),
        (b"format = ", ["line 1"]),
    ],
    ids=["empty", "binary", "unknown key", "newer", "not TOML"],
)
def test_a_machine_sheet_that_cannot_be_read_is_said(run, file, content, words):
    cannot_be_used(run("check", file("good.nc", GOOD), "--machine", file("m.toml", content)), "m.toml", *words)


def test_an_unknown_preset_is_said(run, file):
    cannot_be_used(run("check", file("good.nc", GOOD), "--controller", "as-publishd"), "as-publishd", "as-published")


def test_a_missing_machine_sheet_is_said(run, file):
    cannot_be_used(run("check", file("good.nc", GOOD), "--machine", "nowhere.toml"), "nowhere.toml")


@pytest.mark.parametrize("command", ["check", "build"])
def test_a_formula_that_divides_by_zero_is_said(run, file, command):
    bad = 'format = "clickstop-macro/1"\nid = "odd"\nname = "Odd"\n[[step]]\nblock = "raise"\nto = "safe.z / 0"\n'
    cannot_be_used(run(command, file("odd.toml", bad)), "odd.toml", "step 1", "zero")


def test_a_macro_with_an_unknown_key_is_said(run, file):
    bad = 'format = "clickstop-macro/1"\nid = "odd"\nname = "Odd"\npurpos = "none"\n'
    cannot_be_used(run("check", file("odd.toml", bad)), "odd.toml", "purpos", "purpose")


# build


def test_build_writes_the_lines_and_nothing_else_to_standard_output(run, file):
    result = run("build", file("park.toml", starter.text("macros/park.toml")))
    assert result.exit_code == 0, result.output
    lines = result.stdout.splitlines()
    assert lines[0] == lines[-1] == "%"
    assert "G53 G0 Z-2" in lines


def test_build_keeps_the_line_ends_of_the_controller(run, file):
    controller = file("c.toml", 'format = "clickstop-controller/1"\nline_ending = "crlf"\n')
    result = run("build", file("park.toml", starter.text("macros/park.toml")), "--controller", controller)
    assert result.stdout_bytes.count(b"\r\n") == result.stdout_bytes.count(b"\n") > 0


def test_build_of_a_missing_macro_is_said(run):
    cannot_be_used(run("build", "nowhere.toml"), "nowhere.toml")


def test_what_is_built_is_proved_as_it_is(run, file):
    built = run("build", file("park.toml", starter.text("macros/park.toml")))
    assert run("check", file("park.nc", built.stdout_bytes)).exit_code == 0


# take and verify


@pytest.mark.parametrize("name", ["out", "out.zip"])
def test_a_pack_is_written_and_verified(run, tmp_path, name, shop):
    result = run("take", "--workshop", tmp_path / "shop", "--to", tmp_path / name)
    assert result.exit_code == 0, result.output
    assert "manifest.json" in result.stdout
    assert run("verify", tmp_path / name).exit_code == 0


def test_a_pack_that_is_there_already_is_not_overwritten(run, tmp_path, shop):
    args = ("take", "--workshop", tmp_path / "shop", "--to", tmp_path / "out")
    assert run(*args).exit_code == 0
    cannot_be_used(run(*args), "out", "already")
    replaced = run(*args, "--replace")
    assert replaced.exit_code == 0
    assert "before-1" in replaced.stderr


@pytest.mark.parametrize(
    "call",
    [
        ("take", "--to", ""),
        ("take", "--to", "out", "--workshop", ""),
        ("serve", "--workshop", ""),
        ("backup", "--to", ""),
        ("restore", "", "--workshop", "kept"),
        ("shelf", "export", ""),
        ("shelf", "list", "--workshop", ""),
        ("verify", ""),
        ("fitted", ""),
    ],
)
def test_an_empty_name_is_told_and_does_not_mean_the_folder_one_is_in(run, tmp_path, shop, monkeypatch, call):
    here = tmp_path / "here"
    here.mkdir()
    monkeypatch.chdir(here)
    theirs = () if "--workshop" in call or call[0] in ("verify", "serve") else ("--workshop", tmp_path / "shop")
    cannot_be_used(run(*call, *theirs), "empty")
    assert list(here.iterdir()) == []


def test_the_card_and_the_start_of_the_first_run_are_as_told(run, tmp_path, shop):
    result = run(
        "take", "--workshop", tmp_path / "shop", "--to", tmp_path / "out", "--card", "120x80", "--start", "20,30"
    )
    assert result.exit_code == 0, result.output
    assert 'width="132mm" height="92mm"' in (tmp_path / "out/card.svg").read_text()
    assert '<b class="figure">X 20</b> <b class="figure">Y 30</b> <b class="figure">Z -45</b>' in " ".join(
        (tmp_path / "out/prove-out.html").read_text().split()
    )
    assert run("verify", tmp_path / "out").exit_code == 0


@pytest.mark.parametrize(
    ("option", "given", "words"),
    [
        ("--card", "large", "write it like 90x60"),
        ("--card", "5x60", "a card is 30 to 180 mm wide"),
        ("--card", "90xnan", "a card is 30 to 240 mm high"),
        ("--start", "900", "outside its travel"),
    ],
)
def test_a_wish_for_the_printed_pages_that_cannot_be_met_is_told(run, tmp_path, option, given, words, shop):
    cannot_be_used(run("take", "--workshop", tmp_path / "shop", "--to", tmp_path / "out", option, given), words)
    assert not (tmp_path / "out").exists()


def test_a_changed_byte_is_found(run, tmp_path, shop):
    run("take", "--workshop", tmp_path / "shop", "--to", tmp_path / "out")
    victim = sorted((tmp_path / "out" / "macros").iterdir())[0]
    content = bytearray(victim.read_bytes())
    content[-3] ^= 1
    victim.write_bytes(content)
    result = run("verify", tmp_path / "out")
    assert result.exit_code == 1
    assert victim.name in result.stdout


def test_a_sheet_that_has_changed_since_is_found_in_the_workshop(run, tmp_path, shop):
    run("take", "--workshop", tmp_path / "shop", "--to", tmp_path / "out")
    against = ("verify", tmp_path / "out", "--workshop", tmp_path / "shop")
    assert run(*against).exit_code == 0
    workshop = Workshop(tmp_path / "shop")
    keep(workshop, "machine", "workshop", workshop.text("machine", "workshop") + "# later\n", "later")
    result = run(*against)
    assert result.exit_code == 1
    assert "the machine sheet of the workshop has changed since" in result.stdout


def test_a_workshop_that_is_not_there_is_said_and_not_made(run, tmp_path, shop):
    run("take", "--workshop", tmp_path / "shop", "--to", tmp_path / "out")
    cannot_be_used(run("verify", tmp_path / "out", "--workshop", tmp_path / "gone"), "gone")
    assert not (tmp_path / "gone").exists()


def test_a_folder_that_is_no_pack_cannot_be_verified(run, tmp_path):
    (tmp_path / "bare").mkdir()
    cannot_be_used(run("verify", tmp_path / "bare"), "manifest.json")


@pytest.mark.skipif(hasattr(os, "geteuid") and os.geteuid() == 0, reason="nothing is unwritable for the superuser")
def test_a_folder_that_cannot_be_written_is_said(run, tmp_path, shop):
    locked = tmp_path / "locked"
    locked.mkdir(mode=0o500)
    cannot_be_used(run("take", "--workshop", tmp_path / "shop", "--to", locked / "out"), "locked")


def test_a_pack_cannot_be_written_below_a_file(run, tmp_path, file, shop):
    cannot_be_used(run("take", "--workshop", tmp_path / "shop", "--to", file("plain", "x") / "out"), "plain")


def test_a_workshop_that_is_a_file_is_said(run, file):
    cannot_be_used(run("take", "--workshop", file("plain", "x"), "--to", "out"), "plain")


# schema


@pytest.mark.parametrize("kind", ["machine", "controller", "pendant", "macro"])
def test_the_schema_of_every_kind_is_printed(run, kind):
    result = run("schema", kind)
    assert result.exit_code == 0
    assert json.loads(result.stdout)["properties"]["format"]


def test_the_schema_of_something_else_is_said(run):
    cannot_be_used(run("schema", "lathe"), "lathe")


# serve


def served(tmp_path, *args, **more):
    command = [sys.executable, "-m", "webapp.cli", *args]
    told = {"cwd": tmp_path, "text": True, "stdout": subprocess.PIPE, "stderr": subprocess.PIPE}
    # A test run in the background of a shell hands on that Ctrl-C is to be ignored.
    told["preexec_fn"] = lambda: signal.signal(signal.SIGINT, signal.default_int_handler)
    return subprocess.Popen(command, env={**os.environ, "PYTHONPATH": str(ROOT)}, **told, **more)


def test_serve_prints_its_address_answers_there_and_stops_quietly(tmp_path):
    process = served(tmp_path, "serve", "--workshop", "shop", "--port", "0", "--no-browser")
    try:
        address = re.search(r"http://127\.0\.0\.1:\d+/", process.stdout.readline())[0]
        assert urllib.request.urlopen(address, timeout=60).status == 200
    finally:
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=60)
    assert (out, err) == ("", "")
    assert (tmp_path / "shop" / "clickstop.sqlite").is_file()


def test_a_port_in_use_is_said(run, tmp_path):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        result = run("serve", "--workshop", tmp_path / "shop", "--port", port, "--no-browser")
    cannot_be_used(result, str(port), "in use", "--port")


def test_serving_other_computers_needs_an_access_code(run, tmp_path):
    result = run("serve", "--workshop", tmp_path / "shop", "--host", "0.0.0.0", "--no-browser")
    cannot_be_used(result, "--access-code")
    assert not (tmp_path / "shop").exists()


def test_an_address_that_is_not_ours_is_said(run, tmp_path):
    result = run("serve", "--workshop", tmp_path / "shop", "--host", "192.0.2.1", "--access-code", "x", "--no-browser")
    cannot_be_used(result, "192.0.2.1")


def test_no_command_at_all_serves_the_pages(run, monkeypatch):
    called = []
    monkeypatch.setattr("webapp.cli.serving.listen", lambda host, port: called.append((host, port)) or sys.exit(0))
    assert run().exit_code == 0
    assert called == [("127.0.0.1", 8470)]


# Pipes and keys


def test_a_reader_that_goes_away_is_no_error(tmp_path, file):
    paths = [str(file(f"f{number}.nc", BEYOND * 300)) for number in range(2)]
    process = served(tmp_path, "check", *paths, "--format", "json")
    process.stdout.close()
    assert process.wait(timeout=120) == 1
    assert "Traceback" not in process.stderr.read()
    process.stderr.close()


def test_an_error_of_the_program_itself_is_one_line_and_no_traceback(run, file, monkeypatch):
    monkeypatch.setattr("webapp.cli.checking.find_inputs", lambda names: 1 / 0)
    cannot_be_used(run("check", file("good.nc", GOOD)), "ZeroDivisionError")


def test_an_interrupted_check_ends_quietly(run, file, monkeypatch):
    def interrupted(names):
        raise KeyboardInterrupt

    monkeypatch.setattr("webapp.cli.checking.find_inputs", interrupted)
    result = run("check", file("good.nc", GOOD))
    assert result.exit_code == 130
    assert result.output.strip() == ""


def test_the_report_is_printed_before_the_safe_start_is_sought_which_comes_last(run, file, monkeypatch):
    from parser import pipeline
    from webapp.cli import checking

    printed, sought, put, seek = [], [], checking.put, pipeline._sought
    monkeypatch.setattr(checking, "put", lambda text: (printed.append(text), put(text)))
    monkeypatch.setattr(pipeline, "_sought", lambda *given: (sought.append(len(printed)), seek(*given))[1])
    result = run("check", file("low.nc", "G21 G90\nG53 G0 X130 Y72\n"))
    assert sought == [1]
    assert "low.nc: refused" in printed[0]
    assert "safe when" not in printed[0]
    assert result.stdout.rstrip().splitlines()[-1].strip().startswith("safe when Z is at or above")
