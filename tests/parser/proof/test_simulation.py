"""The simulation itself, held to worked values that were not made by us and to cases that are plain by hand."""

from __future__ import annotations

import numpy as np
import pytest

from parser.findings import Witness
from parser.machine import Axis, Box, Controller, Interval, Limit, Machine, Origin, Setup, Tool
from tests.parser.proof.simulation.corners import rounded
from tests.parser.proof.simulation.meeting import met, things
from tests.parser.proof.simulation.program import Running
from tests.parser.proof.simulation.shown import Given, Shown
from tests.parser.proof.simulation.travel import out, out_of_limits

HEADER = "G17 G21 G40 G49 G54 G80 G90 G94 G98"
POST = Box("Post", (100.0, 60.0, -200.0), (120.0, 80.0, -50.0))
DUCT = Box("Duct", (100.0, 60.0, -40.0), (120.0, 80.0, -20.0))
AXES = tuple(Axis(name, Interval(-500.0, 500.0), 1000.0, 100.0, carried_by="head") for name in "xyz")


def machine(**changes):
    zero = Origin({axis: Interval(0.0, 0.0) for axis in "xyz"})
    plain = {"setups": (Setup("", (), {"G54": zero, "G55": zero}),), "keep_out_margin": 0.0, "travel_margin": 0.0}
    return Machine("Bench", **{"axes": AXES, **plain, **changes})


def holding(*keep_outs, **changes):
    """A machine with some boxes on its table."""
    return machine(setups=(Setup("", keep_outs, machine().setups[0].origins),), **changes)


def run(lines, at=(0.0, 0.0, 0.0), on=None, *, tool=(0.0, 0.0), tripped=()):
    """Lines carried out from one start, with one tool; probes trip at the shares given."""
    on = on or machine()
    fate = Given(np.array([tripped]).T, tool, on)
    running = Running(on, Controller(), on.setups[0], np.array([at], float).T, fate)
    return running, running.follow([HEADER, *lines])


def ends(lines, at=(0.0, 0.0, 0.0), **more):
    """Where each way ends."""
    return [tuple(leg.end[:, 0].round(6).tolist()) for leg in run(lines, at, **more)[1]]


def hit_by(lines, at, on, tool=(0.0, 0.0)):
    """The bodies that meet something, with what it is."""
    _, legs = run(lines, at, on, tool=tool)
    return {
        (meeting.body.name, thing.key[0])
        for thing in things(on, on.setups[0])
        for meeting in met(thing, legs, 1e-6)
        if meeting.hit.any()
    }


class TestPublishedValues:
    """NISTIR 6556, worked examples of the sections named."""

    def test_a_parameter_is_read_before_the_line_sets_it(self):  # 3.3.3
        assert ends(["#3=15", "#3=6 G1 X#3", "X#3"]) == [(15, 0, 0), (6, 0, 0)]

    def test_a_helix_by_its_centre(self):  # 3.5.3.2: centre (10, 11), radius 5
        _, (leg,) = run(["G17 G2 X10 Y16 I3 J4 Z9"], (7.0, 7.0, 9.0))
        assert leg.bend.centre[:, 0].tolist() == [10, 11]
        assert [float(radius[0]) for radius in leg.bend.radii] == [5, 5]
        assert leg.bend.sweep[0] < 0
        assert leg.end[:, 0].tolist() == [10, 16, 9]

    def test_an_origin_is_set_in_machine_coordinates_and_the_axis_not_named_keeps_its_own(self):  # 3.5.5
        assert ends(["G10 L2 P1 X3.5 Y17.2", "G0 X0 Y0 Z-1"]) == [(3.5, 17.2, -1)]

    def test_offsets_add_up(self):  # 3.5.18: at X4, G92 X7 makes the offset -3, G92 X9 then -5
        running, _ = run(["G92 X7", "G92 X9"], (4.0, 0.0, 0.0))
        assert running.shift[0, 0] == -5

    def test_a_cycle_in_absolute_coordinates(self):  # 3.5.16.2
        assert ends(["G90 G81 G98 X4 Y5 Z1.5 R2.8"], (1.0, 2.0, 3.0)) == [
            (4, 5, 3),
            (4, 5, 2.8),
            (4, 5, 1.5),
            (4, 5, 3),
        ]

    def test_a_cycle_that_is_repeated_in_steps(self):  # 3.5.16.2
        holes = [(5, 7), (9, 12), (13, 17)]
        expected = [(1, 2, 4.8)] + [(x, y, z) for x, y in holes for z in (4.8, 4.2, 4.8)]
        assert ends(["G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3"], (1.0, 2.0, 3.0)) == expected


