"""Machines, controllers and starts that make no sense are refused by name, and never anything is proved on one."""

from __future__ import annotations

import pickle
from dataclasses import fields, replace
from math import inf, nan

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import parser
from parser import AssumeError, ParserError, Question, Report, SheetError
from parser.checking import checks_of
from parser.machine import Axis, Box, Controller, Interval, Limit, Machine, Origin, Setup, Tool
from tests.parser.scene import BAR, CONTROLLER, MILL, VISE, controller, mill

HUGE = 10**5000

GOOD = {
    "interval": Interval(0.0, 260.0),
    "axis": MILL.axes[0],
    "box": VISE,
    "tool": Tool(1, 40.0, 3.0),
    "origin": Origin({"x": Interval(125.0, 125.0)}),
    "setup": MILL.setups[0],
    "limit": Limit(("z", "<", -70.0), ("y", "<=", 140.0)),
    "machine": MILL,
    "controller": CONTROLLER,
}
CLASSES = (Interval, Axis, Box, Tool, Origin, Setup, Limit, Machine, Controller)

NONSENSE = [
    # class, field, what it is not, what the error has to name
    ("interval", "low", 260.1, "an interval is 260.1 to 260.0"),
    ("interval", "low", HUGE, "an interval is an unprintable int to 260.0"),
    ("interval", "low", inf, "an interval is inf to 260.0"),
    ("interval", "low", nan, "an end of an interval is nan"),
    ("interval", "low", "0", 'an end of an interval is "0"'),
    ("interval", "high", nan, "an end of an interval is nan"),
    ("interval", "high", -inf, "an interval is 0.0 to -inf"),
    ("interval", "high", None, "an end of an interval is None"),
    ("axis", "name", "u", 'name of axis u is "u"'),
    ("axis", "name", "X", 'name of axis X is "X"'),
    ("axis", "name", None, "name of axis None is None"),
    ("axis", "name", HUGE, "is an unprintable int"),
    ("axis", "name", "x\ny", r'name of axis "x\ny"'),
    ("axis", "travel", (0.0, 260.0), "travel of axis x is (0.0, 260.0)"),
    ("axis", "travel", Interval(0.0, inf), "the high end of travel of axis x is inf"),
    ("axis", "travel", Interval(-inf, 0.0), "the low end of travel of axis x is -inf"),
    ("axis", "travel", Interval(0.0, 5e9), "the high end of travel of axis x is 5000000000.0"),
    ("axis", "travel", Interval(False, True), "the low end of travel of axis x is False"),
    ("axis", "travel", Interval(5.0, 5.0), "travel of axis x is 5.0 to 5.0"),
    ("axis", "rapid", 0, "rapid of axis x is 0"),
    ("axis", "rapid", 5e-324, "rapid of axis x is 5e-324"),
    ("axis", "rapid", -2400.0, "rapid of axis x is -2400.0"),
    ("axis", "rapid", nan, "rapid of axis x is nan"),
    ("axis", "acceleration", 0.0, "acceleration of axis x is 0.0"),
    ("axis", "acceleration", inf, "acceleration of axis x is inf"),
    ("axis", "jerk", -1.0, "jerk of axis x is -1.0"),
    ("axis", "jerk", 1e-300, "jerk of axis x is 1e-300"),
    ("axis", "home", "middle", 'home of axis x is "middle"'),
    ("axis", "carried_by", "", 'carried_by of axis x is ""'),
    ("box", "name", 3, "name of box 3 is 3"),
    ("box", "low", (nan, 35.0, -130.0), 'an entry in low of box "Vise" is nan'),
    ("box", "low", (80.0, 35.0), 'low of box "Vise" is (80.0, 35.0)'),
    ("box", "high", [170.0, 105.0, -80.0], 'high of box "Vise" is [170.0, 105.0, -80.0]'),
    ("box", "high", (60.0, 105.0, -80.0), 'X of box "Vise" is 80.0 to 60.0'),
    ("box", "high", (170.0, 35.0, -80.0), 'Y of box "Vise" is 35.0 to 35.0'),
    ("box", "high", (170.0, 105.0, -140.0), 'Z of box "Vise" is -130.0 to -140.0'),
    ("box", "part", None, 'part of box "Vise" is None'),
    ("tool", "number", -1, "number of tool -1 is -1"),
    ("tool", "number", 1.0, "number of tool 1.0 is 1.0"),
    ("tool", "number", True, "number of tool True is True"),
    ("tool", "number", HUGE, "is an unprintable int"),
    ("tool", "length", nan, "length of tool 1 is nan"),
    ("tool", "radius", -3.0, "radius of tool 1 is -3.0"),
    ("origin", "axes", {"u": Interval(0.0, 0.0)}, 'a key in axes of an origin is "u"'),
    ("origin", "axes", {"x": 5.0}, "x in axes of an origin is 5.0"),
    ("origin", "axes", {"x": Interval(0.0, inf)}, "the high end of x in axes of an origin is inf"),
    ("origin", "axes", [], "axes of an origin is []"),
    ("origin", "parts", {"u": "work"}, 'a key in parts of an origin is "u"'),
    ("origin", "parts", {"x": 5}, "x in parts of an origin is 5"),
    ("setup", "name", None, "name of setup None is None"),
    ("setup", "keep_outs", [VISE], "keep_outs of setup"),
    ("setup", "keep_outs", ("Vise",), 'keep_outs of setup "Bar in the vise" is "Vise"'),
    ("setup", "keep_outs", (VISE, replace(BAR, name="Vise")), 'the name of a keep-out of setup "Bar in the vise"'),
    ("setup", "origins", {"G53": Origin({})}, 'is "G53"'),
    ("setup", "origins", {"G54": {}}, "G54 in origins of setup"),
    ("limit", "when", ("u", "<", 0.0), 'the axis in when of a limit is "u"'),
    ("limit", "when", ("z", "=", 0.0), 'the relation in when of a limit is "="'),
    ("limit", "then", ("y", "<=", nan), "the number in then of a limit is nan"),
    ("limit", "then", "y <= 140", 'then of a limit is "y <= 140"'),
    ("machine", "name", b"Mill", "name of the machine is b'Mill'"),
    ("machine", "axes", (), "axes of the machine is ()"),
    ("machine", "axes", (MILL.axes[0], MILL.axes[0]), 'the name of an axis of the machine is "x"'),
    ("machine", "axes", ("x", "y"), 'axes of the machine is "x"'),
    ("machine", "setups", (), "setups of the machine is ()"),
    ("machine", "setups", (Setup("A"), Setup("A")), 'the name of a setup of the machine is "A"'),
    ("machine", "setups", (Setup("A", (), {"G55": Origin({"a": Interval(0, 0)})}),), 'G55 in origins of setup "A"'),
    ("machine", "operator_side", "front", 'operator_side of the machine is "front"'),
    ("machine", "nose_radius", -1.0, "nose_radius of the machine is -1.0"),
    ("machine", "holder_radius", nan, "holder_radius of the machine is nan"),
    ("machine", "holder_length", -0.1, "holder_length of the machine is -0.1"),
    ("machine", "tool_stick_out", inf, "tool_stick_out of the machine is inf"),
    ("machine", "tool_radius", "6", 'tool_radius of the machine is "6"'),
    ("machine", "keep_out_margin", -2.0, "keep_out_margin of the machine is -2.0"),
    ("machine", "travel_margin", -0.5, "travel_margin of the machine is -0.5"),
    ("machine", "travel_margin", 500.0, "travel_margin of the machine is 500.0"),
    ("machine", "safe_z", 1.0, "safe_z of the machine is 1.0"),
    ("machine", "safe_z", nan, "safe_z of the machine is nan"),
    ("machine", "maximum_rpm", 0.0, "maximum_rpm of the machine is 0.0"),
    ("machine", "run_down", -5.0, "run_down of the machine is -5.0"),
    ("machine", "spindle_by_program", 1, "spindle_by_program of the machine is 1"),
    ("machine", "stored", {"G29": {}}, 'a key in stored of the machine is "G29"'),
    ("machine", "stored", {"G28": {"x": nan}}, "x in G28 in stored of the machine is nan"),
    ("machine", "stored", {"G30": {"b": 0.0}}, 'an axis in G30 in stored of the machine is "b"'),
    ("machine", "tools", (Tool(1, 40.0, 3.0), Tool(1, 30.0, 3.0)), "the number of a tool of the machine is 1"),
    ("machine", "enclosures", (VISE, VISE), 'the name of an enclosure of the machine is "Vise"'),
    ("machine", "limits", (Limit(("c", "<", 0.0), ("y", "<", 0.0)),), 'an axis in limit 1 of the machine is "c"'),
    ("machine", "corner", "round", 'corner of the machine is "round"'),
    ("machine", "tolerance", -0.05, "tolerance of the machine is -0.05"),
    ("machine", "latency", -0.1, "latency of the machine is -0.1"),
    ("machine", "unstated", "nothing", 'unstated of the machine is "nothing"'),
    ("machine", "parts", ("axes",), 'parts of the machine is "axes"'),
    ("controller", "parts", [], "parts of the controller is []"),
    ("controller", "name", None, "name of the controller is None"),
    ("controller", "g28", "park", 'g28 of the controller is "park"'),
    ("controller", "g28_axes", "some", 'g28_axes of the controller is "some"'),
    ("controller", "homing", "G28", 'homing of the controller is "G28"'),
    ("controller", "homing", (" ",), 'homing of the controller is " "'),
    ("controller", "refuses_unhomed", "no", 'refuses_unhomed of the controller is "no"'),
    ("controller", "machine_moves", 0, "machine_moves of the controller is 0"),
    ("controller", "dwell_word", "X", 'dwell_word of the controller is "X"'),
    ("controller", "dwell_unit", "min", 'dwell_unit of the controller is "min"'),
    ("controller", "comments", "slashes", 'comments of the controller is "slashes"'),
    ("controller", "pause", "M0\nG0 Z0", r'pause of the controller is "M0\nG0 Z0"'),
    ("controller", "message", "G1 {text}", 'message of the controller is "G1 {text}"'),
    ("controller", "program_head", "{slug}", 'program_head of the controller is "{slug}"'),
    ("controller", "message", "(MSG)", 'message of the controller is "(MSG)"'),
    ("controller", "origin_here", "G92 {axis}{value}", 'origin_here of the controller is "G92 {axis}{value}"'),
    ("controller", "settle", 4, "settle of the controller is 4"),
    ("controller", "resting", "G17 G21", 'resting of the controller is "G17 G21"'),
    ("controller", "resting", ("g17",), 'resting of the controller is "g17"'),
    ("controller", "resting", ("G4",), 'a word in resting of the controller is "G4"'),
    ("controller", "resting", ("G17", "G18"), 'a word in resting of the controller is "G18"'),
    ("controller", "ending", "end", 'ending of the controller is "end"'),
    ("controller", "percent", None, "percent of the controller is None"),
    ("controller", "call", None, "call of the controller is None"),
    ("controller", "rapid", "curved", 'rapid of the controller is "curved"'),
    ("controller", "extra_words", {"98": "call"}, 'a key in extra_words of the controller is "98"'),
    ("controller", "extra_words", {"M98": "run"}, 'M98 in extra_words of the controller is "run"'),
    ("controller", "unsupported", ("G53",), "unsupported of the controller is ('G53',)"),
    ("controller", "unsupported", frozenset({"G 53"}), 'unsupported of the controller is "G 53"'),
    ("controller", "expressions", "no", 'expressions of the controller is "no"'),
    ("controller", "program_head", "O1\n", 'program_head of the controller is "O1'),
    ("controller", "line_limit", 0, "line_limit of the controller is 0"),
    ("controller", "acknowledge_means", "sent", 'acknowledge_means of the controller is "sent"'),
    ("controller", "queue_depth", -1, "queue_depth of the controller is -1"),
    ("controller", "release", "all", 'release of the controller is "all"'),
    ("controller", "stop_line", None, "stop_line of the controller is None"),
    ("controller", "first_run_rate", 5e-324, "first_run_rate of the controller is 5e-324"),
]


