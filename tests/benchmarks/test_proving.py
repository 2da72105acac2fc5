"""What a proof costs beside sampling."""

from __future__ import annotations

import numpy as np
import pytest

from parser.findings import Severity
from parser.machine import Axis, Box, Controller, Interval, Machine, Setup
from parser.pipeline import examine
from tests.benchmarks.measuring import in_turns, keeps_to, ratio

pytestmark = pytest.mark.long

PLAIN = Controller(percent=False)
TRAVEL = {"x": Interval(0.0, 260.0), "y": Interval(0.0, 150.0), "z": Interval(-90.0, 0.0)}
SAMPLED_STARTS, SAMPLED_POINTS = 10_000, 200
ROUNDS = 15


def machine(keep_outs: int) -> Machine:
    """A mill with that many small keep-outs in a grid over the table."""
    boxes = [
        Box(
            f"K{i}",
            (20.0 + 55 * (i % 4), 15.0 + 40 * (i // 4), -130.0),
            (45.0 + 55 * (i % 4), 35.0 + 40 * (i // 4), -80.0),
        )
        for i in range(keep_outs)
    ]
    axes = tuple(Axis(name, travel, 2400.0, 220.0) for name, travel in TRAVEL.items())
    return Machine("Bench", axes, (Setup("", tuple(boxes)),), nose_radius=30.0, tool_stick_out=40.0, tool_radius=6.0)


def moves(steps: int, low: bool) -> list[dict[str, float]]:
    """Targets of a macro of that many steps; ``low`` crosses the table among the keep-outs now and then."""
    targets = [{"z": -2.0}]
    while len(targets) < steps:
        index = len(targets)
        targets.append({"x": 10.0 + 37 * index % 240, "y": 10.0 + 23 * index % 130})
        if low and index % 10 == 5:
            targets += [{"z": -60.0}, {"x": 10.0 + 11 * index % 240}, {"z": -2.0}]
    return targets[:steps]


def text(targets: list[dict[str, float]]) -> str:
    lines = [" ".join(["G53 G0", *(f"{a.upper()}{v:g}" for a, v in target.items())]) for target in targets]
    return "\n".join(["G21 G90", *lines]) + "\n"


def sample(mill: Machine, targets: list[dict[str, float]]) -> int:
    """The same question asked by sampling: every start, every point of every path, every keep-out, tool and nose."""
    random = np.random.default_rng(1)
    starts = np.column_stack([random.uniform(t.low, t.high, SAMPLED_STARTS) for t in TRAVEL.values()])
    place, hits = starts, 0
    for target in targets:
        end = place.copy()
        for index, axis in enumerate("xyz"):
            if axis in target:
                end[:, index] = target[axis]
        for share in np.linspace(0, 1, SAMPLED_POINTS):
            point = place + share * (end - place)
            for box in mill.setups[0].keep_outs:
                dx = np.maximum(np.maximum(box.low[0] - point[:, 0], point[:, 0] - box.high[0]), 0)
                dy = np.maximum(np.maximum(box.low[1] - point[:, 1], point[:, 1] - box.high[1]), 0)
                near = np.hypot(dx, dy)
                for length, radius in ((40.0, 6.0), (0.0, 30.0)):
                    hits += int(((near < radius) & (point[:, 2] - length < box.high[2])).sum())
        place = end
    return hits


def proving(steps: int, keep_outs: int, low: bool):
    """The work of proving a macro of so many steps among so many keep-outs."""
    mill, program = machine(keep_outs), text(moves(steps, low))
    return lambda _: examine(program, mill, PLAIN)


def test_the_macro_of_the_benchmark_is_refused_where_it_crosses_low_so_that_witnesses_are_sought():
    report = examine(text(moves(30, low=True)), machine(12), PLAIN)
    refused = [finding for finding in report.findings if finding.severity is Severity.REFUSE]
    assert len(refused) > 3
    assert all(finding.witness is not None for finding in refused)
    assert not examine(text(moves(30, low=False)), machine(12), PLAIN).refused


def test_a_proof_costs_less_than_a_hundredth_of_sampling():
    """30 steps and 12 keep-outs; sampling is timed on a tenth of the steps, which both macros begin with."""
    mill, begin = machine(12), moves(30, low=False)[:3]
    assert begin == moves(30, low=True)[:3]
    on_proved, on_refused = "prove a macro that is proved", "prove a macro that is refused"
    proved, refused, sampling = in_turns(
        proving(30, 12, low=False),
        proving(30, 12, low=True),
        lambda _: sample(mill, begin),
        over=[ratio(on_proved, 0, beside=2, scale=10), ratio(on_refused, 1, beside=2, scale=10)],
    )
    keeps_to(on_proved, proved, sampling, scale=10)
    keeps_to(on_refused, refused, sampling, scale=10)


def test_the_cost_grows_no_worse_than_with_steps_times_keep_outs():
    bound = "prove four times the steps among twice the keep-outs"
    works = proving(120, 12, low=False), proving(30, 6, low=False)
    keeps_to(bound, *in_turns(*works, rounds=ROUNDS, over=[ratio(bound)]))