class TestOffsets:
    def test_the_offset_of_every_axis_is_kept_and_brought_back(self):  # 3.5.18
        lines = ["G92 X0 Z0", "G92.2", "G92.3", "G0 Z0"]
        assert ends(lines, (5.0, 0.0, 7.0)) == []
        assert ends(["G92 Z-2", "G92 X0", "G92.2", "G92.3", "G0 Z0"], (5.0, 0.0, 7.0)) == [(5, 0, 9)]

    def test_one_that_is_zeroed_is_not(self):
        assert ends(["G92 Z-2", "G92.1", "G92.3", "G0 Z0"], (0.0, 0.0, 7.0)) == [(0, 0, 0)]

    def test_the_end_of_a_program_keeps_it(self):  # 3.6.1
        running, _ = run(["G92 Z-2", "M2", "G0 Z5"], (0.0, 0.0, 7.0))
        assert (running.shift[2, 0], running.kept[2, 0]) == (0, 9)

    def test_a_tool_length_is_added_to_the_origin(self):  # 3.5.11
        assert ends(["G43 H1", "G0 Z0", "G49", "G0 Z1"], on=machine(tools=(Tool(1, 40.0, 3.0),))) == [
            (0, 0, 40),
            (0, 0, 1),
        ]

    def test_what_was_probed_is_a_work_coordinate_of_when_it_was(self):  # 3.5.9
        lines = ["G38.2 Z-20 F100", "G10 L2 P1 Z5", "G0 Z[#5063+2]"]
        assert ends(lines, tripped=(0.5,)) == [(0, 0, -10), (0, 0, -3)]

    def test_a_probe_too_near_to_its_target_is_an_error(self):  # 3.5.9
        assert not run(["G38.2 Z-0.25 F100"], tripped=(1.0,))[0].alive[0]
        assert run(["G38.2 Z-0.26 F100"], tripped=(1.0,))[0].alive[0]


class TestArcs:
    @pytest.mark.parametrize(("words", "turn"), [("G2 X10 R5", -180), ("G3 X10 R5", 180)])
    def test_half_a_turn_by_the_radius(self, words, turn):
        _, (leg,) = run([words])
        assert leg.bend.centre[:, 0].tolist() == pytest.approx([5, 0])
        assert np.degrees(leg.bend.sweep[0]) == pytest.approx(turn)

    @pytest.mark.parametrize(("radius", "turn"), [(10, -60), (-10, -300)])
    def test_less_or_more_than_half_a_turn(self, radius, turn):  # 3.5.3.1
        _, (leg,) = run([f"G2 X10 R{radius}"])
        assert np.degrees(leg.bend.sweep[0]) == pytest.approx(turn)

    def test_an_end_off_the_circle_is_reached_as_written(self):
        on = machine()
        _, legs = run(["G53 G0 X490", "G91 G3 X0 Y20.0018 J10 F100"], (0.0, 480.0, 0.0), on)
        assert legs[-1].end[1, 0] == pytest.approx(500.0018)
        assert out(on, legs, 1e-5)["y", 3].all()
        assert not run(["G91 G3 X0 Y20.0022 J10 F100"])[0].alive[0]

    def test_the_furthest_point_of_an_arc_is_not_an_end_of_it(self):
        on = machine()
        for word, over in (("G2", False), ("G3", True)):
            _, legs = run([f"{word} X-20 I-10 F100"], (0.0, 495.0, 0.0), on)
            assert out(on, legs, 1e-5)["y", 2].tolist() == [over]


