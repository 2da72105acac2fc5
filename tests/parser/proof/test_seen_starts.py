"""What is seen from many starts at once, against the proof itself; and the largest box between the bad places."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from parser.language.reader import read
from parser.machine import Interval
from parser.pipeline import evidence, prove
from parser.proof import sampling
from parser.proof.contact import bodies, enclosure, keep_out
from parser.proof.grids import GridLine, largest
from parser.proof.sampling import StartSamples
from parser.proof.standing import _places, _stands_in, possible
from parser.question import Question
from tests.bulk import of_today
from tests.parser.proof.scenes.families import scene
from tests.parser.proof.trial.scenes import family_of

SCENES = of_today(range(66), 22)
POINT = 1e-7
"""mm: a box so short is a single start."""


def refusals(made):
    program = read(made.text, made.controller)
    found = evidence(program, made.machine, made.controller, Question(start=made.start))
    return [breaks for each in found for result in prove(each) for breaks in result.breaks]


@pytest.mark.long
def test_a_start_that_is_seen_to_be_bad_is_refused_by_the_proof():
    """What is seen errs only by not seeing: where it marks a start, some refusal holds from there."""
    marked = looked_at = 0
    for seed in SCENES:
        made = scene(family_of(seed), np.random.default_rng(seed))
        asked = [] if made.before else refusals(made)
        samples = StartSamples(asked, made.start, 33)
        if not asked or not samples.complete:
            continue
        random = np.random.default_rng(seed)
        lines = {axis: np.sort(random.uniform(side.low, side.high, 4)) for axis, side in made.start.items()}
        bad = samples.bad(lines)
        looked_at += bad.size
        for index in map(tuple, np.argwhere(bad)[:: max(1, int(bad.sum()) // 8)].tolist()):
            at = {axis: float(lines[axis][index[number]]) for number, axis in enumerate("xyz")}
            alone = {axis: Interval(value, value + POINT) for axis, value in at.items()}
            assert any(breaks(alone, 1e-3) for breaks in asked), (seed, at)
            marked += 1
    assert marked > 8
    assert looked_at > 150


def brute_force(bad, lines):
    best = 0.0
    ends = [
        [
            (first, last)
            for first in range(line.lows)
            for last in range(len(line.places) - line.highs, len(line.places))
            if first <= last
        ]
        for line in lines
    ]
    for box in product(*ends):
        if not bad[tuple(slice(first, last + 1) for first, last in box)].any():
            best = max(best, kept(box, lines))
    return best


def kept(box, lines):
    reaches = [line.reach for line in lines]
    return np.prod(
        [
            float(line.lengths(low[first], high[last]))
            for line, (low, high), (first, last) in zip(lines, reaches, box, strict=True)
        ]
    )


@pytest.mark.parametrize("seed", range(40))
def test_no_box_between_the_bad_places_is_larger(seed):
    random = np.random.default_rng(seed)
    numbers = [int(number) for number in random.integers(1, 6, 3)]
    bad = random.random(numbers) < random.choice([0.05, 0.2, 0.5])
    lines = [
        GridLine(
            np.sort(random.uniform(0.0, 10.0, number)),
            Interval(-1.0, 12.0),
            Interval(0.0, 9.0),
            *(int(each) for each in random.integers(1, number + 1, 2)),
        )
        for number in numbers
    ]
    found = next(largest(bad, lines, 1, 1), None)
    assert (kept(found, lines) if found else 0.0) == pytest.approx(brute_force(bad, lines))


def test_where_the_machine_can_stand_is_the_same_asked_at_once_or_one_by_one():
    random, answers = np.random.default_rng(3), set()
    for seed in range(44):
        made = scene(family_of(seed), random)
        machine = made.machine
        box = {}
        for axis, side in made.start.items():
            low = side.low + random.random() * side.length * 0.9
            box[axis] = Interval(low, low + random.random() ** 3 * (side.high - low))
        sides = [_places(box[axis]) for axis in "zyx"]
        drawn = [
            [
                *(keep_out(each, machine) for each in setup.keep_outs),
                *(enclosure(e, machine) for e in machine.enclosures),
            ]
            for setup in machine.setups
        ]
        one_by_one = any(
            not any(_stands_in(body, obstacle, (x, y, z)) for obstacle in obstacles for body in bodies(machine))
            for z, y, x in product(*sides)
            for obstacles in drawn
        )
        assert possible(machine, box) == one_by_one
        answers.add(one_by_one)
    assert answers == {True, False}


def test_many_moves_are_looked_at_a_few_at_once_and_the_same_starts_are_seen_to_be_bad(monkeypatch):
    made = next(each for each in (scene(family_of(n), np.random.default_rng(n)) for n in range(66)) if asked_of(each))
    lines = {axis: np.linspace(side.low, side.high, 7) for axis, side in made.start.items()}
    together = StartSamples(asked_of(made), made.start, 33).bad(lines)
    monkeypatch.setattr(sampling, "AT_ONCE", 1)
    apart = StartSamples(asked_of(made), made.start, 33)
    assert all(len(group.x.tie) <= 80 for group in apart._groups)
    assert (apart.bad(lines) == together).all()
    assert together.any()


def asked_of(made):
    return [] if made.before else refusals(made)
