"""What a macro needs is found in its steps, formulas and lines, and said where a machine or controller lacks it."""

import pytest

from library import documents, starter
from library.share.lacks import MISSING, REFUSED, UNCLEAR, UNPUBLISHED, Lack, rigid, suited, worded
from library.share.needs import OwnLines, needed
from tests.library import benches
from tests.library.benches import ROUTER, bench, controller, macro, step


def needs_of(*steps, on=None, **header):
    return needed(macro(*steps, **header), on or bench()).needs


def lacks_of(*steps, on, **header):
    return suited(macro(*steps, **header), on).lacks


def test_landmarks_are_those_that_formulas_name():
    found = needs_of(step("go-to", x="travel.x.max - min(20 mm, tool.radius)", z="keep_out.vise.top"))
    assert found.landmarks == ("keep_out.vise.top", "tool.radius", "travel.x.max")


def test_a_default_that_names_a_landmark_counts():
    assert needs_of(step("raise")).landmarks == ("safe.z",)


def test_landmarks_that_a_block_asks_for_by_itself_count():
    assert "work.g54.z.max" in needs_of(step("above-work", descend=True)).landmarks


def test_landmarks_in_rows_and_in_a_start_condition_count():
    found = needs_of(step("visit", points="travel.x.min, travel.y.middle"), start="z >= safe.z - 5 mm")
    assert set(found.landmarks) >= {"travel.x.min", "travel.y.middle", "safe.z"}


def test_axes_are_those_of_steps_lines_landmarks_and_the_start_condition():
    assert needs_of(step("raise")).axes == ("z",)
    assert needs_of(step("own-lines", lines="G0 A90")).axes == ("a",)
    assert needs_of(step("raise", to="travel.b.max")).axes == ("z", "b")
    assert needs_of(step("raise"), start="x >= 10 mm").axes == ("x", "z")


def test_words_are_those_of_the_lines_as_they_are_written_here():
    assert "G53" in needs_of(step("raise")).words
    no_machine_moves = bench(benches.ONE_ZERO, "no-machine-moves")
    found = needs_of(step("raise"), on=no_machine_moves)
    assert "G53" not in found.words
    assert "G54" in found.words


def test_abilities_are_named_by_the_words_that_ask_for_them():
    found = needs_of(step("probe-down"), step("pause"), step("set-work-zero", source="probe"))
    assert set(found.abilities) >= {"probe", "pause", "offsets", "arithmetic"}
    assert "spindle" not in found.abilities


def test_macros_that_are_run_count_with_all_that_they_need():
    found = needs_of(step("run-macro", macro="lift"))
    assert found.macros == ("lift",)
    assert "safe.z" in found.landmarks
    assert set(found.blocks) == {"raise", "run-macro"}


def test_a_macro_that_runs_itself_is_followed_once():
    turning = macro(step("run-macro", macro="trial"), id="trial")
    assert needed(turning, bench()).needs.macros == ()


def test_a_start_condition_and_own_lines_do_not_adapt_and_say_so():
    found = needs_of(step("raise"), step("own-lines", lines="G4 P1"), start="z >= -20 mm", id="mine")
    assert found.start == "z >= -20 mm"
    assert found.own_lines == (OwnLines("mine", 2),)
    told = list(rigid(found))
    assert "z >= -20 mm" in told[0]
    assert "Step 2 of mine" in told[1]
    assert list(rigid(needs_of(step("raise")))) == []


@pytest.mark.parametrize("id", starter.macros())
@pytest.mark.parametrize("machine", ["machine.toml", "second/machine.toml"])
def test_a_starter_macro_lacks_nothing_on_either_machine(id, machine):
    on = documents.bench(starter.text(machine), starter.text("controller.toml"), starter.text("pendant.toml"))
    found = suited(documents.parse("macro", starter.macros()[id]), on)
    assert found.lacks == ()
    assert found.suits


def test_a_landmark_that_is_not_on_the_sheets_is_lacking():
    found = lacks_of(step("go-to", z="keep_out.vise.top"), on=bench(ROUTER))
    assert found[0] == Lack("landmark", "keep_out.vise.top", MISSING)
    assert worded(found[0]) == "the landmark keep_out.vise.top"
    assert found[1].kind == "step"
    assert "step 1 cannot be written here" in worded(found[1])


def test_a_landmark_that_is_not_one_number_says_why():
    found = lacks_of(step("go-to", z="work.g54.z"), on=bench())
    assert (found[0].name, found[0].cause) == ("work.g54.z", UNCLEAR)
    assert "work.g54.z.min" in worded(found[0])


def test_an_axis_that_the_machine_does_not_have_is_lacking():
    found = lacks_of(step("own-lines", lines="G0 A90"), on=bench())
    assert found == (Lack("axis", "a"),)
    assert worded(found[0]) == "the A axis"


def test_a_word_that_the_controller_does_not_take_is_lacking():
    no_probe = bench(controller=controller(unsupported='["G38.2"]'))
    found = lacks_of(step("own-lines", lines="G21 G91 G54 G49 G94\nG38.2 Z-5 F50"), on=no_probe)
    assert Lack("word", "G38.2", REFUSED) in found
    (found,) = lacks_of(step("probe-down"), on=no_probe)
    assert (found.kind, found.step, "this controller has no G38.2" in found.detail) == ("step", 1, True)
    found = lacks_of(step("own-lines", lines="M123"), on=bench())
    assert found == (Lack("word", "M123", UNPUBLISHED),)
    assert (
        lacks_of(step("own-lines", lines="M123"), on=bench(controller=controller(extra_words='{ M123 = "ignore" }')))
        == ()
    )


def test_a_macro_that_is_not_on_the_shelf_is_lacking():
    found = lacks_of(step("run-macro", macro="elsewhere"), on=bench())
    assert Lack("macro", "elsewhere") in found


def test_a_step_of_a_newer_version_is_lacking():
    found = lacks_of(step("levitate"), on=bench())
    assert Lack("block", "levitate") in found
    assert "this version" in worded(found[0])


def test_a_pause_is_lacking_where_the_controller_has_none():
    found = lacks_of(step("pause", text="Look"), on=bench(controller=controller(pause='""')))
    assert [(each.kind, each.step) for each in found] == [("step", 1)]
