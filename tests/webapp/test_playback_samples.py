"""Playing a macro: one run from one start, as the page, the drawing of speeds and the script get it."""

import html
import json
import re
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import parser
from parser.machine import Axis, Controller, Interval
from parser.quantities import Figures
from parser.times import sampling
from tests.webapp import drawn
from tests.webapp.rendered import hidden
from webapp.drawings import speeds, svg
from webapp.pages import playback as playback_page
from webapp.pages import playback_samples

LINES = "G21 G90 G94 G17\nG53 G0 Z-2\nG53 G0 X20 Y140\nG4 P0.5\nG53 G1 X60 Y100 F600\n"
HTMX = {"HX-Request": "true"}


def report(lines=LINES, **changes):
    return parser.examine(lines, drawn.mill(**changes), Controller(percent=False))


def classed(root, *names):
    return [one for one in root.iter() if set(names) <= set(one.get("class", "").split())]


def tree(markup):
    return ElementTree.fromstring(str(markup))


def sent(played, units="mm"):
    """What the page gets, times and places summed up as its script does it."""
    return unpacked(json.loads(playback_samples.as_json(played, units)))


def unpacked(data):
    places = {axis: (np.cumsum(steps) / 1e3).tolist() for axis, steps in data["positions"].items()}
    return data | {"times": (np.cumsum(data["times"]) / 1e4).tolist(), "positions": places}


def played_at(data, times, axis):
    """Where the script has an axis at some times, from what it gets: Bernstein's cubic in each stretch."""
    knots, values = np.array(data["times"]), np.array(data["positions"][axis])
    bends = np.array(data["bends"][axis]).reshape(-1, 2) / 1e3
    at = np.clip(np.searchsorted(knots, times, side="right") - 1, 0, len(knots) - 2)
    share = (times - knots[at]) / (knots[at + 1] - knots[at])
    inner = np.stack([values[at] + (values[at + 1] - values[at]) * part for part in (1 / 3, 2 / 3)]) + bends[at].T
    weights = [(1 - share) ** 3, 3 * (1 - share) ** 2 * share, 3 * (1 - share) * share**2, share**3]
    return sum(weight * point for weight, point in zip(weights, [values[at], *inner, values[at + 1]], strict=True))


class TestARun:
    def test_it_starts_over_the_middle_where_the_longest_tool_clears_the_bar_unless_told(self):
        played = playback_samples.run(report())
        assert played.start == {"x": 130.0, "y": 75.0, "z": -34.0}
        assert not played.chosen

    def test_it_starts_where_it_is_told_and_as_usual_for_the_rest(self):
        played = playback_samples.run(report(), {"x": 10.0})
        assert played.start == {"x": 10.0, "y": 75.0, "z": -34.0}
        assert played.chosen

    def test_a_start_outside_of_where_it_may_start_is_brought_inside(self):
        assert playback_samples.run(report(), {"x": 1e3, "z": -1e3}).start == {"x": 260.0, "y": 75.0, "z": -90.0}

    def test_it_takes_as_long_as_the_estimate_says(self):
        found = report()
        assert playback_samples.run(found).seconds == pytest.approx(found.plan.totals.seconds.typical, rel=1e-9)

    def test_a_macro_that_does_nothing_stands_still(self):
        played = playback_samples.run(report("G21\n"))
        assert played.seconds == 0.0
        assert sent(played)["seconds"] == 0.0


