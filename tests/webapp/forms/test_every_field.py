"""Every field of every form with what nobody should type: one message in place, or a document that says so."""

import tomllib

import pytest

from library import documents
from tests.bulk import mostly_long, of_today
from tests.webapp.forms.sheets import FULL, cells
from webapp.pages.forms import layout, posting

ODD = {
    "a text": "ten",
    "nothing": "",
    "blanks": "   ",
    "negative": "-7",
    "huge": "9" * 30,
    "beyond measure": "1e999",
    "inf": "inf",
    "NaN": "NaN",
    "a comma": "12,5",
    "another unit": "3 in",
    "a unit of another kind": "3 kg",
    "an angle": "3 deg",
    "ten thousand characters": "x" * 10_000,
    "ten thousand digits": "1" * 10_000,
    "a zero byte": "a\0b",
    "two lines": "one\ntwo",
    "a control byte": "\x18",
    "half a sign": "\\ud800",
    "a quote": 'say "so"',
    "markup": "<b>&amp;",
}
FIELDS = [(kind, name) for kind, text in FULL.items() for name in cells(kind, text)]


@pytest.mark.parametrize("field", [*FIELDS[:12], *mostly_long(of_today(FIELDS[12:], 45), keep=0)])
def test_what_is_odd_is_told_at_its_field_or_is_a_good_document(field):
    kind, name = field
    text = FULL[kind]
    shown = cells(kind, text)
    for typed in ODD.values():
        change = posting.changed(kind, text, shown | {name: typed})
        if not change.errors:
            documents.parse(kind, change.text)
            continue
        assert change.text == text, "nothing is half saved"
        assert all(len(why) < 700 for why in change.errors.values()), "a message stays readable"
        assert all(_together(place, name) for place in change.errors), f"{name} = {typed[:20]!r}: {change.errors}"
        assert len(change.errors) == 1 or _begun(name), change.errors


def _together(place, name):
    """Whether an error stands at the field, or at one of the same group: a corner is told at the other corner."""
    return place == name or place.rsplit(".", 2)[0] == name.rsplit(".", 2)[0] or place in _ELSEWHERE.get(name, ())


def _begun(name):
    """Whether the field is the first of an axis that is not there yet: all else that it needs is missing too."""
    return name.startswith(("axes.b.", "axes.c."))


_ELSEWHERE = {
    "axes.z.travel.1": ("safe.z",),
    "hand_rate": ("jog.rate",),
    "idle_ask": ("idle_answer",),
    "idle_answer": ("idle_ask",),
}
"""Fields that have to go together with another one, where that is told."""


@pytest.mark.parametrize(
    ("kind", "low", "high"),
    [("machine", "axes.x.travel.0", "axes.x.travel.1"), ("machine", "work.G59.1.x.0", "work.G59.1.x.1")],
)
def test_what_is_reversed_is_told_in_place(kind, low, high):
    shown = cells(kind, FULL[kind])
    change = posting.changed(kind, FULL[kind], shown | {low: shown[high], high: shown[low]})
    assert list(change.errors) == [low]
    assert "the lower end first" in change.errors[low]


@pytest.mark.parametrize("box", ["keep_out.0", "setup.0.keep_out.0", "enclosure.0"])
@pytest.mark.parametrize("axis", [0, 1, 2])
def test_a_reversed_box_is_told_at_its_high_corner(box, axis):
    shown = cells("machine", FULL["machine"])
    low, high = f"{box}.from.{axis}", f"{box}.to.{axis}"
    change = posting.changed("machine", FULL["machine"], shown | {low: shown[high], high: shown[low]})
    assert list(change.errors) == [f"{box}.to.0"]
    assert f"has {'XYZ'[axis]} " in change.errors[f"{box}.to.0"]


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("3 in", 76.2),
        ("7.62 cm", 76.2),
        ("76.2 mm", 76.2),
        ("3″", 76.2),
        ("1.5e1", 15.0),
    ],
)
def test_a_length_in_another_unit_is_converted(typed, kept):
    change = posting.changed("machine", FULL["machine"], {"tool.stick_out": typed})
    assert tomllib.loads(change.text)["tool"]["stick_out"] == kept


@pytest.mark.parametrize(
    ("name", "typed"),
    [("tool.stick_out", "3 s"), ("axes.x.rapid", "300 mm"), ("spindle.run_down", "3 mm"), ("axes.a.rapid", "3 in/min")],
)
def test_a_unit_of_another_kind_is_refused_with_the_unit_that_is_wanted(name, typed):
    change = posting.changed("machine", FULL["machine"], {name: typed})
    assert list(change.errors) == [name]
    assert "write a number in " in change.errors[name]


def test_all_that_is_wrong_is_told_at_once():
    change = posting.changed("machine", FULL["machine"], {"axes.x.rapid": "fast", "axes.y.rapid": "-3", "name": ""})
    assert set(change.errors) == {"axes.x.rapid"}, "what cannot be read comes first"
    change = posting.changed("machine", FULL["machine"], {"axes.x.rapid": "-1", "axes.y.rapid": "-3", "name": ""})
    assert set(change.errors) == {"axes.x.rapid", "axes.y.rapid", "name"}


@pytest.mark.parametrize("kind", list(FULL))
def test_every_key_of_the_models_has_a_field(kind):
    model = documents.KINDS[kind].model_fields
    keys = {field.alias or name for name, field in model.items()}
    parts = layout.presentation.PARTS[kind]
    assert sorted([*(key for part in parts for key in part.keys), *layout.presentation.ELSEWHERE[kind]]) == sorted(
        {*keys, *layout.presentation.ELSEWHERE[kind]}
    )


def test_every_key_of_the_controller_is_a_question_with_a_way_to_find_out():
    shape = layout.shape("controller", FULL["controller"])
    values = [value for part in shape.parts() for value in part.every_value()]
    assert all(value.find for value in values)
    assert len(values) == len(layout.models.QUESTIONS)
