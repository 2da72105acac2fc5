"""A document written by a form is the one that was meant: from model to form to text to model, and comments stay."""

import random
import tomllib

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from library import documents, toml_edits
from tests.bulk import examples, mostly_long
from tests.webapp.forms.sheets import FULL, STARTER, cells
from webapp.pages.forms import layout, posting

LEAST = {
    "machine": """format = "clickstop-machine/1"
name = "x"
[axes]
x = { travel = [-100.0, 0.0], rapid = 1.0, acceleration = 1.0, home = "min", carried_by = "table" }
y = { travel = [-100.0, 0.0], rapid = 1.0, acceleration = 1.0, home = "min", carried_by = "table" }
z = { travel = [-100.0, 0.0], rapid = 1.0, acceleration = 1.0, home = "min", carried_by = "head" }
""",
    "controller": 'format = "clickstop-controller/1"\n',
    "pendant": 'format = "clickstop-pendant/1"\n',
}


@pytest.mark.parametrize("kind", list(FULL))
def test_a_form_as_it_is_shown_changes_nothing(kind):
    assert posting.changed(kind, FULL[kind], cells(kind, FULL[kind])).text == FULL[kind]


@pytest.mark.parametrize("kind", list(FULL))
def test_a_whole_sheet_can_be_typed_into_the_least_one(kind):
    """All that the form of a full sheet shows, typed into one that holds next to nothing, is the same sheet."""
    axes = {name: value for name, value in cells(kind, FULL[kind]).items() if name.startswith("axes.")}
    change = posting.changed(kind, LEAST[kind], axes)  # a zero of A has a field once there is an A
    change = posting.changed(kind, change.text, cells(kind, FULL[kind]))
    assert change.errors == {}
    made, meant = documents.parse(kind, change.text), documents.parse(kind, FULL[kind])
    assert made.model_copy(update={"slots": {}}) == meant.model_copy(update={"slots": {}})


numbers = st.floats(-900, 900, allow_nan=False).map(lambda value: round(value, 3) + 0.0)
sizes = st.floats(0, 500, allow_nan=False).map(lambda value: round(value, 3))
rising = st.tuples(numbers, st.floats(0.001, 300).map(lambda value: round(value, 3))).map(
    lambda pair: [pair[0], round(pair[0] + pair[1], 3)]
)
names = st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "S")), min_size=1, max_size=12).map(
    lambda text: text + "a"
)


@st.composite
def boxes(draw, named):
    sides = [draw(rising) for _ in range(3)]
    return {"name": named, "from": [side[0] for side in sides], "to": [side[1] for side in sides]}


@st.composite
def box_lists(draw, prefix):
    return [draw(boxes(f"{prefix} {index} {draw(names)}")) for index in range(draw(st.integers(0, 3)))]


coordinates = st.one_of(numbers, rising)
zeros = st.dictionaries(
    st.sampled_from(["G54", "G55", "G59.1", "G59.3"]),
    st.dictionaries(st.sampled_from("xyz"), coordinates, min_size=1),
)


@st.composite
def machines(draw):
    """The data of a machine sheet with anything in it that a form can hold."""
    axis = st.fixed_dictionaries(
        {
            "travel": rising,
            "rapid": st.just(1200.0),
            "acceleration": sizes.map(lambda value: value + 1),
            "home": st.sampled_from(["min", "max", "none"]),
            "carried_by": st.sampled_from(["table", "head"]),
        },
        optional={"jerk": sizes},
    )
    data = {"format": "clickstop-machine/1", "name": draw(names), "axes": {one: draw(axis) for one in "xyz"}}
    data["axes"]["z"]["travel"] = [-100.0, 0.0]
    for one in "xy":
        data["axes"][one]["travel"][1] += 5
    optional = {
        "operator": st.fixed_dictionaries({"stands_at": st.sampled_from(["-y", "+x"])}),
        "tool": st.fixed_dictionaries({}, optional={"stick_out": sizes, "radius": sizes}),
        "spindle": st.fixed_dictionaries({}, optional={"nose_radius": sizes, "control": st.just("manual")}),
        "safe": st.fixed_dictionaries({"z": st.floats(-99, 0).map(lambda value: round(value, 2))}),
        "work": zeros,
        "keep_out": box_lists("k"),
        "enclosure": box_lists("e"),
        "motion": st.fixed_dictionaries({}, optional={"corner": st.just("blend"), "latency": sizes}),
        "tools": st.lists(st.integers(0, 99), unique=True, max_size=3).map(
            lambda listed: [{"number": number, "length": 1.5} for number in listed]
        ),
        "setup": st.lists(st.tuples(box_lists("s"), zeros), max_size=2).map(
            lambda listed: [
                {"name": f"setup {at}", "keep_out": pair[0], "work": pair[1]} for at, pair in enumerate(listed)
            ]
        ),
    }
    for key, strategy in optional.items():
        if draw(st.booleans()):
            data[key] = draw(strategy)
    return data


