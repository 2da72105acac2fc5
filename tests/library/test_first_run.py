"""Slow copies for the first run: the same end points, no faster than one can follow, proved from their own bytes."""

from __future__ import annotations

import json
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from library import documents, pack, proving, starter
from library.pack.first_run import NotSlowedError, slow_copy
from library.sheets import PRESETS
from parser.motion.places import bounds
from tests.library.benches import INCH_RESTING, ONE_ZERO, ROUTER, bench, controller, macro, step
from tests.library.printing import ACCEPTED
from tests.library.printing import document as printed
from tests.library.test_pack import document, gathered, made, on_slot

PRESENT = macro(step("raise"), step("present-table"))


def by_hand(text):
    return macro(step("own-lines", lines=text))


def copied(given, on=None):
    on = on or bench(machine=ONE_ZERO)
    proved = proving.prove_macro(given, on)
    assert proved.exportable, proved.reason
    return proved, slow_copy(proved, "it.nc", on)


def commands(copy):
    return [text for text in copy.texts if text and text[0] not in "(%;"]


def ends(report):
    return [{axis: bounds(at) for axis, at in move.end.items()} for move in report.trace.moves if move.kind != "dwell"]


def test_rapids_become_feed_moves_at_the_rate_of_the_first_run():
    _, copy = copied(PRESENT)
    assert commands(copy) == ["G21 G90", "G94 G53 G1 Z-2 F500", "G53 G1 X130 Y145 F500"]


def test_it_goes_to_the_same_places():
    proved, copy = copied(PRESENT)
    assert ends(copy.report) == ends(proved.report)
    assert {move.kind for move in copy.report.trace.moves} == {"feed"}


def test_the_rate_is_that_of_the_controller_sheet():
    _, copy = copied(PRESENT, bench(controller=controller(first_run_rate="120.5")))
    assert "G53 G1 X130 Y145 F120.5" in copy.texts


def test_a_rate_in_inches_is_never_rounded_up():
    # 500 mm/min are 19.68503... in/min
    _, copy = copied(PRESENT, bench(machine=ROUTER, controller=INCH_RESTING))
    assert all(text.endswith("F19.685") for text in copy.texts if "G1" in text)


def test_a_feed_move_that_is_slower_anyway_keeps_its_rate():
    _, copy = copied(by_hand("G21 G90 G94\nG53 G0 Z-2\nG53 G1 X20 F80\nG53 X30\nG53 G0 X40\nG80"))
    assert commands(copy)[1:-1] == ["G53 G1 Z-2 F500", "G53 G1 X20 F80", "G53 X30 F80", "G53 G1 X40 F500"]


def test_a_feed_move_that_is_faster_is_slowed_as_well():
    _, copy = copied(by_hand("G21 G90 G94\nG53 G0 Z-2\nG53 G1 F900 X20\nG80"))
    assert "G53 G1 X20 F500" in copy.texts


def test_units_on_a_line_that_moves_go_before_it_because_f_is_read_in_the_units_before():
    _, copy = copied(by_hand("G21 G90 G53 G0 Z-2\nG80"))
    assert commands(copy) == ["G21", "G94 G90 G53 G1 Z-2 F500", "G80"]


def test_an_optional_line_does_not_put_in_force_what_the_next_one_needs():
    _, copy = copied(by_hand("G21 G90\n/G53 G0 Z-2\nG53 G0 Z-1\nG80"))
    assert commands(copy)[1:3] == ["/G94 G53 G1 Z-2 F500", "G94 G53 G1 Z-1 F500"]


def test_its_head_says_what_it_is():
    _, copy = copied(PRESENT)
    assert copy.texts[1:3] == (
        "(First run of: Trial)",
        "(Slow copy of it.nc for its first run: the same end points, no move faster)",
    )


@pytest.mark.parametrize("start", ["z >= -34 mm", "x <= 250 mm", "y >= 20 mm and y <= 40 mm", "z = -10 mm"])
def test_a_macro_with_a_condition_has_a_copy_that_is_proved_under_it(start):
    proved, copy = copied(macro(step("raise"), step("go-to", x="20 mm"), start=start))
    assert copy.report.start == proved.report.start
    assert copy.report.verdict == proved.report.verdict == "conditional"
    assert ends(copy.report) == ends(proved.report)


def test_a_move_from_where_the_macro_stands_keeps_its_place_under_a_condition():
    proved, copy = copied(macro(step("raise"), step("own-lines", lines="G91 G21\nG0 X5\nG90"), start="x <= 250 mm"))
    assert ends(copy.report) == ends(proved.report)


