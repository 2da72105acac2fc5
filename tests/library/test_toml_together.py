"""Several values of a document set in one go come to what setting one after the other comes to."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from library import toml_text
from library.toml_edits import set_values
from library.toml_text import DocumentError, set_value

TEXT = """# mine
name = "A" # the name
size = 3

[[step]]
block = "nudge" # one
by = "1 mm"

[[step]]
block = "own-lines"
lines = \"\"\"
G21
G90\"\"\"
"""
PATHS = (("name",), ("size",), ("step", 0, "by"), ("step", 1, "lines"), ("step", 0, "axis"), ("purpose",))
VALUES = st.one_of(st.text(max_size=20), st.integers(-9, 9), st.booleans())


@given(st.dictionaries(st.sampled_from(PATHS), VALUES))
def test_it_comes_to_the_same_data_with_every_comment_kept(changes):
    try:
        one_by_one = TEXT
        for path, value in changes.items():
            one_by_one = set_value(one_by_one, path, value)
    except DocumentError:
        with pytest.raises(DocumentError):
            set_values(TEXT, changes)
        return
    together = set_values(TEXT, changes)
    assert tomllib.loads(together) == tomllib.loads(one_by_one)
    assert [each in together for each in ("# mine", "# the name", "# one")] == [True] * 3


def test_a_value_is_taken_out_beside_others_that_are_set():
    text = set_values(TEXT, {("name",): "B", ("size",): None, ("step", 0, "by"): "2 mm"})
    assert tomllib.loads(text) == {
        "name": "B",
        "step": [{"block": "nudge", "by": "2 mm"}, {"block": "own-lines", "lines": "G21\nG90"}],
    }


def test_many_values_are_one_reading_and_one_writing(monkeypatch):
    asked = []
    read = toml_text.read
    monkeypatch.setattr(toml_text, "read", lambda *given: asked.append(given) or read(*given))
    text = "\n".join(f"k{number} = {number}" for number in range(200)) + "\n"
    done = set_values(text, {(f"k{number}",): number + 1 for number in range(200)})
    assert tomllib.loads(done) == {f"k{number}": number + 1 for number in range(200)}
    assert len(asked) <= 3


def test_a_path_that_leads_nowhere_is_told_as_ever():
    with pytest.raises(DocumentError):
        set_values(TEXT, {("name",): "B", ("size", "more"): 1})
