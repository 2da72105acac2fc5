"""What the program writes for scripts is what its JSON Schemas say, key by key."""

from __future__ import annotations

import json
from copy import deepcopy
from typing import get_args

import pytest
from click.testing import CliRunner
from jsonschema import Draft202012Validator, ValidationError

import parser
from library import documents, pack, starter, written
from library.pack import Gathered
from library.sheets import ControllerSheet
from library.sheets.pendant import Gesture
from library.store import Workshop
from parser import Box, Question, Setup
from parser.findings import Severity
from parser.motion.moves import MoveKind
from parser.opinion import Outcome
from parser.proof.rules import RULES
from parser.report import Verdict
from tests.library.test_pack import BROKEN, LOW, SLOTS, made
from tests.parser.scene import MILL, controller, mill
from webapp.cli import main


def strict(schema):
    """The schema with no keys but those it names, at any depth."""
    made = deepcopy(schema)
    waiting = [made]
    while waiting:
        part = waiting.pop()
        if isinstance(part, dict):
            if "properties" in part:
                part["additionalProperties"] = False
            waiting += part.values()
        elif isinstance(part, list):
            waiting += part
    return made


VALIDATORS = {kind: Draft202012Validator(strict(written.schema(kind))) for kind in written.KINDS}


def fits(kind, said):
    VALIDATORS[kind].validate(json.loads(json.dumps(said, allow_nan=False)))


def examined(text, machine=MILL, **question):
    return parser.as_json(parser.examine(text, machine, controller(percent=False), Question(**question)), file="a.nc")


MOVES = (
    "G17 G21 G40 G49 G54 G80 G90 G94\nM5\nG53 G0 Z-2\nG53 G0 X20 Y30\nG1 Z-5 F100\nG2 X10 Y0 I5 J0\nG4 P1\nG38.2 Z-9\n"
)
CASES = {
    "moves of every kind": lambda: examined(MOVES),
    "one that is accepted": lambda: examined(
        "G53 G0 X120 Y70\n", accepted={"crosses-keep-out": "the vise is off"}, assume="G21 G90", steps={1: 3}
    ),
    "two setups": lambda: examined(
        MOVES, mill(setups=(MILL.setups[0], Setup("Bare", (Box("Plate", (0.0, 0.0, -130.0), (9.0, 9.0, -90.0)),))))
    ),
    "one that has to begin somewhere": lambda: examined("G21 G90\nG53 G0 X130 Y72\n"),
    "nothing at all": lambda: examined(""),
}


# The report


@pytest.mark.parametrize("name", CASES)
def test_a_report_is_as_its_schema_says(name):
    fits("report", CASES[name]())


@pytest.mark.parametrize("rule", [name for name in RULES if RULES[name].manual().bad])
def test_a_finding_of_every_rule_is_as_the_schema_says(rule):
    asked = Question(assume=RULES[rule].assume, seek_start=False)
    report = parser.examine(f"{RULES[rule].manual().bad}\n", MILL, controller(**RULES[rule].setting), asked)
    fits("report", parser.as_json(report))


