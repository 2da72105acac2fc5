"""Fields for axes that a machine does not have are no part of a step's sentence."""

from __future__ import annotations

import pytest

from library.blocks import REGISTRY

THREE, FOUR = ("x", "y", "z"), ("x", "y", "z", "a")


@pytest.mark.parametrize(("block", "name"), [("zero-here", "angle"), ("go-to", "a")])
def test_a_field_of_a_rotary_axis_is_idle_on_a_machine_without_one(block, name):
    field = REGISTRY[block].parameter(name)
    assert field.idle_on(THREE, field.default)
    assert field.idle_on(THREE, None)
    assert not field.idle_on(FOUR, None)


def test_what_was_typed_into_it_stays_to_be_seen():
    assert not REGISTRY["zero-here"].parameter("angle").idle_on(THREE, "90 deg")


def test_a_field_for_any_machine_is_never_idle():
    assert not REGISTRY["zero-here"].parameter("value").idle_on(THREE, None)
