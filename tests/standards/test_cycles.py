"""Outside values for the canned cycles and for probing: what NISTIR 6556 prints and describes."""

from parser.machine import Interval
from parser.motion.places import bounds
from tests.parser.motion.following import at, follow, from_work_zero, plain, rules, stations


def drilled(text, x=1.0, y=2.0, z=3.0):
    followed = from_work_zero("F100\n" + text, x, y, z)
    assert rules(followed) == []
    return stations(followed)


def test_the_absolute_example_of_g81():
    """NISTIR 6556, 3.5.16.2: at (1, 2, 3), G90 G81 G98 X4 Y5 Z1.5 R2.8."""
    assert drilled("G90 G81 G98 X4 Y5 Z1.5 R2.8") == [
        ("rapid", (4.0, 5.0, 3.0)),
        ("rapid", (4.0, 5.0, 2.8)),
        ("feed", (4.0, 5.0, 1.5)),
        ("rapid", (4.0, 5.0, 3.0)),
    ]


def test_the_incremental_example_of_g81():
    """NISTIR 6556, 3.5.16.2: at (1, 2, 3), G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3."""
    found = drilled("G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3")
    expected = [("rapid", (1.0, 2.0, 4.8))]
    for x, y in ((5.0, 7.0), (9.0, 12.0), (13.0, 17.0)):
        expected += [("rapid", (x, y, 4.8)), ("feed", (x, y, 4.2)), ("rapid", (x, y, 4.8))]
    assert [(kind, tuple(round(value, 9) for value in place)) for kind, place in found] == expected


def test_g99_comes_out_to_r_only():
    """NISTIR 6556, 3.5.20."""
    assert drilled("G81 G99 X4 Y5 Z1.5 R2.8")[-1] == ("rapid", (4.0, 5.0, 2.8))


def test_g98_comes_out_to_r_where_the_tool_was_below_it():
    """NISTIR 6556, 3.5.20: unless that position is lower than R."""
    assert drilled("G81 G98 X4 Y5 Z1.5 R5") == [
        ("rapid", (1.0, 2.0, 5.0)),
        ("rapid", (4.0, 5.0, 5.0)),
        ("feed", (4.0, 5.0, 1.5)),
        ("rapid", (4.0, 5.0, 5.0)),
    ]


def test_in_absolute_mode_repeats_are_in_the_same_place():
    """NISTIR 6556, 3.5.16."""
    once, twice = (drilled(f"G81 G99 X4 Z1 R3 L{repeats}") for repeats in (1, 2))
    assert twice == [*once, ("feed", (4.0, 2.0, 1.0)), ("rapid", (4.0, 2.0, 3.0))]


def test_in_the_zx_plane_the_depth_is_along_y():
    """NISTIR 6556, 3.5.16.1: in the other planes motions are analogous."""
    assert drilled("G18 G81 G98 X4 Z5 Y-1 R1") == [
        ("rapid", (4.0, 2.0, 5.0)),
        ("rapid", (4.0, 1.0, 5.0)),
        ("feed", (4.0, -1.0, 5.0)),
        ("rapid", (4.0, 2.0, 5.0)),
    ]


def test_in_the_yz_plane_the_depth_is_along_x():
    """NISTIR 6556, 3.5.16.1."""
    assert drilled("G19 G81 G99 Y4 Z5 X-1 R0") == [
        ("rapid", (1.0, 4.0, 5.0)),
        ("rapid", (0.0, 4.0, 5.0)),
        ("feed", (-1.0, 4.0, 5.0)),
        ("rapid", (0.0, 4.0, 5.0)),
    ]


def test_numbers_of_a_cycle_are_kept_for_the_lines_after_it():
    """NISTIR 6556, 3.5.16: R, Z and the numbers of the cycle are sticky, L is not."""
    found = drilled("G82 G99 X1 Z1 R3 P2 L2\nX5\nZ2")
    assert [place for kind, place in found if kind == "feed"] == [
        *[(1.0, 2.0, 1.0)] * 2,
        (5.0, 2.0, 1.0),
        (5.0, 2.0, 2.0),
    ]
    assert sum(kind == "dwell" for kind, _ in found) == 4


