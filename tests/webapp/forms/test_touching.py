"""Faces as they are measured: which tool touched, what the machine read, and the key that the sheet keeps."""

import pytest

from library import documents
from tests.webapp.forms.sheets import STARTER
from webapp.pages.forms import taking

VISE = "touch.keep_out.0"


def taken(typed, part="table", text=STARTER["machine"]):
    return taking.taken("machine", text, typed, part)


@pytest.mark.parametrize(
    ("cell", "tool", "reading", "kept"),
    [
        ("to.2", {"length": "40"}, "-45", -85.0),  # the tip of 40 touches a top T when machine Z reads T + 40
        ("to.2", {"tool": "1"}, "-45", -85.0),  # T1 of the starter's tool table is 40 long
        ("from.2", {"length": "40"}, "-89", -129.0),
        ("from.0", {"radius": "3"}, "76", 79.0),  # the axis stood at 76, its flank at 79
        ("to.0", {"radius": "3"}, "174", 171.0),
        ("from.1", {"tool": "1"}, "31", 34.0),
        ("to.1", {"radius": "3"}, "108.5", 105.5),
    ],
)
def test_a_face_of_a_box_is_worked_out(cell, tool, reading, kept):
    shown = _box()
    posted = shown | {f"{VISE}.{cell}": reading} | {f"{VISE}.{key}": value for key, value in tool.items()}
    made = documents.parse("machine", taken(posted).text).keep_out[0]
    corner, axis = cell.split(".")
    assert (made.from_ if corner == "from" else made.to)[int(axis)] == kept


def _box():
    box = documents.parse("machine", STARTER["machine"]).keep_out[0]
    low = {f"keep_out.0.from.{axis}": str(value) for axis, value in enumerate(box.from_)}
    return low | {f"keep_out.0.to.{axis}": str(value) for axis, value in enumerate(box.to)}


def test_the_table_top_is_a_real_height():
    posted = {"table.top": "-130", "touch.table.top": "-80", "touch.table.length": "50.5"}
    assert documents.parse("machine", taken(posted).text).table.top == -130.5


def test_a_work_zero_is_the_nose_reading_with_the_longest_tool():
    """A tool of 25 reads 15 lower than one of 40 at the same face."""
    posted = {"work.G54.z.0": "-38", "work.G54.z.1": "", "touch.work.G54.z.0": "-53", "touch.work.G54.length": "25"}
    assert documents.parse("machine", taken(posted, "zeros").text).work.g54.z == -38.0


def test_what_is_worked_out_is_shown_and_said_before_it_is_saved():
    posted = _box() | {f"{VISE}.to.2": "-45", f"{VISE}.length": "40", "work-out": VISE}
    answer = taken(posted)
    assert answer.text is None
    assert answer.typed.cells["keep_out.0.to.2"] == "-85"
    assert f"{VISE}.to.2" not in answer.typed.cells, "worked out once"
    assert answer.typed.told == {
        "keep_out.0.to.2": "-85 mm = nose reading -45 less the tool's length 40: the real height"
    }


@pytest.mark.parametrize(
    ("typed", "place"),
    [
        ({f"{VISE}.to.2": "-45"}, f"{VISE}.length"),
        ({f"{VISE}.to.0": "-45", f"{VISE}.length": "4"}, f"{VISE}.radius"),
        ({f"{VISE}.to.2": "high", f"{VISE}.length": "40"}, f"{VISE}.to.2"),
        ({f"{VISE}.to.2": "-45", f"{VISE}.length": "-40"}, f"{VISE}.length"),
        ({f"{VISE}.to.2": "-45", f"{VISE}.length": "x" * 10_000}, f"{VISE}.length"),
        ({f"{VISE}.to.2": "inf", f"{VISE}.length": "40"}, f"{VISE}.to.2"),
    ],
)
def test_what_is_missing_is_told_and_nothing_is_lost(typed, place):
    answer = taken(_box() | typed)
    assert answer.text is None
    assert list(answer.typed.errors) == [place]
    assert typed.items() <= dict(answer.typed.cells).items()


def test_a_reading_in_inches_stays_in_inches():
    text = STARTER["machine"].replace('name = "Workshop mill"', 'name = "Workshop mill"\nunits = "inch"')
    posted = {"table.top": "-130", "touch.table.top": "-1.5", "touch.table.length": "2.25"}
    assert documents.parse("machine", taken(posted, text=text).text).table.top == -3.75
