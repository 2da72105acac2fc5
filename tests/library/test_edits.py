"""An edit of a macro's text reads back as the macro that was meant, whatever stands in its lines and comments."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from library import documents, macros

HEAD = 'format = "clickstop-macro/1"\nid = "a"\nname = "A"\n'
LINES = st.lists(
    st.sampled_from(
        ["G21", "#1=5", "", "[[step]]", '"""', "'''", 'block = "dwell"', "(a # b)", "\\", "# x", "G0 X1 ; y"]
    ),
    min_size=1,
    max_size=6,
).map("\n".join)


def written(lines, comments):
    """A macro of steps with these lines, each as a text of several lines where that can hold it, under its comment."""
    text = HEAD
    for each, comment in zip(lines, comments, strict=True):
        text += f"# {comment}\n" * bool(comment)
        literal = "'''" not in each and each.strip("'") == each
        body = f"'''\n{each}'''" if literal else "'G21'"
        text += f'[[step]]\nblock = "own-lines"\nlines = {body}\n'
    return text


def steps(text):
    return [step.values["lines"] if step.block == "own-lines" else step.block for step in macro(text).step]


def macro(text):
    return documents.parse("macro", text)


@given(st.data())
def test_steps_are_moved_removed_and_added_as_meant(data):
    lines = data.draw(st.lists(LINES, min_size=1, max_size=5))
    comments = data.draw(
        st.lists(st.sampled_from(["", "why", "#2=6", "[[step]]"]), min_size=len(lines), max_size=len(lines))
    )
    text = written(lines, comments)
    for _ in range(data.draw(st.integers(1, 6))):
        before = steps(text)
        what = data.draw(st.sampled_from(["add", "move", "remove", "set"]))
        number = data.draw(st.integers(1, max(len(before), 1)))
        if what == "add":
            text = macros.add_step(text, "dwell", {"time": "1 s"}, number)
            before.insert(number - 1, "dwell")
        elif not before:
            continue
        elif what == "move":
            to = data.draw(st.integers(1, len(before)))
            text = macros.move_step(text, number, to)
            before.insert(to - 1, before.pop(number - 1))
        elif what == "remove":
            text = macros.remove_step(text, number)
            del before[number - 1]
        elif before[number - 1] != "dwell":
            before[number - 1] = data.draw(LINES)
            text = macros.set_step_value(text, number, "lines", before[number - 1])
        assert steps(text) == before


@pytest.mark.parametrize("edit", [lambda t: macros.move_step(t, 1, 2), lambda t: macros.move_step(t, 2, 1)])
def test_a_parameter_setting_is_not_taken_for_a_comment_of_the_next_step(edit):
    text = HEAD + '[[step]]\nblock = "own-lines"\nlines = """\nG21\n#1=5"""\n[[step]]\nblock = "dwell"\n'
    assert steps(edit(text)) == ["dwell", "G21\n#1=5"]


def test_removing_a_step_leaves_the_lines_before_it_whole():
    text = HEAD + '[[step]]\nblock = "own-lines"\nlines = """\nG21\n#1=5\n"""\n[[step]]\nblock = "dwell"\n'
    assert steps(macros.remove_step(text, 2)) == ["G21\n#1=5\n"]


def test_comments_go_with_their_step():
    text = written(["G21", "G90"], ["first", "second"])
    moved = macros.move_step(text, 2, 1)
    assert moved.index("# second") < moved.index("G90") < moved.index("# first") < moved.index("G21")
    assert "# second" not in macros.remove_step(text, 2)


def test_lines_that_begin_with_an_empty_one_are_kept():
    text = macros.set_step_value(written(["G21"], [""]), 1, "lines", "\n\nG90\n")
    assert tomllib.loads(text)["step"][0]["lines"] == "\n\nG90\n"
