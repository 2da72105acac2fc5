"""The drawings: what they show, where, and in which line type."""

import re
from dataclasses import replace
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from library.sheets import PendantSheet
from parser.findings import Finding, Severity, ToolSize, Witness
from parser.machine import Axis, Box, Interval, Origin, Setup
from parser.motion.moves import Arc
from parser.motion.places import Afloat, Name, Unknown
from parser.times.timing import Spread
from tests.webapp import drawn
from webapp.drawings import elevations, figures, pendant, scene, svg, timeline
from webapp.drawings.edges import Face, strokes
from webapp.drawings.lettering import Desk, Patch, width_of
from webapp.drawings.scene import of_report
from webapp.drawings.startable import startable
from webapp.drawings.views import View

SVG = f"{{{svg.NAMESPACE}}}"


def tree(markup):
    return ElementTree.fromstring(str(markup))


def classed(root, *names):
    return [one for one in root.iter() if set(names) <= set(one.get("class", "").split())]


def words(root):
    return [one.text for one in root.iter(f"{SVG}text")]


def view(root, name):
    (found,) = classed(root, "view", name)
    return found


def numbers_in(path):
    return [float(part) for part in re.findall(r"-?\d+(?:\.\d+)?", path)]


def hidden_edges(shown):
    """Both ends of each hidden edge of a box in a view."""
    tables = [each for each in classed(shown, "moves-table") if (each.get("id") or "").endswith("-table")]
    runs = [path.get("d") for table in tables for path in classed(table, "hidden")]
    return [numbers_in(stroke) for run in runs for stroke in run.split("M")[1:]]


# The sheet as a whole


def test_a_drawing_is_an_image_with_a_title_and_a_description_in_words():
    root = tree(elevations.draw(drawn.presenting(), title="Present the part"))
    assert root.get("role") == "img"
    title, description = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert root.get("aria-labelledby") == f"{title.get('id')} {description.get('id')}"
    assert title.text == "Present the part: plan and front view"
    assert "X from 0 to 260 mm" in description.text
    assert "with Table, Vise and Bar" in description.text
    assert "ends at X 130 Y 145 Z −2" in description.text


def test_the_plan_stands_over_the_front_view_on_the_same_x():
    """Third angle: the view from above lies above (ISO 5456-2:1996, 5.2)."""
    shown = scene.of_report(drawn.presenting())
    sheet = elevations._lay_out(shown, None)
    assert sheet.plan.patch.bottom < sheet.front.patch.bottom
    assert sheet.plan.page((130.0, 0.0, 0.0))[0] == sheet.front.page((130.0, 0.0, 0.0))[0]


def test_y_runs_up_the_plan_and_z_up_the_front_view():
    sheet = elevations._lay_out(scene.of_report(drawn.presenting()), None)
    assert sheet.plan.page((0.0, 10.0, 0.0))[1] == sheet.plan.page((0.0, 0.0, 0.0))[1] - 10.0
    assert sheet.front.page((0.0, 0.0, 10.0))[1] == sheet.front.page((0.0, 0.0, 0.0))[1] - 10.0


def test_the_side_view_is_what_is_seen_from_the_right_and_stands_to_the_right_of_the_front_view():
    """Third angle: the view from the right lies on the right, at the same height (ISO 5456-2:1996, 5.2)."""
    root = tree(elevations.draw(drawn.presenting(), side=True))
    sheet = elevations._lay_out(scene.of_report(drawn.presenting()), None, side=True)
    assert sheet.side.page((0.0, 10.0, 0.0))[0] == sheet.side.page((0.0, 0.0, 0.0))[0] + 10.0
    assert sheet.side.page((0.0, 0.0, -5.0))[1] == sheet.front.page((0.0, 0.0, -5.0))[1]
    assert sheet.side.page((0.0, 0.0, 0.0))[0] > sheet.front.page((260.0, 0.0, 0.0))[0]
    side = view(root, "side")
    assert (side.get("data-across"), side.get("data-up")) == ("y", "z")
    (travel,) = classed(side, "phantom", "travel")
    assert (float(travel.get("width")), float(travel.get("height"))) == (pytest.approx(150.0), pytest.approx(90.0))
    (hidden,) = hidden_edges(side)
    assert abs(hidden[2] - hidden[0]) == 20.0, "the bar hides a part of the vise's top"
    ends = [numbers_in(path.get("d")) for path in classed(side, "path", "rapid")]
    tip = [float(value) for value in side.get("data-tip").split()]
    assert ends[-1][-2:] == pytest.approx([tip[0] + 145.0, tip[1] + 2.0])


