"""A macro that runs another: inlined in place, proved anew, and never itself."""

from __future__ import annotations

from dataclasses import replace

import pytest

from library import documents, pack
from library.blocks.run_macro import run_by
from library.build import build
from library.proving import prove_macro
from library.store import Workshop
from tests.library.benches import bench, macro, step
from tests.workshops import keep


def run(name):
    return step("run-macro", macro=name)


def shelf(**macros):
    found = {name.replace("_", "-"): steps for name, steps in macros.items()}
    return replace(bench(), shelf={name: macro(*steps, id=name) for name, steps in found.items()})


def text(*steps, on):
    built = build(macro(*steps, id="outer"), on)
    assert built.problems == ()
    return built


def problem(*steps, on):
    (found,) = build(macro(*steps, id="outer"), on).problems
    return found


def test_the_steps_of_the_other_macro_are_written_in_place():
    on = shelf(up=[step("raise")])
    inlined = text(step("spindle-off"), run("up"), step("centre-table"), on=on)
    spelled_out = text(step("spindle-off"), step("raise"), step("centre-table"), on=on)
    assert (inlined.text, inlined.steps) == (spelled_out.text, spelled_out.steps)


def test_a_macro_may_run_one_that_runs_another():
    on = shelf(up=[step("raise")], middle=[run("up"), step("centre-table")])
    assert text(run("middle"), on=on).text == text(step("raise"), step("centre-table"), on=on).text


def test_a_macro_that_would_write_nothing_is_not_run_in_silence():
    on = shelf(idle=[step("raise", off=True)], empty=[])
    assert "only steps that are switched off" in str(problem(run("idle"), on=on))
    assert "has no steps" in str(problem(run("empty"), on=on))


def test_what_is_switched_off_in_the_other_macro_is_left_out():
    on = shelf(up=[step("raise", off=True), step("centre-table"), step("run-macro", macro="up", off=True)])
    assert text(run("up"), on=on).text == text(step("centre-table"), on=on).text


def test_numbers_of_the_other_macro_are_in_its_own_units():
    on = replace(bench(), shelf={"up": macro(step("raise", to="-1"), units="inch", id="up")})
    assert "G53 G0 Z-25.4" in text(run("up"), step("go-to", x="10", z=""), on=on).lines


@pytest.mark.parametrize(
    ("macros", "way"),
    [
        ({"outer": [step("raise")]}, "outer, outer"),
        ({"one": [run("outer")]}, "outer, one, outer"),
        ({"one": [run("two")], "two": [run("one")]}, "one, two, one"),
    ],
)
def test_a_macro_cannot_run_itself(macros, way):
    found = problem(run("outer" if "outer" in macros else "one"), on=shelf(**macros))
    assert (found.step, found.parameter) == (1, "macro")
    assert f"would run itself ({way})" in found.message


def test_a_macro_that_is_not_on_the_shelf_suggests_the_nearest():
    assert 'did you mean "park-it"' in problem(run("park-t"), on=shelf(park_it=[step("raise")])).message


def test_what_is_wrong_with_the_other_macro_names_its_step():
    found = problem(run("up"), on=shelf(up=[step("raise"), step("raise", to="nowhere.z")]))
    assert found.message.startswith("step 2 of up: ")


@pytest.mark.parametrize("bad", [step("rise"), step("raise", too="1")])
def test_a_step_nobody_knows_in_the_other_macro_is_named(bad):
    assert problem(run("up"), on=shelf(up=[bad])).message.startswith("step 1 of up: ")


def test_nothing_is_left_behind_of_a_macro_that_cannot_be_written_to_its_end():
    built = build(macro(run("up"), id="outer"), shelf(up=[step("raise"), step("rise")]))
    assert built.lines == ("%", "(Trial)", "%")


def test_nothing_follows_a_macro_that_ends_with_homing_at_the_panel():
    on = shelf(homing=[step("home")])
    assert text(step("raise"), run("homing"), on=on).lines[-2] == "(MSG, HOME AT THE PANEL)"
    found = problem(run("homing"), step("raise"), on=on)
    assert (found.step, "has ended before this step with 'HOME AT THE PANEL'" in found.message) == (2, True)
    inside = shelf(homing=[step("home"), step("raise")])
    assert "step 2 of homing: the macro has ended" in problem(run("homing"), on=inside).message


def test_what_another_macro_does_is_proved_here():
    on = shelf(across=[step("centre-table")])
    assert prove_macro(macro(run("across")), on).report.refused
    assert not prove_macro(macro(step("raise"), run("across")), on).report.refused


def test_a_macro_says_which_others_it_runs():
    assert run_by(macro(step("raise"), run("park"), run("home"))) == ("park", "home")


def test_the_sheets_of_a_workshop_bring_its_macros(tmp_path):
    workshop = Workshop.open(tmp_path)
    built = build(macro(run("retract"), id="outer"), workshop.bench())
    assert built.problems == ()
    assert any(line.startswith("G53 G0 Z") for line in built.lines)


def test_a_macro_of_the_workshop_that_cannot_be_read_is_not_there(tmp_path):
    workshop = Workshop.open(tmp_path)
    keep(workshop, "macro", "broken", "format = 3\n", "by hand")
    assert workshop.bench().shelf.get("broken") is None
    assert len(workshop.bench().shelf) == len(list(workshop.bench().shelf))


def test_a_pack_carries_the_macros_that_its_macros_run(tmp_path):
    workshop = Workshop.open(tmp_path / "workshop")
    outer = 'format = "clickstop-macro/1"\nname = "Outer"\n[[step]]\nblock = "run-macro"\nmacro = "retract"\n'
    keep(workshop, "macro", "outer", outer, "made")
    slots = documents.write("pendant", {("slots",): {"4": {"x1": "outer"}}}, workshop.text("pendant", "workshop"))
    keep(workshop, "pendant", "workshop", slots, "made")
    made = pack.make(pack.gather(workshop))
    assert {path for path in made.files if path.startswith("documents/macros/")} == {
        "documents/macros/outer.toml",
        "documents/macros/retract.toml",
    }
    assert pack.differences(made.files) == []
