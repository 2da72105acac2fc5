"""Documents: one clear line for every mistake, schemas, and writing back with comments kept."""

import json

import pytest
from pydantic import BaseModel

from library import documents, mistakes, starter
from library.documents import DocumentError, parse
from library.sheets import plain_machine

MACHINE = starter.text("machine.toml")
CONTROLLER = starter.text("controller.toml")
PENDANT = starter.text("pendant.toml")
MACRO = starter.text("macros/present-part.toml")
TEXTS = {"machine": MACHINE, "controller": CONTROLLER, "pendant": PENDANT, "macro": MACRO}


def refusal(kind, text):
    with pytest.raises(DocumentError) as caught:
        parse(kind, text, "mine.toml")
    message = str(caught.value)
    assert "\n" not in message
    assert message.startswith("mine.toml")
    assert "pydantic" not in message.lower()
    return caught.value


def changed(kind, old, new):
    assert old in TEXTS[kind]
    return TEXTS[kind].replace(old, new, 1)


@pytest.mark.parametrize("kind", documents.KINDS)
def test_the_starter_document_of_each_kind_is_read(kind):
    assert parse(kind, TEXTS[kind]).format == f"clickstop-{kind}/1"


def test_an_unknown_key_is_named_with_its_line_and_the_nearest_known_one():
    error = refusal("machine", changed("machine", "travel = [0.0, 260.0]", "travle = [0.0, 260.0]"))
    assert (error.source, error.line, error.key) == ("mine.toml", 10, "axes.x.travle")
    assert str(error) == ('mine.toml, line 10: axes.x.travle is not a key that is known here; did you mean "travel"?')