@pytest.mark.parametrize(("thing", "field", "value", "named"), NONSENSE, ids=range(len(NONSENSE)))
def test_what_makes_no_sense_is_refused_by_name_with_why_and_what_to_do(thing, field, value, named):
    with pytest.raises(SheetError) as error:
        replace(GOOD[thing], **{field: value})
    assert named in str(error.value)
    assert "\n" not in str(error.value)
    assert error.value.why.endswith(".")
    assert error.value.remedy.endswith(".")


def test_every_field_of_every_class_is_tried_above():
    tried = {(type(GOOD[thing]), field) for thing, field, _, _ in NONSENSE}
    assert tried == {(kind, field.name) for kind in CLASSES for field in fields(kind)}


@pytest.mark.parametrize("kind", CLASSES[1:], ids=[kind.__name__ for kind in CLASSES[1:]])
def test_every_field_has_a_check_by_its_type(kind):
    for name, check in checks_of(kind).items():
        with pytest.raises(SheetError, match=f"^{name} is <object object"):
            check(name, object())


@pytest.mark.parametrize(
    "changes",
    [
        {"stored": {"G28": {"x": -10.0}}},
        {"tools": (Tool(0, -12.5, 0.0),)},
        {"safe_z": None, "maximum_rpm": None},
        {"setups": (Setup("A", (VISE,)), Setup("B", (VISE,)))},
        {"axes": MILL.axes[:1], "setups": (Setup(""),), "stored": {}, "safe_z": None},
    ],
    ids=["stored point out of travel", "length below 0", "not stated", "one vise in two setups", "one axis"],
)
def test_what_a_machine_may_well_have_is_taken(changes):
    assert replace(MILL, **changes).name == MILL.name


