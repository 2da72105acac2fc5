"""How fast reading and following are, and how much room they take."""

from __future__ import annotations

import tracemalloc
from pathlib import Path

import pytest
from lark import Lark

from parser.language.layout import lay_out
from parser.language.reader import read
from parser.machine import Axis, Controller, Interval, Machine
from parser.motion.interpreter import trace
from tests.benchmarks.measuring import PAIRS, in_turns, keeps_to, ratio
from tests.benchmarks.mixed import distinct, mixed, split
from tests.parser.language.plainly import read_plainly

pytestmark = pytest.mark.long

LINES = 100_000
IN_PARTS = 50_000
CONTROLLER = Controller(percent=False)
MACHINE = Machine("Large mill", tuple(Axis(name, Interval(-1000.0, 1000.0), 2400.0, 220.0) for name in "xyz"))


def follow(text):
    program = read(text, CONTROLLER)
    return program, trace(program, MACHINE, CONTROLLER)


def parts(lines):
    """The lines as one text for each round."""
    size = len(lines) // PAIRS
    return ["\n".join(lines[start : start + size]) for start in range(0, PAIRS * size, size)]


@pytest.fixture(scope="module")
def whole():
    """Times of a mixed program of 100,000 lines: splitting, reading, following, and following twice as many."""
    text, twice = mixed(LINES), mixed(2 * LINES)
    return in_turns(
        lambda _: split(text),
        lambda _: read(text, CONTROLLER),
        lambda _: follow(text),
        lambda _: follow(twice),
        over=[
            ratio("read", 1, beside=0),
            ratio("read and follow", 2, beside=0),
            ratio("read and follow twice as many lines", 3, beside=2),
        ],
    )


def test_the_program_measured_with_is_understood():
    program, followed = follow(mixed(2_000))
    assert program.troubles == ()
    assert {trouble.rule for trouble in followed.troubles} <= {"arc-does-not-close"}
    assert len(followed.moves) > 1_500


def test_reading_takes_at_most_twice_as_long_as_splitting(whole):
    splitting, reading, _, _ = whole
    keeps_to("read", reading, splitting)


def test_reading_and_following_take_at_most_ten_times_as_long_as_splitting(whole):
    splitting, _, following, _ = whole
    keeps_to("read and follow", following, splitting)


def test_twice_as_many_lines_take_hardly_more_than_twice_as_long(whole):
    _, _, following, twice = whole
    keeps_to("read and follow twice as many lines", twice, following)


def test_reading_is_eight_times_as_fast_as_a_table_driven_parser_of_the_same_grammar():
    texts = parts(mixed(IN_PARTS).split("\n"))
    laid_out = ["\n".join(lay_out(line).plain for line in text.split("\n")) for text in texts]
    table_driven = Lark(Path(__file__).with_name("line.lark").read_text(encoding="utf-8"), parser="lalr")
    reading, parsing = in_turns(
        lambda number: read(texts[number], CONTROLLER),
        lambda number: table_driven.parse(laid_out[number]),
        over=[ratio("read beside a table-driven parser")],
    )
    keeps_to("read beside a table-driven parser", reading, parsing)


def test_lines_that_are_all_different_cost_hardly_more_than_parsing_each():
    texts = parts(distinct(IN_PARTS))
    by_likeness, plainly = in_turns(
        lambda number: read(texts[number], CONTROLLER),
        lambda number: read_plainly(texts[number], CONTROLLER),
        over=[ratio("read lines that are all different")],
    )
    keeps_to("read lines that are all different", by_likeness, plainly)


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
