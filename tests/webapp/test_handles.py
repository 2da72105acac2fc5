"""Points that may be dragged on the drawing: those of steps whose fields say where to go, and no others."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from library.proving import prove_macro
from tests.library.benches import bench, macro, step
from webapp.drawings import elevations
from webapp.drawings.elevations import Extra, Handle
from webapp.pages.handles import handles

RAISE = step("raise", to="safe.z")


def points(*steps, start=None):
    return handles(prove_macro(macro(RAISE, *steps), bench(), seek_start=False), start)


def test_a_place_to_go_to_is_dragged_along_the_axes_that_are_filled_in():
    (point,) = points(step("go-to", x="20 mm", y="travel.y.max - 10 mm"), start={"z": -50.0})
    assert point == Handle(2, (20.0, 140.0, -2.0), "xy")
    (point,) = points(step("go-to", z="-10"), start={"x": 40.0, "y": 50.0})
    assert point == Handle(2, (40.0, 50.0, -10.0), "z")


def test_every_point_of_a_visit_is_one():
    found = points(step("visit", points="30, 40\n\n200 mm, 120", wait="dwell", time="1 s"))
    assert found == (Handle(2, (30.0, 40.0, -2.0), "xy", 0), Handle(2, (200.0, 120.0, -2.0), "xy", 1))
    assert len(points(step("visit", wait="pause"))) == 4, "the corners that it has where nothing is typed"


@pytest.mark.parametrize(
    "given",
    [
        step("go-to", x="nowhere.at.all"),
        step("go-to", x="20 mm", off=True),
        step("visit", points="30"),
        step("present-table"),
        step("own-lines", lines="G53 G0 X20 Y20"),
    ],
    ids=["cannot be read", "switched off", "half a point", "another block", "own lines"],
)
def test_what_says_no_place_of_its_own_has_none(given):
    assert points(given) == ()


def test_a_handle_stands_where_the_path_ends_in_every_view_and_not_in_the_file_that_is_kept():
    proved = prove_macro(macro(RAISE, step("go-to", x="20 mm", y="30 mm")), bench(), seek_start=False)
    views = elevations.draw_views(proved.report, extra=Extra(True, handles(proved), "mm"))
    root = ElementTree.fromstring(str(views.drawing))
    drawn = [each for each in root.iter() if each.get("class") == "handle"]
    assert [each.get("data-axes") for each in drawn] == ["xy", "xy", "xy"]
    for view, handle in zip([one for one in root.iter() if "view" in one.get("class", "").split()], drawn, strict=True):
        last = [one for one in view.iter() if one.get("class") == "path rapid"][-1]
        end = re.findall(r"-?[\d.]+", last.get("d"))[-2:]
        assert [float(handle.get(key)) for key in ("cx", "cy")] == pytest.approx([float(each) for each in end])
    assert 'class="handle"' not in views.whole()
    assert "title-block" in views.whole()
    assert "title-block" not in views.drawing
    assert [words for _, words in views.key] == ["rapid", "may start anywhere here", "head at the end", "travel"]