@pytest.mark.parametrize("resting", [(), ("G17", "G17"), ("M7", "M8", "G59.1")])
def test_resting_words_that_hold_together_are_taken(resting):
    assert controller(resting=resting).resting == resting


@pytest.mark.parametrize("at", [-43.4764779007169, 0.1, 1e8])
def test_a_point_that_rounding_has_turned_round_is_still_one(at):
    turned = Interval(at + 1e-10 * max(1.0, abs(at)), at)
    assert (turned.low, turned.high) == (at, at + 1e-10 * max(1.0, abs(at)))
    with pytest.raises(SheetError, match="upside down"):
        Interval(at + 1e-8 * max(1.0, abs(at)), at)


# Nothing is proved on what makes no sense

CROSSES_THE_VISE = "G17 G21 G40 G49 G54 G80 G90 G94\nM5\nG53 G0 Z-60\nG53 G0 X250 Y70\nG53 G0 Z-89\n"


def judged(machine=None, start=None, **changes):
    return parser.examine(
        CROSSES_THE_VISE,
        machine or mill(**changes),
        controller(percent=False),
        Question(start=start, seek_start=False),
    )


def test_the_program_below_is_rightly_refused():
    assert judged().verdict == "refused"


def with_x(**changes):
    return (replace(MILL.axes[0], **changes), *MILL.axes[1:])