@pytest.mark.long
@settings(deadline=None, max_examples=15, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(machines())
def test_from_model_to_form_to_text_to_model(data):
    assert documents.problems("machine", data) == ()
    text = documents.toml_text.editor().dumps(data)
    model = documents.parse("machine", text)
    for before in (LEAST["machine"], STARTER["machine"]):
        shown = cells("machine", before)
        gone = {f"remove.{name}": "yes" for name in _tables(before)}
        blank = {name: "" for name in shown if name not in ("format",)} if before != LEAST["machine"] else {}
        if gone:
            emptied = posting.changed("machine", before, {**_without_required(blank), **gone})
            assert emptied.errors == {}
            before = emptied.text
        change = posting.changed("machine", before, cells("machine", text))
        assert change.errors == {}
        assert documents.parse("machine", change.text) == model


def _without_required(blank):
    return {
        name: value
        for name, value in blank.items()
        if name != "name" and not (name.startswith("axes.") and not name.endswith("jerk"))
    }


def _tables(text):
    """Every row and every optional table of a machine sheet, by the name that a form calls it."""
    shape = layout.shape("machine", text)

    def removable(group):
        if group.removable:
            yield group.name
        else:
            for each in group.groups:
                yield from removable(each)

    return [name for part in shape.parts() for group in part.groups for name in removable(group)]


@pytest.mark.parametrize("kind", mostly_long(["controller", "pendant", "machine"], 2))
def test_comments_survive_random_edits(kind):
    text, chance = FULL[kind], random.Random(len(kind))
    done = 0
    while done < examples(1000):
        before = _comments(text)
        shown = cells(kind, text)
        typed = {name: _another(value, chance) for name, value in chance.sample(sorted(shown.items()), 12)}
        shape = layout.shape(kind, text)
        lists = [group for part in shape.parts() for group in part.groups if group.state == layout.LISTED]
        if lists and chance.random() < 0.3:
            typed |= _new_row(chance.choice(lists), chance)
        change = posting.changed(kind, text, shown | typed)
        for name in change.errors:
            typed = {key: value for key, value in typed.items() if key.rsplit(".", 1)[0] != name.rsplit(".", 1)[0]}
        change = posting.changed(kind, text, shown | typed)
        if change.errors:
            continue
        done += len(typed)
        text = change.text
        assert _comments(text) >= before
        documents.parse(kind, text)


def _another(value, chance):
    if value == "":
        return ""
    try:
        return str(round(float(value) + chance.choice([-1, 0.5, 1]), 3))
    except ValueError:
        return value


def _new_row(listed, chance):
    if listed.name not in ("keep_out", "enclosure", "tools"):
        return {}
    at = 900 + chance.randrange(90)
    if listed.name == "tools":
        return {f"tools.{at}.number": str(chance.randrange(10**6)), f"tools.{at}.length": "3"}
    corners = {f"{listed.name}.{at}.from.{axis}": "1" for axis in range(3)}
    return (
        corners
        | {f"{listed.name}.{at}.to.{axis}": "2" for axis in range(3)}
        | {f"{listed.name}.{at}.name": f"r {chance.random()}"}
    )


def _comments(text):
    return {line.partition("#")[2].strip() for line in text.splitlines() if "#" in line}


def test_what_is_taken_out_takes_only_its_own_comments():
    text = FULL["machine"]
    change = posting.changed("machine", text, {"remove.work.G54": "yes", "remove.keep_out.0": "yes"})
    gone = _comments(text) - _comments(change.text)
    assert change.errors == {}
    assert gone == {
        "What the machine reads when the tip of a tool of stick_out touches work zero. "
        "Leave out an axis you do not know.",
        "Boxes that ride on the table and are always there.",
    }
    sheet = documents.parse("machine", change.text)
    assert sheet.work.g54 is None
    assert sheet.keep_out == ()


def test_a_new_zero_goes_below_the_others_and_not_below_the_next_comment():
    change = posting.changed("machine", STARTER["machine"], {"work.G55.x.0": "3", "work.G55.x.1": ""})
    before, after = change.text.split("[work.G55]")
    assert before.rstrip().endswith("z = -38.0")
    assert after.startswith("\nx = 3.0\n\n# Where G28 goes")


def test_a_position_called_otherwise_keeps_its_macros_and_its_wire():
    change = posting.changed("pendant", FULL["pendant"], {"positions.4.label": "A4", "positions.1.label": "LR"})
    sheet = documents.parse("pendant", change.text)
    assert sheet.slots["A4"]["x1"] == "retract"
    assert sheet.wiring.signal[0].is_ == "LR"
    change = posting.changed("pendant", FULL["pendant"], {"increments": "fine\nx10\nx100"})
    sheet = documents.parse("pendant", change.text)
    assert sheet.slots["4"]["fine"] == "retract"
    assert sheet.jog.step["fine"] == 0.01


def test_a_pendant_of_earlier_days_is_left_as_it_is_until_something_differs():
    old = 'format = "clickstop-pendant/1"\n[gesture]\nclicks = 3 # mine\n[memory]\nbytes = 900\n'
    assert posting.changed("pendant", old, cells("pendant", old)).text == old
    change = posting.changed("pendant", old, cells("pendant", old) | {"gesture.turns": "4, -4"})
    assert change.errors == {}
    sheet = documents.parse("pendant", change.text)
    assert sheet.gesture.turns == (4, -4)
    assert sheet.memory.flash == 900
    assert len(sheet.positions) == 6, "an earlier sheet had no dead position"


def test_many_edits_are_made_by_one_reading(monkeypatch):
    """However many fields differ, the text is read by the editor once."""
    tomlkit = documents.toml_text.editor()
    calls = []
    own = tomlkit.parse
    monkeypatch.setattr(tomlkit, "parse", lambda text: calls.append(1) or own(text))
    typed = {f"axes.{axis}.{key}": "77" for axis in "xyz" for key in ("rapid", "acceleration", "jerk")}
    change = posting.changed("machine", FULL["machine"], typed)
    assert change.errors == {}
    assert len(calls) == 1


data = st.recursive(
    st.one_of(st.integers(-9, 9), st.booleans(), st.text('ab"\\#= \n', max_size=4)),
    lambda inner: st.one_of(
        st.lists(st.integers(0, 3), max_size=3),
        st.dictionaries(st.text("abc.", min_size=1, max_size=3), inner, max_size=3),
    ),
    max_leaves=8,
)
tables = st.dictionaries(st.text("abc.", min_size=1, max_size=3), data, max_size=4)


@settings(deadline=None, max_examples=200)
@given(tables, tables)
def test_any_text_becomes_any_other(before, after):
    text = documents.toml_text.editor().dumps(before)
    try:
        made = toml_edits.edited(text, toml_edits.with_rows(tomllib.loads(text)), toml_edits.with_rows(after))
    except documents.DocumentError:
        return  # it is said, and nothing is changed
    assert tomllib.loads(made) == documents.toml_text.unix_lines(toml_edits.plain(toml_edits.with_rows(after)))


def test_the_setup_on_the_table_goes_along_with_its_name_or_is_none():
    text = STARTER["machine"].replace('name = "Workshop mill"', 'name = "m"\non_table = "Bar in the vise"')
    renamed = posting.changed("machine", text, {"setup.0.name": "Plate"})
    assert documents.parse("machine", renamed.text).on_table == "Plate"
    gone = posting.changed("machine", text, {"remove.setup.0": "yes"})
    assert documents.parse("machine", gone.text).on_table == ""


def test_a_part_that_goes_takes_its_day_along():
    text = STARTER["machine"] + '\n[measured]\n"keep_out Vise" = 2026-05-04\naxes = 2026-05-04\n'
    gone = posting.changed("machine", text, {"remove.keep_out.0": "yes"})
    assert list(documents.parse("machine", gone.text).measured) == ["axes"]
