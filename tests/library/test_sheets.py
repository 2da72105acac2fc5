"""The sheets, and what the parser is given of them."""

from dataclasses import replace

import pytest

from library import documents, sheets, starter
from library.documents import DocumentError
from parser.machine import Controller, Interval, Limit

MACHINE = starter.text("machine.toml")
SHORTEST = """\
format = "clickstop-machine/1"
name = "Bare"
[axes.x]
travel = [0, 10]
rapid = 100
acceleration = 20
home = "none"
carried_by = "table"
[axes.y]
travel = [0, 8]
rapid = 100
acceleration = 20
home = "none"
carried_by = "table"
[axes.z]
travel = [-4, 0]
rapid = 50
acceleration = 10
home = "none"
carried_by = "head"
"""


def machine(text):
    return sheets.plain_machine(documents.parse("machine", text))


def controller(text):
    return sheets.plain_controller(documents.parse("controller", text))


def test_the_machine_of_a_sheet_in_mm_has_its_figures():
    mill = machine(MACHINE)
    assert mill.names == ("x", "y", "z")
    assert mill.axis("x").travel == Interval(0, 260)
    assert (mill.axis("z").rapid, mill.axis("z").acceleration, mill.axis("z").jerk) == (1200, 120, 0)
    assert (mill.axis("y").home, mill.axis("y").carried_by) == ("min", "table")
    assert (mill.tool_stick_out, mill.tool_radius, mill.nose_radius) == (40, 6, 30)
    assert (mill.keep_out_margin, mill.travel_margin, mill.safe_z) == (2, 0.5, -2)
    assert mill.stored == {"G28": {"x": 0, "y": 0, "z": 0}}
    assert mill.unstated == ()


def test_a_sheet_in_inches_becomes_mm_times_25_4():
    bridge = machine(starter.text("second/machine.toml"))
    assert bridge.axis("x").travel == Interval(-406.4, 0)
    assert (bridge.axis("x").rapid, bridge.axis("x").acceleration) == (2540, 254)
    assert (bridge.tool_stick_out, bridge.holder_length, bridge.safe_z) == (57.15, 25.4, -3.175)
    assert bridge.setups[0].keep_outs[1].high == (-139.7, -88.9, -114.3)
    assert bridge.setups[0].origins["G54"].axes["z"] == Interval(-50.8, -38.1)


def test_degrees_stay_degrees_on_a_sheet_in_inches():
    rotary = '[axes.a]\ntravel = [0, 360]\nrapid = 3600\nacceleration = 90\nhome = "none"\ncarried_by = "table"\n'
    text = SHORTEST.replace('"Bare"', '"Bare"\nunits = "inch"') + rotary + "[work.G54]\na = 90\nx = 1\n"
    plain = machine(text)
    assert plain.axis("a").travel == Interval(0, 360)
    assert plain.axis("a").rapid == 3600
    assert plain.setups[0].origins["G54"].axes == {"x": Interval(25.4, 25.4), "a": Interval(90, 90)}


def test_defaults_are_the_same_lengths_whatever_the_units():
    plain = machine(SHORTEST.replace('"Bare"', '"Bare"\nunits = "inch"'))
    assert (plain.keep_out_margin, plain.travel_margin, plain.tolerance, plain.safe_z) == (2.0, 0.5, 0.05, -2.0)
    assert "no height for crossing the table is on the sheet (safe.z): machine Z -0.0787 in is taken" in plain.unstated


def test_the_table_is_a_keep_out_like_any_other():
    table = machine(MACHINE).setups[0].keep_outs[0]
    assert (table.name, table.low[:2], table.high) == ("Table", (-20, -15), (280, 165, -130))
    assert table.low[2] < -1000


def test_each_setup_adds_its_boxes_and_changes_its_origins():
    text = MACHINE + '\n[[setup]]\nname = "Empty"\nwork.G55 = { x = 1.0 }\n'
    bar, empty = machine(text).setups
    assert [box.name for box in bar.keep_outs] == ["Table", "Vise", "Bar"]
    assert [box.name for box in empty.keep_outs] == ["Table", "Vise"]
    assert bar.origins["G54"].axes["z"] == Interval(-40, -30)
    assert empty.origins["G54"].axes["z"] == Interval(-38, -38)
    assert empty.origins["G55"].axes == {"x": Interval(1, 1)}


