"""What a finding is about is marked in the text, on the terminal and on the bench."""

from pathlib import Path

import pytest

import parser
from library import documents, macros
from parser.machine import Axis, Controller, Interval, Machine
from parser.quantities import Figures
from tests.webapp.test_bench import BENCH
from tests.workshops import keep
from webapp import create_app
from webapp.cli.terminal import report_text
from webapp.pages.bench import line_rows

MACHINE = Machine("Mill", tuple(Axis(name, Interval(-300.0, 300.0), 2400.0, 220.0) for name in "xyz"))


def report(text):
    return parser.examine(text, MACHINE, Controller(percent=False))


def under(text, word):
    """The characters that stand above the signs, in the report of a text, below the line that holds ``word``."""
    rows = report_text("a.nc", report(text), Figures()).split("\n")
    at = next(number for number, row in enumerate(rows) if "^" in row and word in rows[number - 1])
    signs = rows[at]
    return rows[at - 1][signs.index("^") : signs.rindex("^") + 1]


@pytest.mark.parametrize(
    ("line", "marked"),
    [("G21 X?? Y1", "??"), ("G21 G5.4 (turn)", "G5.4"), ("(a" + "b" * 200 + ") G21 E5 M5" + " " * 90, "E")],
)
def test_the_terminal_sets_signs_below_the_offending_characters(line, marked):
    assert under(f"M5\n{line}", marked) == marked


def test_a_sign_stands_behind_a_line_that_ends_too_early():
    rows = report_text("a.nc", report("G21 X"), Figures()).split("\n")
    at = next(number for number, row in enumerate(rows) if row.strip() == "^")
    assert rows[at].index("^") == rows[at - 1].rindex("X") + 1


def test_characters_that_do_not_print_do_not_reach_the_terminal():
    assert "\x1b" not in report_text("a.nc", report("G21\x1b[2J X1"), Figures())


@pytest.mark.parametrize(
    ("line", "pieces"),
    [
        ("G21 X?? Y1", (("G21 X", False), ("??", True), (" Y1", False))),
        ("G21", (("G21", False),)),
        ("G21 X", (("G21 X", False), ("", True), ("", False))),
    ],
)
def test_a_line_is_taken_apart_round_what_is_wrong(line, pieces):
    assert line_rows(report(f"{line}\nM2"))[0].pieces == pieces


def test_the_bench_marks_them_too(tmp_path: Path):
    app = create_app(tmp_path / "workshop")
    shop = app.extensions["workshop"]
    text = macros.add_step(shop.text("macro", "present-part"), "own-lines", {"lines": "G21 X<? Y1"})
    assert documents.parse("macro", text)
    keep(shop, "macro", "present-part", text, "")
    assert "<code>G21 X<mark>&lt;?</mark> Y1</code>" in app.test_client().get(BENCH).text
