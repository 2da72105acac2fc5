"""Every program gets an answer in time: read, put in order and examined, whatever stands in it.

A hard one is long, with cycles that repeat thousands of times, six boxes and the search for a safe start: it takes a
second in the mean, and some take half a minute. A short one is mostly on a machine without boxes. ``.ci/run`` tries a
share, seeded by the day; by hand one program in 200 is hard. From the project's folder:

    python -m tests.fuzz.test_programs 100000

A second number is the seed to begin with; a third says how many programs there are to a hard one, 1 for all of them
hard. Each that takes over five seconds is named.
"""

from __future__ import annotations

import random
import sys
import time
from collections import Counter
from dataclasses import dataclass

import pytest

from parser.language.formatter import tidy
from parser.language.reader import read
from parser.machine import Box, Controller, Machine, Setup
from parser.pipeline import examine
from parser.question import Question
from tests.bulk import mostly_long
from tests.deadline import within
from tests.fuzz.inputs import CONTROLLERS, text
from tests.fuzz.seeds import seed_of_today
from tests.parser.scene import MILL, mill

BATCHES, PER_BATCH, HARD_ONES = 2, 100, 1
DEADLINE = 60.0
"""Processor seconds for one program: what a check may take at its limits."""

ROUND = mill(
    setups=(
        Setup("", tuple(Box(f"C{n}", (20.0 + 40 * n, 30.0, -130.0), (30.0 + 40 * n, 50.0, -70.0)) for n in range(6))),
    )
)
EMPTY = mill(setups=(Setup("", ()),))


@dataclass(frozen=True, slots=True)
class Drawing:
    """From what the length and the numbers of a program, and what it is asked of, are drawn."""

    lines: tuple[int, ...]
    repeats: tuple[int, ...]
    pecks: tuple[float, ...]
    machines: tuple[Machine, ...]
    seeking: float


HARD = Drawing((3, 8, 20, 60), (1, 3, 50, 900, 3333), (5, 0.5, 0.01), (MILL, MILL, ROUND), seeking=0.7)
SHORT = Drawing((2, 3, 3, 8), (1, 3, 50), (5, 0.5), (*[EMPTY] * 6, MILL), seeking=0.05)

ONE_IN, SLOW = 200, 5.0
"""By hand: how many programs there are to a hard one, and the processor seconds from which on one is named."""


def moving(chance: random.Random, drawing: Drawing) -> str:
    """A program that mostly makes sense and moves a lot: relative moves, arcs, probes and cycles that repeat."""
    lines = ["G21 G90 G17 G94 G40 G49 G80 G54 F200"] if chance.random() < 0.8 else []
    for _ in range(chance.choice(drawing.lines)):
        x, y, z, r = (round(chance.uniform(-60.0, 60.0), chance.choice((0, 1, 3))) for _ in range(4))
        lines.append(
            chance.choice(
                (
                    f"G0 X{x} Y{y}",
                    f"G1 Z{z}",
                    f"G53 G0 Z{-abs(z)}",
                    f"G53 G0 X{abs(x)} Y{abs(y)}",
                    "G91",
                    "G90",
                    f"G2 X{x} Y{y} R{abs(r) + 30}",
                    f"G3 X{x} Y{y} I{r} J{-r} Z{z}",
                    f"G38.2 Z{z}",
                    f"G99 G81 X{x} Y{y} Z{z} R{z + 5} L{chance.choice(drawing.repeats)}",
                    f"G98 G83 X{x} Y{y} Z{z} R{z + 20} Q{chance.choice(drawing.pecks)}",
                    "G80",
                    f"G92 X{x}",
                    "M3 S1000",
                    "M0",
                    "G28 Z0",
                    f"#1={x} X#1",
                    f"/G0 X{x}",
                )
            )
        )
    return "\n".join(lines) + "\n"


def try_one(seed: int, drawing: Drawing = HARD) -> str:
    """Put one program to everything; its verdict. AssertionError or whatever it raises where something is wrong."""
    chance = random.Random(seed)
    written = moving(chance, drawing) if chance.random() < 0.3 else text(chance)
    controller: Controller = chance.choice(CONTROLLERS)
    with within(DEADLINE):
        read(written, controller)
        tidied = tidy(written, controller)
        assert tidy(tidied, controller) == tidied, "putting in order twice differs from once"
        question = Question(seek_start=chance.random() < drawing.seeking)
        report = examine(written, chance.choice(drawing.machines), controller, question)
    assert report.verdict in ("proved", "conditional", "accepted", "refused")
    return report.verdict


@pytest.mark.parametrize("batch", mostly_long(range(BATCHES), keep=0))
def test_every_program_gets_an_answer_in_time(batch):
    seed = seed_of_today() + batch * PER_BATCH
    print(f"seed {seed}")
    for each in range(seed, seed + PER_BATCH):
        try:
            try_one(each, HARD if each < seed + HARD_ONES else SHORT)
        except Exception as error:
            raise AssertionError(f"CLICKSTOP_SEED={each}") from error


def main(count: int, first: int, one_in: int = ONE_IN) -> None:
    """Try so many, and say of the hard and of the short ones how many there were and how long they took."""
    broken, slow = 0, 0
    tried: dict[str, list[float]] = {"hard": [], "short": []}
    verdicts: Counter[str] = Counter()
    for each in range(first, first + count):
        kind, drawing = ("short", SHORT) if each % one_in else ("hard", HARD)
        begun = time.process_time()
        try:
            verdicts[try_one(each, drawing)] += 1
        except Exception as error:
            broken += 1
            print(f"seed {each}, {kind}: {type(error).__name__}: {str(error)[:200]!r}", flush=True)
        tried[kind].append(time.process_time() - begun)
        if tried[kind][-1] > SLOW:
            slow += 1
            print(f"seed {each}, {kind}: {tried[kind][-1]:.1f} s", flush=True)
        if (each - first + 1) % 1000 == 0:
            print(f"{each - first + 1}: {broken} broken, {slow} slow", flush=True)
    for kind, seconds in tried.items():
        if seconds:
            mean = sum(seconds) / len(seconds)
            print(f"{len(seconds)} {kind}: {mean:.3f} s in the mean, {max(seconds):.1f} s at most")
    print(f"{count} programs from seed {first}, {broken} broken, {slow} over {SLOW:g} s: {dict(verdicts)}")


if __name__ == "__main__":
    given = [int(each) for each in sys.argv[1:]]
    main(given[0], *(given[1:] or [seed_of_today()]))
