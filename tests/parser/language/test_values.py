"""What real values come to."""

import math
from contextlib import suppress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from parser.language.program import Arctangent, Binary, ParameterValue, Unary
from parser.language.reader import read
from parser.language.values import Arithmetic, evaluate, parameter_number
from parser.machine import Controller

STORED = {1.0: 10.0, 2.0: 1.0, 3.0: 15.0, 5399.0: 7.0}


def value_of(text):
    (word,) = read(f"X{text}").lines[0].words
    return evaluate(word.value, STORED.__getitem__)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("[1+2*3]", 7),
        ("[2*3**2]", 18),
        ("[2**3**2]", 64),
        ("[8/4/2]", 1),
        ("[1-2+3]", 2),
        ("[-2-[-3]]", 1),
        ("[[1+2]*3]", 9),
        ("[7 mod 4]", 3),
        ("[-7 mod 4]", 1),
        ("[7 mod -4]", 3),
        ("[5.5 mod 2]", 1.5),
        ("[4 ** 0.5]", 2),
        ("[[-2] ** 3]", -8),
        ("[0 ** 0]", 1),
    ],
)
def test_operations(text, value):
    assert value_of(text) == pytest.approx(value)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("[0 and 1]", 0),
        ("[0.1 and -2]", 1),
        ("[0 or 0]", 0),
        ("[0 or 5]", 1),
        ("[3 xor 5]", 0),
        ("[3 xor 0]", 1),
        ("[1 or 1 and 0]", 0),  # one precedence group, left to right
    ],
)
def test_zero_is_false_and_anything_else_true(text, value):
    # NISTIR 6556, 3.3.2.3
    assert value_of(text) == value


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("sin[30]", 0.5),
        ("cos[60]", 0.5),
        ("tan[45]", 1),
        ("asin[0.5]", 30),
        ("acos[0.5]", 60),
        ("atan[1]/[1]", 45),
        ("atan[1]/[-1]", 135),
        ("atan[-1]/[0]", -90),
    ],
)
def test_angles_in_and_out_are_degrees(text, value):
    # NISTIR 6556, 3.3.2.4
    assert value_of(text) == pytest.approx(value)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("fix[2.8]", 2),
        ("fup[2.2]", 3),
        ("round[2.4]", 2),
        ("round[2.5]", 3),
        ("round[-2.4]", -2),
        ("round[-2.6]", -3),
        ("round[0.49999999999999994]", 0),
        ("abs[-3]", 3),
        ("sqrt[9]", 3),
        ("exp[0]", 1),
        ("ln[exp[2]]", 2),
    ],
)
def test_functions(text, value):
    assert value_of(text) == pytest.approx(value)


@pytest.mark.parametrize(
    ("text", "value"), [("#1", 10), ("##2", 10), ("[#1+2]", 12), ("#[1+2]", 15), ("#1.00005", 10), ("#5399", 7)]
)
def test_parameters_are_looked_up_by_a_whole_number(text, value):
    assert value_of(text) == value


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[1/0]", "1 / 0 has no value."),
        ("[1 mod 0]", "1 MOD 0 has no value."),
        ("[0 ** -1]", "0 ** -1 divides by zero."),
        ("[[-8] ** 0.5]", "-8 ** 0.5 has no value: a negative number takes whole powers only."),
        ("asin[1.1]", "ASIN[1.1] has no value: ASIN takes -1 to 1."),
        ("acos[-2]", "ACOS[-2] has no value: ACOS takes -1 to 1."),
        ("ln[0]", "LN[0] has no value: LN takes more than 0."),
        ("ln[-1]", "LN[-1] has no value: LN takes more than 0."),
        ("sqrt[-1]", "SQRT[-1] has no value: SQRT takes 0 or more."),
        ("exp[1000]", "EXP[1000] is too large to calculate with."),
        ("[10 ** 400]", "10 ** 400 is too large to calculate with."),
        ("[exp[700] * exp[700]]", "1.01423e+304 * 1.01423e+304 is too large to calculate with."),
        ("#0", "There is no parameter #0: they are numbered 1 to 5399."),
        ("#5400", "There is no parameter #5400: they are numbered 1 to 5399."),
        ("#1.5", "There is no parameter #1.5: they are numbered 1 to 5399."),
        ("#-1", "There is no parameter #-1: they are numbered 1 to 5399."),
    ],
)
def test_a_calculation_without_a_result_says_why(text, message):
    # NISTIR 6556, 3.3.2
    with pytest.raises(Arithmetic) as refusal:
        value_of(text)
    assert refusal.value.message == str(refusal.value) == message
    assert refusal.value.remedy


def test_a_parameter_number_may_be_off_by_a_ten_thousandth():
    # NISTIR 6556, 3.3.2
    assert parameter_number(3.0001) == 3
    with pytest.raises(Arithmetic):
        parameter_number(3.0002)


def test_what_the_look_up_raises_passes_through():
    with pytest.raises(KeyError):
        evaluate(ParameterValue(4.0), STORED.__getitem__)


FUNCTIONS = ["ABS", "ACOS", "ASIN", "COS", "EXP", "FIX", "FUP", "LN", "ROUND", "SIN", "SQRT", "TAN"]
OPERATIONS = ["**", "*", "/", "MOD", "+", "-", "OR", "XOR", "AND"]
NUMBERS = st.floats(-1e6, 1e6) | st.sampled_from([0.0, 1.0, -1.0, 0.5, 1e300])
CALCULATIONS = st.recursive(
    NUMBERS,
    lambda inner: (
        st.builds(Unary, st.sampled_from(FUNCTIONS), inner)
        | st.builds(Binary, st.sampled_from(OPERATIONS), inner, inner)
        | st.builds(Arctangent, inner, inner)
        | st.builds(ParameterValue, inner)
    ),
    max_leaves=12,
)


@given(CALCULATIONS)
@settings(max_examples=300, deadline=None)
def test_every_calculation_comes_to_a_finite_number_or_says_why_not(calculation):
    with suppress(Arithmetic):
        assert math.isfinite(evaluate(calculation, lambda number: number))


def test_the_longest_calculation_that_is_read_can_be_worked_out():
    text = "[" + "1+" * 250 + "1]"
    (word,) = read(f"X{text}", Controller(line_limit=1000)).lines[0].words
    assert evaluate(word.value, STORED.__getitem__) == 251
