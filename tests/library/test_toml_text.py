"""TOML texts: read with clear errors, found again by key, edited with their comments kept."""

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from library import toml_text
from library.toml_text import DocumentError, dotted, line_of, set_value

SHEET = """\
# A machine
name = "Mill"  # its name

[axes.x]
travel = [0.0, 10.0]  # mm
rapid = 100.0

# The axis towards the operator.
[axes.y]
travel = [
  0.0,  # [this is no header]
  20.0,
]

[[keep_out]]
name = "Vise"

[[keep_out]]
name = "Clamp"
note = \"\"\"
[axes.x]
rapid = 3
\"\"\"

[slots."4"]
x1 = "park"
"""


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("name",), 2),
        (("axes", "x", "travel"), 5),
        (("axes", "x", "travel", 1), 5),
        (("axes", "y"), 9),
        (("axes", "y", "travel", 0), 10),
        (("axes", "x", "jerk"), 4),
        (("keep_out", 0, "name"), 16),
        (("keep_out", 1, "name"), 19),
        (("slots", "4", "x1"), 26),
        (("nothing",), None),
    ],
)
def test_a_key_is_found_on_its_line(path, line):
    assert line_of(SHEET, path) == line


def test_a_path_is_shown_as_people_write_it():
    assert dotted(("setup", 0, "work", "G59.1", "x")) == 'setup[1].work."G59.1".x'


def test_a_changed_value_leaves_every_other_character_alone():
    assert set_value(SHEET, ("axes", "x", "rapid"), 250.0) == SHEET.replace("rapid = 100.0", "rapid = 250.0")


def test_a_changed_value_keeps_the_comment_behind_it():
    assert 'name = "Router"  # its name' in set_value(SHEET, ("name",), "Router")


def test_a_new_key_stands_with_its_table_and_above_the_comment_on_the_next():
    changed = set_value(SHEET, ("axes", "x", "jerk"), 5.0)
    assert "rapid = 100.0\njerk = 5.0\n\n# The axis towards the operator.\n[axes.y]" in changed


def test_a_missing_table_is_made():
    changed = set_value(SHEET, ("safe", "z"), -2.0)
    assert tomllib.loads(changed)["safe"] == {"z": -2.0}
    assert changed.startswith(SHEET[:200])


def test_an_index_one_past_the_end_adds_an_entry():
    changed = set_value(SHEET, ("keep_out", 2), {"name": "Bolt"})
    assert [box["name"] for box in tomllib.loads(changed)["keep_out"]] == ["Vise", "Clamp", "Bolt"]


def test_none_takes_a_key_out():
    assert "rapid = 100.0" not in set_value(SHEET, ("axes", "x", "rapid"), None)
    assert set_value(SHEET, ("axes", "x", "jerk"), None) == SHEET


def test_several_lines_are_written_as_several_lines():
    changed = set_value('block = "own-lines"\n', ("lines",), "G21\r\nG90")
    assert changed == 'block = "own-lines"\nlines = """\nG21\nG90"""\n'


@pytest.mark.parametrize("path", [("name", "x"), ("keep_out", 7, "name"), ("keep_out", "name"), ("axes", 0)])
def test_a_place_that_is_none_is_refused(path):
    with pytest.raises(DocumentError, match="is not a place in this document"):
        set_value(SHEET, path, 1)


@pytest.mark.parametrize(
    ("text", "why", "line"),
    [
        ("", "the document is empty", None),
        ("  \n", "the document is empty", None),
        ("a = 1\nb = = 2\n", "not TOML at column 5", 2),
        ('a = "open', "not TOML", 1),
        ("a = 1\na = 2\n", "not TOML", 2),
        ("\0\1\2", "not a text file", None),
        ("a = " + "[" * 9000, "", None),
        ("a = " + "1" * 9000, "a number or date in it cannot be read", None),
        ("a = 2024-99-99\n", "", None),
        ("#" * (toml_text.LONGEST + 1), "longer than", None),
    ],
)
def test_what_is_not_toml_is_one_clear_line(text, why, line):
    with pytest.raises(DocumentError) as caught:
        toml_text.read(text, "mill.toml")
    assert why in str(caught.value)
    assert str(caught.value).startswith("mill.toml")
    assert "\n" not in str(caught.value)
    assert line is None or caught.value.line == line


KEYS = st.text("abcxyz-_ .\"'#[]é", min_size=1, max_size=6)
VALUES = st.recursive(
    st.one_of(
        st.booleans(),
        st.integers(-(2**60), 2**60),
        st.floats(allow_nan=False),
        st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\r"), max_size=20),
    ),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3),
    max_leaves=6,
)


@given(st.lists(st.tuples(KEYS, VALUES), max_size=4))
def test_whatever_is_set_is_read_back(entries):
    text = SHEET
    for name, content in entries:
        for path in ((f"new {name}",), ("axes", "x", name), ("keep_out", 0, name)):
            text = set_value(text, path, content)
            node = tomllib.loads(text)
            for part in path:
                node = node[part]
            assert node == content
    assert text.startswith("# A machine\n")


def refusal(text):
    try:
        toml_text.read(text)
    except DocumentError as error:
        return str(error)
    list(toml_text.statements(text))
    return "none"


@given(st.text(max_size=200))
def test_any_text_is_read_or_refused_in_a_line(text):
    assert "\n" not in refusal(text)
