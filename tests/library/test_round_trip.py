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
from parser.motion.places import Afloat, bounds
from tests.library.benches import ONE_ZERO, ROUTER, bench, macro, step

HOMES = ("home",)
"""Blocks after which nobody knows where the machine is."""

FILLED = {
    "go-to": {"z": "safe.z"},
    "own-lines": {"lines": "G17"},
    "run-macro": {"macro": "lift"},
    "set-work-zero": {"system": "G55", "z": "-40 mm"},
}
"""Values of blocks that cannot be written as they come."""

RESTING = {"mm": "G17 G21 G40 G80 G90 G94", "inch": "G17 G20 G40 G49 G54 G80 G90 G94"}


@dataclass(frozen=True)
class Meant:
    """What one call of the writer is to do: its line (from 1), the kind, places by axis in mm, feed, seconds."""

    line: int
    kind: str
    places: dict[str, float]
    relative: bool = False
    feed: float | None = None
    seconds: float = 0.0


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

    def work_move(self, system, targets):
        super().work_move(system, targets)
        origin = self._bench.machine.setups[0].origins[system].axes
        self._note("rapid", {axis: at + origin[axis].low for axis, at in targets.items()})

    def relative_move(self, by, feed=None):
        super().relative_move(by, feed)
        self._note("rapid" if feed is None else "feed", dict(by), relative=True, feed=feed, back=1)

    def probe_down(self, system, depth, feed):
        super().probe_down(system, depth, feed)
        self._note("probe", {"z": -depth}, relative=True, feed=feed, back=1)

    def dwell(self, seconds):
        before = len(self.lines)
        super().dwell(seconds)
        if len(self.lines) > before:
            self._note("dwell", {}, seconds=seconds)

    def back_to(self, mark):
        super().back_to(mark)
        self.meant = [each for each in self.meant if each.line <= mark.lines]

    def _note(self, kind, places, *, relative=False, feed=None, seconds=0.0, back=0):
        self.meant.append(Meant(len(self.lines) - back, kind, places, relative, feed, seconds))


@pytest.fixture(autouse=True)
def recorded(monkeypatch):
    monkeypatch.setattr(library.build, "Writer", Recorder)


OTHER_ZEROS = "".join(f'[work."{system}"]\nx = -3.0\ny = 5.0\nz = -2.5\n' for system in SYSTEMS[1:])
MACHINES = {"mm": ONE_ZERO + OTHER_ZEROS, "inch": ROUTER + OTHER_ZEROS}
DEPARTURES = [name for name in PRESETS if name not in ("as-published", "dwell-s-word")]
CONTROLLERS = [*PRESETS, *("+".join(pair) for pair in combinations(DEPARTURES, 2)), "+".join(DEPARTURES)]


def on(machine: str, preset: str, units: str) -> Bench:
    plain = bench(MACHINES[machine], preset)
    sheet = plain.controller_sheet.model_copy(update={"resting": RESTING[units]})
    return Bench.of(plain.machine_sheet, sheet, plain.pendant, plain.shelf)


def values_of(parameter):
    """Values a step may give a parameter."""
    if parameter.kind == "flag":
        return st.booleans()
    if parameter.kind == "choice":
        return st.sampled_from(parameter.choices)
    if parameter.name == "macro":
        return st.just("lift")
    if parameter.kind in ("text", "lines"):
        return st.just(parameter.default or "G17")
    number = {
        "length": st.floats(-60.0, 60.0).map(lambda value: f"{value:.6f} mm"),
        "rate": st.floats(20.0, 2000.0).map(lambda value: f"{value:.6f} mm/min"),
        "time": st.floats(0.01, 100.0).map(lambda value: f"{value:.6f} s"),
        "count": st.integers(1, 4).map(str),
    }[parameter.kind]
    blank = [st.just("")] if parameter.blank else []
    return st.one_of(st.just(parameter.default), number, *blank)


def steps_of(block):
    values = {each.name: values_of(each) for each in REGISTRY[block].parameters}
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
    place = {axis: bounds(at).middle for axis, at in followed.start.items()}
    for each in meant:
        moves = by_line.pop(each.line, [])
        assert len(moves) <= 1, built.text
        goes = {axis: at + place[axis] if each.relative else at for axis, at in each.places.items()}
        far = any(abs(at - place[axis]) > near for axis, at in goes.items())
        assert moves or (not far and each.kind != "dwell"), (each, built.text)
        for move in moves:
            assert move.kind == each.kind, (each, built.text)
            assert move.seconds == pytest.approx(each.seconds, abs=1.001e-3)
            if each.feed is not None:
                assert move.feed == pytest.approx(each.feed, abs=near)
            for axis, end in move.end.items():
                if each.kind == "probe" and axis == "z":
                    down = bounds(end)
                    assert (down.low, down.high) == pytest.approx((goes["z"], place["z"]), abs=near)
                elif axis in goes and each.kind != "dwell":
                    assert end == pytest.approx(goes[axis], abs=near), (each, built.text)
                else:
                    assert end == move.start[axis], (each, built.text)
            place |= {axis: at for axis, at in move.end.items() if not isinstance(at, Afloat)}
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
    names = st.sampled_from([block for block in REGISTRY if block not in (*HOMES, "own-lines", "set-work-zero")])
    steps = [data.draw(steps_of(block)) for block in data.draw(st.lists(names, min_size=1, max_size=5))]
    built, *rest = written(steps, machine, preset, units)
    judge(built, *rest)


@pytest.mark.parametrize("preset", CONTROLLERS)
def test_homing_reads_back_as_homing(preset):
    _, _, followed, _ = written([step("home")], "mm", preset, "mm")
    kinds = [event.kind for event in followed.events if event.kind not in ("message", "return")]
    assert kinds == (["homing"] * 2 if "g28-homes" in preset else ["home-afterwards"])