@pytest.mark.parametrize(
    ("kind", "old", "new", "why"),
    [
        (
            "machine",
            "rapid = 2400.0",
            'rapid = "fast"',
            'axes.x.rapid is the text "fast"; it has to be a number in mm/min',
        ),
        ("machine", "rapid = 2400.0", 'rapid = "95 in/min"', "it has to be a number in mm/min (rate of a rapid move)"),
        ("machine", "rapid = 2400.0", "rapid = true", "axes.x.rapid is true; it has to be a number"),
        ("machine", "rapid = 2400.0", "rapid = 0", "axes.x.rapid is 0; it has to be more than 0"),
        ("machine", "rapid = 2400.0", "rapid = nan", "axes.x.rapid is nan; it has to be a finite number"),
        ("machine", "rapid = 2400.0", "rapid = 1e300", "it has to be at most 1e+06"),
        ("machine", "rapid = 2400.0", "rapid = 1" + "0" * 400, "is a number beyond all measure"),
        ("machine", "[0.0, 260.0]", "[260.0, 0.0]", "axes.x.travel runs from 260 to 0; write the lower end first"),
        ("machine", "[0.0, 260.0]", "[5.0, 5.0]", "axes.x.travel runs from 5 to 5"),
        ("machine", "[0.0, 260.0]", "[260.0]", "axes.x.travel is a list of 1; it has to be a list of at least 2"),
        ("machine", "[0.0, 260.0]", "[0, 1, 2]", "axes.x.travel is a list of 3; it has to be a list of 2"),
        ("machine", "[0.0, 260.0]", "260.0", "axes.x.travel is 260.0; it has to be a list in [ ]"),
        ("machine", 'home = "max"', 'home = "left"', 'it has to be "min", "max" or "none"'),
        ("machine", "[axes.y]", "[axes.a]", "axes.y is missing; add it as a table"),
        ("machine", 'name = "Workshop mill"', 'name = ""', "name is the text"),
        ("machine", 'name = "Workshop mill"', 'units = "cm"', 'units is the text "cm"; it has to be "mm" or "inch"'),
        ("machine", "z = -2.0 ", "z = 5.0 ", "safe.z is 5, outside the Z travel from -90 to 0"),
        ("machine", "to = [170.0", "to = [70.0", "keep_out[1].to has X 70, not above the 80 of `from`"),
        ("machine", "to = [280.0, 165.0]", "to = [280.0, -165.0]", "table.to has Y -165, not above the -15"),
        ("machine", 'name = "Bar",', 'name = "vise",', '"vise" is the name of another keep-out too'),
        ("machine", 'name = "Vise"', 'name = "table"', "keep_out[1].name is the name of the table top"),
        ("machine", "x = 125.0\n", 'x = "left"\n', 'work.G54.x is the text "left"; it has to be a number or a list'),
        ("machine", "[-40.0, -30.0]", "[-30.0, -40.0]", "setup[1].work.G54.z runs from -30 to -40"),
        ("machine", "[work.G54]", "[work.G59.1]", 'a name with a point in it is written in quotes: "G59.1"'),
        ("machine", "[work.G54]", "[work.G64]", 'work.G64 is not a key that is known here; did you mean "G5'),
        (
            "machine",
            "[work.G54]",
            "[work.G55]\na = 1.0\n[work.G54]",
            "names an axis this machine has not (it has x, y, z)",
        ),
        ("machine", "[motion]", "[[tools]]\nnumber = 1\nlength = 3\n[motion]", "tools[2].number 1 is used twice"),
        ("machine", "[motion]", '[[limit]]\nwhen = "z low"\nthen = "y < 3"\n[motion]', "limit[1].when is"),
        ("machine", "[motion]", '[[limit]]\nwhen = "z < 3 deg"\nthen = "y < 3"\n[motion]', "z is measured in mm or in"),
        ("machine", "[spindle]", "spindle = 3\n[spindel]", "operator.spindle is not a key that is known here"),
        ("controller", 'g28 = "return"', 'g28 = "homes"', 'it has to be "return", "home" or "none"'),
        ("controller", "percent = true", "percent = 1", "percent is 1; it has to be true or false"),
        ("controller", "line_limit = 256", "line_limit = 80.5", "line_limit is 80.5; it has to be a whole number"),
        ("controller", "G40 G90", "G40 G20 G90", "resting has G21 and G20, which cannot both be in force"),
        ("controller", "G40 G90", "G40 G77", 'resting has "G77", which is not a modal word of the standard'),
        ("controller", "unsupported = []", 'unsupported = ["G5.4"]', '"G5.4" is not a word of the standard'),
        ("controller", "extra_words = {}", 'extra_words = { loop = "call" }', "extra_words.loop is not a word"),
        ("controller", "extra_words = {}", 'extra_words = { M98 = "jump" }', 'it has to be "call", "end", "ignore"'),
        ("controller", 'ending = ""', 'ending = "M99"', 'ending is "M99"; write "", M2, M30, or a word that'),
        ("controller", 'unit = "s"', 'unit = "min"', 'dwell.unit is the text "min"; it has to be "s" or "ms"'),
        ("controller", 'word = "P", unit = "s"', 'word = "S", unit = "ms"', "a dwell with S is in seconds"),
        ("controller", "{slug}.nc", "macro.nc", "file_name names every macro the same"),
        ("controller", "{slug}.nc", "../{slug}.nc", "file_name has to be a plain file name"),
        ("controller", "{slug}.nc", "{name}{slug}.nc", "file_name has {name} in it; only {number} or {slug}"),
        ("controller", "(MSG, {text})", "(MSG)", "message has no {text} in it"),
        ("pendant", 'label = "5"', 'label = "4"', '"4" is there twice; labels have to differ'),
        ("pendant", 'x10 = "park"', 'x20 = "park"', "slots.5.x20 is not an increment of this pendant"),
        ("pendant", '[slots."6"]', '[slots."7"]', "slots.7 is not a position of this pendant; it has OFF, X, Y, Z"),
        ("pendant", 'x10 = "park"', 'x10 = "Park!"', "it has to be lower-case letters and digits"),
        ("pendant", "turns = [3, -3]", "clicks = 0", "gesture.clicks has to be a whole number from 1 to 100"),
        ("pendant", 'drives = "x"', 'drives = "u"', "positions[2].drives is the text"),
    ],
)
def test_a_mistake_says_where_what_and_what_to_do(kind, old, new, why):
    assert why in str(refusal(kind, changed(kind, old, new)))


