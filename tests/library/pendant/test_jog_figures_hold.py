"""The jog figures against the pendant's program itself, on a machine that moves by plane mechanics worked out here.

The program is looked at every millisecond, the figures count on one look in five: so it may be a little faster.
"""

from __future__ import annotations

import math
import re
from collections import deque
from itertools import product

import pytest

from library.documents import bench as bench_of
from library.jog_figures import ANSWER_MS, jog_figures
from library.simulated import Simulated
from tests.bulk import some_of_today
from tests.library.benches import MILL, PENDANT, controller
from tests.library.handled import POSITIONS, WAYS
from tests.library.pendant.compiling import program
from tests.library.pendant.whole import Whole
from tests.library.test_pack import LIFT

pytestmark = pytest.mark.long

SHEET = PENDANT + POSITIONS
ACCELERATION, RATE = {"X": 220.0, "Z": 120.0}, 1000 / 60  # of the mill and of the sheet
BY_SHEET = {name: keys for name, (keys, by_call) in WAYS.items() if not by_call}
PLACES = {"X": 0, "Z": 2}
STEPS = (0.01, 0.1, 1.0)


class Machine(Whole):
    """A whole pendant and a machine that moves: ``moves`` holds the distance of each line and when it is over."""

    def __init__(self, files, sheet):
        self.moves = []
        self.controller = Simulated(sheet, after=ANSWER_MS, takes=self._takes)
        super().__init__(files)

    def wait(self, milliseconds):
        for _ in range(milliseconds):
            self.controller.now = self.now + 1
            super().wait(1)
        return self

    def _takes(self, line):
        found = re.match(r"G91 G1 ([XZ])(-?[\d.]+)", line)
        if not found:
            return 0
        far, acceleration = abs(float(found[2])), ACCELERATION[found[1]]
        if far >= RATE**2 / acceleration:
            return math.ceil(1000 * (far / RATE + RATE / acceleration))
        return math.ceil(1000 * 2 * math.sqrt(far / acceleration))

    def _write(self, _, data, count):
        line = data[:count].decode().rstrip("\n")
        self.sent.append(line)
        self.controller.write(line)
        found = re.match(r"G91 G1 [XZ](-?[\d.]+)", line)
        if found:
            self.moves.append((float(found[1]), self.controller.over_at))

    def _read(self, _):
        for text in self.controller.read():
            self._coming.append((self.now, deque(text.encode() + b"\n")))
        return super()._read(_)

    def turned(self, pace, milliseconds):
        """The wheel turned evenly at so many clicks a second; gives how many clicks that were."""
        done = 0
        for each in range(1, milliseconds + 1):
            due = int(pace * each / 1000)
            self.edges += 4 * (due - done)
            done = due
            self.wait(1)
        return done

    @property
    def distance(self):
        return sum(far for far, _ in self.moves)

    def left(self):
        """What the lines that are not done move."""
        return sum(far for far, over in self.moves if over > self.now)


def documents(way):
    return {"pendant": SHEET + '[slots."4"]\nx1 = "lift"\n', "controller": controller(**BY_SHEET[way]), "lift": LIFT}


def on_axis(way, axis, increment):
    said = documents(way)
    sheet = bench_of(MILL, said["controller"], said["pendant"]).controller_sheet
    return Machine(program(**said), sheet).ready(PLACES[axis], increment)


def figures(way):
    said = documents(way)
    return {(each.axis.upper(), each.step): each for each in jog_figures(bench_of(MILL, said["controller"], SHEET))}


@pytest.mark.parametrize(("way", "axis", "increment"), some_of_today([*product(BY_SHEET, PLACES, range(3))], 2, 10))
def test_the_program_carries_out_what_the_figures_say(way, axis, increment):
    said = figures(way)[axis, STEPS[increment]]
    on = on_axis(way, axis, increment)
    on.turned(100, 1000)
    before = on.distance
    on.turned(100, 4000)
    carried = (on.distance - before) / 4
    assert 0.96 * said.turned - said.step / 4 <= carried <= 1.1 * said.turned + said.step
    slow = on_axis(way, axis, increment)
    clicks = slow.turned(said.keeps_up * 0.97, 3000)
    slow.wait(3000)
    assert slow.distance == pytest.approx(clicks * said.step, abs=1e-6)  # not one is lost
    fast = on_axis(way, axis, increment)
    clicks = fast.turned(said.none_lost * 0.97, 3000)
    fast.wait(3000)
    assert fast.distance == pytest.approx(clicks * said.step, abs=1e-6)
    beyond = on_axis(way, axis, increment)
    clicks = beyond.turned(said.none_lost * 1.25, 4000)
    assert beyond.wait(3000).distance < clicks * said.step - said.step / 2


@pytest.mark.parametrize(("way", "increment"), some_of_today([*product(BY_SHEET, range(3))], 1, 5))
def test_it_runs_on_no_farther_than_the_figures_say(way, increment):
    said = figures(way)["X", STEPS[increment]]
    farthest = longest = 0.0
    for stopped in range(1500, 2300, 67):
        on = on_axis(way, "X", increment)
        on.turned(100, stopped)
        left, before, at = on.left(), on.distance, on.now
        on.wait(2500)
        farthest = max(farthest, left + on.distance - before)
        longest = max(longest, (on.moves[-1][1] - at) / 1000)
    assert farthest <= said.runs_on + 3 * min(said.step, 0.1)  # the figures look every five milliseconds
    assert farthest >= 0.6 * said.runs_on - said.step
    assert longest <= said.seconds + 0.3