def test_the_head_of_a_copy_says_under_which_condition_it_was_proved():
    _, copy = copied(macro(step("raise"), start="z >= -34 mm and x <= 250 mm"))
    assert copy.texts[4:8] == (
        "(INVENTED FIGURES: everything on the machine sheet.)",
        "(Proved on its own, as the manifest says.)",
        "(ONLY FROM Z at or above -34 mm and X at most 250 mm: the pendant cannot)",
        "(check this.)",
    )


OVER = step("own-lines", lines="G21 G90\nG53 G0 X120 Y70")
OFF = ({"rule": "crosses-keep-out", "because": "The vise is off on Fridays."},)


def test_a_copy_of_what_is_not_proved_says_first_that_it_is_not_proved():
    _, copy = copied(macro(OVER, accepted=OFF))
    assert copy.report.verdict == "accepted"
    assert copy.texts[1] == "(NOT PROVED: accepted because The vise is off on Fridays [crosses-keep-out].)"
    assert copy.texts[2] == "(First run of: Trial)"
    assert "Proved on its own" not in "".join(copy.texts)


def test_a_copy_with_every_reason_and_a_condition_says_all_of_them():
    leaves = step("own-lines", lines="G21 G90\nG53 G0 X120 Y70\nG91")
    more = {"rule": "mode-left-changed", "because": "G90 comes back by itself"}
    _, copy = copied(macro(leaves, accepted=(*OFF, more), start="z >= -80 mm"))
    said = " ".join(text.strip("()") for text in copy.texts)
    assert "NOT PROVED: accepted because The vise is off on Fridays [crosses-keep-out]." in said
    assert "NOT PROVED: accepted because G90 comes back by itself [mode-left-changed]." in said
    assert "ONLY FROM Z at or above -80 mm: the pendant cannot check this." in said


BESIDE = ONE_ZERO.replace(
    "from = [80.0, 35.0, -130.0]\nto = [170.0, 105.0, -80.0]", "from = [100.0, 42.0, -130.0]\nto = [140.0, 60.0, -80.0]"
)
"""A vise that a dogleg from X 10 Y 10 to X 250 Y 40 scrapes on its way along Y 40, and the straight line does not."""


def test_a_copy_that_is_proved_where_the_macro_is_not_says_that_it_is_proved():
    over = step("own-lines", lines="G21 G90\nG53 G0 X250 Y40")
    given = macro(over, start="x = 10 mm and y = 10 mm and z = -60 mm", accepted=OFF)
    proved, copy = copied(given, bench(machine=BESIDE, controller="dogleg-rapids"))
    assert (proved.report.verdict, copy.report.verdict) == ("accepted", "conditional")
    said = " ".join(text.strip("()") for text in copy.texts)
    assert "Proved on its own, as the manifest says. ONLY FROM Z at -60 mm, X at 10 mm and Y at 10 mm:" in said
    assert "NOT PROVED" not in said


@pytest.mark.parametrize("comments", ["parentheses", "semicolon"])
@pytest.mark.parametrize("limit", [26, 256])
def test_no_reason_reaches_out_of_its_comment(comments, limit):
    wild = "HOME AT PANEL (a) G0 X999; % ! ~ (MSG, go) \u00e9\ufb01\u2026 " + "w" * 90
    accepted = ({"rule": "crosses-keep-out", "because": wild},)
    on = bench(
        machine=ONE_ZERO,
        controller=controller(comments=f'"{comments}"', line_limit=str(limit), message='""'),
    )
    proved, copy = copied(macro(OVER, accepted=accepted), on)
    assert ends(copy.report) == ends(proved.report)
    assert [event.kind for event in copy.report.trace.events] == [event.kind for event in proved.report.trace.events]
    assert max(map(len, copy.texts)) <= limit
    own = r"\([^()]*\)" if comments == "parentheses" else r"; [^;()]*"
    heads = [text for text in copy.texts if text.startswith(("(", ";"))]
    assert all(re.fullmatch(own, text) for text in heads)


def test_each_line_of_the_macro_is_tied_to_the_line_that_makes_its_moves():
    proved, copy = copied(PRESENT)
    rapid = next(move.line for move in proved.report.trace.moves)
    assert copy.texts[copy.lines[rapid] - 1] == "G94 G53 G1 Z-2 F500"


@pytest.mark.parametrize(
    ("given", "reason"),
    [
        (macro(step("home")), "its own lines move nothing"),
        (macro(step("dwell", time="2 s")), "its own lines move nothing"),
        (by_hand("G21 G90 G94\nG53 G0 Z-1\nG93\nG53 G1 Z-2 F2\nG94\nG80"), "by inverse time"),
        (by_hand("G21 G90\nG53 G0 Z-1\nG28\nG80"), "a rapid that cannot be written as a feed move"),
    ],
)
def test_a_macro_that_cannot_be_slowed_says_why(given, reason):
    on = bench(machine=ONE_ZERO + "[stored.G28]\nx = 10.0\ny = 10.0\nz = -1.0\n")
    with pytest.raises(NotSlowedError, match=reason):
        slow_copy(proving.prove_macro(given, on), "it.nc", on)


