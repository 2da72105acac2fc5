"""What is built for a controller reads back, under that controller, to the moves that the blocks meant."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

import library.build
from library.bench import Bench
from library.blocks import REGISTRY
from library.blocks.writer import SYSTEMS, Writer
from library.build import build
from library.sheets import PRESETS
from parser.language.reader import read
from parser.machine import Interval
from parser.motion.interpreter import trace
from parser.motion.places import Afloat, minus
from tests.library.benches import FILLED, ONE_ZERO, ROUTER, able, macro, step

MOVE_ZEROS = ("set-work-zero", "zero-here", "probe-edge", "probe-corner", "probe-bore", "touch-off-tool")
"""Blocks after which a zero is elsewhere than the sheet says, so that what follows counts from another place."""

HOMES = ("home",)
"""Blocks after which nobody knows where the machine is."""

RESTING = {"mm": "G17 G21 G40 G80 G90 G94", "inch": "G17 G20 G40 G49 G54 G80 G90 G94"}


@dataclass(frozen=True)
class Meant:
    """What one call of the writer is to do: its line (from 1), the kind, places by axis in mm, feed, seconds.

    ``kept`` are axes that go to what stands in a parameter.
    """

    line: int
    kind: str
    places: dict[str, float]
    relative: bool = False
    feed: float | None = None
    seconds: float = 0.0
    kept: tuple[str, ...] = ()


class Recorder(Writer):
    """A writer that keeps what it was told beside the lines it writes."""

    meant: list[Meant]

    def __init__(self, on):
        super().__init__(on)
        self.meant = []
        Recorder.last = self

    def machine_move(self, targets, feed=None):
        super().machine_move(targets, feed)
        self._note("rapid" if feed is None else "feed", dict(targets), feed=feed)

    def work_move(self, system, targets, feed=None):
        super().work_move(system, targets, feed)
        origin = self._bench.machine.setups[0].origins[system].axes
        places = {axis: at + origin[axis].low for axis, at in targets.items()}
        self._note("rapid" if feed is None else "feed", places, feed=feed)

    def step_by(self, by, feed=None):
        super().step_by(by, feed)
        self._note("rapid" if feed is None else "feed", dict(by), relative=True, feed=feed)

    def probe_by(self, system, by, feed):
        super().probe_by(system, by, feed)
        self._note("probe", dict(by), relative=True, feed=feed)

    def step_from_contact(self, axis, kept, feed):
        super().step_from_contact(axis, kept, feed)
        self._note("feed", {}, feed=feed, kept=(axis,), relative=True)

    def dwell(self, seconds):
        before = len(self.lines)
        super().dwell(seconds)
        if len(self.lines) > before:
            self._note("dwell", {}, seconds=seconds)

    def back_to(self, mark):
        super().back_to(mark)
        self.meant = [each for each in self.meant if each.line <= mark.lines]

    def _note(self, kind, places, *, relative=False, feed=None, seconds=0.0, kept=()):
        self.meant.append(Meant(len(self.lines), kind, places, relative, feed, seconds, kept))


@pytest.fixture(autouse=True)
def recorded(monkeypatch):
    monkeypatch.setattr(library.build, "Writer", Recorder)


OTHER_ZEROS = "".join(f'[work."{system}"]\nx = -3.0\ny = 5.0\nz = -2.5\na = 0.0\n' for system in SYSTEMS[1:])
MACHINES = {
    "mm": ONE_ZERO.replace("z = -38.0", "z = -38.0\na = 30.0", 1) + OTHER_ZEROS,
    "inch": ROUTER.replace("z = -3.0", "z = -3.0\na = 30.0") + OTHER_ZEROS,
}
DEPARTURES = [name for name in PRESETS if name not in ("as-published", "dwell-s-word")]
CONTROLLERS = [*PRESETS, *("+".join(pair) for pair in combinations(DEPARTURES, 2)), "+".join(DEPARTURES)]


def on(machine: str, preset: str, units: str) -> Bench:
    plain = able(MACHINES[machine], preset)
    sheet = plain.controller_sheet.model_copy(update={"resting": RESTING[units]})
    return Bench.of(plain.machine_sheet, sheet, plain.pendant, plain.shelf)


USUAL = {
    "length": (-60.0, 60.0),
    "angle": (-90.0, 90.0),
    "rate": (20.0, 2000.0),
    "time": (0.01, 100.0),
    "count": (1.0, 4.0),
}
FITTING = {"fast": (20.0, 1000.0), "slow": (1.0, 20.0), "beside": (130.0, 200.0), "limit": (-60.0, -30.0)}
"""Ranges of values that only make sense beside each other."""


def values_of(parameter, block):
    """Values a step of a block may give a parameter."""
    if parameter.kind == "flag":
        return st.booleans()
    if parameter.kind == "choice":
        return st.sampled_from(parameter.choices)
    if parameter.name == "macro":
        return st.just("lift")
    if parameter.kind in ("text", "lines"):
        return st.just(FILLED.get(block, {}).get(parameter.name, parameter.default or "G17"))
    low, high = FITTING.get(parameter.name) or USUAL[parameter.kind]
    low, high = max(low, parameter.least or low), min(high, parameter.most or high)
    unit = {"length": " mm", "angle": " deg", "rate": " mm/min", "time": " s"}.get(parameter.kind)
    numbers = st.floats(low, high).map(lambda value: f"{value:.6f}{unit}")
    number = numbers if unit else st.integers(int(low), int(high)).map(str)
    blank = [st.just("")] if parameter.blank else []
    return st.one_of(st.just(FILLED.get(block, {}).get(parameter.name, parameter.default)), number, *blank)


def steps_of(block):
    values = {each.name: values_of(each, block) for each in REGISTRY[block].parameters}
    return st.fixed_dictionaries(values).map(lambda given: step(block, **given))


def written(steps, machine, preset, units):
    """The text of the steps that can be written, what they meant, and the trace of the text from mid-travel."""
    sheets = on(machine, preset, units)
    built = build(macro(*steps), sheets)
    plain, controller = sheets.machine, sheets.controller
    middle = {axis.name: Interval(axis.travel.middle, axis.travel.middle) for axis in plain.axes}
    program = read(built.text, controller)
    followed = trace(program, plain, controller, start=middle)
    assert program.troubles + followed.troubles == (), built.text
    return built, Recorder.last.meant, followed, sheets


def judge(built, meant, followed, sheets):
    """Every line that was meant to do something does just that, and no other line moves."""
    inch = "G20" in sheets.controller.resting
    step_mm = 25.4 * 10**-sheets.controller_sheet.decimals.inch if inch else 10**-sheets.controller_sheet.decimals.mm
    near = 1.01 * step_mm
    by_line = {}
    for move in followed.moves:
        by_line.setdefault(move.line, []).append(move)
    place = dict(followed.start)
    for each in meant:
        moves = by_line.pop(each.line, [])
        assert len(moves) <= 1, built.text
        far = any(
            abs(at) > near if each.relative else isinstance(place[axis], Afloat) or abs(at - place[axis]) > near
            for axis, at in each.places.items()
        )
        assert moves or (not far and each.kind != "dwell" and not each.kept), (each, built.text)
        for move in moves:
            assert move.kind == each.kind, (each, built.text)
            assert move.seconds == pytest.approx(each.seconds, abs=1.001e-3)
            if each.feed is not None:
                assert move.feed == pytest.approx(each.feed, abs=near)
            for axis, end in move.end.items():
                goal = move.furthest[axis]
                if axis in each.places:
                    gone = minus(goal, move.start[axis]) if each.relative else goal
                    assert gone == pytest.approx(each.places[axis], abs=near), (each, built.text)
                elif axis not in each.kept:
                    assert end == move.start[axis], (each, built.text)
            place = move.end
    assert by_line == {}, built.text
    assert followed.final.modes.get(3, "G90") == "G90"


@pytest.mark.parametrize("machine", MACHINES)
@pytest.mark.parametrize("units", RESTING)
@pytest.mark.parametrize("preset", [*PRESETS, CONTROLLERS[-1]])
def test_every_block_as_it_comes_reads_back_as_it_was_meant(machine, preset, units):
    for block in REGISTRY:
        if block not in HOMES:
            built, *rest = written([step("raise"), step(block, **FILLED.get(block, {}))], machine, preset, units)
            assert built.problems == ()
            judge(built, *rest)


@pytest.mark.parametrize("block", [block for block in REGISTRY if block not in (*HOMES, "own-lines", "set-work-zero")])
@settings(deadline=None, max_examples=15)
@given(data=st.data())
def test_whatever_values_a_block_is_given_it_reads_back_as_it_was_meant(block, data):
    machine, preset, units = (data.draw(st.sampled_from(list(each))) for each in (MACHINES, CONTROLLERS, RESTING))
    built, *rest = written([step("raise"), data.draw(steps_of(block))], machine, preset, units)
    assume(built.problems == ())
    judge(built, *rest)


@settings(deadline=None, max_examples=40)
@given(data=st.data())
def test_several_steps_one_after_another_read_back_as_they_were_meant(data):
    machine, preset, units = (data.draw(st.sampled_from(list(each))) for each in (MACHINES, CONTROLLERS, RESTING))
    last = st.sampled_from([block for block in REGISTRY if block not in (*HOMES, "own-lines", "set-work-zero")])
    before = st.sampled_from([block for block in REGISTRY if block not in (*HOMES, "own-lines", *MOVE_ZEROS)])
    steps = [data.draw(steps_of(block)) for block in [*data.draw(st.lists(before, max_size=4)), data.draw(last)]]
    built, *rest = written(steps, machine, preset, units)
    judge(built, *rest)


@pytest.mark.parametrize("preset", CONTROLLERS)
def test_homing_reads_back_as_homing(preset):
    _, _, followed, _ = written([step("home")], "mm", preset, "mm")
    kinds = [event.kind for event in followed.events if event.kind not in ("message", "return")]
    assert kinds == (["homing"] * 2 if "g28-homes" in preset else ["home-afterwards"])