def test_a_box_says_how_far_it_reaches_in_the_units_of_the_workshop():
    says = [each.find(f"{SVG}title").text for each in classed(tree(elevations.draw(drawn.presenting())), "keep-out")]
    assert says[:2] == [
        "Vise: X 80 to 170, Y 35 to 105, up to Z -80 mm",
        "Bar: X 60 to 190, Y 60 to 80, up to Z -76 mm",
    ]
    inches = tree(elevations.draw(drawn.presenting(), units="inch"))
    assert classed(inches, "keep-out")[0].find(f"{SVG}title").text.endswith("up to Z -3.1496 in")


def test_both_views_are_drawn_to_the_scale_of_the_view_box():
    root = tree(elevations.draw(drawn.presenting()))
    for name, height in (("plan", 150.0), ("front", 90.0)):
        (travel,) = classed(view(root, name), "phantom", "travel")
        assert float(travel.get("width")) == pytest.approx(260.0)
        assert float(travel.get("height")) == pytest.approx(height)


def test_the_scale_bar_is_as_long_as_it_says():
    root = tree(elevations.draw(drawn.presenting()))
    (bar,) = classed(root, "scale-bar")
    longest = max(float(one.get("x2")) - float(one.get("x1")) for one in bar.iter(f"{SVG}line"))
    assert words(bar) == ["50 mm"]
    assert longest == pytest.approx(50.0)


def test_an_inch_workshop_reads_inches_on_the_same_drawing():
    root = tree(elevations.draw(drawn.presenting(), units="inch"))
    (bar,) = classed(root, "scale-bar")
    longest = max(float(one.get("x2")) - float(one.get("x1")) for one in bar.iter(f"{SVG}line"))
    assert words(bar) == ["2 in"]
    assert longest == pytest.approx(50.8)
    assert "X 0 to 10.24 in" in words(root)


def test_the_drawing_says_which_part_really_moves():
    said = " ".join(words(tree(elevations.draw(drawn.presenting()))))
    assert "in fact the table carries X and Y and the head carries Z" in said


def test_there_are_no_colours_and_no_styles_in_the_drawing():
    text = str(elevations.draw(drawn.presenting()))
    assert "style=" not in text
    assert not re.search(r'(fill|stroke)="(?!url\()', text)


def test_a_name_that_looks_like_markup_stays_a_name():
    vise = replace(drawn.VISE, name='<script>"Vise"&')
    setups = (Setup("", (drawn.TABLE, vise), {}),)
    text = str(elevations.draw(drawn.presenting(drawn.mill(setups=setups)), title="<b>\x00"))
    assert "<script>" not in text
    assert '<script>"Vise"&' in words(tree(text))


def test_two_drawings_can_stand_on_one_page():
    one = tree(elevations.draw(drawn.presenting()))
    other = tree(elevations.draw_machine(drawn.mill()))
    ids = [each.get("id") for root in (one, other) for each in root.iter() if each.get("id")]
    assert len(ids) == len(set(ids))


# The machine


