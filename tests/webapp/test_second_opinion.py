"""A second opinion from the command and in a pack: told, kept, asked again, and what is said without a solver."""

from __future__ import annotations

import json
import re
import sys
from dataclasses import replace
from fractions import Fraction
from hashlib import sha256
from pathlib import Path

import pytest
from click.testing import CliRunner

from library import documents, pack, written
from library.names import as_bytes
from library.pack import manifest
from library.store import Workshop
from parser import NoSolverError
from parser.proof.rules import contacts
from parser.proof.second import things
from tests.parser.proof.test_second_elsewhere import elsewhere
from tests.workshops import keep
from webapp.cli import main

GOOD = "G21 G90\nG53 G0 Z-2\nG53 G0 X130 Y145\nG80\n"
BEYOND = "G21 G90\nG53 G0 Z-2\nG53 G0 X500\nG80\n"
THROUGH = "G21 G90\nG53 G0 X120 Y70 Z-60\nG80\n"


@pytest.fixture(autouse=True)
def _own_home(tmp_path, monkeypatch):
    """No test sees, or makes, the workshop of the person who runs it."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)


def run(*args):
    return CliRunner().invoke(main, [str(arg) for arg in args])


def file(text: str) -> str:
    Path("a.nc").write_text(text)
    return "a.nc"


# check


def test_a_file_that_both_proofs_find_clear_is_proved_twice():
    result = run("check", file(GOOD), "--second-opinion")
    assert result.exit_code == 0, result.output
    assert "a.nc: proved twice" in result.stdout
    assert "Second opinion: " in result.stdout


def test_without_the_option_nothing_is_said_of_it():
    assert "econd opinion" not in run("check", file(GOOD)).output


def test_a_refusal_that_both_have_is_seen_twice_and_no_less_a_refusal():
    result = run("check", file(BEYOND), "--second-opinion")
    assert result.exit_code == 1
    assert "1 refusal seen twice" in result.stdout
    assert not list(Path().glob("*.smt2"))


def test_json_says_it_in_keys_that_the_schema_has():
    import jsonschema

    printed = json.loads(run("check", file(GOOD), "--second-opinion", "--format", "json").stdout)
    assert printed["second_opinion"]["outcome"] == "agreed"
    assert printed["verdict"] == "proved"
    jsonschema.validate(printed, written.schema("report"))


def test_where_the_two_differ_it_is_refused_and_a_file_to_send_is_left(monkeypatch):
    monkeypatch.setattr(contacts, "bodies", lambda machine: ())
    result = run("check", file(THROUGH), "--second-opinion")
    assert result.exit_code == 1
    assert "second-opinion-differs" in result.stdout
    assert "second-opinion-a.smt2" in result.stderr
    sent = Path("second-opinion-a.smt2").read_text()
    assert "The two proofs of Clickstop differ here" in sent
    assert "G53 G0 X120 Y70 Z-60" in sent


def test_a_whole_pendant_is_asked_about_as_well(tmp_path):
    shop = Workshop.open(tmp_path / "shop")
    result = run("check", "--workshop", shop.file.parent, "--second-opinion")
    assert result.exit_code == 0, result.output
    assert result.stdout.count("Second opinion: ") >= 5


@pytest.mark.parametrize("call", [("check",), ("take",), ("verify",)])
def test_without_the_solver_it_says_what_to_install_and_nothing_is_done(call, tmp_path, monkeypatch):
    shop = Workshop.open(tmp_path / "shop").file.parent
    run("take", "--workshop", shop, "--to", "plain")
    monkeypatch.setitem(sys.modules, "z3", None)
    more = {
        "check": (file(GOOD),),
        "take": ("--workshop", shop, "--to", "twice"),
        "verify": ("plain",),
    }[call[0]]
    result = run(*call, *more, "--second-opinion")
    assert result.exit_code == 2
    assert result.stdout == ""
    assert "pip install 'clickstop[second]'" in result.stderr
    assert len(result.stderr.splitlines()) == 1
    assert not Path("twice").exists()


# take and verify


@pytest.fixture(scope="module")
def taken(tmp_path_factory):
    """The starter's pack with a second opinion."""
    folder = tmp_path_factory.mktemp("twice")
    shop = Workshop.open(folder / "shop").file.parent
    result = run("take", "--workshop", shop, "--to", folder / "pack", "--second-opinion")
    assert result.exit_code == 0, result.output
    return folder / "pack"


