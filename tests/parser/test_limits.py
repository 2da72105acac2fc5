"""Every limit of a program is met before time is spent on it, and told with its name and its place."""

from __future__ import annotations

import pytest

from parser import limits
from parser.language.reader import read
from parser.machine import Box, Setup
from parser.motion.interpreter import trace
from parser.pipeline import NOT_TO_THE_END, examine
from parser.proof import effort
from parser.question import Question
from tests.bulk import in_turn
from tests.deadline import within
from tests.parser.scene import MILL, controller, mill

MODES = "G21 G90 G17 G94 G40 G49 G80 G54\n"
HEAD = MODES + "G53 G0 Z-2 F100\n"
PLAIN = controller(percent=False)
SOON = 10.0
"""Seconds of processor time; each of these took from fifteen to any number before there were limits."""


def over(text, machine=MILL, **asked):
    """The findings on what is over a limit, and all of the report."""
    with within(SOON):
        report = examine(text, machine, PLAIN, Question(**asked))
    return [finding for finding in report.findings if finding.rule == limits.RULE], report


@pytest.mark.parametrize("allowed", limits.PROGRAM, ids=str)
def test_a_limit_says_what_it_is_of_how_much_there_may_be_and_why(allowed):
    assert allowed.of
    assert allowed.unit
    assert allowed.why
    assert str(allowed) == f"{allowed.most:,} {allowed.unit}"


def test_a_program_of_too_many_lines_is_not_read():
    (found,), report = over("G4 P1\n" * (limits.PROGRAM_LINES.most + 1))
    assert "more than 20,000 lines" in found.message
    assert report.refused
    assert report.program.lines == ()


def test_one_line_less_is_read():
    assert read("G4 P1\n" * limits.PROGRAM_LINES.most).lines
    found, _ = over("\n" * limits.PROGRAM_LINES.most)
    assert found == []


def test_a_program_of_too_many_bytes_is_not_read():
    (found,), _ = over(("(" + "x" * 1000 + ")\n") * 2000)
    assert "more than 2,000,000 bytes" in found.message


@pytest.mark.parametrize(
    "line",
    ["(" * 1_000_000, "G0 " + "X1" * 500_000, "X" + "[" * 1_000_000, "X" + "9" * 1_000_000, "(" * 100_000],
    ids=["parentheses", "words", "brackets", "digits", "a tenth of the parentheses"],
)
def test_a_line_over_its_length_costs_nothing(line):
    with within(SOON / 5):
        troubles = read(line, PLAIN).troubles
        trace(read(line, PLAIN), MILL, PLAIN)
    assert any("more than 10000 characters" in trouble.message for trouble in troubles)


def test_a_line_of_open_parentheses_within_its_length_costs_little():
    text = ("(" * 9_990 + "\n") * 190
    with within(SOON):
        trace(read(text, PLAIN), MILL, PLAIN)


def test_a_canned_cycle_is_counted_before_it_is_spelled_out():
    (found,), report = over(HEAD + "G0 Z-2\nG99 G83 X10 Y10 Z-90 R1 Q0.05 L4\nG53 G0 Z-2\n")
    assert found.line == 4
    assert "more than 20,000 moves" in found.message
    assert len(report.trace.moves) < 10


@pytest.mark.long
@in_turn(0, 3)
def test_cycles_that_are_each_within_the_limit_add_up_to_it():
    (found,), report = over(HEAD + "G0 Z-2\n" + "G99 G81 X10 Y10 Z-5 R1 L900\n" * 20, seek_start=False)
    assert found.line is not None
    assert found.line < 15
    assert len(report.trace.moves) <= limits.MOVES.most


def test_plain_moves_add_up_to_it_too():
    program = read(HEAD + "G53 G0 X10 Y10\nG53 G0 X20 Y20\n" * 9_000 + "G99 G81 X10 Y10 Z-5 R1 L999\n" * 20)
    followed = trace(program, MILL, PLAIN)
    (trouble,) = [each for each in followed.troubles if each.rule == limits.RULE]
    assert trouble.line is not None
    assert len(followed.moves) <= limits.MOVES.most


def test_moves_and_boxes_multiply_to_a_refusal_and_never_to_proved(monkeypatch):
    many = mill(setups=(Setup("", tuple(Box(f"B{i}", (i, 5.0, -130.0), (i + 0.5, 6.0, -120.0)) for i in range(50))),))
    text = HEAD + "G53 G0 X10 Y10\nG53 G0 X20 Y20\n" * 20
    assert over(text, many)[0] == []
    monkeypatch.setattr("parser.pipeline.COMPARISONS", limits.Allowance("a check", 2_000, "comparisons", "-"))
    (found,), report = over(text, many)
    assert "nothing is proved" in found.message
    assert report.verdict == "refused"
    assert report.safe_start.box is None


def test_a_safe_start_that_takes_too_long_is_said_not_to_have_been_sought_to_the_end(monkeypatch):
    text = MODES + "G53 G0 X10 Y10\nG53 G0 X120 Y70\n" * 5
    assert over(text)[1].safe_start.box is not None
    monkeypatch.setattr("parser.pipeline.SEEKING", limits.Allowance("seeking", 50, "comparisons", "-"))
    report = over(text)[1]
    assert report.safe_start == NOT_TO_THE_END
    assert report.refused


def test_a_fault_on_every_line_of_the_longest_program_is_told_of_each_and_costs_little():
    _, report = over("G0 X1 X1\n" * limits.PROGRAM_LINES.most, seek_start=False)
    told = [finding.line for finding in report.findings if finding.rule == "repeated-word"]
    assert told == list(range(1, limits.PROGRAM_LINES.most + 1))


@pytest.mark.long
@in_turn(1, 3)
def test_of_a_line_with_thousands_of_faults_only_the_first_few_are_told():
    _, report = over(("G0 " + "X1" * 4_990 + "\n") * 190, seek_start=False)
    assert sum(finding.line == 1 and finding.rule == "repeated-word" for finding in report.findings) == 8
    assert report.refused


@pytest.mark.long
@in_turn(2, 3)
def test_relative_moves_by_the_thousand_are_answered():
    text = HEAD + "G91\n" + "".join(f"G0 X{(-1) ** i * 0.1 * (i % 7 + 1):.1f} Y0.1\n" for i in range(1500)) + "G90\n"
    with within(60.0):
        report = examine(text, MILL, PLAIN)
    assert report.refused


def test_an_inner_count_takes_from_the_outer_one():
    with effort.limited(10) as outer:
        with effort.limited(6):
            effort.spend(5)
        assert outer.left == 5
        with pytest.raises(effort.TooMuchError), effort.limited(100):
            effort.spend(6)
    effort.spend(1_000_000)  # nothing is in force
