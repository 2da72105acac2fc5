"""The newer steps walked through by a second, short implementation: where they end, and what the zero then reads."""

from __future__ import annotations

from itertools import combinations
from math import hypot, inf, sqrt

import pytest
import ruckig

from library.bench import Bench
from library.build import build
from library.sheets import PRESETS, preset_text
from library.toml_text import DocumentError
from parser.language.reader import read
from parser.machine import Interval
from parser.motion.assumptions import origin_of
from parser.motion.interpreter import trace
from parser.motion.places import bounds
from parser.times.planner import plan
from tests.bulk import mostly_long, of_today
from tests.library.benches import FILLED, ONE_ZERO, ROUTER, able, macro, step
from tests.library.walker import LETTERS, SYSTEMS, NoContactError, Walker, along

NEW = {
    "zero-here": {"side": "minus-side", "diameter": "10 mm", "value": "3 mm"},
    "go-to": {
        "x": "1 in",
        "y": "40 mm",
        "z": "-10 mm",
        "a": "45 deg",
        "system": "G55",
        "order": "z-last",
        "feed": "500",
    },
    "index": {"by": "-22.5 deg"},
    "probe-edge": {"towards": "-y", "value": "25.4 mm"},
    "probe-corner": {"corner": "back-right", "x_value": "50.8 mm"},
    "probe-bore": {"y_value": "-76.2 mm"},
    "touch-off-tool": {"height": "50.8 mm", "limit": "safe.z - 60 mm"},
    "output": {},
    "spindle-at": {"speed": "750"},
    "wait-for-input": {},
    "present-table": {"side": "left", "across": "keep", "height": "safe.z - 5 mm"},
}
"""The steps, each with values that are not the usual ones."""

ZEROS = "".join(f'[work."{system}"]\nx = -3.0\ny = 5.0\nz = -2.5\na = 10.0\n' for system in list(SYSTEMS)[1:])
MACHINES = {"mm": ONE_ZERO + ZEROS, "inch": ROUTER + ZEROS}
ROUNDED = {"mm": 0.0005 + 1e-9, "inch": 25.4 * 0.00005 + 1e-9}
"""Half of the last decimal that a line has: thousandths of a millimetre, ten-thousandths of an inch."""

RESTING = {"mm": "G17 G21 G40 G90 G94", "inch": "G17 G20 G40 G90 G94"}
ORIGIN_HERE = "G10 L20 P{system} {axis}{value}"  # common practice, no source

DEPARTURES = [name for name in PRESETS if name != "as-published"]


def possible(names):
    try:
        preset_text("+".join(names))
    except DocumentError:  # two that exclude each other
        return False
    return True


COMBINED = ["+".join(names) for count in (1, 2, 3) for names in combinations(DEPARTURES, count) if possible(names)]
ALONE = COMBINED[: len([each for each in COMBINED if "+" not in each])]


def on(machine="mm", preset="as-published", units="mm", **keys):
    """A bench whose controller rests in these units, with other keys of its sheet changed."""
    plain = able(MACHINES[machine], preset)
    changes = {"resting": RESTING[units], **keys}
    sheet = plain.controller_sheet.model_copy(update=changes)
    return Bench.of(plain.machine_sheet, sheet, plain.pendant, plain.shelf)


def middle(sheets):
    return {axis.name.upper(): axis.travel.middle for axis in sheets.machine.axes}


def walker(sheets, at, contact):
    axes = {name.upper() for name in sheets.machine.names}
    origins = {
        system: {letter: zero.axes[letter.lower()].low if letter.lower() in zero.axes else 0.0 for letter in axes}
        for system, zero in sheets.machine.setups[0].origins.items()
    }
    dwell = sheets.controller_sheet.dwell
    return Walker(at, origins, contact, dwell=dwell.word, milliseconds=dwell.unit == "ms")


def partly(axis, at, goal):
    """A probe trips somewhere on its way, each axis elsewhere."""
    return at[axis] + {"X": 0.6, "Y": 0.35, "Z": 0.8}[axis] * (goal - at[axis])


def walked(steps, sheets, at=None, contact=partly):
    built = build(macro(*steps), sheets)
    assert built.problems == ()
    return built, walker(sheets, at or middle(sheets), contact).walk(built.lines)