def test_a_setup_may_change_one_axis_of_an_origin_and_keep_the_others():
    text = MACHINE.replace("work.G54 = { x = 125.0, y = 70.0, z = [-40.0, -30.0] }", "work.G54 = { z = -30.0 }")
    axes = machine(text).setups[0].origins["G54"].axes
    assert axes == {"x": Interval(125, 125), "y": Interval(70, 70), "z": Interval(-30, -30)}


def test_a_sheet_without_setups_has_one_without_a_name():
    (only,) = machine(SHORTEST).setups
    assert (only.name, only.keep_outs, only.origins) == ("", (), {})


def test_systems_with_a_point_in_their_name_keep_it():
    assert list(machine(SHORTEST + '[work."G59.3"]\nx = 1\n').setups[0].origins) == ["G59.3"]


def test_what_a_sheet_leaves_out_is_said_in_sentences():
    said = machine(SHORTEST).unstated
    for word in (
        "tool length",
        "spindle nose",
        "holder",
        "table is not",
        "no keep-out",
        "safe.z",
        "operator",
        "run-down",
    ):
        assert any(word in sentence for sentence in said), word
    assert machine(SHORTEST + "[table]\nfrom = [0, 0]\nto = [9, 9]\ntop = -9\n").unstated != said


def test_the_usual_safe_height_is_not_taken_where_it_is_out_of_travel():
    assert machine(SHORTEST.replace("[-4, 0]", "[0, 40]")).safe_z is None
    assert machine(SHORTEST).safe_z == -2


def test_a_limit_on_travel_is_two_conditions_in_mm():
    text = SHORTEST + '[[limit]]\nwhen = "z < -3"\nthen = "Y <= 0.2 in"\n'
    assert machine(text).limits == (Limit(("z", "<", -3.0), ("y", "<=", 5.08)),)


@pytest.mark.parametrize(
    ("when", "then", "key", "axis"),
    [("b > 45 deg", "y <= 140 mm", "when", "b"), ("z < -70 mm", "C <= 90", "then", "c")],
)
def test_a_limit_names_axes_that_the_machine_has(when, then, key, axis):
    rotary = '[axes.a]\ntravel = [0, 360]\nrapid = 3600\nacceleration = 90\nhome = "none"\ncarried_by = "table"\n'
    limits = f'[[limit]]\nwhen = "z < -3"\nthen = "a <= 90"\n[[limit]]\nwhen = "{when}"\nthen = "{then}"\n'
    with pytest.raises(DocumentError) as caught:
        documents.parse("machine", SHORTEST + rotary + limits)
    text = when if key == "when" else then
    assert f'limit[2].{key} is "{text}", and this machine has no axis {axis} (it has x, y, z, a)' in str(caught.value)
    assert f"add [axes.{axis}]" in str(caught.value)


def test_an_enclosure_is_a_box_of_the_frame():
    text = SHORTEST + '[[enclosure]]\nname = "Duct"\nfrom = [1, 1, -1]\nto = [2, 2, 0]\n'
    assert machine(text).enclosures[0].high == (2, 2, 0)


def test_a_controller_sheet_that_says_nothing_is_the_published_one():
    # nothing tells that it is idle, so that the lines of a macro may all be with it at once
    for text in ('format = "clickstop-controller/1"\n', starter.text("controller.toml"), as_published()):
        made = controller(text)
        assert replace(made, parts=()) == Controller(acknowledge_means="queued")
        assert {part.name for part in made.parts} == {"homing", "words", "stored", "answers", "release", "jog"}


def as_published():
    return sheets.preset_text("as-published")


ASKS = 'idle_ask = "?"\nidle_answer = "AT REST"\n'


@pytest.mark.parametrize("tells", ['settle = "G4 P0"\n', ASKS, 'acknowledge_means = "done"\n'])
@pytest.mark.parametrize("release", ["nothing", "queued-line"])
def test_each_line_waits_for_the_one_before_where_something_tells_that_it_is_done(release, tells):
    answers = f'format = "clickstop-controller/1"\nacknowledge = "TAKEN"\nrelease = "{release}"\n'
    assert controller(answers + tells).acknowledge_means == "done"
    assert controller(answers).acknowledge_means == "queued"


