"""The whole proof against brute force: random machines, keep-outs, tools and macros, simulated by plain arithmetic.

Each macro is made here as a list of actions, and followed here by numpy from thousands of starts with random legal
tools. Nothing that the parser computes is used for that. Where the parser proves, no sample may break a rule; where it
refuses for space, the case it shows must break the rule in this simulation too.

By hand, the long run: ``python -m tests.parser.proof.test_brute_force 2000 100000`` (scenes, starts of each).
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, field

import numpy as np
import pytest

from parser.examining import examine
from parser.machine import Axis, Box, Controller, Interval, Machine, Origin, Setup

SPACE = {"crosses-keep-out", "beyond-travel"}
AXES = "xyz"
STARTS = 100_000
POINTS = 40
ARC_SLACK = 0.002  # mm: what an arc may differ by


@dataclass
class Action:
    """One move: ``to`` machine coordinates, ``by`` a step, ``work`` work coordinates, ``arc`` a relative arc in XY."""

    kind: str
    values: dict[str, float] = field(default_factory=dict)

    def lines(self) -> str:
        words = " ".join(f"{axis.upper()}{value:.3f}" for axis, value in self.values.items() if axis in AXES)
        return {
            "to": f"G53 G0 {words}",
            "by": f"G91 G0 {words}\nG90",
            "work": f"G0 {words}",
            "arc": "G91 {turn} {words} I{i:.6f} J{j:.6f} F900\nG90".format(
                turn=self.turn, words=words, i=self.values.get("i", 0), j=self.values.get("j", 0)
            ),
        }[self.kind]

    @property
    def turn(self) -> str:
        return "G2" if self.values.get("sweep", 0) < 0 else "G3"


def scene(random: np.random.Generator) -> tuple[Machine, list[Action]]:
    """A random machine with one to three keep-outs, and a random macro of one to five moves."""
    travel = {"x": Interval(0.0, 260.0), "y": Interval(0.0, 150.0), "z": Interval(-90.0, 0.0)}
    boxes = []
    for index in range(random.integers(1, 4)):
        x, y = random.uniform(-20, 240), random.uniform(-20, 140)
        top = random.uniform(-130, -10)
        boxes.append(Box(f"K{index}", (x, y, -200.0), (x + random.uniform(2, 120), y + random.uniform(2, 90), top)))
    origins = {}
    for axis in AXES:
        low = random.uniform(travel[axis].low, travel[axis].high)
        origins[axis] = Interval(low, low + (random.uniform(0, 20) if random.random() < 0.4 else 0.0))
    holder = random.random() < 0.4
    machine = Machine(
        "Random",
        tuple(Axis(axis, travel[axis], 2400.0, 200.0) for axis in AXES),
        (Setup("", tuple(boxes), {"G54": Origin(origins)}),),
        nose_radius=random.uniform(5, 40) if random.random() < 0.7 else 0.0,
        holder_radius=random.uniform(5, 20) if holder else 0.0,
        holder_length=random.uniform(5, 30) if holder else 0.0,
        tool_stick_out=random.uniform(5, 60),
        tool_radius=random.uniform(0.5, 20),
        keep_out_margin=random.uniform(0, 3),
    )
    return machine, [_action(random, travel) for _ in range(random.integers(1, 6))]


def _action(random: np.random.Generator, travel: dict[str, Interval]) -> Action:
    kind = random.choice(["to", "to", "to", "by", "work", "arc"])
    if kind == "arc":
        radius, begins, sweep = random.uniform(2, 40), random.uniform(0, 6.28), random.uniform(-6.2, 6.2)
        centre = np.array([-radius * np.cos(begins), -radius * np.sin(begins)])
        end = centre + radius * np.array([np.cos(begins + sweep), np.sin(begins + sweep)])
        step = {"x": round(float(end[0]), 3), "y": round(float(end[1]), 3)}
        if random.random() < 0.3:
            step["z"] = round(random.uniform(-20, 20), 3)
        return Action("arc", step | {"i": float(centre[0]), "j": float(centre[1]), "sweep": float(sweep)})
    chosen = [axis for axis in AXES if random.random() < 0.5] or ["z"]
    span = {
        "to": lambda a: random.uniform(travel[a].low + 1, travel[a].high - 1),
        "by": lambda a: random.uniform(-40, 40),
    }
    value = span.get(kind, lambda a: random.uniform(-30, 30))
    return Action(kind, {axis: round(float(value(axis)), 3) for axis in chosen})


def paths(actions, starts, origin, shares):
    """Points of every move for every start: one array (starts, 3) after another, each with whether it is an arc."""
    at = starts.copy()
    for action in actions:
        end = at.copy()
        for index, axis in enumerate(AXES):
            if axis in action.values:
                value = action.values[axis]
                end[:, index] = {"to": value, "by": at[:, index] + value, "arc": at[:, index] + value}.get(
                    action.kind, origin[:, index] + value
                )
        for share in shares:
            point = at + share * (end - at)
            if action.kind == "arc":
                i, j, sweep = action.values["i"], action.values["j"], action.values["sweep"]
                angle = np.arctan2(-j, -i) + share * sweep
                radius = np.hypot(i, j)
                point[:, 0] = at[:, 0] + i + radius * np.cos(angle)
                point[:, 1] = at[:, 1] + j + radius * np.sin(angle)
            yield point, action.kind == "arc"
        at = end


def plan_distance(at, box, margin):
    dx = np.maximum(np.maximum(box.low[0] - margin - at[:, 0], at[:, 0] - box.high[0] - margin), 0.0)
    dy = np.maximum(np.maximum(box.low[1] - margin - at[:, 1], at[:, 1] - box.high[1] - margin), 0.0)
    return np.hypot(dx, dy)


def bodies_of(machine, tool_length, tool_radius):
    """(length, radius) of everything that hangs on the spindle, arrays or numbers; the tool first."""
    found = [(tool_length, tool_radius)]
    if machine.holder_radius:
        found.append((machine.holder_length, machine.holder_radius))
    if machine.nose_radius:
        found.append((0.0, machine.nose_radius))
    return found


def broken(machine, actions, starts, origin, tool, shares, slack):
    """For each start, whether a keep-out is entered by something that was clear of it, or an axis goes too far out."""
    hit, out = np.zeros(len(starts), bool), np.zeros(len(starts), bool)
    boxes = machine.setups[0].keep_outs
    margin, edge = machine.keep_out_margin, machine.travel_margin
    clear = {}
    for box in boxes:
        for index, (length, radius) in enumerate(bodies_of(machine, *tool)):
            over = starts[:, 2] - length >= box.high[2] + margin
            clear[box.name, index] = over | (plan_distance(starts, box, margin) >= radius)
    for point, arc in paths(actions, starts, origin, shares):
        give = slack + (ARC_SLACK if arc and slack >= 0 else 0.0)
        for box in boxes:
            for index, (length, radius) in enumerate(bodies_of(machine, *tool)):
                inside = (plan_distance(point, box, margin) < radius - give) & (
                    point[:, 2] - length < box.high[2] + margin - give
                )
                hit |= inside & clear[box.name, index]
        for index, axis in enumerate(machine.axes):
            high, low = axis.travel.high - edge, axis.travel.low + edge
            out |= (point[:, index] > high + give) & (point[:, index] > starts[:, index] + give)
            out |= (point[:, index] < low - give) & (point[:, index] < starts[:, index] - give)
    return hit, out


def text_of(actions):
    head = ["G21 G90 G94 G17 G49 G54"] if any(a.kind in ("work", "arc") for a in actions) else ["G21 G90 G94 G17"]
    return "\n".join(head + [action.lines() for action in actions]) + "\n"


def check(seed: int, samples: int) -> str:
    """Prove one random scene and try to break the proof; says what the proof said."""
    random = np.random.default_rng(seed)
    machine, actions = scene(random)
    report = examine(text_of(actions), machine, Controller(percent=False))
    refused = [f for f in report.findings if f.severity.value == "refuse"]
    others = {f.rule for f in refused} - SPACE
    assert not others, (seed, others, text_of(actions))
    starts = np.column_stack([random.uniform(a.travel.low, a.travel.high, samples) for a in machine.axes])
    ranges = machine.setups[0].origins["G54"].axes
    origin = np.column_stack([random.uniform(ranges[a].low, ranges[a].high, samples) for a in AXES])
    shrink = random.uniform(0, 1, (2, samples)) ** random.choice([0.0, 0.3, 1.0])
    tool = (machine.tool_stick_out * shrink[0], machine.tool_radius * shrink[1])
    hit, out = broken(machine, actions, starts, origin, tool, np.linspace(0, 1, POINTS), 1e-5)
    rules = {finding.rule for finding in refused}
    assert "crosses-keep-out" in rules or not hit.any(), (seed, starts[hit][0], text_of(actions))
    assert "beyond-travel" in rules or not out.any(), (seed, starts[out][0], text_of(actions))
    for finding in refused:
        _confirm(machine, actions, finding, ranges, seed)
    _check_safe_start(machine, actions, report, starts, origin, tool)
    return "refused" if rules else "proved"


def _confirm(machine, actions, finding, ranges, seed):
    """The case that a refusal shows breaks the rule here too, for some work origin of those the sheet allows."""
    witness = finding.witness
    start = np.array([[witness.start[axis] for axis in AXES]])
    tool = (machine.tool_stick_out, machine.tool_radius)
    if witness.tool is not None:
        tool = (witness.tool.length, witness.tool.radius)
    steps = 5 if any(action.kind == "work" for action in actions) else 1
    sides = [np.linspace(ranges[a].low, ranges[a].high, steps if ranges[a].length else 1) for a in AXES]
    corners = np.array(np.meshgrid(*sides)).reshape(3, -1).T
    starts = np.repeat(start, len(corners), axis=0)
    coarse = np.linspace(0, 1, 401)
    at = np.array([witness.at[axis] for axis in AXES])
    off = [np.linalg.norm(point - at, axis=1).min() for point, _ in paths(actions, starts, corners, coarse)]
    nearest = coarse[int(np.argmin(off)) % len(coarse)]
    shares = np.concatenate([coarse, np.clip(nearest + np.linspace(-1, 1, 801) / 400, 0, 1)])
    hit, out = broken(machine, actions, starts, corners, tool, shares, -1e-3)
    assert (hit if finding.rule == "crosses-keep-out" else out).any(), (seed, finding, text_of(actions))


def _check_safe_start(machine, actions, report, starts, origin, tool):
    box = report.safe_start.box
    if box is None:
        return
    within = np.all([(starts[:, i] >= box[a].low) & (starts[:, i] <= box[a].high) for i, a in enumerate(AXES)], axis=0)
    if within.any():
        picked = tuple(part[within] for part in tool)
        hit, out = broken(machine, actions, starts[within], origin[within], picked, np.linspace(0, 1, POINTS), 1e-5)
        assert not hit.any()
        assert not out.any()


@pytest.mark.parametrize("seed", range(100))
def test_brute_force_agrees(seed):
    check(seed, STARTS // 40)


@pytest.mark.parametrize("seed", range(3))
def test_brute_force_with_all_its_samples_agrees(seed):
    check(1000 + seed, STARTS)


if __name__ == "__main__":
    scenes, samples = (int(argument) for argument in sys.argv[1:3])
    told = [check(seed, samples) for seed in range(scenes)]
    print({verdict: told.count(verdict) for verdict in sorted(set(told))})
