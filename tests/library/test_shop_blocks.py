"""The newer blocks: the lines they write on both machines, and what they say where they cannot be written."""

from __future__ import annotations

import pytest

from library import proving
from library.bench import Bench
from library.blocks import REGISTRY
from library.build import build
from library.errors import BlockError
from parser.language.reader import read
from parser.motion.interpreter import trace
from tests.library.benches import FILLED, INCH_RESTING, MILL, ONE_ZERO, ROUTER, able, bench, controller, macro, step

NEW = [
    "zero-here",
    "go-to",
    "index",
    "probe-edge",
    "probe-corner",
    "probe-bore",
    "touch-off-tool",
    "output",
    "spindle-at",
    "wait-for-input",
    "present-table",
]


def lines(block, bench=None, /, **values):
    return list(REGISTRY[block].lines(FILLED.get(block, {}) | values, bench or able()))


def refused(block, bench=None, /, **values):
    with pytest.raises(BlockError) as error:
        lines(block, bench, **values)
    return error.value.parameter, str(error.value)


def lacking(*words, machine=MILL, **keys):
    """A bench whose controller lacks some words."""
    plain = able(machine)
    changes = {"unsupported": words, **keys}
    return Bench.of(plain.machine_sheet, plain.controller_sheet.model_copy(update=changes), plain.pendant, plain.shelf)


# The lines ----------------------------------------------------------------------------------------------------------


def test_a_zero_is_named_by_g92_where_the_controller_has_no_line_for_it():
    assert lines("zero-here", axis="x", side="minus-side", diameter="10 mm") == ["G21 G54", "G92 X-5"]
    assert lines("zero-here", axis="z", value="25.4 mm", system="G55") == ["G21 G55 G49", "G92 Z25.4"]


def test_a_zero_is_set_by_the_line_of_the_controller_where_there_is_one():
    on = bench(MILL, controller(origin_here='"G10 L20 P{system} {axis}{value}"'))
    assert lines("zero-here", on, axis="y", system="G59.1", value="2 mm") == ["G21", "G10 L20 P7 Y2"]
    in_force = bench(MILL, controller(origin_here='"G990 {axis}{value}"'))
    assert lines("zero-here", in_force, axis="y", system="G55", value="2 mm") == ["G21 G55", "G990 Y2"]


def test_an_edge_is_touched_fast_and_slowly_and_its_zero_is_half_a_tip_further():
    assert lines("probe-edge") == [
        "M5",
        "G4 P5",
        "G21 G54 G91 G94",
        "G38.2 X10 F100",
        "G0 X-1",
        "G38.2 X2 F20",
        "G0 X-1",
        "G90",
        "G53 G0 Z-2",
        "G10 L2 P1 X[#5061+#5221+5]",
    ]


def test_in_inches_an_edge_is_touched_in_inches():
    written = lines(
        "probe-edge", bench(ROUTER, INCH_RESTING), towards="-y", reach="1 in", diameter="0.2 in", system="G55"
    )
    assert written[:2] == ["(MSG, SPINDLE OFF BY HAND, THEN RESUME)", "M0"]
    assert written[2:6] == ["G20 G55 G91 G94", "G38.2 Y-1 F3.937", "G0 Y0.0394", "G38.2 Y-0.0787 F0.7874"]
    assert written[-1] == "G10 L2 P2 Y[#5062+#5242-0.1]"


def test_a_controller_that_cannot_calculate_sets_the_zero_where_the_probe_stopped():
    written = lines("probe-edge", lacking("G10", origin_here="G990 {axis}{value}"))
    assert written[written.index("G38.2 X2 F20") + 1 :] == ["G990 X-5", "G0 X-1", "G90", "G53 G0 Z-2"]


def test_a_setter_is_gone_to_high_up_and_with_the_spindle_stopped():
    written = lines("touch-off-tool", x="20 mm", y="130 mm", limit="-80 mm", height="50.8 mm")
    assert written == [
        "G21 G90",
        "G53 G0 Z-2",
        "M5",
        "G4 P5",
        "G53 G0 X20 Y130",
        "G54 G49 G91 G94",
        "G38.2 Z-78 F100",
        "G0 Z1",
        "G38.2 Z-2 F20",
        "G90",
        "G53 G0 Z-2",
        "G10 L2 P1 Z[#5063+#5223-50.8]",
    ]


def test_a_rotary_axis_is_turned_on_and_absolute_mode_left_behind():
    assert lines("index", by="-60 deg") == ["G21 G91", "G0 A-60", "G90"]


def test_degrees_are_degrees_where_lengths_are_inches():
    plain = able(ROUTER)
    on = Bench.of(
        plain.machine_sheet, plain.controller_sheet.model_copy(update={"resting": "G17 G20 G90 G94"}), plain.pendant
    )
    assert lines("index", on, by="90 deg") == ["G20 G91", "G0 A90", "G90"]
    assert lines("go-to", on, x="-1 in", z="", a="45 deg", system="G54")[1:] == ["G0 X-1", "G0 A45"]


