"""What is said of an unreadable line: every text of the table is told, and says what to do."""

import inspect

import pytest

from parser.language import complaints
from parser.language.shapes import GRAMMAR
from parser.wording import texts

TEXTS = texts("parser.language", "complaints.txt")
SOURCE = inspect.getsource(complaints)
CHOSEN = {f"stray {sign}" for sign in ")%N/"} | {"comment not in parentheses", "comment not after a semicolon"}
LIMITS = {"fewer levels", "fewer operations"}


@pytest.mark.parametrize("name", TEXTS)
def test_every_text_is_told_somewhere_and_says_what_to_do(name):
    assert name in GRAMMAR or name in CHOSEN | LIMITS or f'"{name}"' in SOURCE
    _, remedy = TEXTS[name]
    assert remedy.endswith(".")