def followed(built, sheets, at, trips):
    start = {name: Interval(at[name.upper()], at[name.upper()]) for name in sheets.machine.names}
    trips = {line: Interval(share, share) for line, share in trips.items()}
    program = read(built.text, sheets.controller)
    found = trace(program, sheets.machine, sheets.controller, setup=sheets.machine.setups[0], start=start, trips=trips)
    assert program.troubles + found.troubles == (), built.text
    return found


def number(place):
    reach = bounds(place)
    assert reach.length == pytest.approx(0.0, abs=1e-9)
    return reach.low


def agrees(block, sheets):
    """Both implementations end at one place and have every zero at one place; the step, or why it cannot be written."""
    given = step(block, **{**FILLED.get(block, {}), **NEW[block]})
    built = build(macro(step("raise"), given), sheets)
    if built.problems:
        return str(built.problems[0])
    by_words = walker(sheets, middle(sheets), partly).walk(built.lines)
    by_trace = followed(built, sheets, middle(sheets), by_words.trips)
    for axis, place in by_trace.end.items():
        assert number(place) == pytest.approx(by_words.at[axis.upper()], abs=1e-6), built.text
    for about, place in by_trace.final.origins.items():
        at = by_words.origins.get(about.word, {}).get(about.axis.upper())
        if about.kind == "offset":
            at = by_words.zero(about.axis.upper())
        assert number(place) == pytest.approx(at, abs=1e-6), built.text
    dwelt = sum(move.seconds for move in by_trace.moves if move.kind == "dwell")
    assert dwelt == pytest.approx(by_words.waited)
    return ""


@pytest.mark.parametrize("preset", ["as-published", *ALONE, *mostly_long(of_today(COMBINED[len(ALONE) :], 5), keep=0)])
@pytest.mark.parametrize("machine", MACHINES)
@pytest.mark.parametrize("block", NEW)
def test_both_implementations_agree_on_every_controller(block, machine, preset):
    for units in RESTING:
        for here in ("", ORIGIN_HERE):
            assert agrees(block, on(machine, preset, units, origin_here=here)) == ""


def by_ruckig(begin, end, rate, axes):
    """Seconds of a straight move from rest to rest, time-optimal under the share of each axis, by ruckig (PyPI)."""
    ways = {axis.name: end[axis.name.upper()] - begin[axis.name.upper()] for axis in axes}
    length = hypot(*ways.values())
    if length < 1e-9:
        return 0.0
    shares = [(axis, abs(ways[axis.name]) / length) for axis in axes if abs(ways[axis.name]) > 1e-12]
    asked = ruckig.InputParameter(1)
    asked.current_position, asked.target_position = [0.0], [length]
    fastest = min(axis.rapid / 60 / share for axis, share in shares)
    asked.max_velocity = [fastest if rate is None else min(fastest, rate / 60)]
    asked.max_acceleration = [min(axis.acceleration / share for axis, share in shares)]
    asked.max_jerk = [inf]
    trajectory = ruckig.Trajectory(1)
    assert ruckig.Ruckig(1).calculate(asked, trajectory) == ruckig.Result.Working
    return trajectory.duration


@pytest.mark.parametrize("rate", ["", "900 mm/min"])
@pytest.mark.parametrize("units", RESTING)
@pytest.mark.parametrize("machine", MACHINES)
@pytest.mark.parametrize("block", NEW)
def test_the_time_is_that_of_an_independent_planner(block, machine, units, rate):
    sheets = on(machine, units=units)
    given = step(block, **{**FILLED.get(block, {}), **NEW[block]})
    built = build(macro(step("raise"), given, hand_rate=rate), sheets)
    assert built.problems == ()
    walk = walker(sheets, middle(sheets), partly).walk(built.lines)
    legs = zip(walk.way, walk.way[1:], walk.rates, strict=False)
    reference = sum(by_ruckig(begin, end, held, sheets.machine.axes) for begin, end, held in legs) + walk.waited
    found = followed(built, sheets, middle(sheets), walk.trips)
    seconds = plan(found, sheets.machine, sheets.controller).totals.seconds
    assert seconds.most - seconds.least == pytest.approx(0.0, abs=1e-6)
    assert seconds.typical == pytest.approx(reference, rel=1e-6, abs=1e-9)


