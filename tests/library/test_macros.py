"""The macro document and the edits that keep its comments."""

import pytest

from library import documents, macros
from library.proving import prove_macro
from library.toml_text import DocumentError
from tests.library.benches import bench

MACRO = """\
format = "clickstop-macro/1"
id = "present-part"
name = "Present the part"  # on the card
start = "anywhere"

# First the spindle.
[[step]]
block = "spindle-off"
wait = "spindle.run_down"

# Then up, always.
# Never cross low.
[[step]]
block = "raise"
to = "safe.z"  # from the sheet

[[step]]
block = "own-lines"
lines = \"\"\"
[[step]]
G21
\"\"\"
"""


def blocks(text):
    return [step.block for step in documents.parse("macro", text).step]


def test_a_step_has_a_block_and_values():
    first, second, third = documents.parse("macro", MACRO).step
    assert (first.block, first.values) == ("spindle-off", {"wait": "spindle.run_down"})
    assert second.values == {"to": "safe.z"}
    assert third.values == {"lines": "[[step]]\nG21\n"}


def test_what_is_left_out_has_the_published_default():
    macro = documents.parse("macro", 'format = "clickstop-macro/1"\nname = "Park it here"\n')
    assert (macro.id, macro.licence, macro.start, macro.step) == ("park-it-here", "CC0-1.0", "anywhere", ())


def test_steps_are_added_at_the_end_or_in_place():
    at_end = macros.add_step(MACRO, "dwell", {"time": "1 s"})
    assert blocks(at_end) == ["spindle-off", "raise", "own-lines", "dwell"]
    assert at_end.startswith(MACRO)
    in_place = macros.add_step(MACRO, "dwell", {"time": "1 s"}, at=2)
    assert blocks(in_place) == ["spindle-off", "dwell", "raise", "own-lines"]
    assert 'time = "1 s"\n# Then up, always.\n# Never cross low.\n[[step]]\nblock = "raise"' in in_place


def test_the_first_step_of_a_macro_without_any():
    text = 'format = "clickstop-macro/1"\nname = "New"'
    assert blocks(macros.add_step(text, "raise", {"to": "safe.z"})) == ["raise"]


def test_an_acceptance_without_effect_costs_nobody_a_macro_and_is_said_where_it_matters():
    accepted = 'accepted = [{ rule = "beyond-travel", because = "it is fine" }]\n'
    wanted = macros.remove_step(MACRO, 3).replace("# First the spindle.", accepted + "# First the spindle.")
    found = prove_macro(documents.parse("macro", wanted.replace('"safe.z"', '"1 mm"')), bench())
    refusals = [finding.message for finding in found.report.findings if finding.rule == "beyond-travel"]
    assert [text.partition(" That ")[2] for text in refusals] == [
        "the macro accepts it has no effect: beyond-travel cannot be accepted."
    ]
    assert prove_macro(documents.parse("macro", wanted), bench()).exportable


def test_a_moved_step_takes_its_comments_along():
    moved = macros.move_step(MACRO, 2, 1)
    assert blocks(moved) == ["raise", "spindle-off", "own-lines"]
    assert '# Then up, always.\n# Never cross low.\n[[step]]\nblock = "raise"' in moved
    assert '# First the spindle.\n[[step]]\nblock = "spindle-off"' in moved
    assert macros.move_step(moved, 1, 2) == MACRO


def test_a_removed_step_takes_its_comments_along():
    removed = macros.remove_step(MACRO, 2)
    assert blocks(removed) == ["spindle-off", "own-lines"]
    assert "always" not in removed
    assert "First the spindle" in removed


def test_a_step_is_switched_off_and_on_again_without_a_trace():
    off = macros.switch(MACRO, 2, off=True)
    assert [step.off for step in documents.parse("macro", off).step] == [False, True, False]
    assert documents.parse("macro", off).step[1].values == {"to": "safe.z"}
    assert documents.parse("macro", macros.switch(off, 2, off=False)) == documents.parse("macro", MACRO)


def test_a_copy_of_a_step_stands_right_after_it():
    twice = documents.parse("macro", macros.copy_step(macros.switch(MACRO, 3, off=True), 3)).step
    assert [step.block for step in twice] == ["spindle-off", "raise", "own-lines", "own-lines"]
    assert twice[2] == twice[3]


def test_values_of_a_step_are_set_and_taken_out():
    changed = macros.set_step_value(MACRO, 2, "to", "travel.z.max - 1 mm")
    assert 'to = "travel.z.max - 1 mm"  # from the sheet' in changed
    assert documents.parse("macro", macros.set_step_value(MACRO, 2, "to", None)).step[1].values == {}
    assert documents.parse("macro", macros.set_step_value(MACRO, 3, "lines", "G21\r\nG90\r\n")).step[2].values == {
        "lines": "G21\nG90\n"
    }


def test_a_value_typed_half_way_is_kept_as_typed():
    typed = 'travel.y.max - "'
    assert documents.parse("macro", macros.set_step_value(MACRO, 2, "to", typed)).step[1].values == {"to": typed}


def test_the_header_is_set_with_its_comment_kept():
    assert 'name = "Show the part"  # on the card' in macros.set_header(MACRO, "name", "Show the part")
    changed = macros.set_header(MACRO, "purpose", "To unload.")
    assert 'start = "anywhere"\npurpose = "To unload."\n' in changed


def test_steps_written_as_a_list_can_be_edited_too():
    text = (
        'format = "clickstop-macro/1"\nname = "Up"\nstep = [{ block = "raise" }, { block = "dwell", time = "1 s" }]\n'
    )
    assert blocks(macros.move_step(text, 2, 1)) == ["dwell", "raise"]
    assert blocks(macros.add_step(text, "park", at=1)) == ["park", "raise", "dwell"]


@pytest.mark.parametrize(
    "edit",
    [
        lambda: macros.move_step(MACRO, 4, 1),
        lambda: macros.move_step(MACRO, 1, 9),
        lambda: macros.remove_step(MACRO, 0),
        lambda: macros.set_step_value(MACRO, 4, "to", "1"),
        lambda: macros.add_step(MACRO, "raise", at=6),
        lambda: macros.copy_step(MACRO, 4),
    ],
)
def test_a_step_that_is_not_there_is_said(edit):
    with pytest.raises(DocumentError, match=r"there is no step \d"):
        edit()


@pytest.mark.parametrize(
    ("change", "why"),
    [
        (('id = "present-part"', 'id = "Present Part"'), "line 2: id is the text"),
        (('to = "safe.z"', "to = nan"), "line 15: step[2].to is not a finite number"),
        (('to = "safe.z"', "to = 1979-05-27"), "line 15: step[2].to has to be a text, a number"),
        (('block = "raise"', 'blok = "raise"'), "line 13: step[2].block is missing"),
        (("start =", "strat ="), 'line 4: strat is not a key that is known here; did you mean "start"?'),
        (('start = "anywhere"', 'accepted = [{ rule = "x", because = "" }]'), "accepted[1].because is the text"),
        (
            ('start = "anywhere"', 'accepted = [{ rule = "x", because = "a" }, { rule = "x", because = "b" }]'),
            "accepted[2].rule is accepted twice",
        ),
        (('name = "Present the part"', 'name = "two\\nlines"'), "line 3: name has to be one line"),
    ],
)
def test_a_mistake_names_its_line_and_key(change, why):
    with pytest.raises(DocumentError) as caught:
        documents.parse("macro", MACRO.replace(*change), "part.toml")
    assert str(caught.value).startswith("part.toml, ")
    assert why in str(caught.value)
