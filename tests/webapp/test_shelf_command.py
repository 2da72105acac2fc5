"""The command that shares a shelf: exit status, what it prints, and that nothing is made or stored unasked."""

import json
import zipfile

import pytest
from click.testing import CliRunner

from library.share import origin
from library.store import Workshop
from tests.library.benches import ROUTER
from tests.library.share import hostile
from tests.library.share.shops import LIFT, LOW, OWN, document, made
from tests.workshops import keep
from webapp.cli import main
from webapp.cli.shelf import shelf as group


@pytest.fixture
def shop(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home"))
    opened = Workshop.open(tmp_path / "w")
    for id in opened.ids("macro"):
        opened.delete("macro", id)
    keep(opened, "macro", "lift", LIFT)
    return opened


def run(*arguments):
    return CliRunner().invoke(main, ["shelf", *map(str, arguments), "--workshop", "w"])


def write(path, content):
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path.name


CALLS = {
    "list": (),
    "add": ("a.toml",),
    "remove": ("lift",),
    "bundle": ("--all", "--to", "b.zip"),
    "review": ("a.toml",),
    "take-in": ("a.toml",),
    "export": ("d",),
    "sync": ("d",),
}


def test_every_call_is_here():
    assert set(CALLS) == set(group.commands)


@pytest.mark.parametrize("name", CALLS)
def test_a_workshop_that_is_not_there_is_said_and_none_is_made(name, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home"))
    write(tmp_path / "a.toml", LIFT)
    (tmp_path / "d").mkdir()
    for option, told in ((("--workshop", "w"), "there is no workshop in w"), ((), "you have no workshop yet")):
        result = CliRunner().invoke(main, ["shelf", name, *CALLS[name], *option])
        assert (result.exit_code, result.stdout) == (2, "")
        assert told in result.stderr
        assert "clickstop serve" in result.stderr, "it says how to make one"
        assert result.stderr.count("\n") == 1
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.toml", "d"]


def test_list_prints_a_line_for_each_and_says_that_one_is_refused(shop):
    assert run("list").exit_code == 0
    keep(shop, "macro", "low", LOW)
    keep(shop, "macro", "broken", "no macro")
    result = run("list")
    assert result.exit_code == 1
    rows = {line.split()[0]: line for line in result.stdout.splitlines()}
    assert set(rows) == {"lift", "low", "broken"}
    assert "refused" in rows["low"]
    assert "cannot be read" in rows["broken"]


def test_list_as_json_has_needs_and_origin(shop, tmp_path):
    run("take-in", write(tmp_path / "own.toml", OWN))
    lift, own = json.loads(run("list", "--format", "json").stdout)
    assert (lift["id"], lift["verdict"], lift["origin"], lift["needs"]["landmarks"]) == (
        "lift",
        "proved",
        None,
        ["safe.z"],
    )
    assert own["origin"]["source"] == "own.toml"
    assert own["needs"]["own_lines"] == [{"macro": "own", "step": 2}]


def test_add_puts_documents_on_the_shelf_and_never_in_place_of_another(shop, tmp_path):
    other = LIFT.replace("Up.", "Up and away.")
    assert run("add", write(tmp_path / "own.toml", OWN)).exit_code == 0
    result = run("add", write(tmp_path / "x.toml", OWN), write(tmp_path / "lift.toml", other))
    assert result.exit_code == 2
    assert "--keep mine, theirs or both" in result.stderr
    assert shop.text("macro", "lift") == LIFT


def test_add_of_a_refused_macro_says_so(shop, tmp_path):
    result = run("add", write(tmp_path / "low.toml", LOW))
    assert (result.exit_code, shop.text("macro", "low")) == (1, LOW)
    assert "refused" in result.stdout


def test_remove_takes_off_the_shelf_and_undo_brings_back(shop):
    assert run("remove", "lift").exit_code == 0
    assert shop.ids("macro") == ()
    assert shop.undo("macro", "lift")
    assert run("remove", "gone").exit_code == 2


def test_bundle_writes_the_same_bytes_again_and_nothing_over_another_file(shop, tmp_path):
    assert run("bundle", "--all", "--to", "b.zip").exit_code == 0
    content = (tmp_path / "b.zip").read_bytes()
    assert run("bundle", "lift", "--to", "b.zip").exit_code == 0, "the same input, the same bytes"
    keep(shop, "macro", "own", OWN)
    result = run("bundle", "--all", "--to", "b.zip")
    assert (result.exit_code, "is there already" in result.stderr) == (2, True)
    assert (tmp_path / "b.zip").read_bytes() == content
    assert sorted(path.name for path in tmp_path.iterdir()) == ["b.zip", "w"]


def test_a_drawing_in_a_bundle_stands_for_itself(shop, tmp_path):
    run("bundle", "lift", "--to", "b.zip")
    with zipfile.ZipFile(tmp_path / "b.zip") as archive:
        drawing = archive.read("drawings/lift.svg").decode()
    assert drawing.startswith("<svg xmlns=")
    assert "--ink: #1d2838" in drawing
    assert ".drawing .path" in drawing
    assert "url(" not in drawing.replace("url(#", "")
    assert "<script" not in drawing


@pytest.mark.parametrize(
    "arguments", [("--to", "b.zip"), ("lift", "--all", "--to", "b.zip"), ("gone", "--to", "b.zip")]
)
def test_bundle_has_to_be_told_which(shop, arguments):
    result = run("bundle", *arguments)
    assert (result.exit_code, result.stdout) == (2, "")


def test_bundle_leaves_out_what_cannot_be_read_and_says_so(shop):
    keep(shop, "macro", "broken", "no macro")
    result = run("bundle", "--all", "--to", "b.zip")
    assert (result.exit_code, "broken cannot be read" in result.stderr) == (0, True)
    assert run("bundle", "broken", "--to", "c.zip").exit_code == 2


def test_review_tells_all_and_stores_nothing(shop, tmp_path):
    keep(shop, "machine", "workshop", ROUTER)
    before = shop.revisions("macro", "lift")
    result = run("review", write(tmp_path / "b.zip", made()), write(tmp_path / "l.toml", LIFT + "# more\n"))
    assert result.exit_code == 1
    for part in (
        "low from b.zip: new here",
        "lift from b.zip: on the shelf already",
        "lift from l.toml: the shelf has another macro of this id",
        "On this machine: refused",
        "On Mill: ",
        "Another machine's: Step 2, x 240 mm",
        "Does not adapt: Step 2 of own",
        "they say and do the same",
        "beyond-travel",
    ):
        assert part in result.stdout, part
    assert (shop.ids("macro"), shop.revisions("macro", "lift")) == (("lift",), before)


def test_review_as_json_is_a_list_with_the_report_of_each(shop, tmp_path):
    result = run("review", write(tmp_path / "b.zip", made()), "--format", "json")
    found = {each["id"]: each for each in json.loads(result.stdout)}
    assert set(found) == {"lift", "present", "low", "nudge", "own"}
    assert found["low"]["report"]["verdict"] == "refused"
    assert found["lift"]["there"]["verdict"] == "proved"
    assert found["lift"]["differences"] is None


def test_take_in_needs_a_word_where_an_id_is_taken(shop, tmp_path):
    keep(shop, "macro", "lift", LIFT + "# mine\n")
    name = write(tmp_path / "b.zip", made("lift", "own"))
    result = run("take-in", name)
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr.startswith("clickstop: lift: the shelf has another macro of this id")
    assert shop.ids("macro") == ("lift",)
    result = run("take-in", name, "--keep", "both")
    assert result.exit_code == 0
    assert set(shop.ids("macro")) == {"lift", "lift-2", "own"}
    assert "lift-2  beside the one that is here" in result.stdout
    assert run("take-in", name, "--keep", "theirs").exit_code == 0
    assert shop.text("macro", "lift") == LIFT


def test_take_in_takes_those_that_are_named_with_what_they_run(shop, tmp_path):
    shop.delete("macro", "lift")
    name = write(tmp_path / "b.zip", made())
    assert run("take-in", name, "present").exit_code == 0
    assert set(shop.ids("macro")) == {"lift", "present"}
    result = run("take-in", name, "gone")
    assert (result.exit_code, "no macro 'gone' in what comes" in result.stderr) == (2, True)


def test_take_in_of_several_files_at_once(shop, tmp_path):
    low = document("low", {"block": "raise"})
    result = run("take-in", write(tmp_path / "b.zip", made("own")), write(tmp_path / "low.toml", low))
    assert result.exit_code == 0
    assert {each.source for each in origin.of_all(shop).values()} == {"b.zip", "low.toml"}


@pytest.mark.parametrize("kind", ["traversal", "symlink", "bomb", "wrong digest", "encrypted", "nested"])
def test_a_hostile_bundle_is_refused_in_one_line(shop, tmp_path, kind):
    make, said = hostile.KINDS[kind]
    for call in ("review", "take-in"):
        result = run(call, write(tmp_path / "h.zip", make()))
        assert (result.exit_code, result.stdout, result.stderr.count("\n")) == (2, "", 1)
        assert said in result.stderr


def test_words_that_would_move_the_cursor_are_seen(shop, tmp_path):
    name = write(tmp_path / "evil\x1b[2J.toml", document("evil", {"block": "raise"}, purpose="x"))
    result = run("review", name)
    assert "\x1b" not in result.stdout
    assert "\\x1b[2J" in result.stdout


def test_a_file_that_is_not_there_is_said(shop):
    for call in ("review", "take-in", "add"):
        result = run(call, "gone.zip")
        assert (result.exit_code, "there is no such file" in result.stderr) == (2, True)


def test_export_and_sync_say_what_was_done_and_what_was_not(shop, tmp_path):
    assert run("export", "d").exit_code == 0
    assert run("sync", "d").stdout == "Shelf and folder are alike.\n"
    (tmp_path / "d" / "lift.toml").write_text(LIFT.replace("Up.", "Up and away."))
    keep(shop, "macro", "lift", LIFT.replace("Up.", "Upwards."))
    result = run("sync", "d")
    assert result.exit_code == 1
    assert "CONFLICT" in result.stdout
    assert "purpose" in result.stdout


def test_macros_of_a_folder_may_run_one_another(shop, tmp_path):
    keep(shop, "macro", "twice", document("twice", {"block": "run-macro", "macro": "lift"}))
    run("export", "d")
    result = CliRunner().invoke(main, ["check", "d"])
    assert result.exit_code == 0, result.stderr