def test_another_motion_word_between_lets_the_numbers_go():
    """NISTIR 6556, 3.5.16: the same cycle has to be in force already."""
    followed = from_work_zero("F9 G81 G99 Z-1 R1\nG0 X1\nG81 X5")
    assert rules(followed) == ["missing-word"]


def test_another_cycle_needs_numbers_of_its_own():
    """NISTIR 6556, 3.5.16."""
    assert rules(from_work_zero("F9 G81 G99 Z-1 R1\nG85 X5")) == ["missing-word"]


def test_g82_dwells_at_the_bottom():
    """NISTIR 6556, 3.5.16.3."""
    assert [kind for kind, _ in drilled("G82 G98 X4 Z1 R2.5 P2")] == ["rapid", "rapid", "feed", "dwell", "rapid"]


def test_g83_pecks_to_the_depth():
    """NISTIR 6556, 3.5.16.4: down by Q, back to R, down to the bottom backed off a bit, until Z is reached."""
    found = drilled("G83 G99 Z0 R3 Q1.25", 4.0, 5.0)
    assert [(kind, round(place[2], 3)) for kind, place in found] == [
        ("feed", 1.75),
        ("rapid", 3.0),
        ("rapid", 2.004),
        ("feed", 0.5),
        ("rapid", 3.0),
        ("rapid", 0.754),
        ("feed", 0.0),
        ("rapid", 3.0),
    ]


def test_a_last_peck_that_comes_out_even_is_not_made_twice():
    """NISTIR 6556, 3.5.16.4."""
    found = drilled("G83 G99 Z0 R3 Q1.5")
    assert [place[2] for kind, place in found if kind == "feed"] == [1.5, 0.0]


def test_g84_taps_and_comes_out_with_the_spindle_reversed():
    """NISTIR 6556, 3.5.16.5: 2 threads per mm at F150 need S300."""
    followed = from_work_zero("M3 S300 F150\nG84 G98 Z-5 R1", z=1.0)
    into, out = followed.moves
    assert (into.kind, into.spindle, into.feed) == ("feed", "clockwise", 150.0)
    assert (out.kind, out.spindle, out.feed) == ("feed", "counter-clockwise", 150.0)
    assert (followed.final.spindle, into.feed / followed.final.speed) == ("clockwise", 1 / 2)


def test_g85_feeds_out():
    """NISTIR 6556, 3.5.16.6."""
    assert [kind for kind, _ in drilled("G85 G99 Z1 R3")] == ["feed", "feed"]


def test_g86_comes_out_at_rapid_with_the_spindle_stopped_and_starts_it_again():
    """NISTIR 6556, 3.5.16.7."""
    followed = from_work_zero("M4 F9\nG86 G99 Z-1 R0 P1")
    assert [(move.kind, move.spindle) for move in followed.moves] == [
        ("feed", "counter-clockwise"),
        ("dwell", "counter-clockwise"),
        ("rapid", "stopped"),
    ]
    assert followed.final.spindle == "counter-clockwise"


def test_g87_goes_in_beside_the_hole_and_bores_from_the_back():
    """NISTIR 6556, 3.5.16.8."""
    followed = from_work_zero("M3 F9\nG87 G99 X10 Y5 Z-10 R1 I2 J-1 K-4", z=1.0)
    assert [(kind, place) for kind, place in stations(followed)] == [
        ("rapid", (10.0, 5.0, 1.0)),
        ("rapid", (12.0, 4.0, 1.0)),
        ("rapid", (12.0, 4.0, -10.0)),
        ("rapid", (10.0, 5.0, -10.0)),
        ("feed", (10.0, 5.0, -4.0)),
        ("feed", (10.0, 5.0, -10.0)),
        ("rapid", (12.0, 4.0, -10.0)),
        ("rapid", (12.0, 4.0, 1.0)),
        ("rapid", (10.0, 5.0, 1.0)),
    ]
    assert [move.spindle for move in followed.moves][2:5] == ["stopped", "stopped", "clockwise"]