def test_edges_behind_a_nearer_box_are_hidden_lines():
    """Line type 02.1, dashed narrow: hidden edges (ISO 128-2:2020)."""
    root = tree(elevations.draw(drawn.presenting()))
    hidden = hidden_edges(view(root, "plan"))
    assert len(hidden) == 2
    assert {y2 - y1 for _, y1, _, y2 in hidden} <= {20.0, -20.0}


@given(st.floats(-50, 50), st.floats(1, 50), st.floats(-50, 50), st.floats(1, 50))
def test_the_strokes_of_an_edge_add_up_to_the_edge(left, wide, bottom, high):
    face = Face("far", (0.0, 0.0), (30.0, 20.0), 0.0)
    near = Face("near", (left, bottom), (left + wide, bottom + high), 1.0)
    cut = strokes(face, [face, near])
    assert sum(abs(s.end[0] - s.begin[0]) + abs(s.end[1] - s.begin[1]) for s in cut) == pytest.approx(100.0)
    for stroke in cut:
        x, y = (stroke.begin[0] + stroke.end[0]) / 2, (stroke.begin[1] + stroke.end[1]) / 2
        assert stroke.hidden == (left < x < left + wide and bottom < y < bottom + high)


def test_every_keep_out_is_named_in_both_views():
    root = tree(elevations.draw(drawn.presenting()))
    for name in ("plan", "front"):
        assert {"Vise", "Bar"} <= set(words(view(root, name)))


def test_a_table_that_reaches_down_without_end_still_fits_the_sheet():
    root = tree(elevations.draw(drawn.presenting()))
    assert float(root.get("viewBox").split()[3]) < 1000.0


def test_the_work_zero_is_where_the_tip_of_the_longest_tool_finds_it():
    """G54 Z is -40 to -30 with a tool of 40 mm: the tip is at -75 in the middle, one over the bar's top at -76."""
    shown = scene.of_report(drawn.presenting())
    sheet = elevations._lay_out(shown, None)
    assert sheet.front.zero(shown.zeros[0].at) == sheet.front.page((125.0, 70.0, -75.0))


def test_a_machine_can_be_drawn_without_a_macro():
    root = tree(elevations.draw_machine(drawn.mill()))
    assert root.find(f"{SVG}title").text == "Workshop mill: plan and front view"
    assert classed(root, "path") == []
    assert "operator" in words(root)


def test_an_enclosure_is_shown_only_where_the_head_carries_both_axes():
    cover = Box("Cover", (200.0, 0.0, -20.0), (260.0, 150.0, 0.0))
    root = tree(elevations.draw_machine(drawn.mill(enclosures=(cover,))))
    assert classed(root, "enclosure") == []
    bridge = tuple(replace(axis, carried_by="head") for axis in drawn.mill().axes)
    root = tree(elevations.draw_machine(drawn.mill(enclosures=(cover,), axes=bridge)))
    assert len(classed(root, "enclosure")) == 2


def test_a_machine_with_nothing_but_axes_can_be_drawn():
    bare = drawn.mill(nose_radius=0.0, tool_stick_out=0.0, tool_radius=0.0, setups=(Setup(""),))
    root = tree(elevations.draw(drawn.presenting(bare)))
    assert len(classed(root, "travel", "phantom")) >= 2


def test_a_machine_without_y_can_be_drawn():
    x, _, z = drawn.mill().axes
    machine = drawn.mill(axes=(x, z), setups=tuple(replace(each, origins={}) for each in drawn.mill().setups))
    start, box = drawn.anywhere(machine)
    move, _ = drawn.move_on(start, 1, z=-2.0)
    assert tree(elevations.draw(drawn.report_of([move], start, box, machine=machine))) is not None


@pytest.mark.parametrize("side", ["-y", "+y", "-x", "+x"])
def test_the_operator_stands_beside_the_plan_on_the_side_the_sheet_says(side):
    root = tree(elevations.draw_machine(drawn.mill(operator_side=side)))
    (head,) = classed(root, "operator-head")
    (travel,) = classed(view(root, "plan"), "phantom", "travel")
    left, top = float(travel.get("x")), float(travel.get("y"))
    x, y = float(head.get("cx")), float(head.get("cy"))
    assert {"-y": y > top + 150, "+y": y < top, "-x": x < left, "+x": x > left + 260}[side]


