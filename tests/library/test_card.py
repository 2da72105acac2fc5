"""The legend card: what it says of each slot, and that everything it says is on it and can be read."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from library import pack
from library.pack import Printing
from library.pack.printed import card
from library.pack.printed.card import draw
from library.pack.printed.legend import LETTING_GO_ALL, Entry, Legend, Note
from library.pack.printed.lettering import ROUNDING, width_of, wrap
from tests.library.benches import MILL, ROUTER, controller
from tests.library.printing import ACCEPTED, WILD_NAMES, document, legend_of, many, wild
from tests.library.test_pack import gathered, made, on_slot

SVG = "{http://www.w3.org/2000/svg}"


def entry(legend, position="4", increment=0):
    return dict(legend.rows)[position][increment]


def texts(entry):
    return [note.text for note in entry.notes]


def lettering(drawn):
    return " ".join(words.text for words in drawn.words)


# What it says


def test_positions_that_drive_an_axis_are_not_on_it():
    assert [label for label, _ in legend_of().rows] == ["4", "5", "6"]


def test_a_macro_on_two_slots_is_on_both():
    legend = legend_of()
    assert entry(legend).name == entry(legend, "5").name == "Lift"


def test_a_slot_without_a_macro_is_left_blank():
    assert entry(legend_of(), "6") == Entry()


def test_a_refused_macro_is_not_on_it():
    low = document("low", "Low", 'block = "go-to"\nx = "travel.x.middle"\ny = "travel.y.middle"')
    assert entry(legend_of(pendant=on_slot("low"), low=low)) == Entry()


def test_it_says_which_way_the_table_comes_and_how_far():
    # From machine Y 0 to 145: the table carries Y and the operator stands at -y (ISO 841)
    assert "TABLE COMES FORWARD 145 mm" in texts(entry(legend_of(), "4", 1))


def test_lengths_are_in_the_units_of_the_machine_sheet():
    present = document("present", "Present", 'block = "raise"', 'block = "present-table"\nside = "back"')
    notes = texts(entry(legend_of(machine=ROUTER, pendant=on_slot("present"), present=present)))
    assert [text for text in notes if "COMES FORWARD" in text] == ["HEAD COMES FORWARD 11.8 in"]


def test_a_start_condition_is_on_it_in_words_with_who_cannot_check_it():
    low = document("low", "Low", 'block = "raise"', header='start = "x <= 250 mm and z >= -20 mm"\n')
    told = texts(entry(legend_of(pendant=on_slot("low"), low=low)))
    assert "ONLY FROM Z at or above -20 mm and X at most 250 mm: the pendant cannot check this" in told


@pytest.mark.parametrize(
    ("start", "told"),
    [
        ("z = -10 mm", "Z at -10 mm"),
        ("z <= -10 mm", "Z at or below -10 mm"),
        ("y >= 10 mm and y <= 2 in", "Y from 10 mm to 50.8 mm"),
        ("z >= safe.z", "Z at or above -2 mm"),
        ("z >= -20.0004 mm and x <= 99.9996 mm", "Z at or above -20 mm and X at most 99.999 mm"),
        ("z >= -900 mm", "z >= -900 mm"),
    ],
)
def test_a_condition_is_told_as_where_the_axes_may_be_and_never_rounded_outwards(start, told):
    low = document("low", "Low", 'block = "raise"', header=f'start = "{start}"\n')
    said = texts(entry(legend_of(pendant=on_slot("low"), low=low)))
    assert f"ONLY FROM {told}: the pendant cannot check this" in said


def test_a_condition_is_in_the_units_of_the_machine_sheet():
    low = document("low", "Low", 'block = "raise"', header='start = "z >= -25.5 mm"\n')
    said = texts(entry(legend_of(machine=ROUTER, pendant=on_slot("low"), low=low)))
    # -25.5 mm is -1.00394 in
    assert "ONLY FROM Z at or above -1.0039 in: the pendant cannot check this" in said


def test_an_accepted_refusal_is_on_it_with_the_reason_below_a_plate():
    notes = entry(legend_of(pendant=on_slot("low"), low=low_over())).notes
    assert Note("NOT PROVED", "plate") in notes
    told = "accepted because the <vise> is off & stays off (crosses-keep-out)"
    assert Note(told, "strong") in notes


def test_every_reason_and_the_condition_are_on_it():
    low = document(
        "low",
        "Low",
        'block = "own-lines"\nlines = "G21 G90\\nG53 G0 X130 Y75\\nG91"',
        header='start = "z >= -80 mm"\n'
        'accepted = [ { rule = "crosses-keep-out", because = "The vise is off." }, '
        '{ rule = "mode-left-changed", because = "G90 comes back by itself." } ]\n',
    )
    legend = legend_of(pendant=on_slot("low"), low=low)
    told = texts(entry(legend))
    assert told[:4] == [
        "NOT PROVED",
        "accepted because The vise is off (crosses-keep-out)",
        "accepted because G90 comes back by itself (mode-left-changed)",
        "ONLY FROM Z at or above -80 mm: the pendant cannot check this",
    ]
    on_card = lettering(draw(legend, 90, 60))
    assert all(word in on_card for text in told for word in text.split())


def test_a_reason_that_lowered_nothing_is_not_on_it():
    lift = document("lift", "Lift", 'block = "raise"', header=ACCEPTED)
    assert "NOT PROVED" not in " ".join(texts(entry(legend_of(lift=lift))))


def test_nine_slots_with_the_longest_reasons_still_go_on_one_card():
    # 200 characters are the longest reason that a document may give
    notes = (Note("NOT PROVED", "plate"), *(Note("accepted because " + "a reason " * 22 + "ends", "strong"),) * 2)
    rows = tuple((label, (Entry("Low", notes),) * 3) for label in "456")
    drawn = draw(replace(legend_of(), rows=rows), 90, 60)
    assert drawn.width <= 180
    assert drawn.height <= 240
    assert all(words.x + words.width <= drawn.width for words in drawn.words if words.anchor == "start")


def low_over():
    return document("low", "Low", 'block = "go-to"\nx = "travel.x.middle"\ny = "travel.y.middle"', header=ACCEPTED)


def test_home_first_is_on_it_unless_the_controller_sees_to_it():
    assert "HOME FIRST" in lettering(draw(legend_of(), 90, 60))
    sees = legend_of(controller=controller(refuses_unhomed="true"))
    assert "HOME FIRST" not in lettering(draw(sees, 90, 60))


def test_what_letting_go_does_not_stop_is_said_once_where_it_is_true_of_all():
    legend = legend_of()
    assert lettering(draw(legend, 90, 60)).count(LETTING_GO_ALL) == 1
    assert "LETTING GO" not in " ".join(texts(entry(legend)))


def test_what_only_waits_for_the_panel_makes_no_exception_to_what_letting_go_does_not_stop():
    home = document("home", "Home", 'block = "home"')
    legend = legend_of(pendant=on_slot("lift") + 'x10 = "home"\n', home=home)
    assert LETTING_GO_ALL in lettering(draw(legend, 90, 60))


def test_what_holds_for_every_macro_is_on_it():
    told = lettering(draw(legend_of(), 90, 60))
    assert "NOT WHILE A PROGRAM RUNS OR WAITS. HOME AGAIN AFTER AN EMERGENCY STOP." in told
    assert "RESUME" not in told
    held = controller(acknowledge='"TAKEN"', release='"immediate"', stop_line='"!"', stop_keeps='"held"')
    assert "AFTER A STOP, RESUME CONTINUES IT." in lettering(draw(legend_of(controller=held), 90, 60))


def test_the_issue_is_on_it_with_the_tools_and_fixtures_that_the_proof_rests_on():
    legend = legend_of()
    assert re.fullmatch(r"Issue [0-9a-f]{8}", legend.issue)
    assert legend.rests_on == "Proved for tools up to 40 mm long and 12 mm thick, and Table and Vise as drawn."
    told = lettering(draw(legend, 120, 90))
    assert legend.issue in told
    assert legend.rests_on in told


@pytest.mark.parametrize(
    ("home", "told"), [("max", "TABLE COMES FORWARD up to 150 mm"), ("min", "TABLE MAY COME FORWARD")]
)
def test_home_warns_that_the_table_comes_forward_though_its_path_is_not_checked(home, told):
    # a table that carries Y comes to an operator at -y when machine Y rises (ISO 841)
    homing = document("home", "Home", 'block = "home"')
    mill = re.sub(r'(\[axes.y\][^[]*?\[[^[]*?home = )"min"', rf'\1"{home}"', MILL)
    assert told in texts(entry(legend_of(machine=mill, pendant=on_slot("home"), home=homing)))


def test_what_has_to_be_done_at_the_panel_is_on_the_slot():
    home = document("home", "Home", 'block = "home"')
    assert "once it has ended home it AT THE PANEL: its path is not checked" in texts(
        entry(legend_of(pendant=on_slot("home"), home=home))
    )
    pausing = document("lift", "Lift", 'block = "raise"', 'block = "pause"')
    assert "let it go on AT THE PANEL" in texts(entry(legend_of(lift=pausing)))


def test_what_a_controller_without_messages_cannot_say_is_on_the_slot():
    pausing = document("lift", "Lift", 'block = "raise"', 'block = "pause"\ntext = "Turn the part"')
    told = "it cannot say so: Turn the part"
    silent = controller(acknowledge='"TAKEN"', message='""')
    assert told in texts(entry(legend_of(lift=pausing, controller=silent)))
    assert told not in texts(entry(legend_of(lift=pausing)))
    by_hand = MILL.replace("run_down = 5.0", 'run_down = 5.0\ncontrol = "manual"')
    stopping = document("lift", "Lift", 'block = "raise"', 'block = "spindle-off"')
    asked = entry(legend_of(lift=stopping, controller=silent, machine=by_hand))
    assert "it cannot say so: SPINDLE OFF BY HAND, THEN RESUME" in texts(asked)


def test_how_fast_the_wheel_may_be_turned_is_on_it():
    lines = legend_of().jog
    assert len(lines) == 2  # X and Y are alike
    assert lines[0].startswith("Jog X Y: x1 74 clicks/s, a turn/s 1 mm/s, runs on 0.22 mm, x10 23 clicks/s")


def test_where_letting_go_stops_everything_nothing_is_said_of_it():
    stops = controller(release='"wired"')
    assert "LETTING GO" not in lettering(draw(legend_of(controller=stops), 90, 60))


def test_the_gesture_is_that_of_the_pendant_sheet():
    pendant = on_slot("lift") + "[gesture]\nsettle = 0.8\nclicks = 5\nwindow = 2.0\n"
    said = legend_of(pendant=pendant).gesture
    assert said == (
        "To run: leave the selector 0.8 s. Release, then press and hold ENABLE. "
        "Turn the handwheel 5 clicks one way within 2 s."
    )


def test_every_macro_on_a_slot_is_on_the_card_and_on_the_sheet():
    files = made().files
    for name in ("Lift", "Present"):
        assert name in files["card.svg"].decode()
        assert f"<h1>{name}</h1>" in files["prove-out.html"].decode()


# How it is drawn


def test_it_is_as_large_as_was_asked():
    drawn = draw(legend_of(), 120, 80)
    assert (drawn.width, drawn.height, drawn.asked) == (120, 80, True)


def test_the_drawing_is_in_mm_at_one_to_one():
    root = ElementTree.fromstring(draw(legend_of(), 90, 60).svg())
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("102mm", "72mm", "-6 -6 102 72")
    assert card.size_of(draw(legend_of(), 90, 60).svg().encode()) == (90, 60)


def test_a_card_too_small_for_its_lettering_becomes_larger_and_says_so():
    drawn = draw(legend_of(), 40, 30)
    assert not drawn.asked
    assert drawn.height > 30
    assert min(words.size for words in drawn.words) >= 1.5


def test_fifty_four_slots_go_on_one_card_that_fits_on_letter_paper():
    # ANSI/ASME Y14.1: letter paper is 8.5 by 11 in; with 8 mm left free on each side 199.9 by 263.4 mm
    width, height = (side + 12 for side in card.size_of(many(54).files["card.svg"]))
    assert width <= 199.9
    assert height <= 263.4


@pytest.mark.parametrize("name", WILD_NAMES)
def test_a_name_is_text_of_the_drawing_and_nothing_else(name):
    root = ElementTree.fromstring(wild().files["card.svg"])
    assert {element.tag for element in root.iter()} == {
        f"{SVG}{tag}" for tag in ("svg", "title", "rect", "g", "line", "path", "text")
    }
    said = "".join("".join(element.itertext()) for element in root.iter(f"{SVG}text"))
    assert "".join(name.split()) in "".join(said.split())


def test_a_size_that_is_no_card_is_refused():
    for width, height in ((10, 60), (90, 900), (float("nan"), 60)):
        with pytest.raises(ValueError, match="a card is 30 to"):
            Printing(width, height)


NAMES = st.text(st.characters(exclude_categories=["C", "Z"]), min_size=1, max_size=60)
ENTRIES = st.builds(
    lambda name, told: Entry(name, tuple(Note(text, kind) for text, kind in told)),
    NAMES,
    st.lists(st.tuples(NAMES, st.sampled_from(["plain", "strong", "forward", "plate"])), max_size=3),
)


@settings(max_examples=60, deadline=None)
@given(
    rows=st.lists(st.tuples(NAMES, st.tuples(ENTRIES, ENTRIES)), min_size=1, max_size=5),
    title=NAMES,
    width=st.floats(30, 180),
    height=st.floats(30, 240),
)
def test_nothing_leaves_the_card_or_covers_other_lettering(rows, title, width, height):
    more = {"issue": title, "always": "NOT WHILE", "rests_on": title, "invented": title, "jog": (title, title)}
    named = {"letting_go": LETTING_GO_ALL, "gesture": "To run: " + title}
    legend = Legend(title, ("x1", "x10"), tuple(rows), home_first=True, **named, **more)
    drawn = draw(legend, width, height)
    boxes = []
    for words in drawn.words:
        left = words.x - (words.width / 2 if words.anchor == "middle" else 0)
        boxes.append((left, words.y - 0.9 * words.size, left + words.width, words.y + 0.2 * words.size))
    assert all(x1 >= 0 and y1 >= 0 and x2 <= drawn.width and y2 <= drawn.height for x1, y1, x2, y2 in boxes)
    for index, (x1, y1, x2, y2) in enumerate(boxes):
        for a1, b1, a2, b2 in boxes[:index]:
            assert x2 <= a1 + 1e-6 or a2 <= x1 + 1e-6 or y2 <= b1 + 1e-6 or b2 <= y1 + 1e-6


@given(st.text(max_size=80), st.floats(5, 80), st.floats(1, 4))
def test_wrapped_lines_keep_every_letter_and_fit(words, width, size):
    lines = wrap(words, width, size)
    assert "".join("".join(lines).split()) == "".join(words.split())
    assert all(
        width_of(line, size) <= width + ROUNDING or sum(map(bool, map(width_of, line, [1] * len(line)))) <= 1
        for line in lines
    )


def test_a_card_of_another_size_is_taken_and_found_again(tmp_path):
    asked = replace(gathered(), printing=Printing(120.0, 75.0, {"x": 20.0}))
    taken = pack.make(asked)
    assert card.size_of(taken.files["card.svg"]) == (120, 75)
    pack.write(taken, tmp_path / "out")
    assert pack.verify(tmp_path / "out") == []