class TestCorners:
    def test_a_square_corner_takes_the_arc_of_plane_geometry(self):
        """r = e sin 45 / (1 - sin 45), and the tangent is as long as the radius (standards, section B)."""
        places = [np.array([each], float).T for each in ((0, 0, 0), (50, 0, 0), (50, 50, 0))]
        corner = rounded(*places, 2.0, np.ones(1))
        radius = 2.0 * np.sin(np.pi / 4) / (1 - np.sin(np.pi / 4))
        assert corner.radius[0] == pytest.approx(radius)
        assert corner.tangent[0] == pytest.approx(radius)
        nearest = corner.points(np.array([0]), np.array([0.5]))[:, 0, 0]
        assert np.linalg.norm(nearest - places[1][:, 0]) == pytest.approx(2.0)

    def test_no_more_than_half_of_the_shorter_way_is_cut(self):
        places = [np.array([each], float).T for each in ((0, 0, 0), (4, 0, 0), (4, 50, 0))]
        assert rounded(*places, 5.0, np.ones(1)).tangent[0] == pytest.approx(2.0)

    @pytest.mark.parametrize("between", ["G61", "G61.1", "G4 P1", "M5", "M0", "G0 Z-1"])
    def test_only_two_feed_moves_in_a_row_are_rounded(self, between):
        on = machine(corner="blend", tolerance=2.0)
        assert run(["G1 X50 F100", "Y50"], on=on)[1][0].after is not None
        assert all(leg.after is None for leg in run(["G1 X50 F100", between, "G1 Y50"], on=on)[1])


class TestMeeting:
    """What counts as a hit: clear as drawn where it starts, within the margin on the way, not only retreating."""

    BESIDE = (90.0, 70.0, -60.0)

    def test_a_tool_that_stands_beside_a_post_and_is_sent_through_it_meets_it(self):
        on = holding(POST, tool_stick_out=40.0, tool_radius=5.0)
        assert hit_by(["G53 G0 X130"], self.BESIDE, on, (40.0, 5.0)) == {("tool", "Post")}

    def test_one_that_cannot_be_there_is_left_out(self):
        on = holding(POST, tool_stick_out=40.0, tool_radius=15.0)
        assert hit_by(["G53 G0 X130"], self.BESIDE, on, (40.0, 10.5)) == set()
        assert hit_by(["G53 G0 X130"], self.BESIDE, on, (40.0, 10.0)) == {("tool", "Post")}

    def test_a_start_within_the_margin_is_not_left_out(self):
        on = holding(POST, tool_stick_out=40.0, tool_radius=5.0, keep_out_margin=8.0)
        assert hit_by(["G53 G0 X93"], self.BESIDE, on, (40.0, 5.0)) == {("tool", "Post")}
        assert hit_by(["G53 G0 X80"], self.BESIDE, on, (40.0, 5.0)) == set()
        assert hit_by(["G53 G0 Z-20"], self.BESIDE, on, (40.0, 5.0)) == set()

    def test_coming_down_within_the_margin_is_no_retreat(self):
        on = holding(POST, tool_stick_out=40.0, tool_radius=5.0, keep_out_margin=8.0)
        assert hit_by(["G53 G0 Z-70"], self.BESIDE, on, (40.0, 5.0)) == {("tool", "Post")}

    @pytest.mark.parametrize("size", [(0.0, 0.0), (0.0, 5.0), (20.0, 0.0)])
    def test_a_line_and_a_disc_meet_what_they_pass_through(self, size):
        assert hit_by(["G53 G0 X130"], self.BESIDE, holding(POST), size) == {("tool", "Post")}

    def test_touching_is_no_hit(self):
        on = holding(POST, keep_out_margin=2.0)
        assert hit_by(["G53 G0 X98"], self.BESIDE, on) == set()
        assert hit_by(["G53 G0 X98.001"], self.BESIDE, on) == {("tool", "Post")}

    def test_the_holder_counts_with_a_radius_alone(self):
        on = holding(POST, holder_radius=6.0)
        assert ("holder", "Post") in hit_by(["G53 G0 X96"], self.BESIDE, on)

    def test_a_box_on_the_frame_is_met_from_below_by_what_is_wider_than_the_nose(self):
        under = (110.0, 70.0, -60.0)
        wide = machine(enclosures=(DUCT,), tool_radius=5.0)
        assert hit_by(["G53 G0 Z0"], under, wide, (10.0, 5.0)) == {("tool", "Duct")}
        assert hit_by(["G53 G0 Z-40"], under, wide, (10.0, 5.0)) == set()
        narrow = machine(enclosures=(DUCT,), tool_radius=5.0, nose_radius=5.0)
        assert hit_by(["G53 G0 Z0"], under, narrow, (10.0, 5.0)) == set()
        over = ["G53 G0 Z0", "G53 G0 X110"]
        assert hit_by(over, (95.0, 70.0, -60.0), narrow, (50.0, 5.0)) == {("tool", "Duct")}
        assert hit_by(over, (95.5, 70.0, -60.0), narrow, (50.0, 5.0)) == set()  # 4.5 mm off: this tool stood in it

    def test_a_box_on_the_table_meets_one_on_the_frame_at_the_readings_between_their_faces(self):
        table = tuple(
            Axis(a.name, a.travel, 1000.0, 100.0, carried_by="table" if a.name == "x" else "head") for a in AXES
        )
        on = holding(Box("Bar", (0.0, 60.0, -60.0), (50.0, 70.0, -30.0)), axes=table, enclosures=(DUCT,))
        assert ("rider", "Duct") in hit_by(["G53 G0 X-60"], (-130.0, 0.0, 0.0), on)  # they overlap from -120 to -50
        assert ("rider", "Duct") not in hit_by(["G53 G0 X-120"], (-130.0, 0.0, 0.0), on)
        assert ("rider", "Duct") not in hit_by(["G53 G0 X-60"], (-100.0, 0.0, 0.0), on)