@pytest.mark.parametrize(
    ("try_it", "named"),
    [
        (lambda: judged(axes=with_x(travel=Interval(260.0, 0.0))), "260.0 to 0.0"),
        (lambda: judged(setups=(Setup("", (Box("Vise", VISE.high, VISE.low),)),)), 'X of box "Vise" is 170.0 to 80.0'),
        (lambda: judged(tool_stick_out=nan), "tool_stick_out of the machine is nan"),
        (lambda: judged(tool_stick_out=-40.0), "tool_stick_out of the machine is -40.0"),
        (lambda: judged(keep_out_margin=-100.0), "keep_out_margin of the machine is -100.0"),
        (lambda: judged(setups=()), "setups of the machine is ()"),
        (lambda: judged(start={"z": Interval(-2.0, -80.0)}), "-2.0 to -80.0"),
        (lambda: judged(start={"z": Interval(20.0, 30.0)}), "z in start is 20.0 to 30.0"),
        (lambda: judged(start={"x": Interval(-0.1, 260.0)}), "x in start is -0.1 to 260.0"),
        (lambda: judged(start={"x": Interval(0.0, inf)}), "the high end of x in start is inf"),
        (lambda: judged(start={"a": Interval(0.0, 0.0)}), 'an axis in start is "a"'),
        (lambda: judged(start={3: Interval(0.0, 0.0)}), "a key in start is 3"),
        (lambda: judged(start={"x": 5.0}), "x in start is 5.0"),
        (lambda: judged(start=[("x", Interval(0.0, 0.0))]), "start is [('x', Interval"),
        (lambda: judged(axes=with_x(rapid=0.0)), "rapid of axis x is 0.0"),
        (lambda: judged(axes=with_x(name="u")), 'name of axis u is "u"'),
    ],
    ids=[
        *["inverted travel", "swapped corners", "nan stick-out", "negative stick-out", "negative margin", "no setups"],
        *["inverted start", "start above travel", "start partly outside", "endless start", "start of no axis"],
        *["start of no name", "start of no interval", "start of no mapping", "rate 0", "unknown axis"],
    ],
)
def test_a_program_that_is_refused_is_not_judged_on_nonsense(try_it, named):
    with pytest.raises(SheetError, match=r"^[^\n]*$") as error:
        try_it()
    assert named in str(error.value)


def test_a_start_may_reach_to_both_ends_of_travel_and_leave_axes_out():
    assert judged(start={"x": MILL.axes[0].travel}).start == {axis.name: axis.travel for axis in MILL.axes}
    assert judged(start={}).verdict == judged().verdict == "refused"