# The path


def test_a_rapid_is_broken_and_a_feed_continuous_by_their_class():
    machine = drawn.mill()
    start = {"x": 10.0, "y": 10.0, "z": -2.0}
    rapid, place = drawn.move_on(start, 1, x=100.0)
    feed, _ = drawn.move_on(place, 2, kind="feed", y=100.0, feed=200.0)
    box = {axis: Interval(at, at) for axis, at in start.items()}
    root = tree(elevations.draw(drawn.report_of([rapid, feed], start, box, machine=machine)))
    assert len(classed(view(root, "plan"), "path", "rapid")) == 1
    assert len(classed(view(root, "plan"), "path", "feed")) == 1
    assert {"rapid", "feed"} <= set(words(root))


def test_every_stretch_carries_its_line_and_step_and_an_arrowhead():
    root = tree(elevations.draw(drawn.presenting()))
    stretches = [one for one in view(root, "plan").iter() if one.get("data-line")]
    assert [(one.get("data-line"), one.get("data-step")) for one in stretches] == [("4", "3")]
    assert len(classed(stretches[0], "arrow")) == 1


def test_a_stretch_is_numbered_by_its_step_and_by_its_line_where_there_are_no_steps():
    by_step = tree(elevations.draw(drawn.presenting()))
    assert [one.text for one in classed(by_step, "number")] == ["3", "2"]
    by_line = tree(elevations.draw(replace(drawn.presenting(), steps={})))
    assert [one.text for one in classed(by_line, "number")] == ["4", "3"]


def test_an_open_start_is_a_hatched_area_with_paths_from_its_corners():
    root = tree(elevations.draw(drawn.presenting(machine=drawn.mill(setups=(Setup("", ()),)))))
    (area,) = classed(view(root, "plan"), "start-area")
    assert float(area.get("width")) == pytest.approx(260.0)
    (paths,) = classed(view(root, "plan"), "fan")
    assert paths.get("d").count("M") >= 4


def test_only_where_the_longest_tool_and_the_nose_are_clear_is_hatched():
    scene = of_report(drawn.presenting())
    plan, front = (View("view", 0, up, (0.0, 0.0), Patch(0, 0, 1, 1), 0.0, 40.0) for up in (1, 2))

    def hatched(one, across, up):
        return any(left < across < right and low < up < high for left, right, low, high in startable(one, scene))

    assert not hatched(front, 125.0, -45.0), "the tip stands in the vise"
    assert hatched(front, 125.0, -30.0), "the tip is above the bar"
    assert not hatched(front, 60.0, -85.0), "the nose stands in the vise beside the tool"
    assert hatched(front, 20.0, -85.0)
    assert not hatched(plan, 125.0, 70.0), "over the vise the lowest start stands in it"
    assert not hatched(plan, 60.0, 70.0), "the nose does"
    assert hatched(plan, 20.0, 70.0), "the table lies under all of it and leaves nothing out"
    left = sum((right - left) * (high - low) for left, right, low, high in startable(plan, scene))
    assert 0.0 < left < 260.0 * 150.0


def test_a_start_that_is_one_place_is_neither_hatched_nor_fanned():
    start = {"x": 10.0, "y": 10.0, "z": -2.0}
    move, _ = drawn.move_on(start, 1, x=100.0)
    box = {axis: Interval(at, at) for axis, at in start.items()}
    root = tree(elevations.draw(drawn.report_of([move], start, box)))
    assert classed(root, "start-area") == []
    assert classed(root, "fan") == []
    assert "start" in words(root)


