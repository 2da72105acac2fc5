"""Values known only within a range, the tool length offset, and what G92 says while modes are not known."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from parser.machine import Interval
from parser.motion.assumptions import TOOL
from parser.motion.places import Afloat, Name, Unknown, bounds
from parser.motion.ranges import Ranged, measured
from tests.parser.motion.following import MILL, at, follow, from_work_zero, plain, rules, setup

PROBED = "F9\nG53 G0 Z-2\nG38.2 Z-10\n"
"""Down from machine Z -2 to -50, which is Z-10 with the zero of G54 at -40."""

DOWN = "F9\nG53 G0 Z-2\nG91 G38.2 Z-20\nG90\n"
"""The same from wherever the zero may be."""

UNSURE = replace(MILL, setups=(setup(G54={"x": Interval(100.0, 110.0), "y": Interval(70.0, 70.0)}),))


# What a probe leaves ------------------------------------------------------------------------------------------------


def test_a_move_to_where_the_probe_tripped_goes_nowhere():
    followed = follow(PROBED + "G0 Z#5063")
    assert (rules(followed), len(followed.moves)) == ([], 2)


def test_a_move_above_where_the_probe_tripped_is_known_exactly():
    followed = follow(PROBED + "G0 Z[#5063+5]")
    trip, up = followed.moves[-2].end["z"], followed.end["z"]
    assert (up.unknown, up.base - trip.base) == (trip.unknown, 5.0)


def test_what_was_probed_may_become_an_origin():
    followed = follow(PROBED + "G10 L2 P2 Z[#5063+#5223-40]\nG55 G0 Z40")
    assert rules(followed) == []
    assert bounds(followed.end["z"]) == Interval(-90.0 + 40.0, -42.0 + 40.0)


def test_a_parameter_keeps_a_range():
    followed = follow(PROBED + "#1=[#5063+1]\nG0 Z[#1+1]")
    assert bounds(followed.end["z"]) == Interval(-48.0, 0.0)


def test_axes_that_did_not_move_have_their_place_in_the_parameters():
    assert plain(from_work_zero("F9 G38.2 Z-10\nG0 X[#5061+1]", x=3.0).end)[0] == 4.0


def test_a_probe_in_inches_gives_inches():
    followed = follow("G20\nF9\nG53 G0 Z-0.1\nG38.2 Z-0.3\nG0 Z[#5063+1]")
    assert bounds(followed.end["z"]).high == pytest.approx(-2.54 + 25.4)
    assert followed.end["z"].unknown.name == Name("trip", "z", 4)


def test_inches_probed_and_used_as_millimetres_keep_their_number():
    followed = follow("G20\nF9\nG53 G0 Z-1\nG38.2 Z-0.3\nG21\nG0 Z#5063")
    # from -25.4 mm to 0.3 inch below the zero at -40 mm; 14.6 mm above that zero is 0.5748 inch
    assert bounds(followed.end["z"]).high == pytest.approx(-40.0 + 14.6 / 25.4)
    assert bounds(followed.end["z"]).low == pytest.approx(-40.3)


def test_a_probe_in_a_system_that_is_not_known_has_no_result():
    text = "F9 G53 G0 Z-2\nG91 G38.2 Z-10\nG0 Z#5063"
    assert rules(follow(text, known="G21 G49 G94")) == ["mode-assumed"]


@pytest.mark.parametrize(
    "value", ["[#5063*#5063]", "ABS[#5063]", "[2/#5063]", "[#5063/#5063]", "SQRT[#5063+99]", "#[#5063]"]
)
def test_what_is_calculated_otherwise_from_a_range_is_not_followed(value):
    (trouble,) = follow(PROBED + f"G0 Z{value}").troubles
    assert (trouble.rule, trouble.line, trouble.column) == ("mode-assumed", 4, 4)
    assert "#5063" in trouble.message


def test_half_of_what_was_probed_twice_lies_between_the_two():
    # from (100, 70): the wall at the left trips within 20 mm, that at the right within 40 mm from there
    bore = "F9\nG53 G0 X100\nG91 G38.2 X-20\nG90 #101=#5061\nG91 G38.2 X40\nG90\nG0 X[[#101+#5061]/2]"
    followed = follow(bore)
    assert rules(followed) == []
    assert bounds(followed.end["x"]) == Interval((80.0 + 80.0) / 2, (100.0 + 140.0) / 2)
    first, second = (move.end["x"] for move in followed.moves if move.kind == "probe")
    halves = {unknown.name: count for unknown, count in followed.end["x"].unknown.parts}
    # the way to the right begins at the first trip, so that one is whole in the middle and the other half
    assert halves == {first.unknown.name: 1.0, Name("trip", "x", 5): 0.5}
    assert {each.name for each, _ in second.unknown.parts} == set(halves)


@pytest.mark.parametrize("value", ["[#5063*0.5]", "[0.5*#5063]", "[#5063/2]", "[[#5063+#5063]/4]"])
def test_a_share_of_what_was_probed_goes_with_it(value):
    followed = follow(PROBED + f"G0 Z[{value}+20]")
    assert rules(followed) == []
    # the zero of G54 lies at -40, so that the probe trips anywhere from Z-10 to Z38
    assert bounds(followed.end["z"]) == Interval(-40.0 + 20.0 - 5.0, -40.0 + 20.0 + 19.0)


def test_a_share_of_an_origin_by_itself_is_not_followed():
    assert rules(follow("G53 G0 X[#5221/2]", machine=UNSURE)) == ["mode-assumed"]


def test_no_time_of_what_was_probed_is_a_number():
    followed = follow(PROBED + "G0 Z[#5063*0+20]")
    assert (rules(followed), followed.end["z"]) == ([], -20.0)


@pytest.mark.parametrize("words", ["G4 P#5063", "F#5063", "G2 X5 I#5063", "S#5063", "G[#5063]"])
def test_a_word_that_is_no_coordinate_needs_a_number(words):
    assert rules(follow(PROBED + words))[:1] == ["mode-assumed"]


# What the sheet gives as a range ------------------------------------------------------------------------------------


def test_an_origin_given_as_a_range_is_a_range_in_its_parameter():
    followed = follow("G53 G0 X#5221\nG54 G0 X0", machine=UNSURE)
    assert (rules(followed), bounds(followed.end["x"]), len(followed.moves)) == ([], Interval(100.0, 110.0), 1)


def test_an_origin_that_nobody_gives_is_not_known_in_its_parameter():
    assert rules(follow("G53 G0 Z#5223", machine=UNSURE)) == ["mode-assumed"]


@given(
    st.floats(-100.0, 100.0),
    st.floats(0.0, 50.0),
    st.sampled_from([1.0, 25.4]),
    st.sampled_from([1.0, 25.4]),
    st.floats(0.0, 1.0),
)
def test_a_range_read_in_other_units_holds_every_number_it_held(base, length, counted_in, unit, share):
    value = Ranged(Afloat(base, Unknown(Name("u", "x"), "trip", Interval(-length, length))), counted_in)
    number = (base + length * (2 * share - 1)) / counted_in
    assert bounds(measured(value, unit)).contains(number * unit, 1e-6)


def test_an_origin_that_nobody_gives_cancels_where_it_is_added_to_what_was_probed():
    bare = replace(MILL, setups=(setup(),))
    followed = follow(DOWN + "G10 L2 P1 Z[#5063+#5223-3]\nG0 Z10", machine=bare)
    trip = followed.moves[1].end["z"]
    assert (rules(followed), followed.origins_missing) == ([], {})
    assert (followed.end["z"].unknown, followed.end["z"].base) == (trip.unknown, 7.0)


def test_a_proof_rests_on_an_origin_that_does_not_cancel():
    bare = replace(MILL, setups=(setup(),))
    followed = follow(DOWN + "G10 L2 P2 Z#5063", machine=bare)
    assert followed.origins_missing == {("G54", "z"): 5}


# Tool length --------------------------------------------------------------------------------------------------------


def test_a_tool_length_raises_z_above_the_origin_on_the_sheet():
    """NISTIR 6556, 3.5.11. Zero is at machine Z -40 under G49; tool 1 is 40 mm long."""
    assert follow("G43 H1 G0 Z5").end["z"] == 5.0
    assert follow("G43 H2\nG0 Z5").end["z"] == -40.0 + 25.5 + 5.0
    assert follow("G43 H2\nG43 H0\nG0 Z5").end["z"] == -35.0
    assert follow("G43 H2\nG0 Z5\nG49 Z5").end["z"] == -35.0


def test_a_tool_length_changes_neither_x_nor_machine_coordinates():
    assert plain(follow("G43 H1 G0 X0 Y0\nG53 Z-2").end) == (125.0, 70.0, -2.0)


def test_a_point_named_under_one_tool_length_shifts_with_another():
    """NISTIR 6556, 3.5.11 and 3.5.18: lengths and G92 offsets add up."""
    assert from_work_zero("G43 H1\nG92 Z0\nG0 Z1", z=-50.0).end["z"] == -49.0
    assert from_work_zero("G43 H1\nG92 Z0\nG43 H2\nG0 Z1", z=-50.0).end["z"] == -49.0 - 40.0 + 25.5


def test_g92_offsets_leave_the_tool_length_out():
    """NISTIR 6556, 3.2.1: 5213 holds the offset along Z."""
    assert from_work_zero("G43 H1\nG92 Z0\nG0 X#5213", z=-50.0).end["x"] == -90.0


@pytest.mark.parametrize(
    ("text", "known"),
    [("G92 Z0\nG49\nG0 Z1", "G21 G90 G54"), ("G92 X0\nG54\nG0 X1", "G21 G90 G49")],
)
def test_a_point_named_in_an_unknown_mode_is_not_known_in_another(text, known):
    (trouble,) = follow(text, known=known).troubles
    assert (trouble.rule, trouble.line, "G92" in trouble.message) == ("mode-assumed", 3, True)


# Tools and stops ----------------------------------------------------------------------------------------------------


def test_a_tool_change_stops_the_spindle_and_is_left_changed():
    """NISTIR 6556, 3.6.3."""
    followed = follow("M3\nT7 M6")
    assert (followed.final.spindle, followed.final.tool, followed.final.changed) == ("stopped", 7, {TOOL: 2})
    assert [(event.kind, event.text) for event in followed.events] == [("tool-change", "M6 T7")]


def test_cutter_radius_compensation_is_refused_with_its_reason():
    (trouble,) = follow("G41 D1").troubles
    assert "cuts no contour" in trouble.message


def test_a_cycle_cannot_be_assumed():
    with pytest.raises(ValueError, match="cannot be used"):
        follow("G0 X1", known="G81")


def test_the_start_of_a_slanting_probe_is_where_the_machine_stands():
    (move,) = follow("F9 G91 G38.2 X5", start=at(x=10.0)).moves
    assert bounds(move.end["x"]) == Interval(10.0, 15.0)


@pytest.mark.parametrize(
    ("number", "remedy"), [(5063, "G38.2"), (5181, "stored.G30"), (5213, "G92"), (5242, "G10 L2"), (100, "#100")]
)
def test_a_parameter_that_is_not_known_says_what_would_make_it_known(number, remedy):
    (trouble,) = follow(f"G0 X#{number}").troubles
    assert (trouble.rule, remedy in trouble.remedy) == ("mode-assumed", True)