def test_a_pack_keeps_the_questions_of_each_macro_and_how_to_ask_them(taken):
    macros = {path.stem for path in (taken / "macros").iterdir()}
    assert {path.stem for path in (taken / "questions").glob("*.smt2")} == macros
    assert "QF_NRA" in (taken / "questions" / "README.txt").read_text()
    assert "questions/" in (taken / "README.txt").read_text()
    text = (taken / "questions" / "retract.smt2").read_text()
    assert text.startswith("; retract: macros/retract.nc\n")


def test_its_manifest_says_what_was_asked_and_keeps_to_the_schema(taken):
    import jsonschema

    said = json.loads((taken / "manifest.json").read_text())
    jsonschema.validate(said, written.schema("manifest"))
    assert said["second_opinion"] is True
    outcomes = {each["id"]: each["second_opinion"]["outcome"] for each in said["macros"]}
    assert outcomes.pop("home") == "in part"
    assert set(outcomes.values()) == {"agreed"}
    assert "questions/retract.smt2" in said["files"]


def test_its_macro_files_say_that_they_are_proved_twice(taken):
    assert "proved twice" in (taken / "macros" / "retract.nc").read_text()
    assert "twice" not in (taken / "macros" / "home.nc").read_text()


@pytest.mark.long
def test_it_is_verified_with_and_without_the_option_and_a_plain_pack_with_it(taken):
    assert run("verify", taken).exit_code == 0
    assert run("verify", taken, "--second-opinion").exit_code == 0
    shop = Workshop.open(Path("shop")).file.parent
    run("take", "--workshop", shop, "--to", "plain")
    assert not Path("plain/questions").exists()
    assert json.loads(Path("plain/manifest.json").read_text())["second_opinion"] is False
    assert run("verify", "plain", "--second-opinion").exit_code == 0


def test_a_question_that_was_changed_is_noticed(taken, tmp_path):
    files = pack.disk.read(taken)
    name = "questions/retract.smt2"
    changed = {**files, name: files[name].replace(b"(check-sat)", b"", 1)}
    assert [each.path for each in pack.differences(changed)] == [name]


def test_without_the_solver_all_but_its_answers_is_verified_and_said_to_be(taken, monkeypatch):
    monkeypatch.setitem(sys.modules, "z3", None)
    result = run("verify", taken)
    assert result.exit_code == 0, result.output
    assert "every file is as it was proved" in result.stdout
    assert "The second opinion was not asked again" in result.stderr
    assert "pip install 'clickstop[second]'" in result.stderr
    assert run("verify", taken, "--second-opinion").exit_code == 2


def forged(files, change):
    """A pack whose manifest was changed, with every sum made to agree."""
    said = json.loads(files["manifest.json"])
    change(said)
    told = as_bytes(said)
    sums = manifest.read_printed(files[manifest.PRINTED]) | {manifest.NAME: manifest.digest(told)}
    return {
        **files,
        manifest.NAME: told,
        manifest.PRINTED: "".join(f"{each}  {path}\n" for path, each in sums.items()).encode(),
    }


def test_without_the_solver_what_a_manifest_says_of_more_than_the_answers_is_not_believed(taken, monkeypatch):
    files = pack.disk.read(taken)
    monkeypatch.setitem(sys.modules, "z3", None)
    assert pack.differences(forged(files, lambda said: None)) == []

    def not_asked_forgotten(said):
        home = next(each for each in said["macros"] if each["id"] == "home")
        home["second_opinion"] |= {"outcome": "agreed", "not_asked": []}

    def fewer_questions(said):
        said["macros"][0]["second_opinion"]["questions"] -= 1

    for change in (not_asked_forgotten, fewer_questions):
        assert "manifest.json" in {each.path for each in pack.differences(forged(files, change))}


