"""Formulas: units, landmarks, dimensions, and what they say when they have no value."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from library import documents, formulas, sheets, starter
from library.formulas import FormulaError, evaluate, start_box
from parser.machine import Interval

MILL = documents.parse("machine", starter.text("machine.toml"))
CONTROLLER = documents.parse("controller", sheets.preset_text("as-published"))
LANDMARKS = formulas.Landmarks.of(MILL, CONTROLLER)
BARE = starter.text("machine.toml").split("[[setup]]")[0]


def landmarks(text):
    return formulas.Landmarks.of(documents.parse("machine", text), CONTROLLER)


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("20", "length", 20.0),
        ("-.5", "length", -0.5),
        ("1 in", "length", 25.4),
        ("1.5in", "length", 38.1),
        ("5 MM", "length", 5.0),
        ("travel.y.max - 20 mm", "length", 130.0),
        ("TRAVEL.Y.MAX - 20", "length", 130.0),
        ("travel.x.middle", "length", 130.0),
        ("travel.z.length", "length", 90.0),
        ("-(safe.z + 2 * 3 mm) / 2", "length", -2.0),
        ("10 - 4 - 3", "length", 3.0),
        ("24 / 4 / 3", "length", 2.0),
        ("min(safe.z, -5 mm)", "length", -5.0),
        ("max(safe.z, -5, 3 mm)", "length", 3.0),
        ("travel.x.length / travel.y.length * 15 mm", "length", 26.0),
        ("keep_out.vise.top + 10", "length", -70.0),
        ("keep_out.table.top", "length", -130.0),
        ("tool.stick_out / 2 + tool.radius", "length", 26.0),
        ("spindle.run_down * 2", "time", 10.0),
        ("1500", "rate", 1500.0),
        ("100 in/min", "rate", 2540.0),
        ("min(rapid.z, 1500 mm/min)", "rate", 1200.0),
        ("first_run.rate", "rate", 500.0),
        ("90 deg / 2", "angle", 45.0),
        ("2 * 3", "count", 6.0),
        ("travel.x.length / 10 mm", "count", 26.0),
        ("6000", "speed", 6000.0),
    ],
)
def test_a_formula_has_a_value(text, dimension, value):
    assert evaluate(text, LANDMARKS, dimension) == pytest.approx(value, abs=1e-12)


def test_a_number_without_a_unit_is_in_the_units_of_the_document():
    assert evaluate("travel.y.max - 1", LANDMARKS, "length", "inch") == pytest.approx(150 - 25.4)
    assert evaluate("10", LANDMARKS, "rate", "inch") == 254.0
    assert evaluate("10", LANDMARKS, "time", "inch") == 10.0
    assert evaluate("travel.y.max / 2", LANDMARKS, "length", "inch") == 75.0


@pytest.mark.parametrize(
    ("text", "dimension", "why"),
    [
        ("", "length", "the formula is empty"),
        ("1 / 0", "count", 'in "1 / 0": the divisor is zero'),
        ("5 mm / (safe.z + 2 mm)", "length", "the divisor is zero"),
        ("travel.y.mx", "length", 'travel.y.mx is not a landmark of these sheets; did you mean "travel.y.max"?'),
        ("safe.z + spindle.run_down", "length", "a length and a time cannot be added"),
        ("safe.z - 3 s", "length", "a length and a time cannot be taken from each other"),
        ("min(1 mm, 2 s)", "length", "a length and a time cannot be compared"),
        ("2 mm * 3 mm", "length", "a length times a length is nothing a step can use"),
        ("1 / 2 mm", "length", "a number without a unit cannot be divided by a length"),
        ("spindle.run_down", "length", '"spindle.run_down" is a time, and a length is wanted here'),
        ("5 mm", "time", '"5 mm" is a length, and a time is wanted here'),
        ("travel.x.length / travel.y.length", "length", "is a plain number, and a length is wanted here"),
        ("20 cm", "length", "column 4: cm is not a unit here; write mm, in, s, mm/min, in/min, deg"),
        ("20,5 mm", "length", "column 3: a comma belongs between the values of min or max"),
        ("2 +", "length", '"2 +" ends too early; a value is missing after +'),
        ("(2", "length", 'in "(2": a bracket ) is missing'),
        ("2 3", "length", "column 3: a + - * or / is missing before 3"),
        ("2 ** 3", "length", "a value is missing before *; write a product"),
        ("* 3", "length", "column 1: a value is missing before *"),
        ("top", "length", "top is not a landmark; they look like travel.y.max or safe.z"),
        ("#5", "length", "# means nothing in a formula; a formula has no parameters"),
        ("9" * 40, "length", "has more digits than any machine"),
        ("99999999 * 99999999", "length", "beyond any machine"),
        ("(" * 30 + "1" + ")" * 30, "length", "brackets are nested 30 deep; 12 is the most"),
        ("1 + " * 200 + "1", "length", "longer than 300 characters"),
    ],
)
def test_a_formula_without_a_value_says_why(text, dimension, why):
    with pytest.raises(FormulaError) as caught:
        evaluate(text, LANDMARKS, dimension)
    assert why in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_minus_may_be_copied_from_a_drawing():
    assert evaluate("\N{MINUS SIGN}5 mm \N{MINUS SIGN} 2 mm", LANDMARKS, "length") == -7.0


def test_an_origin_on_which_the_setups_agree_is_a_number():
    assert evaluate("work.g54.x", LANDMARKS, "length") == 125.0


def test_an_origin_on_which_they_differ_asks_for_one_of_its_ends():
    with pytest.raises(FormulaError, match=r"from -40 to -30\); write work.g54.z.min or work.g54.z.max"):
        evaluate("work.g54.z", LANDMARKS, "length")
    assert evaluate("work.g54.z.min", LANDMARKS, "length") == -40.0
    assert evaluate("work.g54.z.max", LANDMARKS, "length") == -30.0


def test_an_origin_that_is_not_on_the_sheet_is_said_to_be_unknown():
    with pytest.raises(FormulaError, match=r"work.g55.x is not known: the machine sheet does not give x of G55"):
        evaluate("work.g55.x", LANDMARKS, "length")


def test_an_origin_that_one_setup_lacks_is_unknown():
    two = BARE + '[[setup]]\nname = "A"\nwork.G55 = { x = 1.0 }\n[[setup]]\nname = "B"\n'
    with pytest.raises(FormulaError, match=r"does not give x of G55 in every setup"):
        evaluate("work.g55.x", landmarks(two), "length")


def test_a_system_with_a_point_in_its_name_is_written_with_an_underscore():
    assert evaluate("work.g59_1.x", landmarks(BARE + '[work."G59.1"]\nx = 7.0\n'), "length") == 7.0


def test_a_keep_out_is_named_by_the_words_of_its_name():
    text = BARE.replace('name = "Vise"', 'name = "2-jaw Vise (old)"')
    assert evaluate("keep_out.2_jaw_vise_old.top", landmarks(text), "length") == -80.0


def test_a_keep_out_that_differs_between_setups_has_its_highest_top():
    def setup(name, top):
        return f'[[setup]]\nname = "{name}"\nkeep_out = [{{ name = "Work", from = [0, 0, -90], to = [1, 1, {top}] }}]\n'

    assert evaluate("keep_out.work.top", landmarks(BARE + setup("A", -70) + setup("B", -60)), "length") == -60.0


def test_rates_of_a_rotary_axis_are_no_feed_rates():
    text = BARE + '[axes.a]\ntravel = [0, 360]\nrapid = 3600\nacceleration = 90\nhome = "none"\ncarried_by = "table"\n'
    assert evaluate("travel.a.max", landmarks(text), "angle") == 360.0
    with pytest.raises(FormulaError, match=r"is a rate of turning, and a rate is wanted here"):
        evaluate("rapid.a", landmarks(text), "rate")


def test_every_landmark_of_the_sheets_can_be_written_in_a_formula():
    for name, quantity in LANDMARKS.items():
        assert evaluate(name, LANDMARKS, quantity.dimension) == quantity.value


def test_a_start_condition_narrows_the_travel():
    box = start_box("z >= -20 mm and x <= 100 mm", LANDMARKS, sheets.plain_machine(MILL))
    assert box == {"x": Interval(0, 100), "y": Interval(0, 150), "z": Interval(-20, 0)}


@pytest.mark.parametrize("text", ["anywhere", " Anywhere ", ""])
def test_anywhere_is_the_whole_travel(text):
    assert start_box(text, LANDMARKS, sheets.plain_machine(MILL)) == {
        "x": Interval(0, 260),
        "y": Interval(0, 150),
        "z": Interval(-90, 0),
    }


def test_a_start_condition_may_use_landmarks_and_inches():
    assert start_box("Z > safe.z AND y = 1", LANDMARKS, sheets.plain_machine(MILL), "inch") == {
        "x": Interval(0, 260),
        "y": Interval(25.4, 25.4),
        "z": Interval(-2, 0),
    }


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("above the vise", "is not a start condition; write"),
        ("10 < x", "is not a start condition"),
        ("z >= 5 mm", '"z >= 5 mm" leaves no start: without it Z could only be from -90 to 0'),
        ("x < 10 and x > 20", "leaves no start"),
        ("x < 0 mm", "leaves no start"),
        ("x > 260 mm", "leaves no start"),
        ("a > 3", "this machine has no A axis; it has x, y, z"),
        ("z > 3 s", "is a time, and a length is wanted here"),
        ("x > 10 and", "a value is missing after and"),
    ],
)
def test_a_start_condition_that_cannot_be_met_says_why(text, why):
    with pytest.raises(FormulaError) as caught:
        start_box(text, LANDMARKS, sheets.plain_machine(MILL))
    assert why in str(caught.value)


NUMBERS_AND_UNITS = "1 20.5 .5 0 mm in s deg mm/min"
SIGNS = "+ - * / ( ) , >= # '"
WORDS = "min max and x é safe.z travel.x.max travel.q"
PIECES = st.sampled_from([*NUMBERS_AND_UNITS.split(), *SIGNS.split(), *WORDS.split(), "\n"])


def refusal(call, *given):
    try:
        call(*given)
    except FormulaError as error:
        return str(error)
    return "none"


@given(st.lists(PIECES, max_size=25).map(" ".join) | st.text(max_size=40))
def test_any_text_has_a_value_or_an_error_in_words(text):
    assert refusal(evaluate, text, LANDMARKS, "length")
    assert refusal(start_box, text, LANDMARKS, sheets.plain_machine(MILL))


NUMBERS = st.integers(1, 999)


@given(NUMBERS, NUMBERS, NUMBERS, st.sampled_from("+-*"), st.sampled_from("+-*/"))
def test_arithmetic_is_that_of_python(a, b, c, first, second):
    text = f"{a} {first} {b} {second} {c}"
    assert evaluate(text, LANDMARKS, "count") == pytest.approx(eval(text))
