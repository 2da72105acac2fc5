"""What a program finds and counts on: recorded where a value enters, counted where a word uses it."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from parser.motion.assumptions import NOTHING, Assumption, added, for_good, offset_of, on, origin_of, stored_point_of
from tests.parser.motion.following import MILL, at, follow, rules, setup

PROBED = "F9\nG53 G0 Z-2\nG91 G38.2 Z-20\nG90\n"
"""Down from machine Z-2, wherever work zero is."""

SHEET, ANYWHERE, NONE = "sheet", "anywhere", "none"
G54_Z, OFFSET_Z = origin_of("G54", "z"), offset_of("z")


def counted(followed):
    """What the program itself counts on, with the line where it enters and the first line that counts on it."""
    found = followed.assumptions.items()
    of_its_own = ((each, line) for each, line in found if each.taken != "by hand" and each.about.kind != "spindle")
    return {(each.about, each.taken): (each.line, line) for each, line in of_its_own}


def test_a_probe_counts_on_nothing():
    assert counted(follow(PROBED)) == {}


def test_a_value_enters_where_it_is_probed_and_counts_where_it_is_used():
    followed = follow(PROBED + "#100=[#5063+1]\nG92.1\nG10 L2 P1 Z0\nG53 G0 Z[#100-1]")
    assert counted(followed) == {(G54_Z, SHEET): (3, 8), (OFFSET_Z, NONE): (3, 8)}


def test_it_is_one_assumption_wherever_it_enters():
    followed = follow("#100=#5223\n#101=#5223\nG53 G0 Z#101\nG53 G0 Z[#100-1]")
    assert counted(followed) == {(G54_Z, SHEET): (2, 3)}
    assert Assumption(G54_Z, SHEET, line=2) == Assumption(G54_Z, SHEET, line=7)


@pytest.mark.parametrize("value", ["#5223-#5223", "#100-#5223+#101-#5223"])
def test_what_is_taken_away_again_is_not_in_the_sum(value):
    assert counted(follow(f"#100=[#5223+1]\n#101=#5223\nG53 G0 Z[{value}]")) == {}


@pytest.mark.parametrize("value", ["2*#5223-2*#5223", "#5223*0", "#[#5223+140]", "#100-#5223*1"])
def test_what_is_calculated_otherwise_stays(value):
    assert counted(follow(f"#100=#5223\nG53 G0 Z[{value}]"))[G54_Z, SHEET][1] == 2


def test_an_inch_is_taken_away_from_an_inch_only():
    assert counted(follow("G20\n#100=#5223\nG53 G0 Z[#100-#5223]")) == {}
    assert (G54_Z, SHEET) in counted(follow("G20\n#100=#5223\nG21\nG53 G0 Z[#100-#5223]"))


def test_an_origin_that_the_sheet_lacks_is_taken_to_be_anywhere():
    bare = replace(MILL, setups=(setup(G54=at(x=5.0)),))
    followed = follow(PROBED + "G10 L2 P1 Z0\nG0 Z#5063", machine=bare)
    assert counted(followed) == {(G54_Z, ANYWHERE): (3, 6), (OFFSET_Z, NONE): (3, 6)}


def test_a_point_that_is_stored_counts_on_what_it_was_got_from():
    assert counted(follow("#5163=#5223")) == {(G54_Z, SHEET): (1, 1)}
    assert counted(follow("#100=#5163\n#5163=0\nG53 G0 Z#100"))[stored_point_of("G28"), SHEET] == (1, 3)


class TestG92:
    """NISTIR 6556, 3.5.18."""

    def test_it_keeps_the_offsets_of_axes_it_does_not_name_as_they_are(self):
        """None is in force that the program knows of: it counts on that as of the line of G92."""
        followed = follow("G92 X0\nG92.2\nG92.3\nG0 Z0")
        assert counted(followed)[OFFSET_Z, NONE] == (1, 4)

    def test_their_parameters_hold_them(self):
        followed = follow("G92 X0\nG92.1\nG92 X0\nG0 Y#5213")
        assert (rules(followed), followed.end["y"]) == ([], 70.0)
        assert (OFFSET_Z, NONE) not in counted(followed)
        followed = follow("G92 X0\nG0 Y#5213")
        assert (rules(followed), followed.end["y"], counted(followed)[OFFSET_Z, NONE]) == ([], 70.0, (1, 2))

    def test_nobody_knows_them_before_it(self):
        assert rules(follow("G92.2\nG0 Y#5213")) == ["mode-assumed"]

    def test_an_offset_restored_is_what_was_kept_last(self):
        """At work X 4 called 7, then 9: -5 in all; Z stays without one."""
        followed = follow("G0 X4 Z0\nG92 X7\nG92 X9\nG92.2\nG92.3\nG0 X0 Z1")
        assert (followed.end["x"], followed.end["z"]) == (125.0 - 5.0, -39.0)

    def test_an_offset_kept_before_the_next_is_kept_with_it(self):
        """G92 X7 at work X 4, then G92 Z5 at work Z 0: both come back."""
        followed = follow("G0 X4 Z0\nG92 X7\nG92 Z5\nG92.2\nG92.3\nG0 X0 Z0")
        assert (followed.end["x"], followed.end["z"]) == (125.0 - 3.0, -45.0)

    def test_one_that_was_taken_off_is_kept_no_longer_once_another_is_given(self):
        followed = follow("G0 X4 Z0\nG92 X7\nG92.2\nG92 Z5\nG92.2\nG92.3\nG0 X0 Z0")
        assert (followed.end["x"], followed.end["z"]) == (125.0, -45.0)

    def test_m2_takes_them_off_and_keeps_them(self):
        """NISTIR 6556, 3.6.1."""
        followed = follow("G92 X7\nM2")
        assert (followed.final.changed, followed.final.kept) == ({}, "G92")


@given(st.lists(st.tuples(st.sampled_from("abc"), st.sampled_from([1.0, -1.0])), max_size=8))
def test_a_sum_rests_on_what_is_in_it_more_or_less_often_than_it_is_taken_away(terms):
    total = NOTHING
    for name, times in terms:
        total = added(total, on(Assumption(origin_of(name, "x"), SHEET)), times)
    left = {name: sum(times for each, times in terms if each == name) for name in "abc"}
    assert {each.about.word: often for each, often in total.items()} == {k: n for k, n in left.items() if n}


def test_nothing_takes_out_of_a_sum_what_is_in_it_for_good():
    rests = for_good([Assumption(G54_Z, SHEET)])
    assert added(rests, rests, -1.0).keys() == rests.keys()
    assert all(math.isinf(often) for often in rests.values())
