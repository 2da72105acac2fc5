"""Figures that are legal and unlikely are asked about, overridden origins are told, and one setup may be chosen."""

import pytest

from library import documents, proving, starter
from library.sheets.overriding import overrides
from library.sheets.sense import TABLE, doubts
from library.toml_text import DocumentError

SHEET = starter.text("machine.toml")
INCHES = ('name = "Workshop mill"', 'name = "Workshop mill"\nunits = "inch"')
STICK_OUT = ("stick_out = 40.0", "stick_out = 4000.0")

CASES = {
    STICK_OUT: ("tool.stick_out", "4000 mm of tool on 90 mm of Z travel?"),
    ("top = -130.0", "top = 50.0"): ("table.top", "The table top is at Z 50, and the nose itself goes down to -90?"),
    INCHES: ("axes.x.travel", "X travels 260 in?"),
    ("travel = [0.0, 260.0]", "travel = [0.0, 10.2]"): ("axes.x.travel", "X travels only 10.2 mm?"),
    ("rapid = 1200.0", "rapid = 120000.0"): ("axes.z.rapid", "The rapid rate of Z is 120000 mm a minute?"),
    ("rapid = 1200.0", "rapid = 12.0"): ("axes.z.rapid", "The rapid rate of Z is 12 mm a minute?"),
    ("acceleration = 120.0", "acceleration = 1.2"): ("axes.z.acceleration", "Z takes 17 s to its rapid rate?"),
    ("acceleration = 120.0", "acceleration = 12000.0"): ("axes.z.acceleration", "Z takes 0.0017 s to its rapid rate?"),
    ("jerk = 0.0 ", "jerk = 2.2 "): ("axes.x.jerk", "X takes 1e+02 s to its full acceleration?"),
    ("radius = 6.0", "radius = 600.0"): ("tool.radius", "A tool 1200 mm thick?"),
    ("nose_radius = 30.0", "nose_radius = 300.0"): ("spindle.nose_radius", "A spindle nose 600 mm across?"),
    ("run_down = 5.0", "run_down = 5000.0"): ("spindle.run_down", "The spindle takes 5000 s to run down?"),
    ("latency = 0.1", "latency = 100.0"): ("motion.latency", "The machine brakes 100 s after letting go?"),
    ("keep_out = 2.0", "keep_out = 60.0"): ("margins.keep_out", "60 mm of room around everything that is drawn?"),
    ("from = [80.0, 35.0, -130.0]\nto = [170.0", "from = [380.0, 35.0, -130.0]\nto = [470.0"): (
        "keep_out Vise",
        "Nothing of the machine ever comes to Vise?",
    ),
    ("z = -2.0 ", "z = -60.0 "): (
        "safe.z",
        "At safe Z -60 the tip of the longest tool is at -100, and Bar is up to -76?",
    ),
    ("x = 125.0\ny = 70.0\nz = -38.0", "x = 525.0\ny = 70.0\nz = -38.0"): (
        "work.G54.x",
        "X of G54 is 525, and X travels from 0 to 260?",
    ),
}


def asked(text):
    return [(doubt.key, doubt.text) for doubt in doubts(documents.parse("machine", text))]


@pytest.mark.parametrize(("change", "found"), CASES.items(), ids=[found[0] for found in CASES.values()])
def test_what_is_unlikely_is_asked_about(change, found):
    text = SHEET.replace(*change)
    assert text != SHEET
    assert any((key, each.split("?")[0] + "?") == found for key, each in asked(text))


@pytest.mark.parametrize("name", ["machine.toml", "second/machine.toml"])
def test_nothing_is_asked_of_the_starter_sheets(name):
    assert asked(starter.text(name)) == []


def test_every_question_has_its_reason():
    assert all(ask.question.endswith("?") and ask.why.endswith(".") for ask in TABLE)


def test_an_axis_that_never_reaches_its_rate_is_asked_about():
    text = SHEET.replace("acceleration = 120.0", "acceleration = 4.0")
    wanted = "Z would need 100 mm to reach its rapid rate and stop again, and travels 90 mm?"
    assert any(each.startswith(wanted) for _, each in asked(text))


def test_the_questions_are_in_the_units_of_the_sheet():
    questions = asked(SHEET.replace(*INCHES).replace(*STICK_OUT))
    assert any(each.startswith("4000 in of tool on 90 in of Z travel?") for _, each in questions)
    assert not any(" mm " in f"{each} ".replace("units = mm", "") for _, each in questions)


# Origins that a setup overrides


def told(text):
    return list(overrides(documents.parse("machine", text)))


def test_an_origin_that_a_setup_overrides_is_told_with_the_setup():
    assert told(SHEET) == ['[work.G54] is overridden in setup "Bar in the vise": change it there']


def test_only_the_axes_that_are_overridden_are_told():
    text = SHEET.replace("work.G54 = { x = 125.0, y = 70.0, z = [-40.0, -30.0] }", "work.G54 = { z = -30.0 }")
    assert told(text) == ['[work.G54] is overridden along Z in setup "Bar in the vise": change it there']


def test_an_origin_that_only_a_setup_has_overrides_nothing():
    assert told(SHEET.replace("work.G54 = {", "work.G55 = {")) == []
    dotted = SHEET.replace("[work.G54]", '[work."G59.1"]').replace("work.G54 = {", 'work."G59.1" = {')
    assert told(dotted) == ['[work."G59.1"] is overridden in setup "Bar in the vise": change it there']


# The setup on the table

PLATE = """
[[setup]]
name = "Plate"
keep_out = [{ name = "Block", from = [0.0, 0.0, -130.0], to = [260.0, 20.0, -10.0] }]
"""
TWO = SHEET + PLATE
ON_TABLE = TWO.replace('name = "Workshop mill"', 'name = "Workshop mill"\non_table = "Bar in the vise"')


def report(machine):
    macro = documents.parse("macro", starter.macros()["present-part"])
    bench = documents.bench(machine, starter.text("controller.toml"))
    return proving.prove_macro(macro, bench, seek_start=False).report


def test_a_macro_is_proved_in_every_setup_unless_one_is_said_to_be_on_the_table():
    everywhere, today = report(TWO), report(ON_TABLE)
    assert everywhere.verdict == "refused"
    assert today.verdict == "proved"
    assert "Bar in the vise is on the table today: no other setup of the sheet was looked at" in today.sentence
    assert "today" not in report(SHEET).sentence


def test_a_setup_that_there_is_not_names_the_nearest():
    with pytest.raises(DocumentError, match='did you mean "Bar in the vise"'):
        documents.parse("machine", ON_TABLE.replace('on_table = "Bar in', 'on_table = "Barr in'))