@pytest.mark.parametrize("release", ["immediate", "wired"])
def test_a_line_may_be_sent_while_another_runs_where_a_stop_is_obeyed_at_once(release):
    answers = f'format = "clickstop-controller/1"\nacknowledge = "TAKEN"\nrelease = "{release}"\n'
    assert controller(f'{answers}settle = "G4 P0"\n').acknowledge_means == "queued"


@pytest.mark.parametrize("says", ['settle = "G4 P0"\n', 'acknowledge_means = "done"\n'])
def test_a_controller_that_answers_nothing_tells_it_only_where_it_is_asked(says):
    assert controller(f'format = "clickstop-controller/1"\n{says}').acknowledge_means == "queued"
    assert controller(f'format = "clickstop-controller/1"\n{says}{ASKS}').acknowledge_means == "done"


def test_words_are_spelled_as_the_tables_spell_them():
    text = 'format = "clickstop-controller/1"\nresting = "g01 G021 m05"\nunsupported = ["g59.10"]\n'
    plain = controller(text)
    assert plain.resting == ("G1", "G21", "M5")
    assert plain.unsupported == {"G59.1"}


@pytest.mark.parametrize(
    ("name", "attribute", "value"),
    [
        ("g28-homes", "g28", "home"),
        ("g28-homes", "homing", ("G28 Z0", "G28")),
        ("semicolon-comments", "percent", False),
        ("subprogram-m98", "program_head", "O{number}"),
        ("no-machine-moves", "machine_moves", False),
        ("dwell-milliseconds", "dwell_unit", "ms"),
        ("dwell-s-word", "dwell_word", "S"),
        ("semicolon-comments", "comments", "semicolon"),
        ("dogleg-rapids", "rapid", "dogleg"),
        ("subprogram-m98", "call", "M98 P{number}"),
        ("subprogram-m98", "ending", "M99"),
        ("subprogram-m98", "extra_words", {"M98": "call", "M99": "end"}),
    ],
)
def test_a_preset_changes_one_behaviour(name, attribute, value):
    # where controllers differ: common practice, no source
    assert getattr(controller(sheets.preset_text(name)), attribute) == value
    assert sheets.PRESETS[name].help


def test_presets_are_joined_with_plus():
    plain = controller(sheets.preset_text("as-published+dwell-milliseconds + dogleg-rapids"))
    assert (plain.dwell_unit, plain.rapid, plain.g28) == ("ms", "dogleg", "return")


def test_all_presets_but_the_contradictory_one_go_together():
    everything = "+".join(name for name in sheets.PRESETS if name != "dwell-s-word")
    assert controller(sheets.preset_text(everything)).machine_moves is False


@pytest.mark.parametrize(
    ("given", "why"),
    [
        (
            "dwell-milliseconds+dwell-s-word",
            "dwell-milliseconds (a dwell is G4 P in milliseconds) and dwell-s-word (a dwell is G4 S in seconds) "
            "exclude each other; choose one of them",
        ),
        ("g28-home", 'is not a controller preset; did you mean "g28-homes"?'),
        ("", "there are as-published, g28-homes,"),
        ("missing.toml", "there is no such file"),
        ("/", "this is a folder"),
    ],
)
def test_a_controller_that_is_neither_preset_nor_file_is_said(given, why):
    with pytest.raises(DocumentError) as caught:
        documents.controller_text(given)
    assert why in str(caught.value)


def test_a_controller_may_be_a_file(tmp_path):
    file = tmp_path / "mine.toml"
    file.write_text('format = "clickstop-controller/1"\nname = "Mine"\n')
    assert controller(documents.controller_text(str(file))).name == "Mine"


def test_a_pendant_that_says_nothing_has_three_spare_positions_and_three_increments():
    pendant = documents.parse("pendant", 'format = "clickstop-pendant/1"\n')
    assert [position.label for position in pendant.spare()] == ["4", "5", "6"]
    assert pendant.increments == ("x1", "x10", "x100")
    assert (pendant.gesture.turns, pendant.memory.longest_line, pendant.slots) == ((3, -3), 96, {})
    assert [position.label for position in pendant.positions if position.dead] == ["OFF"]


def test_documents_cannot_be_changed_in_place():
    sheet = documents.parse("machine", MACHINE)
    with pytest.raises(ValueError, match="frozen"):
        sheet.name = "Other"