class TestWhatTheScriptGets:
    def test_what_is_played_stays_on_the_plan(self):
        found = report()
        data = sent(playback_samples.run(found))
        times = np.linspace(0.0, data["seconds"], 997)
        exact = sampling.sample_at(found.trace, found.machine, found.controller, {}, times).positions
        for axis in data["positions"]:
            assert np.abs(played_at(data, times, axis) - exact[axis]).max() < 0.005

    def test_a_long_wait_takes_no_sharpness_from_the_moves(self):
        found = report(LINES.replace("P0.5", "P3600"))
        played = playback_samples.run(found)
        data = sent(played)
        times = np.linspace(3600.0, data["seconds"], 997)
        exact = sampling.sample_at(found.trace, found.machine, found.controller, {}, times).positions
        assert np.abs(played_at(data, times, "x") - exact["x"]).max() < 0.005
        assert len(played.samples.times) < 5_000

    def test_a_long_slow_move_takes_no_sharpness_from_the_quick_ones(self):
        found = report("G21 G90 G94 G17\nG53 G0 Z-2\nG53 G1 X20 Y20 F5\nG53 G0 X220\n")
        played = playback_samples.run(found)
        data = sent(played)
        assert data["seconds"] > 1_000
        times = np.linspace(played.ends[-2], data["seconds"], 997)
        exact = sampling.sample_at(found.trace, found.machine, found.controller, {}, times).positions
        assert np.abs(played_at(data, times, "x") - exact["x"]).max() < 0.005
        assert len(played.samples.times) < playback_samples.MOST + 10

    def test_a_blended_corner_is_played_as_it_is_planned(self):
        """Within the tolerance of the corner, and without coming to rest there."""
        lines = "G21 G90 G94\nG53 G1 X100 Y50 F1200\nG53 G1 X150 Y50\nG53 G1 X150 Y100\n"
        played = playback_samples.run(report(lines, corner="blend", tolerance=0.5), {"x": 100.0, "y": 50.0})
        data = sent(played)
        x, y = (np.array(data["positions"][axis]) for axis in "xy")
        missed = np.hypot(x - 150.0, y - 50.0).min()
        assert 0.1 < missed <= 0.5 + 1e-3
        turning = np.hypot(played.samples.positions["x"] - 150.0, played.samples.positions["y"] - 50.0) < 1.0
        assert played.samples.path_speed[turning].min() > 1.0

    def test_stretches_of_one_speed_are_left_out(self):
        played = playback_samples.run(report())
        assert len(sent(played)["times"]) < len(played.samples.times) / 2

    def test_it_says_what_carries_each_axis(self):
        assert sent(playback_samples.run(report()))["carried"] == {
            "x": "table",
            "y": "table",
            "z": "head",
        }

    def test_every_line_that_takes_time_is_in_it(self):
        assert set(sent(playback_samples.run(report()))["lines"]) == {2, 3, 4, 5}

    def test_an_inch_sheet_is_read_out_in_inches(self):
        data = sent(playback_samples.run(report()), "inch")
        assert (data["unit"], data["size"]) == ("in", 25.4)

    def test_it_says_where_it_waits_and_for_what(self):
        lines = "G21 G90 G94 G17\nG53 G0 Z-2\nG4 P0.5\nM0\nG53 G0 X20\n"
        data = sent(playback_samples.run(report(lines)))
        dwell, pause = data["waits"]
        assert (dwell["line"], dwell["is"], pause["line"], pause["is"]) == (
            3,
            "It dwells",
            4,
            "It waits for the operator",
        )
        assert dwell["to"] - dwell["at"] == pytest.approx(0.5)
        assert pause["at"] == pause["to"] == dwell["to"]

    def test_it_says_what_goes_on_after_letting_go_at_any_moment(self):
        lines = "G21 G90 G94 G17\nG53 G0 Z-2\nG53 G0 X20\nG53 G0 Y140\nM0\nG53 G0 X60\n"
        queued, brakes = Controller(percent=False, queue_depth=0), Controller(percent=False, release="wired")
        found = parser.examine(lines, drawn.mill(), queued)
        played = playback_samples.run(found)
        z, x, y, x_again = played.ends.tolist()
        data = sent(played)["release"]
        assert data["ends"] == pytest.approx([z, y, x_again], abs=1e-4)
        assert data["to"] == pytest.approx([x, y, x_again], abs=1e-4)
        assert data["because"] == found.plan.run_on.because
        found = parser.examine(lines, drawn.mill(latency=0.1), brakes)
        data = sent(playback_samples.run(found))["release"]
        assert max(data["mm"]) == pytest.approx(found.plan.run_on.millimetres, abs=1e-4)
        assert "to" not in data

    @given(st.lists(st.floats(-50.0, 50.0), min_size=3, max_size=40))
    def test_thinning_loses_nothing_of_a_line_in_pieces(self, values):
        corners = np.array(values)
        times = np.arange(0.0, len(corners) - 1 + 0.05, 0.1)
        curve = np.interp(times, np.arange(len(corners)), corners)
        kept = playback_samples.bends(times, curve, slack=1e-7)
        assert np.allclose(np.interp(times, times[kept], curve[kept]), curve, atol=1e-4)
        assert kept[0] == 0
        assert kept[-1] == len(times) - 1


class TestTheSpeedsDrawn:
    def test_there_is_a_strip_for_the_path_and_for_every_axis_that_moves(self):
        root = tree(speeds.draw(playback_samples.run(report("G21 G90\nG53 G0 Z-2\nG53 G0 Y140\n"))))
        roles = {role for strip in classed(root, "speed") for role in strip.get("class").split()}
        assert roles == {"speed", "path-speed", "axis-y", "axis-z"}

    def test_a_strip_reaches_the_top_speed_at_the_scale_it_names(self):
        """2400 mm/min is 40 mm/s; the scale ends at 50."""
        root = tree(speeds.draw(playback_samples.run(report("G21 G90\nG53 G0 X0\n"))))
        (path,) = classed(root, "path-speed")
        heights = [float(point.split()[1]) for point in path.get("d").strip("M").split("L")]
        strip = next(one for one in classed(root, "strip") if path in list(one))
        levels = {one.text: float(one.get("y")) for one in strip.iter(f"{{{svg.NAMESPACE}}}text")}
        assert min(heights) == pytest.approx(levels["0"] - 0.8 * (levels["0"] - levels["50"]), abs=0.05)

    def test_the_way_back_is_drawn_downwards(self):
        root = tree(speeds.draw(playback_samples.run(report("G21 G90\nG53 G0 X0\n"), {"x": 200.0})))
        (axis,) = classed(root, "axis-x")
        strip = next(one for one in classed(root, "strip") if axis in list(one))
        levels = {one.text: float(one.get("y")) for one in strip.iter(f"{{{svg.NAMESPACE}}}text")}
        heights = [float(point.split()[1]) for point in axis.get("d").strip("M").split("L")]
        assert min(heights) == pytest.approx(levels["0"])
        assert max(heights) > levels["0"] + 5.0
        assert "-50" in {words.replace("\N{MINUS SIGN}", "-") for words in levels if words}

    def test_a_rotary_axis_is_in_degrees(self):
        axes = (*drawn.mill().axes, Axis("a", Interval(-180.0, 180.0), 3600.0, 300.0))
        root = tree(speeds.draw(playback_samples.run(report("G21 G90\nG53 G0 A90\n", axes=axes))))
        titles = [one.text for one in root.iter(f"{{{svg.NAMESPACE}}}title")]
        assert "Speed of A, deg/s" in titles

    def test_a_sheet_in_inches_is_drawn_in_inches(self):
        root = tree(speeds.draw(playback_samples.run(report()), "inch"))
        assert "Speed of the path, in/s" in [one.text for one in root.iter(f"{{{svg.NAMESPACE}}}title")]

    def test_the_words_say_the_same_for_those_who_do_not_see_it(self):
        root = tree(speeds.draw(playback_samples.run(report("G21 G90\nG53 G0 X0\n"))))
        description = next(root.iter(f"{{{svg.NAMESPACE}}}desc")).text
        assert "X: up to 40 mm/s" in description
        assert "from this start" in description

    def test_nothing_to_do_is_drawn_without_fuss(self):
        assert classed(tree(speeds.draw(playback_samples.run(report("G21\n")))), "strip")