# Touching off by hand -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("here", ["", ORIGIN_HERE])
@pytest.mark.parametrize(
    ("values", "reads"),
    [
        # a 10 mm edge finder gives 5 mm (common practice)
        ({"axis": "x", "side": "minus-side", "diameter": "10 mm"}, -5.0),
        ({"axis": "y", "side": "plus-side", "diameter": "10 mm", "value": "20 mm"}, 25.0),
        ({"axis": "y", "side": "on-it"}, 0.0),
        # 1-2-3 block below the tip (common practice)
        ({"axis": "z", "value": "25.4 mm"}, 25.4),
        ({"axis": "z", "value": "50.8 mm"}, 50.8),
        ({"axis": "z", "value": "76.2 mm"}, 76.2),
        ({"axis": "a", "angle": "90 deg"}, 90.0),
    ],
)
@pytest.mark.parametrize("units", RESTING)
def test_where_the_axis_stands_reads_what_is_touched_less_half_of_the_tool(values, reads, units, here):
    sheets = on(units=units, origin_here=here)
    _, walk = walked([step("zero-here", **values)], sheets)
    assert walk.reads(values["axis"].upper()) == pytest.approx(reads, abs=ROUNDED[units])
    assert len(walk.way) == 1


# Probing the work ---------------------------------------------------------------------------------------------------

BLOCK = {"X": (100.0, 150.8), "Y": (60.0, 85.4)}
"""A 1-2-3 block on its side: 50.8 mm along X and 25.4 mm along Y (common practice)."""

TIP = 10.0


def outside(axis, at, goal):
    """A probe with a tip of 10 mm trips at the block where it stands beside one of its faces."""
    other = "Y" if axis == "X" else "X"
    if not BLOCK[other][0] < at[other] < BLOCK[other][1]:
        return None
    wall = BLOCK[axis][0] if goal > at[axis] else BLOCK[axis][1]
    return along(at[axis], goal, wall, TIP / 2)


def stays_out(walk, trips_at):
    """No place on the way of the tip is inside the block, but where it touches."""
    for begin, end in zip(walk.way, walk.way[1:], strict=False):
        for share in (part / 50 for part in range(51)):
            at = {axis: begin[axis] + share * (end[axis] - begin[axis]) for axis in "XY"}
            beyond = [max(BLOCK[axis][0] - at[axis], 0.0, at[axis] - BLOCK[axis][1]) for axis in "XY"]
            assert hypot(*beyond) >= TIP / 2 - trips_at, at


@pytest.mark.parametrize("units", RESTING)
@pytest.mark.parametrize(
    ("towards", "at", "edge"),
    [
        ("+x", {"X": 88.0, "Y": 70.0}, ("X", 100.0)),
        ("-x", {"X": 164.5, "Y": 70.0}, ("X", 150.8)),
        ("+y", {"X": 120.0, "Y": 46.0}, ("Y", 60.0)),
        ("-y", {"X": 120.0, "Y": 97.3}, ("Y", 85.4)),
    ],
)
@pytest.mark.parametrize("calculates", [True, False])
def test_the_edge_that_was_probed_reads_its_value(towards, at, edge, units, calculates):
    lacks = () if calculates else ("G10",)
    sheets = on(units=units, unsupported=lacks)
    values = {"towards": towards, "diameter": f"{TIP} mm", "value": "12.7 mm"}
    _, walk = walked([step("probe-edge", **values)], sheets, middle(sheets) | at | {"Z": -50.0}, outside)
    axis, place = edge
    assert walk.reads(axis, place) == pytest.approx(12.7, abs=ROUNDED[units])
    assert walk.at["Z"] == pytest.approx(-2.0, abs=2 * ROUNDED[units])  # a height is rounded upwards
    stays_out(walk, 1e-6)


def test_by_hand_the_zero_lies_half_a_tip_beyond_where_it_tripped():
    # from X 88 a 10 mm tip trips at 95 where the edge is at 100, and 95 + 5 = 100 is the zero
    sheets = on()
    built, walk = walked(
        [step("probe-edge", diameter="10 mm")], sheets, middle(sheets) | {"X": 88.0, "Y": 70.0, "Z": -50.0}, outside
    )
    assert [line for line in built.lines if "38.2" in line] == ["G38.2 X10 F100", "G38.2 X2 F20"]
    assert [round(place["X"], 6) for place in walk.way] == [88.0, 95.0, 94.0, 95.0, 94.0, 94.0]
    assert walk.origins["G54"]["X"] == 100.0


