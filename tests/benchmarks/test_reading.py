"""How fast reading and following are, and how much room they take.

Every figure is a ratio of times taken in turns within one run, so that a slow or busy computer changes little; the
garbage collector is left on. Run with ``-s`` to see the figures.
"""

from __future__ import annotations

import gc
import tracemalloc
from collections import defaultdict
from pathlib import Path
from statistics import median
from time import process_time

import pytest
from lark import Lark

from parser.language import reader
from parser.language.layout import lay_out
from parser.language.reader import read
from parser.machine import Axis, Controller, Interval, Machine
from parser.motion.interpreter import trace
from tests.benchmarks.mixed import distinct, mixed, split

LINES = 100_000
ROUNDS = 5
PART = LINES // ROUNDS
CONTROLLER = Controller(percent=False)
MACHINE = Machine("Large mill", tuple(Axis(name, Interval(-1000.0, 1000.0), 2400.0, 220.0) for name in "xyz"))


def seconds(work, *given):
    """Processor time that ``work`` takes, its result kept until the clock has stopped.

    The garbage collector goes through what the work makes, not through what was there before.
    """
    gc.collect()
    gc.freeze()
    begun = process_time()
    result = work(*given)
    taken = process_time() - begun
    gc.unfreeze()
    del result
    return taken


def follow(text):
    program = read(text, CONTROLLER)
    return program, trace(program, MACHINE, CONTROLLER)


def interleaved(contenders):
    """The median time of each contender, all of them taken in turn; each is given the number of the round."""
    times = defaultdict(list)
    for number in range(ROUNDS):
        for name, contender in contenders.items():
            times[name].append(seconds(contender, number))
    print({name: round(median(taken), 3) for name, taken in times.items()})
    return {name: median(taken) for name, taken in times.items()}


@pytest.fixture(scope="module")
def whole():
    """Times of a mixed program of 100,000 lines."""
    text, twice = mixed(LINES), mixed(2 * LINES)
    return interleaved(
        {
            "split": lambda _: split(text),
            "read": lambda _: read(text, CONTROLLER),
            "follow": lambda _: follow(text),
            "follow twice as many": lambda _: follow(twice),
        }
    )


def test_the_program_measured_with_is_understood():
    program, followed = follow(mixed(2_000))
    assert program.troubles == ()
    assert {trouble.rule for trouble in followed.troubles} <= {"arc-does-not-close"}
    assert len(followed.moves) > 1_500


def test_reading_takes_at_most_twice_as_long_as_splitting(whole):
    assert whole["read"] <= 2 * whole["split"]


def test_reading_and_following_take_at_most_ten_times_as_long_as_splitting(whole):
    assert whole["follow"] <= 10 * whole["split"]


def test_twice_as_many_lines_take_hardly_more_than_twice_as_long(whole):
    assert whole["follow twice as many"] <= 2.2 * whole["follow"]


def test_reading_is_eight_times_as_fast_as_a_table_driven_parser_of_the_same_grammar():
    lines = mixed(LINES).split("\n")
    texts = ["\n".join(lines[start : start + PART]) for start in range(0, LINES, PART)]
    laid_out = ["\n".join(lay_out(line).plain for line in text.split("\n")) for text in texts]
    table_driven = Lark(Path(__file__).with_name("line.lark").read_text(encoding="utf-8"), parser="lalr")
    times = interleaved(
        {
            "read": lambda number: read(texts[number], CONTROLLER),
            "table-driven": lambda number: table_driven.parse(laid_out[number]),
        }
    )
    assert times["table-driven"] >= 8 * times["read"]


def test_lines_that_are_all_different_cost_hardly_more_than_parsing_each():
    lines = distinct(LINES)
    texts = ["\n".join(lines[start : start + PART]) for start in range(0, LINES, PART)]
    times = interleaved(
        {
            "plainly": lambda number: reader._read_plainly(texts[number], CONTROLLER),
            "by likeness": lambda number: read(texts[number], CONTROLLER),
        }
    )
    assert times["by likeness"] <= 1.25 * times["plainly"]


def test_a_line_takes_at_most_a_kilobyte_and_a_half():
    count = 20_000
    text = mixed(count)
    follow(text)
    tracemalloc.start()
    try:
        kept = follow(text)
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert len(kept[0].lines) == count
    assert peak <= 1_500 * count
