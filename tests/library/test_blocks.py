"""What each block writes, on two machines and every controller preset."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from library import sheets
from library.blocks import REGISTRY, step_schemas
from library.blocks.numbers import fixed
from library.blocks.writer import safe_text
from library.build import build
from library.errors import BlockError
from library.macros import Step
from library.proving import prove_macro
from tests.library.benches import FILLED, INCH_RESTING, MILL, ONE_ZERO, ROUTER, able, bench, controller, macro, step

MODES = "G21 G90"
ISSUE_BLOCKS = (
    "raise present-table centre-table go-to above-work park home spindle-off coolant-off dwell pause message own-lines"
)


def lines(block, on=None, **values):
    return list(REGISTRY[block].lines(FILLED.get(block, {}) | values, on or bench()))


def note(block, on=None, **values):
    block, on = REGISTRY[block], on or bench()
    return block.note(block.values(values, on), on)


def on_side(side):
    return bench(MILL.replace('stands_at = "-y"', f'stands_at = "{side}"'))


# What a block is


def test_every_block_of_the_first_step_is_there():
    assert set(REGISTRY) >= set(ISSUE_BLOCKS.split())


@pytest.mark.parametrize("block", REGISTRY.values(), ids=list(REGISTRY))
def test_a_sentence_has_a_field_for_every_parameter_and_no_other(block):
    assert sorted(block.fields) == sorted(parameter.name for parameter in block.parameters)


@pytest.mark.parametrize("block", REGISTRY.values(), ids=list(REGISTRY))
def test_every_block_and_parameter_has_help(block):
    assert block.help.endswith(".")
    assert block.title
    assert block.family
    assert all(len(parameter.help) > 10 for parameter in block.parameters)


def test_the_schema_of_steps_names_every_block_and_its_values():
    schemas = {schema["properties"]["block"]["const"]: schema["properties"] for schema in step_schemas()}
    assert set(schemas) == set(REGISTRY)
    assert set(schemas["raise"]) == {"block", "off", "to", "feed"}


@pytest.mark.parametrize("preset", sheets.PRESETS)
@pytest.mark.parametrize("machine", [ONE_ZERO, ROUTER], ids=["mm", "inch"])
@pytest.mark.parametrize("block", REGISTRY)
def test_every_block_writes_lines_on_every_preset(block, machine, preset):
    assert lines(block, able(machine, preset))


# Moves


def test_raise_goes_to_the_safe_height_at_rapid():
    assert lines("raise") == [MODES, "G53 G0 Z-2"]


def test_raise_at_a_feed_writes_the_feed_on_the_move():
    assert lines("raise", feed="300 mm/min") == ["G21 G90 G94", "G53 G1 Z-2 F300"]


def test_a_machine_in_inches_is_still_moved_in_mm_where_mm_is_resting():
    assert lines("raise", bench(ROUTER)) == [MODES, "G53 G0 Z-2.54"]


def test_lines_are_in_inches_where_inches_are_resting():
    assert lines("raise", bench(ROUTER, INCH_RESTING)) == ["G20 G90", "G53 G0 Z-0.1"]


def test_a_feed_is_converted_to_inches_with_the_move():
    assert lines("raise", bench(MILL, INCH_RESTING), feed="254 mm/min")[-1].endswith(" F10")


def test_a_height_is_rounded_upwards_so_that_it_stays_safe():
    # -2 mm is -0.07874 inch
    assert lines("raise", bench(MILL, INCH_RESTING))[-1] == "G53 G0 Z-0.0787"


def test_a_height_at_the_top_margin_is_rounded_into_the_travel():
    # 0.5 mm below the top is -0.019685 inch; upwards would be -0.0196, inside the margin
    assert lines("raise", bench(MILL, INCH_RESTING), to="travel.z.max - 0.5 mm")[-1] == "G53 G0 Z-0.0197"


def test_a_place_at_the_end_of_travel_is_rounded_into_the_travel():
    # of 6.96 mm the nearest with one decimal is 7.0, beyond the end
    coarse = bench(MILL.replace("[0.0, 260.0]", "[0.0, 6.96]"), controller(decimals="{ mm = 1, inch = 1 }"))
    assert lines("go-to", coarse, x="travel.x.max", z="")[-1] == "G53 G0 X6.9"


def test_a_place_at_the_margin_of_travel_is_rounded_into_the_margin():
    # 8.9 mm less the margin of 0.04 mm is 8.86; the nearest, 8.9, is nearer to the end than the margin
    machine = MILL.replace("[0.0, 260.0]", "[0.0, 8.9]").replace("[safe]", "[margins]\ntravel = 0.04\n[safe]")
    coarse = bench(machine, controller(decimals="{ mm = 1, inch = 1 }"))
    assert lines("go-to", coarse, x="travel.x.max - 0.04 mm", z="")[-1] == "G53 G0 X8.8"


def test_the_table_is_presented_to_the_front_with_the_other_axis_in_the_middle():
    assert lines("present-table") == [MODES, "G53 G0 X130 Y145"]


def test_presenting_may_keep_the_other_axis():
    assert lines("present-table", across="keep", margin="20 mm") == [MODES, "G53 G0 Y130"]


def test_presenting_may_stay_in_line_with_the_work_zero():
    assert lines("present-table", across="work") == [MODES, "G53 G0 X125 Y145"]


def test_presenting_in_line_with_a_work_zero_that_is_not_known_says_so():
    unknown = bench(MILL.replace("work.G54 = { x = 125.0", "work.G54 = { x = 60.0"))
    with pytest.raises(BlockError, match="the G54 zero in X is not one known number") as error:
        lines("present-table", unknown, across="work")
    assert error.value.parameter == "across"


@pytest.mark.parametrize("carried_by", ["table", "head"])
def test_presenting_is_the_same_machine_coordinate_whatever_carries_the_axis(carried_by):
    """ISO 841:2001: the machine coordinates give the tool relative to the workpiece, whichever of them moves."""
    y_axis = MILL.index("[axes.y]")
    machine = MILL[:y_axis] + MILL[y_axis:].replace('carried_by = "table"', f'carried_by = "{carried_by}"', 1)
    assert lines("present-table", bench(machine)) == [MODES, "G53 G0 X130 Y145"]


def test_a_table_that_carries_y_comes_forward_when_it_is_presented():
    """ISO 841:2001: the positive end of machine Y brings the table towards an operator at the negative side."""
    assert note("present-table") == "the table comes towards you"


def test_a_head_that_carries_y_goes_back_when_the_work_is_presented():
    """ISO 841:2001: the positive end of machine Y takes the head away from an operator at the negative side."""
    assert note("present-table", bench(ROUTER)) == "the head goes back"


@pytest.mark.parametrize(
    ("operator", "side", "words"),
    [
        ("-y", "front", "X130 Y145"), ("-y", "back", "X130 Y5"), ("-y", "left", "X255 Y75"), ("-y", "right", "X5 Y75"),
        ("+y", "front", "X130 Y5"), ("+y", "back", "X130 Y145"), ("+y", "left", "X5 Y75"), ("+y", "right", "X255 Y75"),
        ("-x", "front", "X255 Y75"), ("-x", "back", "X5 Y75"), ("-x", "left", "X130 Y5"), ("-x", "right", "X130 Y145"),
        ("+x", "front", "X5 Y75"), ("+x", "back", "X255 Y75"), ("+x", "left", "X130 Y145"), ("+x", "right", "X130 Y5"),
    ],
)  # fmt: skip
def test_the_sides_are_those_the_operator_sees(operator, side, words):
    assert lines("present-table", on_side(operator), side=side)[-1] == f"G53 G0 {words}"


def test_a_margin_longer_than_the_travel_is_refused():
    with pytest.raises(BlockError, match="more than the whole Y travel of 150 mm"):
        lines("present-table", margin="200 mm")


def test_the_table_is_centred_under_the_spindle():
    assert lines("centre-table") == [MODES, "G53 G0 X130 Y75"]


def test_centring_says_which_part_moves_along_which_axis():
    assert note("centre-table") == "the table moves along X and Y"
    assert note("centre-table", bench(ROUTER)) == "the table moves along X, the head moves along Y"


@pytest.mark.parametrize(
    ("order", "moves"),
    [
        ("z-first", ["G53 G0 Z-10", "G53 G0 X1 Y2"]),
        ("z-last", ["G53 G0 X1 Y2", "G53 G0 Z-10"]),
        ("together", ["G53 G0 X1 Y2 Z-10"]),
    ],
)
def test_going_to_a_place_keeps_the_chosen_order_of_axes(order, moves):
    assert lines("go-to", x="1 mm", y="2", z="-10 mm", order=order) == [MODES, *moves]


def test_an_axis_left_empty_does_not_move():
    assert lines("go-to", x="travel.x.middle", z="") == [MODES, "G53 G0 X130"]


def test_going_nowhere_is_refused():
    with pytest.raises(BlockError, match="no axis has a place to go to"):
        lines("go-to", z="")


def test_above_the_work_goes_to_its_zero_in_work_coordinates():
    assert lines("above-work") == ["G21 G54 G90", "G0 X0 Y0"]


def test_descending_clears_the_highest_work_zero_of_every_setup():
    # -38 on the sheet, -30 with the bar; 10 mm above the higher one
    assert lines("above-work", descend=True) == ["G21 G54 G90", "G0 X0 Y0", "G53 G0 Z-20"]


def test_descending_needs_the_height_of_the_work():
    with pytest.raises(BlockError, match="does not give the Z of G55"):
        lines("above-work", system="G55", descend=True)


def test_a_clearance_beyond_the_top_of_travel_is_refused():
    with pytest.raises(BlockError, match="beyond the top of the Z travel"):
        lines("above-work", descend=True, clearance="50 mm")


@pytest.mark.parametrize(
    ("corner", "words"),
    [("back-left", "X5 Y145"), ("back-right", "X255 Y145"), ("front-left", "X5 Y5"), ("front-right", "X255 Y5")],
)
def test_parking_puts_the_spindle_over_a_corner_of_the_table(corner, words):
    assert lines("park", corner=corner)[-1] == f"G53 G0 {words}"


def test_parking_says_where_each_part_goes():
    assert note("park") == "the table comes towards you and goes right"
    assert note("park", bench(ROUTER)) == "the head goes back, the table goes right"


# Without moves in machine coordinates


def test_without_g53_a_move_is_written_from_the_g54_origin():
    # G54 at X 125, Y 70 in both cases
    assert lines("centre-table", bench(MILL, "no-machine-moves")) == ["G21 G54 G90", "G0 X5 Y5"]


def test_without_g53_a_height_is_written_with_the_length_offset_off():
    assert lines("raise", bench(ONE_ZERO, "no-machine-moves")) == ["G21 G54 G49 G90", "G0 Z36"]


def test_without_g53_an_origin_that_differs_between_setups_is_refused():
    with pytest.raises(BlockError, match=r"no G53 \(machine_moves .*and the G54 origin in Z is not one number"):
        lines("raise", bench(MILL, "no-machine-moves"))


KEPT = controller(machine_moves="false", machine_system='"G59"')


def test_without_g53_machine_coordinates_are_written_in_the_system_that_is_kept_for_them():
    assert lines("raise", bench(MILL, KEPT)) == ["G21 G59 G49 G90", "G0 Z-2"]
    assert lines("centre-table", bench(MILL, KEPT)) == ["G21 G59 G90", "G0 X130 Y75"]


def test_the_system_that_is_kept_is_not_left_in_force():
    text = build(macro(step("raise")), bench(MILL, KEPT)).text
    assert text.splitlines()[-2] == "G54"
    resting = KEPT + 'resting = "G17 G21 G55 G90 G94"\n'
    assert build(macro(step("raise")), bench(MILL, resting)).text.splitlines()[-2] == "G55"
    report = prove_macro(macro(step("raise"), step("centre-table")), bench(MILL, KEPT)).report
    assert "G59 as on the sheet" in report.assumptions
    assert [finding.rule for finding in report.findings if finding.severity == "refuse"] == []


def test_a_system_that_is_kept_at_zero_is_nowhere_else():
    elsewhere = MILL.replace("[[keep_out]]", "[work.G59]\nx = 1.0\n[[keep_out]]", 1)
    with pytest.raises(BlockError, match=r"work\.G59\.x on the machine sheet says otherwise"):
        lines("centre-table", bench(elsewhere, KEPT))
    assert lines("raise", bench(elsewhere, KEPT))[-1] == "G0 Z-2"
    with pytest.raises(BlockError, match="G59 is kept at 0, 0, 0 for machine coordinates") as error:
        lines("set-work-zero", bench(MILL, KEPT), system="G59")
    assert error.value.parameter == "system"


@pytest.mark.parametrize(
    ("template", "line"),
    [
        ("SHOW {text}", "SHOW Stop [now], 2 * 3 > 4"),
        ('SHOW "{text}"', 'SHOW "Stop [now], 2 * 3 > 4"'),
        ("<{text}>", "<Stop [now], 2 * 3   4>"),
        ("[{text}]", "[Stop [now , 2 * 3 > 4]"),
        ("(MSG, {text})", "(MSG, Stop [now], 2 * 3 > 4)"),
    ],
)
def test_a_message_is_written_by_the_template_without_what_would_end_it(template, line):
    on = bench(MILL, f"format = 'clickstop-controller/1'\nmessage = '{template}'\n")
    assert lines("message", on, text='Stop (now), 2 * 3"> 4') == [line]
    assert prove_macro(macro(step("message", text="Stop (now)")), on).report.verdict == "proved"


# Spindle, waiting and words of the controller


def test_the_spindle_is_stopped_and_given_time_to_run_down():
    assert lines("spindle-off") == ["M5", "G4 P5"]


def test_a_spindle_that_the_operator_switches_is_asked_for():
    assert lines("spindle-off", bench(ROUTER)) == ["(MSG, SPINDLE OFF BY HAND, THEN RESUME)", "M0"]


@pytest.mark.parametrize(
    ("preset", "line"), [("as-published", "G4 P1.5"), ("dwell-milliseconds", "G4 P1500"), ("dwell-s-word", "G4 S1.5")]
)
def test_a_dwell_is_in_the_word_and_unit_of_the_controller(preset, line):
    assert lines("dwell", bench(MILL, preset), time="1.5 s") == [line]


def test_a_dwell_is_never_shorter_than_asked():
    assert lines("dwell", time="1.23412 s") == ["G4 P1.235"]


def test_homing_sends_the_lines_of_the_controller_sheet():
    assert lines("home", bench(MILL, "g28-homes")) == ["G28 Z0", "G28"]


def test_a_controller_without_homing_lines_asks_the_operator_once_the_macro_has_ended():
    assert lines("home") == ["(MSG, HOME AT THE PANEL)"]


def test_a_controller_that_cannot_wait_says_so():
    with pytest.raises(BlockError, match="no line that waits for the operator"):
        lines("pause", bench(MILL, controller(pause='""')))


def test_a_message_on_a_controller_without_any_is_a_comment():
    assert lines("message", bench(MILL, "semicolon-comments"), text="Swap the part") == ["; Swap the part"]


def test_a_message_cannot_end_its_comment_or_carry_signs_that_act():
    assert lines("message", text="Stop (now)!\nG0 X0 ~?%;") == ["(MSG, Stop [now] G0 X0)"]


def test_a_message_is_cut_to_the_line_limit():
    short = bench(MILL, controller(line_limit="20"))
    assert lines("message", short, text="a" * 50) == ["(MSG, " + "a" * 13 + ")"]


def test_own_lines_are_written_as_they_stand():
    assert lines("own-lines", lines="G0  X1 (to one)\r\nM9\n") == ["G0  X1 (to one)", "M9"]


def test_own_lines_may_not_end_the_file():
    with pytest.raises(BlockError, match="a % line ends the file"):
        lines("own-lines", lines="G17\n % \nG18")


# Values


@pytest.mark.parametrize(
    ("block", "values", "parameter", "message"),
    [
        ("raise", {"to": ""}, "to", "to is empty"),
        ("raise", {"to": "5 s"}, "to", "length"),
        ("raise", {"to": True}, "to", "must be a length"),
        ("raise", {"to": []}, "to", "not a list"),
        ("raise", {"feed": "0 mm/min"}, "feed", "the least it may be"),
        ("raise", {"to": "1 / 0"}, "to", "zero"),
        ("present-table", {"side": "top"}, "side", "front, back, left, right"),
        ("present-table", {"margin": "-1 mm"}, "margin", "the least it may be is 0 mm"),
        ("above-work", {"descend": "perhaps"}, "descend", "true or false"),
        ("message", {"text": " "}, "text", "text is empty"),
        ("dwell", {"time": "0 s"}, "time", "the least it may be"),
    ],
)
def test_a_value_that_cannot_be_used_is_named(block, values, parameter, message):
    with pytest.raises(BlockError, match=re.escape(message)) as error:
        lines(block, **values)
    assert error.value.parameter == parameter
    assert "\n" not in str(error.value)


def test_a_number_may_stand_for_a_formula():
    assert lines("raise", to=-10)[-1] == "G53 G0 Z-10"


@pytest.mark.parametrize(
    ("value", "text"), [(-0.0001, "0"), (0.1 + 0.2, "0.3"), (100.0, "100"), (-2.0, "-2"), (1e-12, "0"), (1.0005, "1")]
)
def test_numbers_are_short_and_never_minus_zero(value, text):
    assert fixed(value, 3) == text


def test_names_in_other_letters_become_plain_ones():
    assert safe_text("Fräser präsentieren (vorn)") == "Fraser prasentieren [vorn]"


# What always holds


@given(
    length=st.floats(30.0, 900.0),
    share=st.floats(0.0, 1.0),
    decimals=st.integers(1, 5),
    resting=st.sampled_from(["G21", "G20"]),
    axis=st.sampled_from("xyz"),
)
def test_a_place_inside_the_travel_is_written_inside_and_near_it(length, share, decimals, resting, axis):
    text = re.sub(rf"(\[axes\.{axis}\]\ntravel = )\[.*?\]", rf"\g<1>[{-length!r}, 0.0]", MILL)
    spelling = controller(resting=f'"{resting}"', decimals=f"{{ mm = {decimals}, inch = {decimals} }}")
    at = -length * share
    word = lines("go-to", bench(text, spelling), **{"z": "", axis: f"{at:.9f} mm"})[-1].split()[-1]
    written = float(word[1:]) * (25.4 if resting == "G20" else 1.0)
    assert -length - 1e-6 <= written <= 1e-6
    assert abs(written - at) <= (25.4 if resting == "G20" else 1.0) * 10**-decimals + 1e-6


@given(st.text())
def test_text_for_the_controller_is_plain_and_closes_no_comment(text):
    assert re.fullmatch(r"[A-Za-z0-9 .,:+\-/=_\[\]'&*<>]*", safe_text(text))


def test_no_value_of_a_block_has_the_name_of_what_every_step_has():
    own = set(Step.model_fields)
    for block in REGISTRY.values():
        assert own.isdisjoint(parameter.name for parameter in block.parameters), block.id
