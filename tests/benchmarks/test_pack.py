"""A pendant with many slots costs no more for each of them than one with few."""

from __future__ import annotations

import pytest

from library import pack, starter
from library.pack import Gathered
from tests.benchmarks.measuring import in_turns, keeps_to, ratio

pytestmark = pytest.mark.long

FEW, MANY = 9, 54
INCREMENTS = ("x1", "x10", "x100")


def workshop(count, increments=INCREMENTS):
    """The starter workshop with a macro of its own on each of ``count`` slots."""
    like = starter.text("macros/present-part.toml")
    labels = [f"P{number}" for number in range(count // len(increments))]
    ids = {(label, increment): f"{label}-{increment}".lower() for label in labels for increment in increments}
    rows = "".join(
        f"[slots.{label}]\n" + "".join(f'{increment} = "{ids[label, increment]}"\n' for increment in increments)
        for label in labels
    )
    positions = ", ".join(f'{{ label = "{label}" }}' for label in labels)
    sizes = ", ".join(f'"{increment}"' for increment in increments)
    head = f'format = "clickstop-pendant/1"\nincrements = [{sizes}]\n'
    pendant = f"{head}positions = [{positions}]\n{rows}"
    macros = {id: like.replace('id = "present-part"', f'id = "{id}"') for id in ids.values()}
    return Gathered(starter.text("machine.toml"), starter.text("controller.toml"), pendant, macros)


def making(gathered, folder):
    """The work of making a pack, writing it as a zip and verifying that."""

    def work(number):
        path = folder / f"{len(gathered.macros)}-{number}.zip"
        pack.write(pack.make(gathered), path)
        assert pack.verify(path) == []

    return work


def test_making_and_verifying_54_slots_takes_at_most_6_5_times_what_9_slots_take(tmp_path):
    many, few = workshop(MANY), workshop(FEW)
    assert len(pack.outgoing(many).slots) == MANY
    bound = "make a pack of 54 slots"
    works = making(many, tmp_path), making(few, tmp_path)
    keeps_to(bound, *in_turns(*works, rounds=3, over=[ratio(bound)]))
