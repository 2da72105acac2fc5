"""Numbers as the pages show them."""

import pytest

from parser import quantities
from parser.machine import Interval
from parser.motion.places import Afloat, Name, Unknown, in_words
from parser.quantities import Figures
from parser.times.timing import Spread

MM = Figures()
INCH = Figures("inch")


@pytest.mark.parametrize(
    ("value", "shown"), [(38.2, "38.2"), (100.0, "100"), (-0.00001, "0"), (0.0627, "0.063"), (-2.0, "-2")]
)
def test_useless_zeros_and_a_minus_before_zero_are_left_out(value, shown):
    assert quantities.figure(value, 3) == shown


@pytest.mark.parametrize(
    ("seconds", "shown"), [(0, "0.0 s"), (2.34, "2.3 s"), (59.99, "1 min"), (72, "1 min 12 s"), (3600, "60 min")]
)
def test_times_read_as_people_say_them(seconds, shown):
    assert quantities.seconds(seconds) == shown


def test_a_spread_of_one_value_is_one_figure():
    assert quantities.seconds_spread(Spread(5, 5.01, 5)) == "5.0 s"
    assert quantities.seconds_spread(Spread(0, 4.6, 2)) == "0.0 s to 4.6 s"
    assert MM.length_spread(Spread(0, 88, 43)) == "0 to 88 mm"


def test_an_inch_sheet_shows_inches():
    # One inch is 25.4 mm exactly (international yard and pound agreement, 1959).
    assert INCH.length(25.4) == "1 in"
    assert INCH.coordinate("x", -50.8) == "-2"
    assert INCH.value("rate", 2540) == "100 in/min"
    assert INCH.speed(25.4) == "1 in/s"


def test_degrees_are_not_turned_into_inches():
    assert INCH.coordinate("a", 25.4) == "25.4"
    assert INCH.value("angle", 90) == "90 deg"


@pytest.mark.parametrize(
    ("kind", "base", "shown"),
    [
        ("start", 0.0, "as it was"),
        ("start", 10.0, "+10 from where it was"),
        ("start", -2.5, "-2.5 from where it was"),
        ("homed", 0.0, "as homed"),
        ("origin", 0.0, "0 to 100"),
        ("homed", 5.0, "5 to 105"),
    ],
)
def test_a_place_that_is_not_known_is_said_in_words(kind, base, shown):
    assert in_words("x", Afloat(base, Unknown(Name("it", "x"), kind, Interval(0, 100))), MM) == shown


def test_a_known_place_is_a_number():
    assert in_words("z", -2.0, MM) == "-2"
