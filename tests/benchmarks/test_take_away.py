"""A pendant with many slots costs no more for each of them than one with few."""

from __future__ import annotations

import gc
import time

from library import starter, takeaway
from library.takeaway import Gathered

FEW, MANY = 9, 54
MOST = 6.5
"""How many times as long the many may take; by their number it would be 6."""

ROUNDS = 5
"""Of which the least time counts: whatever else the computer does can only add to it."""

INCREMENTS = ("x1", "x10", "x100")


def workshop(count):
    """The starter workshop with a macro of its own on each of ``count`` slots."""
    like = starter.text("macros/present-part.toml")
    labels = [f"P{number}" for number in range(count // len(INCREMENTS))]
    ids = {(label, increment): f"{label}-{increment}".lower() for label in labels for increment in INCREMENTS}
    rows = "".join(
        f"[slots.{label}]\n" + "".join(f'{increment} = "{ids[label, increment]}"\n' for increment in INCREMENTS)
        for label in labels
    )
    positions = ", ".join(f'{{ label = "{label}" }}' for label in labels)
    pendant = f'format = "clickstop-pendant/1"\npositions = [{positions}]\n{rows}'
    macros = {id: like.replace('id = "present-part"', f'id = "{id}"') for id in ids.values()}
    return Gathered(starter.text("machine.toml"), starter.text("controller.toml"), pendant, macros)


def seconds(gathered, folder):
    """Processor time to make a take-away, to write it as a zip and to verify that."""
    gc.collect()
    gc.disable()
    try:
        began = time.process_time()
        takeaway.write(takeaway.make(gathered), folder / "out.zip")
        assert takeaway.verify(folder / "out.zip") == []
        return time.process_time() - began
    finally:
        gc.enable()
        (folder / "out.zip").unlink()


def test_making_and_verifying_54_slots_takes_at_most_6_5_times_what_9_slots_take(tmp_path):
    few, many = workshop(FEW), workshop(MANY)
    assert len(takeaway.going(many).slots) == MANY
    times = [(seconds(many, tmp_path), seconds(few, tmp_path)) for _ in range(ROUNDS)]
    least_many, least_few = (min(each) for each in zip(*times, strict=True))
    assert least_many <= MOST * least_few, times
