"""Two changes of one document: merged where the fields differ, told with both texts where they do not."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from library.merging import COMMENTS, ClashError, merged

BASE = 'name = "A"  # what it is\n\n[axes.x]\ntravel = [0.0, 10.0]\nrapid = 100.0\n\n[[box]]\nname = "one"\ntop = 1\n'


def test_different_fields_are_merged_with_the_comments_of_both():
    now = BASE.replace("rapid = 100.0", "rapid = 90.0")
    mine = BASE.replace("# what it is", "# what I call it").replace('"one"', '"first"')
    both = merged(BASE, now, mine)
    assert "rapid = 90.0" in both
    assert '"first"' in both
    assert "# what I call it" in both


def test_one_field_changed_twice_is_a_clash_with_both_texts():
    now, mine = BASE.replace("100.0", "90.0"), BASE.replace("100.0", "80.0")
    with pytest.raises(ClashError, match=r"axes\.x\.rapid changed elsewhere meanwhile") as clash:
        merged(BASE, now, mine)
    assert (clash.value.fields, clash.value.now, clash.value.mine) == (("axes.x.rapid",), now, mine)


def test_the_same_change_twice_is_none():
    now = BASE.replace("100.0", "90.0")
    assert merged(BASE, now, now.replace('"A"', '"B"')) == now.replace('"A"', '"B"')


def test_what_holds_a_changed_field_cannot_be_taken_out_meanwhile():
    now = BASE.replace("top = 1", "top = 2")
    with pytest.raises(ClashError, match="box"):
        merged(BASE, now, BASE[: BASE.index("[[box]]")])


def test_a_list_of_numbers_is_one_field():
    with pytest.raises(ClashError, match=r"axes\.x\.travel"):
        merged(BASE, BASE.replace("0.0, 10.0", "0.0, 12.0"), BASE.replace("0.0, 10.0", "1.0, 10.0"))


def test_no_comment_of_the_other_is_lost():
    with pytest.raises(ClashError) as clash:
        merged(BASE, BASE + "# mind the hose\n", BASE.replace('"A"', '"B"'))
    assert clash.value.fields == (COMMENTS,)


def test_a_text_that_cannot_be_read_is_a_clash():
    with pytest.raises(ClashError, match="the text"):
        merged(BASE, BASE.replace('"A"', '"B"'), "name = ")


def test_only_one_change_is_that_change():
    assert merged(BASE, "name = ", BASE) == "name = "
    assert merged(BASE, BASE, "name = ") == "name = "


KEYS = st.sampled_from("abcd")
TABLES = st.dictionaries(KEYS, st.integers(0, 3) | st.dictionaries(KEYS, st.integers(0, 3), min_size=1), min_size=1)


def as_text(data):
    plain = "".join(f"{key} = {value}\n" for key, value in data.items() if isinstance(value, int))
    tables = (f"[{key}]\n{as_text(value)}" for key, value in data.items() if isinstance(value, dict))
    return f"z = 0\n{plain}" + "".join(tables)


def leaves(data, path=()):
    for key, value in data.items():
        yield from leaves(value, (*path, key)) if isinstance(value, dict) else [((*path, key), value)]


def tables(leaves):
    """The tables that hold them: one that is taken out whole is a change, with what the other side has put into it."""
    return {path[:depth] for path in leaves for depth in range(1, len(path))}


@given(TABLES, TABLES, TABLES)
@example(base={"a": {"a": 1}}, now={"a": {"a": 1, "b": 0}}, mine={"b": 0})
def test_a_merge_holds_every_change_of_both_and_nothing_else(base, now, mine):
    before, theirs, ours = (dict(leaves(each)) for each in (base, now, mine))
    try:
        got = dict(leaves(tomllib.loads(merged(*map(as_text, (base, now, mine))))))
    except ClashError:
        both = [
            {path for path in {*before, *side} if before.get(path) != side.get(path)} | (tables(before) - tables(side))
            for side in (theirs, ours)
        ]
        assert any(one[: len(other)] == other or other[: len(one)] == one for one in both[0] for other in both[1])
        return
    for path in {*before, *theirs, *ours}:
        changed = [side.get(path) for side in (theirs, ours) if side.get(path) != before.get(path)]
        assert got.get(path) == (changed[0] if changed else before.get(path))


def test_switched_units_go_together_with_no_other_change():
    inch = 'units = "inch"\n' + BASE.replace("100.0", "3.937")
    for now, mine in ((inch, BASE + "\n[new]\nx = 20.0\n"), (BASE.replace('"one"', '"two"'), inch)):
        with pytest.raises(ClashError):
            merged(BASE, now, mine)


def test_tables_that_have_changed_places_are_not_taken_for_one_another():
    two = BASE + '\n[[box]]\nname = "two"\ntop = 2\n'
    swapped = BASE.replace('"one"\ntop = 1', '"two"\ntop = 2') + '\n[[box]]\nname = "one"\ntop = 1\n'
    with pytest.raises(ClashError, match="box"):
        merged(two, swapped, two.replace("top = 1", "top = 9"))


def test_no_comment_of_ones_own_is_lost():
    with pytest.raises(ClashError) as clash:
        merged(BASE, BASE[: BASE.index("[[box]]")], BASE.replace("top = 1", "top = 1  # with the jaw plates"))
    assert clash.value.fields == (COMMENTS,)