def test_the_head_at_the_end_is_drawn_in_the_line_type_of_extreme_positions():
    """Line type 05.1, long-dash double-dot narrow: extreme positions of movable parts (ISO 128-2:2020)."""
    root = tree(elevations.draw(drawn.presenting()))
    for end in classed(root, "head", "end"):
        assert classed(end, "phantom")
        assert not classed(end, "outline")


def test_the_head_that_moves_says_where_it_is_drawn():
    root = tree(elevations.draw(drawn.presenting()))
    heads = classed(root, "moves-head")
    assert [head.get("id") for head in heads] == ["elevations-plan-head", "elevations-front-head"]
    assert {(head.get("data-x"), head.get("data-y"), head.get("data-z")) for head in heads} == {("130", "75", "-45")}


def test_an_arc_is_drawn_through_its_furthest_point():
    start = {"x": 50.0, "y": 75.0, "z": -2.0}
    arc = Arc(("x", "y"), "z", (80.0, 75.0), 30.0, 180.0, -180.0)
    move, _ = drawn.move_on(start, 1, kind="arc", x=110.0, arc=arc, feed=200.0)
    box = {axis: Interval(at, at) for axis, at in start.items()}
    report = drawn.report_of([move], start, box)
    (stretch,) = scene.of_report(report).path
    assert max(point[1] for point in stretch.points) == pytest.approx(105.0, abs=0.05)


def test_a_dogleg_shows_everything_it_may_sweep():
    start = {"x": 50.0, "y": 75.0, "z": -2.0}
    move, _ = drawn.move_on(start, 1, x=110.0, y=85.0, dogleg=True)
    box = {axis: Interval(at, at) for axis, at in start.items()}
    root = tree(elevations.draw(drawn.report_of([move], start, box)))
    (swept,) = classed(view(root, "plan"), "swept")
    assert (swept.get("width"), swept.get("height")) == ("60", "10")


def test_a_macro_that_moves_nothing_says_so():
    start, box = drawn.anywhere(drawn.mill())
    root = tree(elevations.draw(drawn.report_of([], start, box)))
    assert "Nothing moves." in root.find(f"{SVG}desc").text


def test_a_long_program_stays_drawable():
    place = {"x": 0.0, "y": 0.0, "z": -2.0}
    box = {axis: Interval(at, at) for axis, at in place.items()}
    moves = []
    for line in range(1, 2001):
        move, place = drawn.move_on(place, line, x=float(line % 200), y=float(line % 77))
        moves.append(move)
    text = str(elevations.draw(drawn.report_of(moves, moves[0].start, box)))
    assert len(text) < 100_000
    assert len(classed(tree(text), "path", "rapid")) == 3
    assert classed(tree(text), "number") == []


# A finding


def test_a_witness_is_drawn_from_its_start_to_where_it_meets_and_called_out_in_both_views():
    report, finding = drawn.crossing()
    root = tree(elevations.draw(report, focus=finding))
    for name in ("plan", "front"):
        assert {"starts here", "tool meets Vise here"} <= set(words(view(root, name)))
        (start,) = classed(view(root, name), "head", "start")
        (at,) = classed(view(root, name), "head", "witness")
        assert (start.get("data-x"), at.get("data-x")) == ("20", "75")
    assert len(classed(root, "keep-out", "obstacle")) == 2


def test_in_front_each_outline_of_a_witness_is_named():
    report, finding = drawn.crossing()
    root = tree(elevations.draw(report, focus=finding))
    assert {"nose", "tool"} <= set(words(view(root, "front")))
    assert not {"nose", "tool"} & set(words(view(root, "plan")))
    assert not {"nose", "tool"} & set(words(tree(elevations.draw(report))))