class TestTheStartThatIsAskedFor:
    def asked(self, figures=None, **values):
        return playback_page.asked(
            {f"at-{axis}": words for axis, words in values.items()}, report(), figures or Figures()
        )

    def test_none_is_asked_for_by_an_address_that_names_no_axis(self):
        assert self.asked() is None
        assert self.asked(x="", y=" ") is None

    def test_axes_are_read_in_the_units_of_the_sheet(self):
        assert self.asked(x="10", z="-2,5").start == {"x": 10.0, "z": -2.5}
        assert self.asked(Figures("inch"), x="10").start == {"x": 254.0}

    def test_what_is_no_number_is_kept_and_said(self):
        section, _ = playback_page.shown(report(), Figures(), self.asked(x="left", y="20"))
        x, y, _ = section.fields
        assert x.value == "left"
        assert "is not a number" in x.problem
        assert y.value == "20"

    @pytest.mark.parametrize("words", ["nan", "inf", "1e999"])
    def test_what_is_no_place_is_no_number(self, words):
        assert self.asked(x=words).unreadable == {"x": words}

    def test_a_start_that_was_brought_inside_says_so(self):
        section, start = playback_page.shown(report(), Figures(), self.asked(x="900"))
        assert "X 900 is outside of where this macro may start (0 to 260 mm)." in section.fields[0].hint
        assert start["x"] == 260.0


class TestOnTheBench:
    @pytest.fixture
    def client(self, application, tmp_path):
        return application(tmp_path / "workshop").test_client()

    def played(self, text):
        return unpacked(json.loads(html.unescape(re.search(r'data-run="([^"]*)"', text)[1])))

    def test_the_page_plays_from_the_start_in_the_address_without_any_script(self, client):
        text = client.get("/bench/present-part?at-x=20&at-y=30&at-z=-60").text
        run = self.played(text)
        assert [run["positions"][axis][0] for axis in "xyz"] == [20.0, 30.0, -60.0]
        assert re.search(r'id="elevations-plan-head" data-x="20" data-y="30" data-z="-60"', text)
        text = client.get("/bench/present-part?at-x=20&at-y=30&at-z=-60&side=speeds").text
        assert self.played(text) == run
        assert 'id="speeds-title"' in text

    def test_the_drawing_alone_is_what_the_script_asks_for(self, client):
        text = client.get("/bench/present-part/drawing?at-x=20", headers=HTMX).text
        assert self.played(text)["positions"]["x"][0] == 20.0
        assert "<h1>" not in text

    def test_a_finding_is_played_from_its_witness(self, client):
        client.post("/bench/present-part", data=hidden(client, "/bench/present-part") | {"do": "remove 1"})
        text = client.get("/bench/present-part").text
        shown = re.search(r"drawing\?show=(\d+)", text)
        assert shown
        text = client.get(f"/bench/present-part/drawing?show={shown[1]}").text
        head = re.search(r'id="elevations-plan-head" data-x="([^"]+)" data-y="([^"]+)" data-z="([^"]+)"', text)
        run = self.played(text)
        assert [float(value) for value in head.groups()] == pytest.approx(
            [run["positions"][axis][0] for axis in "xyz"], abs=0.01
        )

    def test_a_macro_without_moves_has_nothing_to_play(self, client):
        client.post("/shelf/new", data={"name": "Nothing yet"})
        text = client.get("/bench/nothing-yet").text
        assert 'id="scrub"' not in text
        assert 'id="speeds-title"' not in text
        assert "Nothing moves" in client.get("/bench/nothing-yet?side=speeds").text
