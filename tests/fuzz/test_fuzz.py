"""Nothing that can be written breaks the reading, the following or the tidying of a text.

The README's command tries 1,000 texts and ``.ci/run`` 5,000; how long they take is a benchmark. A million, by hand,
from the project's folder:

    python -m tests.fuzz.test_fuzz 1000000

prints how many were tried and how long it took, and stops at the first that breaks something, naming its seed. A second
number is the seed to begin with, so that several can share the work.
"""

from __future__ import annotations

import random
import sys
import time

import parsimonious.expressions
import pytest

from parser.language.formatter import tidy
from parser.language.layout import bare, lay_out
from parser.language.reader import read
from parser.language.shapes import shape
from parser.machine import Axis, Interval, Machine, Tool
from parser.motion.interpreter import trace
from tests.bulk import mostly_long
from tests.fuzz.inputs import CONTROLLERS, text
from tests.parser.language.plainly import read_plainly

MACHINE = Machine(
    "Mill", tuple(Axis(name, Interval(-300.0, 300.0), 2400.0, 220.0) for name in "xyz"), tools=(Tool(1, 40.0, 3.0),)
)
BATCHES = 20
PER_BATCH = 250
STEPS_PER_CHARACTER = 60
"""Expressions of the grammar tried for one character; the most that any text has taken is 25."""


def try_one(seed):
    """Put one text to everything; AssertionError or whatever it raises where something is wrong."""
    chance = random.Random(seed)
    written, controller = text(chance), chance.choice(CONTROLLERS)
    program = read(written, controller)
    assert program == read_plainly(written, controller), "the lines differ from those read one by one"
    reported = {trouble.line for trouble in program.troubles if trouble.rule == "unreadable-line"}
    sheets = {bare(line) for line in (*controller.homing, controller.pause, controller.settle)} - {""}
    unread = {line.number for line in program.lines if not line.readable and bare(line.text) not in sheets}
    assert unread == reported, "a line is neither understood nor reported"
    for skipping in (False, True):
        trace(program, MACHINE, controller, block_delete=skipping)
    once = tidy(written, controller)
    assert tidy(once, controller) == once, "tidying twice differs from tidying once"


@pytest.mark.parametrize("batch", mostly_long(range(BATCHES), keep=4))
def test_no_text_breaks_anything(batch):
    for seed in range(batch * PER_BATCH, (batch + 1) * PER_BATCH):
        try:
            try_one(seed)
        except Exception as error:
            raise AssertionError(f"seed {seed}") from error


@pytest.fixture
def steps(monkeypatch):
    """Counts how often an expression of the grammar is tried."""
    count = [0]
    tried = parsimonious.expressions.Expression.match_core

    def counted(self, *given):
        count[0] += 1
        return tried(self, *given)

    monkeypatch.setattr(parsimonious.expressions.Expression, "match_core", counted)
    return count


HARD_TO_PARSE = [
    *["X" + "[" * 30 + "1" + "]" * 30, "X" + "#" * 30 + "1", "X" + "SIN[" * 30 + "1" + "]" * 30, "X" + "ATAN[" * 31],
    *["X[" + "1+" * 250 + "1]", "X[" + "1**" * 250, "(" * 500, "(MSG," * 100, "G1" * 500, "X#1=" * 100, ";" * 500],
    *["X[1" + "XOR[1" * 30, "#1=[" * 31, "/" * 500, "N" * 500, "-" * 500, "X" + "." * 500, "X" + "1" * 500 + "("],
]


@pytest.mark.parametrize("line", HARD_TO_PARSE, ids=[line[:12] for line in HARD_TO_PARSE])
def test_the_steps_to_parse_a_line_grow_no_faster_than_its_length(steps, line):
    shape(lay_out(line))
    assert steps[0] <= STEPS_PER_CHARACTER * (len(line) + 1)


def test_the_steps_to_parse_any_text_grow_no_faster_than_its_length(steps):
    for seed in range(500):
        for line in text(random.Random(seed)).split("\n"):
            steps[0] = 0
            shape(lay_out(line))
            assert steps[0] <= STEPS_PER_CHARACTER * (len(line) + 1), f"seed {seed}"


def main(count, first=BATCHES * PER_BATCH):
    """Try ``count`` texts; those of the tests come before them."""
    begun = time.perf_counter()
    for seed in range(first, first + count):
        try:
            try_one(seed)
        except BaseException:
            print(f"stopped at seed {seed}", flush=True)
            raise
        if (seed - first + 1) % 10_000 == 0:
            print(f"{seed - first + 1} texts, {time.perf_counter() - begun:.0f} s", flush=True)
    print(f"{count} texts tried in {time.perf_counter() - begun:.0f} s, nothing found")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