def test_the_head_at_the_start_of_a_witness_is_drawn_as_an_extreme_position():
    # ISO 128-2: outlines of extreme positions of movable parts, narrow long-dash double-dot.
    report, finding = drawn.crossing()
    front = view(tree(elevations.draw(report, focus=finding)), "front")
    (start,) = classed(front, "head", "start")
    (at,) = classed(front, "head", "witness")
    assert classed(start, "phantom")
    assert not classed(start, "outline")
    assert classed(at, "outline")
    assert not classed(at, "phantom")


def test_no_words_lie_over_the_break_lines_of_a_low_head():
    report, finding = drawn.crossing()
    root = tree(elevations.draw(report, focus=finding))
    em = float(next(each.get("font-size") for each in root.iter() if each.get("font-size")))
    front = view(root, "front")
    broken = Desk(Patch(-9e9, -9e9, 9e9, 9e9))
    assert classed(front, "break-line")
    for each in classed(front, "break-line"):
        figures = [float(found) for found in re.findall(r"-?[\d.]+", each.get("d"))]
        broken.take(Patch(min(figures[::2]), min(figures[1::2]), max(figures[::2]), max(figures[1::2])))
    for each in classed(front, "called"):
        x, y, wide = float(each.get("x")), float(each.get("y")), width_of(each.text, em)
        left = x - wide if each.get("text-anchor") == "end" else x
        lettering = Patch(left, y - em, left + wide, y)
        assert list(broken.costs([lettering])) == [0.0], each.text


def test_the_path_of_a_witness_begins_at_its_start_and_is_emphasised():
    report, finding = drawn.crossing()
    shown = scene.of_report(report, finding=finding)
    assert shown.path[0].points[0] == (20.0, 20.0, -60.0)
    assert shown.fan == ()
    assert classed(tree(elevations.draw(report, focus=finding)), "path", "in-focus")


def test_a_witness_with_another_tool_is_drawn_with_that_tool():
    report, finding = drawn.crossing()
    short = replace(finding, witness=replace(finding.witness, tool=ToolSize(25.0, 3.0)))
    root = tree(elevations.draw(report, focus=short))
    tools = [one for one in classed(view(root, "front"), "tool") if one.tag == f"{SVG}rect"]
    assert {(one.get("width"), one.get("height")) for one in tools} == {("6", "25")}


def test_a_nose_that_meets_something_is_drawn_without_a_tool():
    report, finding = drawn.crossing()
    nose = replace(finding, witness=replace(finding.witness, tool=None, body="nose"))
    root = tree(elevations.draw(report, focus=nose))
    assert classed(root, "tool") == []
    assert any(said.startswith("Drawn without a tool") for said in words(root))


def test_an_axis_that_leaves_its_travel_is_called_out_as_that():
    start = {"x": 20.0, "y": 20.0, "z": -2.0}
    move, end = drawn.move_on(start, 1, x=290.0)
    box = {axis: Interval(at, at) for axis, at in start.items()}
    witness = Witness(start, end, body="x", obstacle="end of X travel")
    finding = Finding("beyond-travel", Severity.REFUSE, "X would go to 290", "Stay inside", 1, witness=witness)
    root = tree(elevations.draw(drawn.report_of([move], start, box), focus=finding))
    assert words(root).count("X leaves its travel here") == 2
    for one in classed(root, "path"):
        assert max(numbers_in(one.get("d"))[0::2]) < float(root.get("viewBox").split()[2])


def test_the_witness_chooses_its_setup():
    setups = (Setup("Empty", (drawn.TABLE,), {}), drawn.mill().setups[0])
    report, finding = drawn.crossing()
    report = replace(report, machine=drawn.mill(setups=setups))
    assert "Vise" not in words(tree(elevations.draw(report)))
    assert "Vise" in words(tree(elevations.draw(report, focus=finding)))