PROGRAM = parser.read(CROSSES_THE_VISE, CONTROLLER)
TRACE = parser.trace(PROGRAM, MILL, CONTROLLER)
REPORT = parser.examine("G21\n", MILL, CONTROLLER)
ONE_AXIS = {"axes": MILL.axes[:1], "setups": (Setup(""),), "stored": {}, "safe_z": None}
TURNED = Setup("", (), {"G54": Origin({"a": Interval(0.0, 0.0)})})
OUTSIDE = Question(start={"x": Interval(0, 999)})


@pytest.mark.parametrize(
    ("function", "arguments", "named"),
    [
        (parser.examine, (b"G0", MILL, CONTROLLER, {}), "text is b'G0'"),
        (parser.examine, ("G0", None, CONTROLLER, {}), "machine is None"),
        (parser.examine, ("G0", MILL, MILL, {}), "controller is Machine"),
        (parser.examine, ("G0", MILL, CONTROLLER, {"question": {"start": {}}}), "question is {'start': {}}"),
        (parser.examine, ("G0", MILL, CONTROLLER, {"progress": None}), "progress is None"),
        (Question, ({"condition": None},), "condition is None"),
        (Question, ({"steps": {1: "one"}},), '1 in steps is "one"'),
        (Question, ({"steps": {0: 1}},), "a key in steps is 0"),
        (Question, ({"accepted": {"long-hold": True}},), "long-hold in accepted is True"),
        (Question, ({"accepted": ["long-hold"]},), "accepted is ['long-hold']"),
        (Question, ({"hand_rate": 0.0},), "hand_rate is 0.0"),
        (Question, ({"seek_start": "yes"},), 'seek_start is "yes"'),
        (parser.read, (None, CONTROLLER, {}), "text is None"),
        (parser.read, ("G0", "as published", {}), 'controller is "as published"'),
        (parser.trace, ("G0", MILL, CONTROLLER, {}), 'program is "G0"'),
        (parser.trace, (PROGRAM, "mill", CONTROLLER, {}), 'machine is "mill"'),
        (parser.trace, (PROGRAM, MILL, CONTROLLER, {"setup": "Bar"}), 'setup is "Bar"'),
        (parser.trace, (PROGRAM, MILL, CONTROLLER, {"block_delete": 0}), "block_delete is 0"),
        (parser.trace, (PROGRAM, MILL, CONTROLLER, {"start": {"x": Interval(0, 999)}}), "x in start is 0 to 999"),
        (parser.trace, (PROGRAM, MILL, CONTROLLER, {"trips": {3: Interval(0.0, 1.5)}}), "3 in trips is 0.0 to 1.5"),
        (parser.trace, (PROGRAM, MILL, CONTROLLER, {"trips": {"3": Interval(0.0, 1.0)}}), 'a key in trips is "3"'),
        (parser.plan, (PROGRAM, MILL, CONTROLLER, {}), "trace is Program"),
        (parser.plan, (TRACE, MILL, None, {}), "controller is None"),
        (parser.plan, (TRACE, mill(**ONE_AXIS), CONTROLLER, {}), 'axes of trace is "x, y, z"'),
        (parser.trace, (PROGRAM, MILL, CONTROLLER, {"setup": TURNED}), 'an axis in G54 in origins of setup is "a"'),
        (parser.evidence, ("G0", MILL, CONTROLLER, {}), 'program is "G0"'),
        (parser.evidence, (PROGRAM, MILL, CONTROLLER, {"question": OUTSIDE}), "x in start is 0 to 999"),
        (parser.examine, ("G0", MILL, CONTROLLER, {"question": OUTSIDE}), "x in start is 0 to 999"),
        (parser.as_json, ("proved", {}), 'report is "proved"'),
        (parser.as_json, (REPORT, {"file": 3}), "file is 3"),
        (parser.as_json, (REPORT, {"machine_sha256": ""}), 'machine_sha256 is ""'),
        (parser.as_json, (REPORT, {"controller_sha256": "A" * 64}), "controller_sha256 is"),
        (parser.prove, (TRACE, {}), "evidence is Trace"),
    ],
)
def test_a_public_function_names_the_argument_that_it_cannot_use(function, arguments, named):
    *given, more = arguments
    with pytest.raises(SheetError) as error:
        function(*given, **more)
    assert str(error.value).startswith(named)