def test_in_g87_the_back_of_the_bore_counts_from_the_depth_in_incremental_mode():
    """NISTIR 6556, 3.5.16.8."""
    followed = from_work_zero("M3 F9\nG91 G87 G99 Z-11 R1 I2 J0 K6")
    assert [place[2] for kind, place in stations(followed) if kind == "feed"] == [-4.0, -10.0]


def test_g88_waits_for_the_operator_who_raises_the_spindle():
    """NISTIR 6556, 3.5.16.9."""
    followed = from_work_zero("F9\nG88 G99 X3 Z-1 R0 P1 L2")
    assert [event.kind for event in followed.events] == ["by-hand", "by-hand"]
    assert plain(followed.end)[:2] == (3.0, 0.0)
    assert bounds(followed.end["z"]) == Interval(-90.0, 0.0)
    heights = {str(event_place) for event_place in (followed.moves[-3].start["z"], followed.end["z"])}
    assert len(heights) == 2


def test_g89_dwells_and_feeds_out():
    """NISTIR 6556, 3.5.16.10."""
    assert [kind for kind, _ in drilled("G89 G99 Z1 R3 P1")] == ["feed", "dwell", "feed"]


def test_a_cycle_in_inches():
    """NISTIR 6556, 3.5.7."""
    assert drilled("G20\nF1 G81 G99 X1 Z0 R0.1", 0.0, 0.0, 2.54)[-1] == ("rapid", (25.4, 0.0, 2.54))


# From where nobody knows --------------------------------------------------------------------------------------------


def test_a_cycle_from_a_height_that_may_be_below_or_above_r_takes_in_both():
    followed = follow("F9 G99\nG81 X10 Y10 Z-5 R2", start=at(x=5.0, y=5.0))
    first, across, down, feed, out = followed.moves
    # G54 has its zero at machine Z -40, so R is at -38
    assert bounds(first.end["z"]) == Interval(-38.0, 0.0)
    assert (across.end["z"], down.end["z"], feed.end["z"], out.end["z"]) == (first.end["z"], -38.0, -45.0, -38.0)


def test_a_cycle_under_g91_floats_with_its_start():
    followed = follow("F9 G98\nG91 G81 X10 Z-5 R2")
    assert rules(followed) == []
    assert [move.kind for move in followed.moves] == ["rapid", "rapid", "feed", "rapid"]
    assert followed.end["z"].base == 2.0


def test_a_probe_trips_anywhere_between_its_start_and_its_target():
    """NISTIR 6556, 3.5.9."""
    (down, up) = follow("F9 G53 G0 Z-2\nG38.2 Z-10\nG53 G0 Z-2").moves[1:]
    assert (down.kind, bounds(down.end["z"])) == ("probe", Interval(-50.0, -2.0))
    assert (up.start, up.end["z"]) == (down.end, -2.0)


def test_each_axis_of_a_slanting_probe_has_its_own_range():
    (move,) = follow("F9 G38.2 X10 Z-10", start=at(125.0, 70.0, -2.0, 0.0)).moves
    assert (bounds(move.end["x"]), bounds(move.end["z"])) == (Interval(125.0, 135.0), Interval(-50.0, -2.0))
    assert (move.end["y"], move.start["y"]) == (70.0, 70.0)


def test_a_probe_whose_start_may_be_at_its_target_is_refused():
    """NISTIR 6556, 3.5.9: within 0.254 mm of the target is an error."""
    (trouble,) = follow("F9 G38.2 Z-10").troubles
    assert (trouble.rule, "some starts" in trouble.message) == ("word-out-of-range", True)