# The pendant and the controller: what leaves and what comes back


def pendant(text):
    return documents.parse("pendant", f'format = "clickstop-pendant/1"\n{text}')


def controlled(text):
    return documents.parse("controller", f'format = "clickstop-controller/1"\n{text}')


def test_a_pendant_of_earlier_days_keeps_its_gesture_and_its_room():
    old = pendant("[gesture]\nclicks = 3\nwindow = 1.5\n[memory]\nbytes = 20480\nlongest_line = 80\n")
    assert (old.gesture.turns, old.gesture.window) == ((3,), 1.5)
    assert (old.memory.flash, old.memory.ram, old.memory.longest_line) == (20480, 1024, 80)


def test_no_position_of_a_pendant_of_earlier_days_is_shifted_by_one_that_switches_off():
    for old in ("[gesture]\nclicks = 3\n", "[memory]\nbytes = 20480\n"):
        assert [position.label for position in pendant(old).positions] == ["X", "Y", "Z", "4", "5", "6"]
    assert pendant("[gesture]\nturns = [3]\n").positions[0].label == "OFF"


def test_a_change_to_a_pendant_of_earlier_days_leaves_its_other_keys_as_they_were():
    old = 'format = "clickstop-pendant/1"\n[gesture]\nclicks = 4 # as always\n'
    assert documents.write("pendant", {("name",): "Mine"}, old).endswith("clicks = 4 # as always\n")


def test_runs_may_begin_either_way_round():
    assert pendant("gesture = { turns = [-3, 2] }").gesture.runs == (3, 2)
    assert pendant("gesture = { turns = [3, -2] }").gesture.runs == (3, 2)


def test_a_dead_position_is_counted_and_is_not_spare():
    sheet = pendant('positions = [ { label = "OFF", dead = true }, { label = "A", drives = "a" }, { label = "1" } ]')
    assert [position.label for position in sheet.spare()] == ["1"]
    assert [position.label for position in sheet.positions] == ["OFF", "A", "1"]


def test_a_pendant_jogs_the_axes_that_it_drives_at_the_increments_that_have_a_step():
    sheet = pendant('increments = ["fine", "far"]\njog = { step = { far = 2.5 } }')
    assert list(sheet.jogs()) == [("x", "far", 2.5), ("y", "far", 2.5), ("z", "far", 2.5)]