@pytest.mark.parametrize("assume", [None, 5, b"G21"])
def test_words_to_assume_that_are_no_text_are_refused_as_words_to_assume(assume):
    with pytest.raises(AssumeError, match="assume is"):
        parser.examine("G0", MILL, CONTROLLER, Question(assume=assume))
    with pytest.raises(AssumeError, match="assume is"):
        parser.trace(PROGRAM, MILL, CONTROLLER, assume=assume)


def test_all_errors_are_of_one_kind_and_keep_their_text_when_they_are_sent_elsewhere():
    assert issubclass(SheetError, ParserError)
    assert issubclass(AssumeError, ParserError)
    with pytest.raises(SheetError) as error:
        mill(latency=-1.0)
    again = pickle.loads(pickle.dumps(error.value))
    assert (str(again), again.what) == (str(error.value), "latency of the machine")


# Whatever is thrown at them

NUMBERS = st.one_of(
    st.floats(),
    st.sampled_from([0, 0.0, -0.0, 1e-300, 5e-324, 1e-6, 1e9, -1e9, 2e9, inf, -inf, nan, 10**400, True]),
    st.floats(-300.0, 300.0),
    st.integers(),
)
TEXTS = st.one_of(st.text(max_size=5), st.sampled_from(["x", "a", "q", "", "G17", "G54", "M98", "min", "<", "blend"]))
SIMPLE = st.one_of(NUMBERS, TEXTS, st.none(), st.booleans(), st.binary(max_size=2))


@st.composite
def intervals(draw):
    """An interval, or a pair that could be none."""
    low, high = draw(NUMBERS), draw(NUMBERS)
    try:
        return Interval(low, high)
    except SheetError:
        return low, high


SOME = st.one_of(SIMPLE, intervals(), st.sampled_from([*GOOD.values()]))
ANYTHING = st.recursive(
    SOME,
    lambda inner: st.one_of(
        st.lists(inner, max_size=3).map(tuple),
        st.lists(inner, max_size=2),
        st.dictionaries(TEXTS, inner, max_size=2),
        st.lists(TEXTS, max_size=2).map(frozenset),
    ),
    max_leaves=5,
)


def changed(thing, draw):
    """A good object with some of its fields changed to anything, None where it refuses that."""
    names = [field.name for field in fields(thing)]
    chosen = draw(st.lists(st.sampled_from(names), min_size=1, max_size=3, unique=True))
    try:
        return replace(thing, **{name: draw(ANYTHING) for name in chosen})
    except SheetError:
        return None


@settings(max_examples=500, deadline=None)
@given(st.data())
def test_a_class_takes_anything_or_refuses_it_as_nonsense(data):
    thing = data.draw(st.sampled_from([*GOOD.values()]))
    made = changed(thing, data.draw)
    assert made is None or type(made) is type(thing)


MOVES = "G17 G21 G40 G49 G54 G80 G90 G94\nG53 G0 Z-2\nG53 G0 X20 Y30\nG1 Z-5 F100\nG2 X10 Y0 I5 J0\nG28 Z0\n"


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_a_machine_and_a_controller_that_are_taken_can_be_worked_with(data):
    parts = {
        "axes": tuple(changed(axis, data.draw) or axis for axis in MILL.axes),
        "setups": (changed(MILL.setups[0], data.draw) or MILL.setups[0],),
    }
    numbers = ["nose_radius", "holder_radius", "holder_length", "tool_stick_out", "tool_radius", "keep_out_margin"]
    numbers += ["travel_margin", "safe_z", "maximum_rpm", "run_down", "tolerance", "latency"]
    parts |= {name: data.draw(NUMBERS) for name in data.draw(st.lists(st.sampled_from(numbers), max_size=2))}
    parts["corner"] = data.draw(st.sampled_from(["stop", "blend"]))
    try:
        machine = replace(MILL, **parts)
    except SheetError:
        machine = MILL
    on = changed(CONTROLLER, data.draw) or CONTROLLER
    assert isinstance(parser.examine(MOVES, machine, on, Question(seek_start=False)), Report)


@settings(max_examples=150, deadline=None)
@given(st.one_of(ANYTHING, st.dictionaries(st.sampled_from("xyzaq"), st.one_of(intervals(), SOME), max_size=3)))
def test_a_start_is_worked_with_or_refused_as_nonsense(start):
    try:
        report = parser.examine("G21 G90\nG53 G0 Z-2\n", MILL, CONTROLLER, Question(start=start, seek_start=False))
    except SheetError:
        return
    for axis in MILL.axes:
        side = report.start[axis.name]
        assert axis.travel.low <= side.low <= side.high <= axis.travel.high
