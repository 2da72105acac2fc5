"""What may be wrong with a line: every name of the table is told somewhere, and told with what its words need."""

import ast
from pathlib import Path
from string import Formatter

import pytest

from parser.motion import faults
from parser.motion.faults import WORDED, fault
from parser.proof.rules import RULES

TELLS = {"fault", "unusable", "told", "blame", "blame_place", "_miss_ending"}


def places(*texts):
    return {name.split(":")[0] for text in texts for _, name, _, _ in Formatter().parse(text) if name}


def tellings():
    """(name, the values it is told with) wherever the source tells a fault by a name that stands there."""
    for path in sorted(Path(faults.__file__).parent.glob("*.py")):
        for call in (each for each in ast.walk(ast.parse(path.read_text())) if isinstance(each, ast.Call)):
            called = call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")
            names = [each.value for each in call.args if isinstance(each, ast.Constant) and isinstance(each.value, str)]
            if called in TELLS and names:
                yield names[0], {each.arg for each in call.keywords}


TOLD = list(tellings())


def test_every_fault_is_told_somewhere_and_no_other():
    assert {name for name, _ in TOLD} == set(WORDED)


@pytest.mark.parametrize(("name", "values"), TOLD, ids=[name for name, _ in TOLD])
def test_a_fault_is_told_with_the_values_that_its_words_have(name, values):
    assert values == places(*WORDED[name][1:])


@pytest.mark.parametrize("name", WORDED)
def test_a_fault_belongs_to_a_rule_and_says_what_to_do(name):
    rule, message, remedy = WORDED[name]
    assert rule in RULES
    assert message
    assert remedy.endswith((".", "}"))


def test_a_fault_with_a_value_reads_as_it_should():
    made = fault(2, "negative feed", value=-100.0)
    assert (made.index, made.rule) == (2, "word-out-of-range")
    assert made.message == "A feed rate cannot be negative, and F is -100."