@pytest.fixture
def printed(tmp_path, monkeypatch):
    """What ``check --format json`` prints for some files, or for the starter workshop alone."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))

    def run(*arguments):
        return json.loads(CliRunner().invoke(main, ["check", *map(str, arguments), "--format", "json"]).stdout)

    return run


def test_what_check_prints_for_one_file_and_for_several_is_as_the_schema_says(printed, tmp_path):
    for name in ("a.nc", "b.nc"):
        (tmp_path / name).write_text("%\nG21 G90\nG53 G0 Z-60\n%\n")
    one, several = printed(tmp_path / "a.nc"), printed(tmp_path / "a.nc", tmp_path / "b.nc")
    fits("report", one)
    fits("report", several)
    assert len(one["machine"]["sha256"]) == 64
    assert len(several) == 2


def test_what_check_prints_for_a_workshop_alone_is_as_the_schema_says(printed, tmp_path):
    Workshop.open(tmp_path / "shop")
    said = printed("--workshop", tmp_path / "shop")
    fits("report", said)
    assert said[-1]["pendant"]
    with pytest.raises(ValidationError):
        fits("report", [*said[:-1], {**said[-1], "verdict": "perhaps"}])


# The pack


def starters():
    macros = {id: text for kind, id, text in starter.documents() if kind == "macro"}
    sheets = (starter.text(f"{kind}.toml") for kind in ("machine", "controller", "pendant"))
    return pack.make(Gathered(*sheets, macros))


@pytest.mark.parametrize(
    "make",
    [starters, made, lambda: made(low=LOW, broken=BROKEN), lambda: made(pendant=SLOTS.split("[slots")[0])],
    ids=["the starter workshop", "three slots", "some left out", "no slots"],
)
def test_the_slot_table_and_the_manifest_are_as_their_schemas_say(make):
    files = make().files
    fits("slots", json.loads(files["slots.json"]))
    fits("manifest", json.loads(files["manifest.json"]))


# The schemas themselves


def objects(schema):
    parts = {"the whole": schema, **schema["$defs"]}
    return {name: part for name, part in parts.items() if "properties" in part}


@pytest.mark.parametrize("kind", written.KINDS)
def test_a_schema_is_good_and_describes_every_key(kind):
    schema = written.schema(kind)
    Draft202012Validator.check_schema(schema)
    for title, part in objects(schema).items():
        assert part["description"], title
        for name, key in part["properties"].items():
            assert key.get("description"), f"{title}: {name}"


@pytest.mark.parametrize("kind", written.KINDS)
def test_the_command_prints_the_schema(kind):
    result = CliRunner().invoke(main, ["schema", kind])
    assert json.loads(result.stdout) == written.schema(kind)


def test_a_key_more_a_key_less_and_a_wrong_value_do_not_fit():
    said = CASES["moves of every kind"]()
    for wrong in ({**said, "extra": 1}, {key: said[key] for key in said if key != "run_on"}, {**said, "lines": "9"}):
        with pytest.raises(ValidationError):
            fits("report", wrong)


def test_a_script_that_validates_still_takes_what_later_versions_add():
    said = CASES["nothing at all"]()
    Draft202012Validator(written.schema("report")).validate({**said, "extra": 1})


def enums(part):
    """Every list of choices in a schema, by the key that it belongs to."""
    if isinstance(part, list):
        part = dict(enumerate(part))
    for key, inner in part.items() if isinstance(part, dict) else ():
        if isinstance(inner, dict) and "enum" in inner:
            yield key, tuple(inner["enum"])
        yield from enums(inner)


CHOICES = {
    "Severity": tuple(Severity),
    "verdict": get_args(Verdict),
    "outcome": get_args(Outcome),
    "kind": get_args(MoveKind),
    "line_ending": get_args(ControllerSheet.model_fields["line_ending"].annotation),
    "acknowledge_means": get_args(ControllerSheet.model_fields["acknowledge_means"].annotation),
    "release": get_args(ControllerSheet.model_fields["release"].annotation),
    "sheet": ("machine", "controller"),
    "propertyNames": tuple(kind for kind in documents.KINDS if kind != "macro"),
}


@pytest.mark.parametrize("kind", written.KINDS)
def test_the_choices_that_a_schema_lists_are_those_of_the_program(kind):
    found = list(enums(written.schema(kind)))
    assert found
    for key, listed in found:
        assert listed == CHOICES[key], key


def test_the_gesture_of_the_slot_table_is_that_of_the_pendant_sheet():
    written_there = written.schema("slots")["$defs"]["Gesture"]["properties"]
    here = Gesture.model_json_schema()["properties"]
    assert written_there == {
        name: {key: value for key, value in each.items() if key != "title"} for name, each in here.items()
    }