def test_a_place_in_a_work_system_puts_it_in_force():
    assert lines("go-to", x="1 mm", z="2 mm", system="G55", feed="300") == [
        "G21 G55 G49 G90 G94",
        "G1 Z2 F300",
        "G1 X1 F300",
    ]


def test_an_output_is_on_for_a_time():
    assert lines("output", time="1.5 s") == ["M64 P0", "G4 P1.5", "M65 P0"]


def test_an_input_is_waited_for_within_a_limit():
    assert lines("wait-for-input", longest="2.5 s") == ["M66 P0 L3 Q2.5"]
    assert lines("wait-for-input", line="M66 P1 L3 Q{milliseconds}", longest="2.5 s") == ["M66 P1 L3 Q2500"]


def test_the_spindle_runs_for_a_time_and_stops():
    assert lines("spindle-at", way="counter-clockwise", speed="750", time="20 s") == [
        "M4 S750",
        "G4 P20",
        "M5",
        "G4 P5",
    ]


# What they say where they cannot be written --------------------------------------------------------------------------


@pytest.mark.parametrize("block", ["probe-edge", "probe-corner", "probe-bore", "touch-off-tool"])
def test_without_a_probing_word_a_touch_off_by_hand_is_offered(block):
    _, said = refused(block, lacking("G38.2"))
    assert "no G38.2 (unsupported on the controller sheet)" in said
    assert "zero-here" in said


@pytest.mark.parametrize("block", ["probe-corner", "probe-bore"])
def test_without_a_way_to_calculate_it_says_what_to_do_instead(block):
    _, said = refused(block, lacking("G10"))
    assert "no G10 (unsupported on the controller sheet): " in said
    assert "steps" in said.partition(": ")[2]


def test_without_any_line_for_it_a_zero_here_names_the_key():
    assert "give origin_here on the controller sheet" in refused("zero-here", lacking("G92"))[1]


@pytest.mark.parametrize("block", ["index", "go-to", "zero-here"])
def test_an_axis_that_there_is_not_is_told_by_its_key(block):
    values = {"go-to": {"b": "0 deg"}}.get(block, {"axis": "b"})
    assert "axes.b on the machine sheet" in refused(block, able(), **values)[1]


@pytest.mark.parametrize(
    ("block", "values", "parameter", "said"),
    [
        ("zero-here", {"side": "plus-side"}, "diameter", "give its diameter"),
        ("zero-here", {"side": "plus-side", "axis": "z", "diameter": "10 mm"}, "side", "choose on-it"),
        ("go-to", {"z": ""}, "", "no axis has a place"),
        ("go-to", {"order": "chosen", "sequence": "x, y"}, "sequence", "does not say when Z is to go"),
        ("go-to", {"order": "chosen", "sequence": "z, z"}, "sequence", "names Z twice"),
        ("go-to", {"order": "chosen", "sequence": "z, u"}, "sequence", "write the letters of axes"),
        ("go-to", {"order": "chosen"}, "sequence", "does not say when Z is to go"),
        ("index", {"by": "0 deg"}, "by", "turns nothing"),
        ("probe-edge", {"diameter": ""}, "diameter", "diameter is empty"),
        ("probe-edge", {"slow": "200 mm/min"}, "slow", "faster than the fast one"),
        ("probe-edge", {"reach": "0.2 mm"}, "reach", "the least it may be is 0.3 mm"),
        ("probe-corner", {"beside": "14 mm"}, "beside", "it has to be more than 15 mm"),
        ("touch-off-tool", {"limit": "-2 mm"}, "limit", "give a lower one"),
        ("touch-off-tool", {"x": ""}, "x", "x is empty"),
        ("output", {"on": "M71 P0"}, "on", 'write M71 = "ignore" there'),
        ("output", {"on": "M66 P0"}, "on", "has it as wait"),
        ("output", {"opposite": "M64 P0"}, "opposite", "the opposite one"),
        ("output", {"on": "M64 X5"}, "on", "X has no business beside M64"),
        ("output", {"on": "M64 M3"}, "on", "one word of the controller"),
        ("output", {"on": "air on"}, "on", "one word of the controller"),
        ("output", {"on": "M64 P#1"}, "on", "one word of the controller"),
        ("output", {"time": "601 s"}, "time", "the most it may be is 600 s"),
        ("spindle-at", {"speed": "12000"}, "speed", "spindle.maximum_rpm"),
        ("spindle-at", {"time": "601 s"}, "time", "the most it may be is 600 s"),
        ("wait-for-input", {"line": "M66 P0 L3 Q10"}, "line", "write {seconds} or {milliseconds}"),
        ("wait-for-input", {"line": "M64 P{seconds}"}, "line", "has it as ignore"),
        ("present-table", {"reach": "-1 mm"}, "reach", "the least it may be is 0 mm"),
    ],
)
def test_values_that_make_no_sense_are_named(block, values, parameter, said):
    on = able(MILL.replace("nose_radius", "maximum_rpm = 10000\nnose_radius"))
    found, message = refused(block, on, **values)
    assert found == parameter
    assert said in message


