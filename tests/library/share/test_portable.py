"""Typed numbers that equal a landmark become it, the lines here stay the same, and what looks foreign is told."""

import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from library import documents, starter
from library.blocks import REGISTRY, Parameter
from library.build import build
from library.share.foreign import foreign, worded
from library.share.portable import offered, portable
from library.share.typed import typed
from parser.machine import AXES
from tests.library.share.shops import LOW, OWN, document, mill, on, router

HOME = {name: each.value for name, each in mill().landmarks.items()}


def macro(*steps, **header):
    return documents.parse("macro", document("trial", *steps, **header))


def becomes(*steps, bench=None, **header):
    return [each.becomes for each in offered(macro(*steps, **header), bench or mill())]


# Make portable


def test_every_block_says_which_of_its_values_are_machine_coordinates():
    for block in REGISTRY.values():
        for each in block.parameters:
            said = "machine x" in each.help.lower() or re.match(r"Machine ([XYZ]|coordinate)\b", each.help)
            assert bool(each.places) == bool(said), f"{block.id} {each.name}: {each.help}"
            for axis in each.places:
                naming = block.parameter(axis)
                names = naming.choices if naming and naming.kind == "choice" else (axis,)
                assert set(names) <= set(AXES), f"{block.id} {each.name}"


def test_a_block_that_is_new_needs_no_row_anywhere_else(monkeypatch):
    down = Parameter("depth", "length", "-1 mm", "Machine Z to go down to.", places=("z",))
    monkeypatch.setitem(REGISTRY, "raise", replace(REGISTRY["raise"], parameters=(down,)))
    (found,) = typed(macro({"block": "raise", "depth": "-2 mm"}))
    assert (found.parameter, found.axis) == ("depth", "z")


def test_a_number_that_equals_an_end_of_travel_becomes_it():
    assert becomes({"block": "go-to", "x": "260 mm", "y": 150.0}) == ["travel.x.max", "travel.y.max"]


def test_what_is_added_to_it_is_kept_as_it_is_written():
    assert becomes({"block": "go-to", "x": "260 - 20 mm / 2"}) == ["travel.x.max - 20 mm / 2"]
    assert becomes({"block": "go-to", "x": "20 mm + 260 mm"}) == []


def test_only_what_is_exactly_equal_counts():
    assert becomes({"block": "go-to", "x": "259.999 mm"}) == []


def test_a_landmark_of_another_axis_or_of_another_kind_does_not_count():
    assert becomes({"block": "go-to", "y": "260 mm"}) == []
    assert becomes({"block": "park", "margin": "6 mm"}) == [], "6 mm is the radius of the tool"


def test_a_height_to_cross_at_comes_before_anything_else_that_is_equal():
    (found,) = offered(macro({"block": "raise", "to": "-2 mm"}), mill())
    assert found.landmark == "safe.z"
    (found,) = offered(macro({"block": "go-to", "x": "0 mm"}), router())
    assert found.landmark == "travel.x.max"


def test_times_and_rates_count_too():
    assert becomes({"block": "spindle-off", "wait": "5 s"}) == ["spindle.run_down"]
    assert becomes({"block": "raise", "feed": "1200"}) == ["rapid.z"]


def test_a_number_in_inches_equals_the_same_length_in_mm():
    assert becomes({"block": "go-to", "y": 12.0}, bench=router(), units="inch") == ["travel.y.max"]
    assert becomes({"block": "go-to", "y": "304.8 mm"}, bench=router()) == ["travel.y.max"]


def test_points_of_a_row_and_the_ends_of_a_sweep_count_on_their_own_axis():
    points = "260 mm, 150 mm\nmin(1 mm, 2 mm), 0 mm"
    assert becomes({"block": "visit", "points": points}) == ["travel.x.max", "travel.y.max", "travel.y.min"]
    assert becomes({"block": "sweep", "axis": "y", "begin": "75 mm", "finish": "260 mm"}) == ["travel.y.middle"]


def test_the_text_keeps_its_comments_and_only_what_is_chosen_changes():
    text = document("trial", {"block": "go-to", "x": "260 mm", "y": "150 mm"})
    made = portable(text, mill(), ["1.y"])
    assert made.text == text.replace('"150 mm"', '"travel.y.max"')
    assert [each.key for each in made.changes] == ["1.y"]
    both = portable(text, mill())
    assert "# as we do it here" in both.text
    assert [each.key for each in both.changes] == ["1.x", "1.y"]


def test_what_does_not_adapt_is_told():
    assert portable(OWN, mill()).rigid == ("Step 2 of own holds lines of its own: they do not adapt to the machine.",)
    assert "start condition" in portable(document("n", {"block": "nudge"}, start="z <= -2 mm"), mill()).rigid[0]