def test_an_unknown_work_zero_is_put_where_the_witness_met_something():
    origin = Afloat(0.0, Unknown(Name("G54", "z"), "origin", Interval(-40.0, -30.0)))
    start = {"x": 125.0, "y": 70.0, "z": 0.0}
    move, _ = drawn.move_on(start, 1, z=origin)
    box = {axis: Interval(at, at) for axis, at in start.items()}
    witness = Witness(start, start | {"z": -40.0}, ToolSize(40.0, 6.0), "tool", "Bar", "Bar in the vise")
    finding = Finding("crosses-keep-out", Severity.REFUSE, "Hit", "Raise", 1, witness=witness)
    shown = scene.of_report(drawn.report_of([move], start, box), finding=finding)
    assert shown.path[0].points[-1] == (125.0, 70.0, -40.0)


# Lettering and figures


def test_a_label_goes_where_nothing_is_yet():
    desk = Desk(Patch(0, 0, 100, 100))
    desk.take(Patch(0, 0, 50, 100))
    assert desk.choose([Patch(10, 10, 30, 20), Patch(60, 10, 80, 20)]) == Patch(60, 10, 80, 20)


def test_a_label_rather_covers_a_surface_than_letters():
    desk = Desk(Patch(0, 0, 100, 100))
    desk.take(Patch(0, 0, 50, 100))
    desk.take(Patch(50, 0, 100, 100), 0.1)
    assert desk.choose([Patch(10, 10, 30, 20), Patch(60, 10, 80, 20)]) == Patch(60, 10, 80, 20)


@pytest.mark.parametrize(
    ("seconds", "said"),
    [
        (0.0, "0 s"),
        (0.04, "0 s"),
        (2.34, "2.3 s"),
        (9.96, "10 s"),
        (89.4, "89 s"),
        (90.0, "1 min 30 s"),
        (3599.6, "60 min 00 s"),
    ],
)
def test_times_are_said_as_one_would_read_them_off_a_watch(seconds, said):
    assert figures.duration(seconds) == said


@given(st.floats(0.001, 1e6))
def test_a_scale_step_is_round_and_near_the_part_asked_for(span):
    step = figures.round_step(span, 5)
    assert f"{step:e}"[0] in "125"
    assert span / 5 / 2.6 < step <= span / 5 * 1.001


def test_readings_never_show_a_negative_nought():
    assert figures.plain_length(-0.001, "mm") == "0"
    assert figures.plain_length(-90.0, "mm") == "−90"


# The timeline


def test_the_timeline_has_a_row_for_every_step_in_order():
    root = tree(timeline.draw(drawn.presenting(), {2: "Raise", 3: "Present the table"}))
    assert [row.get("data-step") for row in classed(root, "row")] == ["1", "2", "3"]
    assert {"1", "2 Raise", "3 Present the table", "at once"} <= set(words(root))


def test_bars_are_typical_times_one_after_another():
    root = tree(timeline.draw(drawn.presenting()))
    first, second = classed(root, "bar")
    end_of_first = float(first.get("x")) + float(first.get("width"))
    assert float(second.get("x")) == pytest.approx(end_of_first, abs=0.02)
    assert float(second.get("width")) / float(first.get("width")) == pytest.approx(2.6 / 2.32, rel=0.01)


def test_a_whisker_runs_from_least_to_most():
    root = tree(timeline.draw(drawn.presenting()))
    bar, whisker = classed(root, "bar")[0], classed(root, "whisker")[0]
    across = numbers_in(whisker.get("d"))[0::2]
    scale = float(bar.get("width")) / 2.32
    assert max(across) - min(across) == pytest.approx(4.57 * scale, rel=0.01)


def test_a_time_that_does_not_depend_on_the_start_has_no_whisker():
    start, box = drawn.anywhere(drawn.mill())
    move, _ = drawn.move_on(start, 1, z=-2.0)
    root = tree(timeline.draw(drawn.report_of([move], start, box, seconds=[Spread(3.0, 3.0, 3.0)])))
    assert classed(root, "whisker") == []