def test_a_reach_needs_a_work_zero_that_is_one_number():
    unknown = bench(MILL.replace("y = 70.0, z = -30.0", "y = 75.0, z = -30.0"))
    parameter, said = refused("present-table", unknown, reach="50 mm")
    assert parameter == "reach"
    assert "leave the reach empty" in said


# At the limits of every value ----------------------------------------------------------------------------------------


def at_limits(block):
    """The block's values as they come, and with each at its limits and at every choice."""
    yield {}
    for each in REGISTRY[block].parameters:
        units = {"length": " mm", "angle": " deg", "rate": " mm/min", "time": " s", "count": ""}
        if each.kind in units:
            yield from ({each.name: f"{end!r}{units[each.kind]}"} for end in (each.least, each.most) if end is not None)
        yield from ({each.name: choice} for choice in each.choices)
        if each.blank:
            yield {each.name: ""}


@pytest.mark.parametrize("machine", [ONE_ZERO, ROUTER], ids=["mm", "inch"])
@pytest.mark.parametrize("preset", ["as-published", "no-machine-moves", "subprogram-m98+semicolon-comments"])
@pytest.mark.parametrize("block", NEW)
def test_at_its_limits_it_reads_back_without_a_refusal_of_the_language_or_says_why_not(block, preset, machine):
    on = able(machine, preset)
    written = 0
    for values in at_limits(block):
        built = build(macro(step("raise"), step(block, **{**FILLED.get(block, {}), **values})), on)
        program = read(built.text, on.controller)
        troubles = program.troubles + trace(program, on.machine, on.controller).troubles
        if built.problems:
            assert all(len(str(problem)) > 20 for problem in built.problems), values
        else:
            written += 1
            assert troubles == (), (values, built.text)
    assert written > len(list(at_limits(block))) / 2


# What is proved of it -------------------------------------------------------------------------------------------------

FROM = {
    "index": "a <= 269 deg",
    "probe-edge": "x <= 240 mm and x >= 10 mm",
    "probe-corner": "x <= 225 mm and x >= 10 mm and y <= 125 mm and y >= 10 mm",
    "probe-bore": "x <= 200 mm and x >= 40 mm and y <= 100 mm and y >= 40 mm",
}
"""Where a step that moves on from where it stands has room; a little more than the safe start that is found."""


@pytest.mark.parametrize("block", NEW)
def test_with_room_around_it_nothing_of_it_is_refused(block):
    values = {
        "touch-off-tool": {"x": "20 mm", "y": "130 mm", "limit": "-80 mm"},
    }.get(block, {})
    steps = (step("raise"), step(block, **{**FILLED.get(block, {}), **values}))
    made = macro(*steps, start=FROM.get(block, "anywhere"))
    report = proving.prove_macro(made, able(ONE_ZERO)).report
    assert [finding.rule for finding in report.findings if finding.severity == "refuse"] == []


def test_from_anywhere_a_bore_has_a_safe_start_to_act_on():
    report = proving.prove_macro(macro(step("raise"), step("probe-bore")), able(ONE_ZERO)).report
    # down: 20 to the wall, 1 back, 2 on, 1 back; the other way it trips at once, 1 back: 21, and 0.5 of margin
    # up: it trips at once, 1 back twice, 40 to the other wall, 1 back, 2 on: 43, and 0.5 of margin
    assert report.safe_start.condition == "x >= 21.5 mm and x <= 216.5 mm and y >= 21.5 mm and y <= 106.5 mm"


def test_the_middle_of_a_bore_is_found_whatever_offset_is_in_force():
    # G92 is in what the probe finds too (NISTIR 6556, 3.5.18): 500 mm off, G53 would leave the machine
    offset = step("zero-here", axis="x", value="500 mm")
    made = macro(step("raise"), offset, step("probe-bore"), start=FROM["probe-bore"])
    report = proving.prove_macro(made, able(ONE_ZERO), seek_start=False).report
    assert [finding.rule for finding in report.findings if finding.severity == "refuse"] == []


def test_what_is_probed_is_no_part_of_what_the_zero_counts_on():
    report = proving.prove_macro(
        macro(step("raise"), step("probe-bore"), start=FROM["probe-bore"]), able(ONE_ZERO), seek_start=False
    ).report
    assert not any("G54 as on the sheet" in each for each in report.assumptions)


def test_a_probe_is_not_trusted_to_trip_before_what_is_drawn():
    # beside the vise, whose left side is at X 80, and below its top
    start = "x >= 60 mm and x <= 70 mm and y >= 50 mm and z <= -60 mm"
    made = macro(step("probe-edge", diameter="6 mm"), start=start)
    report = proving.prove_macro(made, able(ONE_ZERO)).report
    assert "crosses-keep-out" in {finding.rule for finding in report.findings if finding.severity == "refuse"}


def test_an_input_takes_a_time_that_nobody_knows():
    report = proving.prove_macro(macro(step("wait-for-input", **FILLED["wait-for-input"])), able()).report
    assert [event.kind for event in report.trace.events] == ["input"]
    assert report.plan.totals.seconds.most == 0.0