def test_a_portable_macro_reaches_the_end_of_travel_of_another_machine():
    text = portable(document("trial", {"block": "raise", "to": "-2 mm"}), mill()).text
    assert "G53 G0 Z-2.54" in build(documents.parse("macro", text), router()).text


def test_a_starter_macro_has_nothing_to_change():
    for id, text in starter.macros().items():
        assert offered(documents.parse("macro", text, id), mill()) == ()


NUMBERS = st.sampled_from([0.0, -2.0, 260.0, 150.0, 130.0, 75.0, -38.0, -90.0, -80.0, 125.0, 10.2362, 1.0])
WRITTEN = st.builds(
    lambda value, unit, rest: f"{value:g}{unit}{rest}",
    NUMBERS,
    st.sampled_from(["", " mm", " in", "mm"]),
    st.sampled_from(["", " - 5 mm", " + tool.radius", " * 1", " - 0", " / 2 + 3"]),
)
STEPS = st.one_of(
    st.builds(lambda x, y, z: {"block": "go-to", "x": x, "y": y, "z": z}, WRITTEN, WRITTEN, WRITTEN),
    st.builds(lambda to: {"block": "raise", "to": to}, WRITTEN),
    st.builds(
        lambda rows: {"block": "visit", "points": "\n".join(map(", ".join, rows))},
        st.lists(st.tuples(WRITTEN, WRITTEN), min_size=1, max_size=3),
    ),
    st.builds(lambda a, b: {"block": "sweep", "axis": "x", "begin": a, "finish": b}, WRITTEN, WRITTEN),
    st.builds(lambda wait: {"block": "spindle-off", "wait": f"{wait} s"}, st.sampled_from([3, 5, 5.0, 0])),
)


@pytest.mark.long
@settings(max_examples=150, deadline=None)
@given(st.lists(STEPS, min_size=1, max_size=4), st.sampled_from(["mm", "inch"]), st.sampled_from([mill, router]))
def test_the_lines_and_moves_here_stay_the_same_whatever_was_typed(steps, units, bench):
    text = document("trial", *steps, units=units)
    made = portable(text, bench())
    before, after = (build(documents.parse("macro", each), bench()) for each in (text, made.text))
    assert after.text == before.text
    assert after.problems == before.problems
    assert [each.landmark for each in portable(made.text, bench()).changes] == [], "once is enough"


# Numbers that look like another machine's


def found_in(text, bench=None, theirs=HOME):
    return foreign(documents.parse("macro", text), bench or router(), theirs)


def test_a_number_that_is_a_landmark_there_and_not_here_looks_foreign():
    (found,) = found_in(document("trial", {"block": "raise", "to": "-2 mm"}))
    assert (found.kind, found.landmark, found.step) == ("theirs", "safe.z", 1)
    assert worded(found, router().figures, "Mill") == (
        "Step 1, to -2 mm: it equals safe.z of Mill, which is -0.1 in here."
    )


def test_a_number_outside_this_travel_looks_foreign():
    found = found_in(LOW, theirs={})
    assert [(each.kind, each.parameter) for each in found] == [("outside", "x")]
    assert "9.4488 in is outside this travel" in worded(found[0], router().figures)


def test_what_is_the_same_here_does_not():
    assert found_in(document("trial", {"block": "raise", "to": "-2 mm"}), mill()) == ()


def test_a_formula_of_landmarks_does_not():
    assert found_in(document("trial", {"block": "go-to", "x": "travel.x.max - 2 mm"})) == ()


@pytest.mark.parametrize("line", ["G53 G0 X260", "G53 G0 X10.236220472440944"])
def test_numbers_in_own_lines_are_compared_in_either_unit(line):
    theirs = {"travel.x.max": 260.0}
    found = found_in(document("trial", {"block": "own-lines", "lines": line}), theirs=theirs)
    assert [each.landmark for each in found] == ["travel.x.max"]


def test_a_machine_without_the_landmark_says_that_it_is_not_known():
    bare = on(mill_without_zero())
    (found,) = found_in(document("trial", {"block": "go-to", "x": "125 mm"}), bare, {"work.g54.x": 125.0})
    assert "which is not known here" in worded(found, bare.figures)


def mill_without_zero():
    from tests.library.benches import MILL

    head, _, rest = MILL.partition("[work.G54]")
    return head + rest[rest.index("[[keep_out]]") :].replace("work.G54 = { x = 125.0, y = 70.0, z = -30.0 }", "")