@pytest.mark.parametrize(("word", "breaks"), [("Y150", True), ("Y142", False), ("Z-60", False), ("Z-85", True)])
def test_only_what_comes_nearer_breaks_a_limit(word, breaks):
    on = machine(limits=(Limit(("z", "<", -70.0), ("y", "<=", 140.0)),))
    _, legs = run([f"G53 G0 {word}"], (0.0, 145.0, -80.0), on)
    assert out_of_limits(on, legs, 1e-6)["limit", 2].tolist() == [breaks]


class TestShown:
    """A place that is shown is sought among the ways from one start, whatever the macro cannot know."""

    LINES = (HEADER, "G91 G38.2 X30 Z-20 F100", "G91 G0 X50")

    def fails(self, line, at, missing=lambda leg: np.zeros(leg.end.shape[1])):
        start = {"x": 0.0, "y": 0.0, "z": 0.0}
        witness = Witness(start, dict(zip("xyz", at, strict=True)))
        on = machine()
        return Shown(on, Controller(), on.setups[0], self.LINES, line, witness, missing).fails(1e-5)

    def test_a_place_on_a_way_is_found(self):
        assert self.fails(2, (15.0, 0.0, -10.0)) <= 1e-5
        assert self.fails(3, (40.0, 0.0, -7.3)) <= 1e-5  # tripped at 0.365 of the way

    def test_a_probe_trips_at_one_share_of_the_straight_way(self):
        assert self.fails(2, (15.0, 0.0, -5.0)) == pytest.approx(7.5 * 2 / np.hypot(3, 2), abs=1e-3)

    def test_a_place_beside_every_way_is_missed_by_as_much(self):
        assert self.fails(3, (40.0, 3.0, -7.3)) == pytest.approx(3.0, abs=1e-4)

    def test_the_rule_has_to_be_broken_on_the_same_way(self):
        deep = lambda leg: leg.begin[2] + 15.0  # noqa: E731  a way that has tripped below -15
        assert self.fails(3, (40.0, 0.0, -18.0), deep) <= 1e-5
        assert self.fails(3, (40.0, 0.0, -10.0), deep) > 1.0
