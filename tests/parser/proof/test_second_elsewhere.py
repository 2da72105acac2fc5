"""The same text given to another solver: it reads it by the standard, and comes to the same answers."""

from __future__ import annotations

import cvc5
import pytest

import parser
from parser.proof.second import solver
from parser.proof.second.questions import Followed, Questions, questions
from parser.proof.second.solver import Answer
from tests.bulk import mostly_long
from tests.parser.proof.solver_scenes import CONTROLLER, Scene, scene
from tests.parser.scene import MILL, controller

MILLISECONDS = 20_000
"""What one question may take at the very most; the slowest takes some tenths of a second."""


def elsewhere(text: str) -> list[str]:
    """The answers of the other solver, in the order of the questions."""
    terms = cvc5.TermManager()
    other = cvc5.Solver(terms)
    other.setOption("incremental", "true")
    other.setOption("tlimit-per", str(MILLISECONDS))
    commands = cvc5.InputParser(other)
    symbols = commands.getSymbolManager()
    commands.setStringInput(cvc5.InputLanguage.SMT_LIB_2_6, text, "questions")
    answers = []
    while not (command := commands.nextCommand()).isNull():
        said = command.invoke(other, symbols).strip()
        assert "error" not in said, said
        answers += [said] if command.getCommandName() == "check-sat" else []
    return answers


def of_scene(made: Scene) -> tuple[Questions, list[list[Answer]]]:
    program = parser.read(made.text, CONTROLLER)
    cases = [
        Followed(setup.name, setup, parser.trace(program, made.machine, CONTROLLER, setup=setup, start=made.start))
        for setup in made.machine.setups
    ]
    made_of = questions(made.machine, cases)
    return made_of, solver.answers(made_of)


def wanted(answers: list[list[Answer]]) -> list[str]:
    """What the text's questions are answered by our solver; one that is met is asked twice."""
    word = {True: "sat", False: "unsat"}
    return [
        word[each]
        for row in answers
        for answer in row
        for each in ((answer.meets,) if answer.meets is False else (answer.meets, answer.by_touch))
    ]


@pytest.mark.parametrize("seed", mostly_long(range(24), 8))
def test_another_solver_comes_to_the_same_answers(seed):
    asked, answers = of_scene(scene(seed))
    in_order = [answer for row in answers for answer in row]
    text = asked.text(["a scene"], [at for at, each in enumerate(in_order, 1) if each.meets is not False])
    assert elsewhere(text) == wanted(answers)


def test_another_solver_reads_names_that_a_sheet_may_well_have():
    """Boxes are called as people call them: quotation marks, bars, other alphabets, twice the same in two setups."""
    low, high = (80.0, 35.0, -130.0), (170.0, 105.0, -80.0)
    boxes = [
        parser.Box(name, low, high) for name in ('The "old" vise', "a|b\\c", "Schraubstock für Ö", "; not a comment")
    ]
    smaller = parser.Box("a|b\\c", low, (100.0, 50.0, -80.0))
    setups = (parser.Setup("One", tuple(boxes)), parser.Setup('Two "|"', (smaller,)))
    mill = parser.Machine("By hand", MILL.axes, setups, tool_stick_out=40.0, tool_radius=6.0)
    text = "G17 G21 G40 G49 G54 G80 G90 G94\nG53 G0 Z-2\nG53 G0 X120 Y70\n"
    question = parser.Question(seek_start=False, second=True)
    report = parser.examine(text, mill, controller(percent=False), question)
    assert report.second.outcome == "agreed"
    assert set(elsewhere(report.second.text)) == {"unsat"}


def test_a_text_is_small_and_says_which_move_and_which_thing():
    text = "G17 G21 G40 G49 G54 G80 G90 G94\nG53 G0 Z-2\nG53 G0 X120 Y70\n"
    question = parser.Question(seek_start=False, second=True)
    report = parser.examine(text, MILL, controller(percent=False), question)
    said = report.second.text
    assert len(said) < 12_000  # our choice: what somebody can still read
    assert '(echo "line 3, X Y")' in said
    assert '(echo "  Vise")' in said
    assert '(echo "  end of X travel")' in said
    assert "(declare-const start.z Real)" in said
