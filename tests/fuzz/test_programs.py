"""Every program gets an answer in time: read, put in order and examined, whatever stands in it.

``.ci/run`` tries a share, seeded by the day. By hand, from the project's folder:

    python -m tests.fuzz.test_programs 20000

A second number is the seed to begin with.
"""

from __future__ import annotations

import random
import sys
import time

import pytest

from parser.language.formatter import tidy
from parser.language.reader import read
from parser.machine import Box, Controller, Setup
from parser.pipeline import examine
from parser.question import Question
from tests.bulk import mostly_long
from tests.deadline import within
from tests.fuzz.inputs import CONTROLLERS, text
from tests.fuzz.seeds import seed_of_today
from tests.parser.scene import MILL, mill

BATCHES, PER_BATCH = 2, 8
DEADLINE = 60.0
"""Processor seconds for one program: what a check may take at its limits."""

ROUND = mill(
    setups=(
        Setup("", tuple(Box(f"C{n}", (20.0 + 40 * n, 30.0, -130.0), (30.0 + 40 * n, 50.0, -70.0)) for n in range(6))),
    )
)
MACHINES = (MILL, MILL, ROUND)


def moving(chance: random.Random) -> str:
    """A program that mostly makes sense and moves a lot: relative moves, arcs, probes and cycles that repeat."""
    lines = ["G21 G90 G17 G94 G40 G49 G80 G54 F200"] if chance.random() < 0.8 else []
    for _ in range(chance.choice((3, 8, 20, 60))):
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
                    f"G99 G81 X{x} Y{y} Z{z} R{z + 5} L{chance.choice((1, 3, 50, 900, 3333))}",
                    f"G98 G83 X{x} Y{y} Z{z} R{z + 20} Q{chance.choice((5, 0.5, 0.01))}",
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


def try_one(seed: int) -> None:
    """Put one program to everything; AssertionError or whatever it raises where something is wrong."""
    chance = random.Random(seed)
    written = moving(chance) if chance.random() < 0.3 else text(chance)
    controller: Controller = chance.choice(CONTROLLERS)
    with within(DEADLINE):
        read(written, controller)
        tidied = tidy(written, controller)
        assert tidy(tidied, controller) == tidied, "putting in order twice differs from once"
        report = examine(written, chance.choice(MACHINES), controller, Question(seek_start=chance.random() < 0.7))
    assert report.verdict in ("proved", "conditional", "accepted", "refused")


@pytest.mark.parametrize("batch", mostly_long(range(BATCHES), keep=0))
def test_every_program_gets_an_answer_in_time(batch):
    seed = seed_of_today() + batch * PER_BATCH
    print(f"seed {seed}")
    for each in range(seed, seed + PER_BATCH):
        try:
            try_one(each)
        except Exception as error:
            raise AssertionError(f"CLICKSTOP_SEED={each}") from error


if __name__ == "__main__":
    count = int(sys.argv[1])
    first = int(sys.argv[2]) if len(sys.argv) > 2 else seed_of_today()
    broken, longest, slowest = 0, 0.0, first
    for each in range(first, first + count):
        begun = time.process_time()
        try:
            try_one(each)
        except Exception as error:
            broken += 1
            print(f"seed {each}: {type(error).__name__}: {str(error)[:200]!r}", flush=True)
        longest, slowest = max((longest, slowest), (time.process_time() - begun, each))
        if (each - first + 1) % 200 == 0:
            print(f"{each - first + 1}: {broken} broken, longest {longest:.1f} s (seed {slowest})", flush=True)
    print(f"{count} programs from seed {first}, {broken} broken, longest {longest:.1f} s (seed {slowest})")