@pytest.mark.parametrize(
    ("kind", "old", "new", "why"),
    [
        ("machine", "rapid = 2400.0", "rapid = 5e-324", "rapid of axis x is 5e-324"),
        ("machine", "[0.0, 260.0]", "[0.0, 5e-324]", "travel of axis x is 0.0 to 5e-324"),
        ("controller", "first_run_rate = 500.0", "first_run_rate = 1e-9", "first_run_rate of the controller is 1e-09"),
        ("controller", "G40 G90 G94", "G40 G90 G94 G4", 'a word in resting of the controller is "G4"'),
    ],
)
def test_what_the_parser_would_not_take_is_a_mistake_of_the_sheet(kind, old, new, why):
    assert str(refusal(kind, changed(kind, old, new))).startswith(f"mine.toml: {why}. ")


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (
            MACHINE.replace("machine/1", "machine/2"),
            "format clickstop-machine/2 was written by a newer Clickstop; update",
        ),
        (MACHINE.replace("machine/1", "machine/0"), "was never in use"),
        (MACHINE.replace("clickstop-machine/1", "some-machine"), "which is no format of this program"),
        (MACHINE.replace('"clickstop-machine/1"', "1"), "format is 1, which is no format of this program"),
        ('name = "x"', 'format is missing; begin the document with the line format = "clickstop-machine/1"'),
        (MACRO, "this is a macro, and a machine sheet is wanted here"),
        ("", "the document is empty"),
        ("\0\0", "not a text file"),
        ("G0 X3\n", "line 1: not TOML"),
    ],
)
def test_what_is_no_machine_sheet_of_this_version_is_said(text, why):
    assert why in str(refusal("machine", text))


def test_an_older_version_is_upgraded_on_load(monkeypatch):
    monkeypatch.setitem(
        documents.UPGRADES,
        ("macro", 0),
        lambda data: {"name" if key == "title" else key: value for key, value in data.items()},
    )
    macro = parse("macro", 'format = "clickstop-macro/0"\ntitle = "Park"\n')
    assert (macro.name, macro.format) == ("Park", "clickstop-macro/1")


@pytest.mark.parametrize(
    ("name", "content", "why"),
    [
        ("missing.toml", None, "there is no such file"),
        (".", None, "this is a folder"),
        ("picture.toml", b"\x89PNG\xff\xfe", "this is not a text file in UTF-8"),
        ("missing\0.toml", None, "the file cannot be read"),
    ],
)
def test_a_file_that_cannot_be_read_is_said(tmp_path, name, content, why):
    path = f"{tmp_path}/{name}"
    if content is not None:
        (tmp_path / name).write_bytes(content)
    with pytest.raises(DocumentError, match=why):
        documents.read_file(path)


def test_a_file_is_read_without_its_byte_order_mark(tmp_path):
    (tmp_path / "mill.toml").write_bytes(b"\xef\xbb\xbf" + MACHINE.encode())
    assert documents.read_file(tmp_path / "mill.toml") == MACHINE