def test_a_question_that_was_changed_is_noticed_without_the_solver_too(taken, monkeypatch):
    files = pack.disk.read(taken)
    monkeypatch.setitem(sys.modules, "z3", None)
    name = "questions/retract.smt2"
    changed = {**files, name: files[name].replace(b"(check-sat)", b"", 1)}
    sums = forged(changed, lambda said: said["files"].update({name: sha256(changed[name]).hexdigest()}))
    assert name in {each.path for each in pack.differences(sums)}


def test_a_pack_that_does_not_say_enough_of_its_second_opinion_takes_the_solver(taken, monkeypatch):
    """As one of an earlier version."""

    def earlier(said):
        for each in said["macros"]:
            del each["sent_second_opinions"]

    files = forged(pack.disk.read(taken), earlier)
    monkeypatch.setitem(sys.modules, "z3", None)
    with pytest.raises(NoSolverError, match=re.escape("clickstop[second]")):
        pack.differences(files)


def asked_for(tmp_path, controller: dict[str, object], *steps: dict[str, object]) -> str:
    """The questions in the pack of a workshop on whose slot of parking there is a macro of some steps."""
    shop = Workshop.open(tmp_path / "shop")
    changes = {(key,): value for key, value in controller.items()}
    keep(shop, "controller", "workshop", documents.write("controller", changes, shop.text("controller", "workshop")))
    keep(shop, "macro", "park", documents.write("macro", {("step",): [*steps]}, shop.text("macro", "park")))
    made = pack.take(shop, lambda gathered: replace(gathered, second=True))
    assert "park" in made.goes.taken, made.left_out
    return made.files["questions/park.smt2"].decode()


UP = {"block": "raise", "to": "safe.z"}


def test_what_each_gesture_sends_is_asked_in_the_same_file_where_it_differs(tmp_path):
    away = {"block": "go-to", "x": "20 mm", "y": "20 mm"}
    then = {**away, "x": "120 mm"}
    text = asked_for(tmp_path, {}, UP, away, {"block": "pause", "text": "look"}, UP, then)
    assert "; park: what the pendant sends by gesture 1 of 2\n" in text
    assert "; park: what the pendant sends by gesture 2 of 2" in text
    assert text.count("(reset)") == text.count("(set-logic QF_NRA)") - 1 >= 1
    assert set(elsewhere(text)) == {"unsat"}


@pytest.mark.long
def test_a_slow_copy_is_asked_where_its_questions_differ_and_is_said_to_be_the_same_where_not(tmp_path):
    away = {"block": "go-to", "x": "20 mm", "y": "20 mm"}
    same = asked_for(tmp_path / "straight", {}, UP, away)
    assert "first-run/park--slow.nc. The same questions as of macros/park.nc" in same
    assert same.count("(set-logic QF_NRA)") == 1
    dogleg = asked_for(tmp_path / "dogleg", {"rapid": "dogleg"}, UP, away)
    assert "; park: first-run/park--slow.nc\n" in dogleg
    assert dogleg.count("(set-logic QF_NRA)") == 2


def test_a_macro_about_which_the_two_differ_is_left_out(tmp_path, monkeypatch):
    """The second proof is made to ask for far more margin than the sheet does."""
    whole = things._thing

    def wider(machine, box, *, fixed):
        return replace(whole(machine, box, fixed=fixed), margin=Fraction(80))

    shop = Workshop.open(tmp_path / "shop")
    monkeypatch.setattr(things, "_thing", wider)
    made = pack.take(shop, lambda gathered: replace(gathered, second=True))
    assert "second-opinion-differs" in made.left_out["park"]
    assert "macros/park.nc" not in made.files