def test_a_stop_may_be_a_byte_that_nobody_can_type():
    assert controlled('stop_line = "\\u0018"').stop_line == "\x18"


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("gesture = { turns = [3, 2] }", "gesture.turns has 3 and then 2, the same way round; write one run of 5"),
        ("gesture = { turns = [3, 0] }", "gesture.turns[2] is 0; a run has at least one click"),
        ("gesture = { turns = [] }", "gesture.turns is a list of 0; it has to be a list of at least 1"),
        ("gesture = { turns = [90, -90] }", "gesture.turns comes to 180 clicks; at most 100"),
        ("gesture = { turns = [3], clicks = 3 }", "gesture.clicks is the earlier way to write turns"),
        ("memory = { bytes = 1, flash = 2 }", "memory.bytes is the earlier way to write flash"),
        ("memory = { bytes = -1 }", "memory.bytes has to be a whole number"),
        ('positions = [ { label = "X", drives = "x", dead = true } ]', "positions[1].dead is true, but the position"),
        ("jog = { step = { x20 = 1.0 } }", "jog.step.x20 is not an increment of this pendant"),
        ("jog = { step = { x1 = 0 } }", "jog.step.x1 is 0; it has to be more than 0"),
        ("jog = { in_flight = 0 }", "jog.in_flight is 0; it has to be at least 1"),
        ("wheel = { edges_per_click = 3 }", "wheel.edges_per_click is 3; it has to be 1, 2 or 4"),
        ('numbers = { "Park!" = 1 }', "numbers"),
        ('[[wiring.signal]]\ngroup = "selector"\nis = "W"\nwire = "red"\npin = "2"', 'wiring.signal[1].is is "W"'),
        (
            '[[wiring.signal]]\ngroup = "wheel"\nis = "C"\nwire = "red"\npin = "2"',
            "the two signals of a handwheel",
        ),
        (
            '[[wiring.signal]]\ngroup = "enable"\nis = "pressed"\nwire = "red"\npin = "2"\n'
            '[[wiring.signal]]\ngroup = "stop"\nis = "pressed"\nwire = "blue"\npin = "2"',
            'wiring.signal[2].pin "2" is there twice; a pin takes one signal',
        ),
        (
            '[[wiring.signal]]\ngroup = "enable"\nis = "pressed"\nwire = "red"\npin = "PB0"\n'
            '[[wiring.signal]]\ngroup = "stop"\nis = "pressed"\nwire = "blue"\npin = "pb0"',
            'wiring.signal[2].pin "pb0" is there twice; a pin takes one signal',
        ),
        (
            '[[wiring.signal]]\ngroup = "lamp"\nis = "green"\nwire = "red"\npin = "PB0"\n'
            '[[wiring.signal]]\ngroup = "lamp"\nis = "amber"\nwire = "blue"\npin = "PB1"',
            'wiring.signal[2].group is a second lamp, "amber" beside "green"; the program switches one',
        ),
        (
            '[[wiring.signal]]\ngroup = "stop"\nis = "pressed"\nwire = "red"\npin = "PB0"\nclosed = "high"',
            'wiring.signal[1].closed is "high", so that a broken lead of stop may read as not pressed; wire its '
            'contact to close to common and write "low", and a broken lead reads as pressed',
        ),
        (
            '[[wiring.signal]]\ngroup = "enable"\nis = "pressed"\nwire = "red"\npin = "PB0"\nclosed = "high"',
            'wiring.signal[1].closed is "high", so that a broken lead of enable may read as held; wire its contact '
            'to close to common and write "low", and a broken lead reads as let go',
        ),
    ],
)
def test_a_pendant_that_makes_no_sense_is_told(text, why):
    with pytest.raises(documents.DocumentError) as caught:
        pendant(text)
    assert why in str(caught.value)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ('acknowledge = "TAKEN"\nerror_starts = ["TAK"]', 'error_starts[1] is "TAK", and the acknowledgement "TAKEN"'),
        (
            'acknowledge = "T"\nacknowledge_match = "start"\nerror_starts = ["TROUBLE"]',
            "begins like the acknowledgement",
        ),
        ('error_starts = [""]', "error_starts[1] is the text"),
        ('idle_ask = "?"', "idle_answer is missing, and idle_ask does nothing without it"),
        ('idle_answer = "IDLE"', "idle_ask is missing"),
        ('stop_line = "a\\nb"', "stop_line has to be one line of printable characters and control bytes"),
        ('jog = ["G91 G1 {step}"]', "jog has no line with {axis} and {step} in it"),
        ('jog = ["{axis}{step} {speed}"]', "jog[1] has {speed} in it; only {axis} or {rate} or {step}"),
        ('program_head = "O{name}"', "program_head has {name} in it"),
        ('program_head = "G0 X{number}"', 'program_head is "G0 X{number}", which reads as words of the standard'),
        ('program_head = "{slug}"', "program_head"),
        ('message = "{text}"', 'message is "{text}", which reads as words of the standard'),
        ('message = "M1 {text}"', 'message is "M1 {text}", which reads as words of the standard'),
        ('machine_system = "G53"', 'machine_system is "G53", which is not a work coordinate system'),
        ('stop_keeps = "kept"', 'stop_keeps is the text "kept"; it has to be "dropped" or "held"'),
    ],
)
def test_a_controller_that_makes_no_sense_is_told(text, why):
    with pytest.raises(documents.DocumentError) as caught:
        controlled(text)
    assert why in str(caught.value)


def test_percent_lines_and_semicolon_comments_go_together_only_where_the_sheet_says_so():
    head = 'format = "clickstop-controller/1"\n'
    assert documents.parse("controller", head).percent
    assert not documents.parse("controller", head + 'comments = "semicolon"\n').percent
    assert documents.parse("controller", head + 'comments = "semicolon"\npercent = true\n').percent
    assert not documents.parse("controller", head + "percent = false\n").percent


@pytest.mark.parametrize("template", ["SHOW {text}", "M901 {text}", '"{text}"', "(TELL, {text})", "@{text}"])
def test_a_message_may_be_any_line_that_is_none_of_the_standard(template):
    text = f"format = 'clickstop-controller/1'\nmessage = '{template}'\n"
    assert documents.parse("controller", text).message == template