def test_what_has_no_length_is_a_diamond_with_words():
    root = tree(timeline.draw(drawn.waiting()))
    assert len(classed(root, "unmeasured")) == 2
    assert {"waits for the operator", "the controller homes"} <= set(words(root))


def test_a_long_file_shares_rows():
    start, box = drawn.anywhere(drawn.mill())
    moves = [drawn.move_on(start, line, z=-2.0)[0] for line in range(1, 101)]
    rows = timeline.rows(drawn.report_of(moves, start, box))
    assert len(rows) <= timeline.ROWS_AT_MOST
    assert rows[0].key == "1–4"
    assert rows[0].seconds == Spread(2.0, 8.0, 4.0)


def test_an_empty_macro_has_nothing_to_time():
    start, box = drawn.anywhere(drawn.mill())
    assert "Nothing to time." in words(tree(timeline.draw(drawn.report_of([], start, box))))


# The pendant


def sheet(**changes):
    slots = {"4": {"x1": "present-part", "x10": "centre-table"}}
    return PendantSheet.model_validate({"format": "clickstop-pendant/1", "slots": slots} | changes)


def test_a_spare_position_has_a_link_for_every_increment():
    root = tree(pendant.draw(sheet(), {"present-part": "Present the part"}))
    links = [one.get("href") for one in root.iter(f"{SVG}a")]
    assert len(links) == 9
    assert links[:3] == ["#slot-4-x1", "#slot-4-x10", "#slot-4-x100"]
    said = [one.get("aria-label") for one in root.iter(f"{SVG}a")]
    assert said[:3] == [
        "Position 4 at x1: Present the part",
        "Position 4 at x10: centre-table",
        "Position 4 at x100: free",
    ]


def test_a_position_that_drives_an_axis_has_no_slots():
    root = tree(pendant.draw(sheet()))
    driven = classed(root, "driven")
    assert [one.find(f"{SVG}title").text for one in driven] == [f"Position {a}: drives {a}" for a in "XYZ"]
    assert len(classed(root, "slot", "taken")) == 2


def test_the_pendant_is_not_an_image_because_it_holds_links():
    root = tree(pendant.draw(sheet()))
    assert root.get("role") == "group"
    assert "Position 5 is spare: nothing on it." in root.find(f"{SVG}desc").text


def test_the_selected_slot_is_marked_and_both_selectors_point_at_it():
    root = tree(pendant.draw(sheet(), selected=("4", "x10")))
    (chosen,) = classed(root, "slot", "chosen")
    assert chosen.get("aria-label").startswith("Position 4 at x10")
    other = tree(pendant.draw(sheet(), selected=("6", "x100")))
    points = [[one.get("d") for one in classed(each, "pointer")] for each in (root, other)]
    assert all(here != there for here, there in zip(*points, strict=True))


def test_the_id_of_a_slot_is_safe_whatever_its_labels_are():
    assert pendant.slot_id("4 A", "×1") == "slot-4_20A-_d71"


def test_a_pendant_of_one_position_and_one_increment_can_be_drawn():
    one = sheet(positions=[{"label": "Spare"}], increments=["only"], slots={})
    assert len(list(tree(pendant.draw(one)).iter(f"{SVG}a"))) == 1


def test_the_gesture_is_written_under_the_pendant():
    said = " ".join(words(tree(pendant.draw(sheet()))))
    assert "A macro fires on 3 clicks one way, then 3 back within 3 s, the enable button held." in said


def test_axes_and_origins_of_any_size_keep_the_sheet_finite():
    axes = tuple(Axis(name, Interval(-1e4, 1e4), 1e4, 1e3) for name in ("x", "y", "z"))
    machine = drawn.mill(axes=axes, setups=(Setup("", (), {"G54": Origin({"x": Interval(0, 0)})}),))
    root = tree(elevations.draw(drawn.presenting(machine)))
    assert all(0 < float(size) < 1e6 for size in root.get("viewBox").split()[2:])
