"""The starter workshop: invented, complete, and its macros proved on both of its machines."""

import re

import pytest

from library import documents, stages, starter
from library.build import build
from library.proving import prove_macro
from library.sheets import plain_machine

MACROS = starter.macros()
MACHINES = ("machine.toml", "second/machine.toml")
ASKED_FOR = {"present-part", "centre-table", "above-work", "park", "home", "retract"}


def on(machine):
    return documents.bench(starter.text(machine), starter.text("controller.toml"), starter.text("pendant.toml"))


def proved(id, machine):
    return prove_macro(documents.parse("macro", MACROS[id], id), on(machine))


def test_there_are_the_macros_a_new_user_needs():
    assert set(MACROS) >= ASKED_FOR
    assert len(MACROS) == 14


CROSSES = {"present-table", "centre-table", "above-work", "park", "visit", "sweep", "exercise-ways"}


@pytest.mark.parametrize("id", [id for id in MACROS if id not in ("retract", "home")])
def test_a_starter_raises_first_then_stops_coolant_and_spindle_and_waits_and_crosses_last(id):
    steps = documents.parse("macro", MACROS[id]).step
    blocks = [step.block for step in steps]
    assert blocks[0] == "raise"
    if CROSSES & {*blocks}:
        assert blocks[1:3] == ["coolant-off", "spindle-off"]
        assert steps[2].values["wait"] == "spindle.run_down"
        assert blocks[3] in CROSSES


def test_on_the_pendant_what_moves_the_table_is_furthest_from_the_axes_and_retract_is_next_to_z():
    pendant = documents.parse("pendant", starter.text("pendant.toml"))
    labels = [position.label for position in pendant.positions]
    assert pendant.slots[labels[labels.index("Z") + 1]] == {"x1": "retract"}
    moved = {
        id: {axis for move in proved(id, MACHINES[0]).report.trace.moves for axis in move.moving} for id in ASKED_FOR
    }
    for label, row in pendant.slots.items():
        if any(moved[macro] & {"x", "y"} for macro in row.values()):
            assert labels.index(label) > labels.index("Z") + 1


def test_the_points_of_tramming_are_parts_with_a_gesture_each_and_each_is_proved_from_anywhere():
    on_mill = on(MACHINES[0])
    macro = documents.parse("macro", MACROS["tram-the-head"])
    parts = stages.stages(macro, build(macro, on_mill).text, on_mill)
    assert len(parts) == 4
    for part in parts:
        assert part[-1] != "M0"
        assert stages.prove(macro, part, on_mill).verdict == "proved"


@pytest.mark.parametrize("id", MACROS)
def test_a_starter_macro_is_stored_under_its_own_id_and_may_be_shared(id):
    macro = documents.parse("macro", MACROS[id])
    assert (macro.id, macro.licence, macro.start, macro.accepted) == (id, "CC0-1.0", "anywhere", ())
    assert macro.purpose


@pytest.mark.parametrize("id", MACROS)
def test_a_starter_macro_holds_no_number_of_one_machine(id):
    numbers = re.findall(r'= "?-?\d[^"\n]*', MACROS[id])
    assert set(numbers) <= {'= "5 mm', '= "10 mm'}


def test_every_slot_of_the_pendant_holds_a_macro_there_is():
    pendant = documents.parse("pendant", starter.text("pendant.toml"))
    assert {macro for row in pendant.slots.values() for macro in row.values()} == ASKED_FOR


def test_the_second_machine_differs_in_units_travel_and_what_carries_y():
    first, second = (documents.parse("machine", starter.text(name)) for name in MACHINES)
    assert (first.units, second.units) == ("mm", "inch")
    assert (first.axes.y.carried_by, second.axes.y.carried_by) == ("table", "head")
    assert all(plain_machine(first).axis(name).travel != plain_machine(second).axis(name).travel for name in "xyz")
    assert first.keep_out != second.keep_out


@pytest.mark.parametrize("machine", MACHINES)
@pytest.mark.parametrize("id", [id for id in MACROS if id != "home"])
def test_a_starter_macro_is_proved_from_anywhere_on_both_machines(id, machine):
    result = proved(id, machine)
    assert result.problems == ()
    assert result.report.verdict == "proved"


@pytest.mark.parametrize("machine", MACHINES)
def test_homing_says_that_the_controller_chooses_its_path(machine):
    report = proved("home", machine).report
    assert report.verdict == "conditional"
    assert "path-not-known" in {finding.rule for finding in report.findings}