@pytest.mark.parametrize("machine", ["-y", "+y", "-x", "+x"])
@pytest.mark.parametrize("units", RESTING)
@pytest.mark.parametrize(
    ("signs", "at", "corner"),
    [
        ((-1, -1), {"X": 91.0, "Y": 48.5}, {"X": 100.0, "Y": 60.0}),
        ((1, -1), {"X": 163.0, "Y": 52.0}, {"X": 150.8, "Y": 60.0}),
        ((1, 1), {"X": 158.0, "Y": 97.0}, {"X": 150.8, "Y": 85.4}),
        ((-1, 1), {"X": 90.0, "Y": 93.0}, {"X": 100.0, "Y": 85.4}),
    ],
)
def test_the_corner_that_was_probed_reads_its_values_wherever_the_operator_stands(signs, at, corner, units, machine):
    plain = able(MACHINES["mm"].replace('stands_at = "-y"', f'stands_at = "{machine}"'))
    sheet = plain.controller_sheet.model_copy(update={"resting": RESTING[units]})
    sheets = Bench.of(plain.machine_sheet, sheet, plain.pendant, plain.shelf)
    # front and left, as seen by somebody who stands at each side: -Y sees -Y in front and -X at the left
    front = {"-y": ("Y", -1), "+y": ("Y", 1), "-x": ("X", -1), "+x": ("X", 1)}[machine]
    left = {"-y": ("X", -1), "+y": ("X", 1), "-x": ("Y", 1), "+x": ("Y", -1)}[machine]
    sign = dict(zip("XY", signs, strict=True))
    named = (
        ("front" if sign[front[0]] == front[1] else "back") + "-" + ("left" if sign[left[0]] == left[1] else "right")
    )
    values = {"corner": named, "diameter": f"{TIP} mm", "x_value": "2 mm", "y_value": "-3 mm"}
    _, walk = walked([step("probe-corner", **values)], sheets, middle(sheets) | at | {"Z": -50.0}, outside)
    assert walk.reads("X", corner["X"]) == pytest.approx(2.0, abs=ROUNDED[units])
    assert walk.reads("Y", corner["Y"]) == pytest.approx(-3.0, abs=ROUNDED[units])
    stays_out(walk, 1e-6)


BORE = {"X": 90.0, "Y": 55.0, "radius": 14.0}


def inside(axis, at, goal):
    """A probe with a tip of 10 mm trips at the wall of a bore of 28 mm."""
    other = "Y" if axis == "X" else "X"
    half = sqrt((BORE["radius"] - TIP / 2) ** 2 - (at[other] - BORE[other]) ** 2)
    sign = 1.0 if goal > at[axis] else -1.0
    trip = BORE[axis] + sign * half
    return trip if (goal - trip) * sign >= 0 else None


@pytest.mark.parametrize("units", RESTING)
@pytest.mark.parametrize("off", [(0.0, 0.0), (4.0, -3.0), (-5.5, 5.5)])
def test_the_middle_of_the_bore_reads_its_values_from_anywhere_in_it(off, units):
    sheets = on(units=units)
    at = middle(sheets) | {"X": BORE["X"] + off[0], "Y": BORE["Y"] + off[1], "Z": -60.0}
    _, walk = walked([step("probe-bore", x_value="10 mm", y_value="20 mm")], sheets, at, inside)
    assert walk.reads("X", BORE["X"]) == pytest.approx(10.0, abs=ROUNDED[units])
    assert walk.reads("Y", BORE["Y"]) == pytest.approx(20.0, abs=ROUNDED[units])
    assert (walk.at["X"], walk.at["Y"]) == pytest.approx((BORE["X"], BORE["Y"]), abs=ROUNDED[units])
    for place in walk.way[:-1]:
        assert hypot(place["X"] - BORE["X"], place["Y"] - BORE["Y"]) <= BORE["radius"] - TIP / 2 + 1e-6


def test_by_hand_a_bore_is_halved():
    # a bore of 28 mm at X 90 and a 10 mm tip: it trips at 81 and at 99, and half of 180 is 90
    sheets = on()
    _, walk = walked([step("probe-bore")], sheets, middle(sheets) | {"X": 92.0, "Y": 55.0, "Z": -60.0}, inside)
    trips = [end["X"] for begin, end in zip(walk.way, walk.way[1:], strict=False) if begin["Y"] == end["Y"]]
    assert {round(at, 6) for at in trips} >= {81.0, 99.0, 90.0}
    assert (walk.origins["G54"]["X"], walk.origins["G54"]["Y"]) == (90.0, 55.0)