@settings(max_examples=25, deadline=None)
@given(
    moves=st.lists(
        st.tuples(st.sampled_from(["G0", "G1 F900", "G1 F90", ""]), st.sampled_from("XY"), st.integers(5, 140)),
        min_size=1,
        max_size=6,
    )
)
def test_no_copy_is_faster_than_its_rate_or_goes_elsewhere(moves):
    lines = "\n".join(f"G53 {word} {axis}{at}" for word, axis, at in moves)
    proved, copy = copied(by_hand(f"G21 G90 G94 \nF700\nG53 G0 Z-2\n{lines}\nG80"))
    assert ends(copy.report) == ends(proved.report)
    assert all(move.feed is not None and move.feed <= 500.0 for move in copy.report.trace.moves)


@pytest.mark.parametrize("machine", [ONE_ZERO, ROUTER], ids=["mill", "router"])
@pytest.mark.parametrize(
    "preset",
    sorted(PRESETS),
)
def test_no_controller_has_a_starter_macro_that_is_proved_but_not_its_slow_copy(preset, machine):
    on = bench(machine=machine, controller=preset)
    for name, text in starter.macros().items():
        proved = proving.prove_macro(documents.parse("macro", text), on)
        if not proved.exportable:
            continue
        copy = slow_or_reason(proved, on)
        if isinstance(copy, str):
            assert "not proved" not in copy, name
        else:
            assert ends(copy.report) == ends(proved.report), name


def slow_or_reason(proved, on):
    try:
        return slow_copy(proved, "it.nc", on)
    except NotSlowedError as reason:
        return str(reason)


# In the pack


def entry(taken, id):
    return next(each for each in json.loads(taken.files["manifest.json"])["macros"] if each["id"] == id)


def test_the_manifest_names_the_copy_with_what_was_proved_of_it():
    said = entry(made(), "present")["first_run"]
    assert (said["file"], said["verdict"]) == ("first-run/present--slow.nc", "proved")


def test_a_macro_without_a_copy_goes_with_the_reason():
    taken = made(pendant=on_slot("home"), home=document("home", 'block = "home"'))
    assert entry(taken, "home")["first_run"] == {"none": "its own lines move nothing"}
    assert not any(path.startswith("first-run/") for path in taken.files)


def test_what_is_accepted_goes_with_a_head_that_says_so_and_verifies(tmp_path):
    over = 'block = "go-to"\nx = "travel.x.middle"\ny = "travel.y.middle"'
    for start in ("", 'start = "z >= -80 mm"\n'):
        low = printed("low", "Low", over, header=start + ACCEPTED)
        taken = made(pendant=on_slot("low"), low=low)
        assert entry(taken, "low")["first_run"]["verdict"] == "accepted"
        for path in ("macros/low.nc", "first-run/low--slow.nc"):
            said = taken.files[path].decode().splitlines()[1]
            assert said.startswith("(NOT PROVED: accepted because the <vise> is off & stays off"), path
            assert ("ONLY FROM Z at or above -80 mm" in taken.files[path].decode()) == bool(start)
        assert pack.differences(taken.files) == []


def test_the_file_of_a_macro_that_is_proved_has_no_such_head():
    assert made().files["macros/lift.nc"].decode().splitlines()[1] == "(Lift)"


def test_a_copy_that_goes_elsewhere_is_noticed(tmp_path):
    pack.write(made(), tmp_path / "out")
    path = tmp_path / "out/first-run/lift--slow.nc"
    path.write_text(path.read_text().replace("Z-2", "Z-200"))
    assert {(found.path, found.kind) for found in pack.verify(tmp_path / "out")} == {
        ("first-run/lift--slow.nc", "changed"),
        ("first-run/lift--slow.nc", "not-proved"),
    }


def test_a_damaged_wish_for_the_printed_pages_is_one_clear_line(tmp_path):
    pack.write(made(), tmp_path / "out")
    path = tmp_path / "out/manifest.json"
    said = json.loads(path.read_text())
    said["printing"]["card_mm"] = ["wide", None]
    path.write_text(json.dumps(said))
    with pytest.raises(pack.PackError, match=r"^manifest\.json"):
        pack.verify(tmp_path / "out")
    assert gathered().printing.card_width == 90.0