def test_the_digest_is_that_of_the_text_in_utf_8():
    # SHA-256 of "abc": FIPS 180-4, example published by NIST with the standard
    assert documents.digest("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


def models(model, seen=None):
    seen = {} if seen is None else seen
    if model.__name__ not in seen:
        seen[model.__name__] = model
        for field in model.model_fields.values():
            table = mistakes.table_of(field.annotation)
            if table:
                models(table, seen)
    return seen


@pytest.mark.parametrize("kind", documents.KINDS)
def test_every_key_of_every_kind_has_a_description(kind):
    for model in models(documents.KINDS[kind]).values():
        assert issubclass(model, BaseModel)
        assert model.__doc__
        for name, field in model.model_fields.items():
            assert field.description, f"{model.__name__}.{name}"


@pytest.mark.parametrize("kind", documents.KINDS)
def test_the_schema_is_json_and_knows_every_key_and_its_description(kind):
    schema = json.loads(json.dumps(documents.schema(kind)))
    model = documents.KINDS[kind]
    assert set(schema["properties"]) == {field.alias or name for name, field in model.model_fields.items()}
    assert all(entry.get("description") for entry in schema["properties"].values())
    assert schema["additionalProperties"] is False


def test_only_what_has_no_default_is_required():
    assert documents.schema("machine")["required"] == ["format", "name", "axes"]
    assert documents.schema("controller")["required"] == ["format"]
    assert documents.schema("pendant")["required"] == ["format"]


def test_the_macro_schema_lists_every_block_with_its_parameters():
    steps = documents.schema("macro")["properties"]["step"]["items"]["anyOf"]
    assert {"raise", "present-table", "own-lines"} <= {step["properties"]["block"]["const"] for step in steps}


def test_writing_changes_touches_nothing_else():
    written = documents.write("machine", {("axes", "x", "rapid"): 3000.0, ("safe", "z"): -3.0}, MACHINE)
    assert written == changed("machine", "rapid = 2400.0", "rapid = 3000.0").replace("z = -2.0 ", "z = -3.0 ")


def test_writing_a_model_writes_only_what_differs():
    model = parse("controller", CONTROLLER)
    assert documents.write("controller", model, CONTROLLER) == CONTROLLER
    other = model.model_copy(update={"percent": False})
    assert documents.write("controller", other, CONTROLLER) == changed(
        "controller", "percent = true", "percent = false"
    )


@pytest.mark.parametrize("kind", documents.KINDS)
def test_a_model_written_from_nothing_reads_back_the_same(kind):
    model = parse(kind, TEXTS[kind])
    assert parse(kind, documents.write(kind, model, "")) == model


def test_a_change_that_would_spoil_the_document_is_refused():
    with pytest.raises(DocumentError, match=r"axes\.x\.rapid is -1"):
        documents.write("machine", {("axes", "x", "rapid"): -1}, MACHINE)


def test_a_slot_is_filled_and_emptied():
    filled = documents.write("pendant", {("slots", "4", "x10"): "park"}, PENDANT)
    assert parse("pendant", filled).slots["4"] == {"x1": "retract", "x10": "park"}
    assert documents.write("pendant", {("slots", "4", "x10"): None}, filled) == PENDANT


@pytest.mark.parametrize("name", ["machine.toml", "second/machine.toml"])
def test_a_sheet_whose_units_are_switched_can_have_its_figures_converted_and_is_the_same_machine(name):
    text = starter.text(name) + '[[limit]]\nwhen = "z < -2"\nthen = "y <= 3"\n'
    sheet = documents.parse("machine", text)
    other = "mm" if sheet.units == "inch" else "inch"
    changed = documents.converted("machine", documents.write("machine", {("units",): other}, text), sheet.units)
    before, after = plain_machine(sheet), plain_machine(documents.parse("machine", changed))
    assert documents.parse("machine", changed).units == other
    for one, two in zip(before.axes, after.axes, strict=True):
        assert (two.travel.low, two.travel.high) == pytest.approx((one.travel.low, one.travel.high), abs=2e-4)
        assert (two.rapid, two.acceleration) == pytest.approx((one.rapid, one.acceleration), abs=2e-4)
    assert [box.high for box in after.setups[0].keep_outs] == [
        pytest.approx(box.high, abs=2e-4) for box in before.setups[0].keep_outs
    ]
    assert before.limits == after.limits
    assert after.run_down == before.run_down