@pytest.mark.parametrize("units", RESTING)
@pytest.mark.parametrize("longer", [0.0, -12.5, 7.25])
def test_the_face_of_the_setter_reads_its_height_whatever_tool_is_in(longer, units):
    # the setter is touched at machine Z -60 by a tool that reads -60 + its difference in length
    sheets = on(units=units)
    face = -60.0 + longer
    values = {"x": "20 mm", "y": "130 mm", "limit": "-80 mm", "height": "50.8 mm"}
    _, walk = walked(
        [step("touch-off-tool", **values)], sheets, contact=lambda axis, at, goal: along(at["Z"], goal, face, 0.0)
    )
    assert walk.reads("Z", face) == pytest.approx(50.8, abs=ROUNDED[units])
    assert (walk.at["X"], walk.at["Y"]) == pytest.approx((20.0, 130.0), abs=ROUNDED[units])
    lowest = min(place["Z"] for place in walk.way)
    assert lowest == pytest.approx(face)


def test_below_its_limit_the_setter_is_not_looked_for():
    sheets = on()
    limit = {"x": "20 mm", "y": "130 mm", "limit": "-50 mm", "height": "0 mm"}
    with pytest.raises(NoContactError):
        walked(
            [step("touch-off-tool", **limit)], sheets, contact=lambda axis, at, goal: along(at["Z"], goal, -60.0, 0.0)
        )


@pytest.mark.parametrize("block", ["probe-edge", "probe-corner", "probe-bore", "touch-off-tool"])
def test_the_spindle_stands_before_anything_is_touched_and_the_zero_comes_last(block):
    built = build(macro(step(block, **FILLED.get(block, {}))), on())
    lines = list(built.lines)
    first = next(at for at, line in enumerate(lines) if "G38.2" in line)
    assert lines.index("M5") < lines.index("G4 P5") < first
    assert max(at for at, line in enumerate(lines) if line.startswith("G10")) > max(
        at for at, line in enumerate(lines) if "G53 G0 Z" in line
    )


def test_a_place_in_a_work_system_is_counted_from_its_zero():
    sheets = on()
    _, walk = walked([step("go-to", x="10 mm", y="20 mm", z="5 mm", a="15 deg", system="G54")], sheets)
    # G54 is at 125, 70, -38, and has no zero of A on this sheet
    assert [walk.at[letter] for letter in "XYZ"] == [135.0, 90.0, -33.0]


@pytest.mark.parametrize(
    ("order", "groups"),
    [
        ({"order": "z-first"}, ["Z", "XY", "A"]),
        ({"order": "z-last"}, ["XY", "A", "Z"]),
        ({"order": "together"}, ["XYZA"]),
        ({"order": "chosen", "sequence": "a, y, xz"}, ["A", "Y", "XZ"]),
    ],
)
def test_axes_go_in_the_order_that_was_chosen(order, groups):
    sheets = on()
    _, walk = walked([step("go-to", x="10 mm", y="20 mm", z="-5 mm", a="90 deg", **order)], sheets)
    went = [
        "".join(letter for letter in LETTERS if letter in begin and begin[letter] != end[letter])
        for begin, end in zip(walk.way, walk.way[1:], strict=False)
    ]
    assert went == groups


def test_the_work_comes_out_from_under_the_spindle_as_far_as_one_reaches():
    # the operator stands at -Y and the table carries Y: 60 mm out from under the spindle is machine Y 70 + 60
    sheets = on()
    assert walked([step("present-table", reach="60 mm")], sheets)[1].at["Y"] == 130.0
    assert walked([step("present-table", reach="200 mm")], sheets)[1].at["Y"] == 145.0
    assert walked([step("present-table", side="back", reach="30 mm")], sheets)[1].at["Y"] == 40.0


def test_the_table_is_presented_at_a_height():
    _, walk = walked([step("raise"), step("present-table", height="-45 mm")], on())
    assert [place["Z"] for place in walk.way] == [-45.0, -2.0, -2.0, -45.0]


def test_the_origin_of_the_program_and_of_the_second_implementation_is_told_by_one_name():
    sheets = on()
    built, walk = walked([step("probe-edge", diameter="10 mm")], sheets)
    final = followed(built, sheets, middle(sheets), walk.trips).final
    assert set(final.origins) == {origin_of("G54", "x")}
