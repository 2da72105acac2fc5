"""One table of what is turned, pressed and clicked, run through the C program as through the page."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from library.pendant import writing
from library.pendant.parts import part
from library.pendant.tables import (
    Answers,
    AxisJog,
    Click,
    HeldGesture,
    HeldJog,
    HeldMacro,
    HeldPosition,
    HeldSlot,
    HeldStage,
    Sent,
    Table,
    TableHead,
)
from tests.library.pendant.whole import Whole

EVENTS = json.loads(Path(__file__).with_name("events.json").read_text(encoding="utf-8"))
AFTER_MS, CLICK_MS = 30, 50


def table(said):
    """The table of the event file."""
    jog = said["jog"]
    axes = tuple(
        AxisJog(tuple(axis["lines"]), axis["extra_ms"], tuple(Click(**click) for click in axis["clicks"]))
        for axis in jog["axes"]
    )
    macros = tuple(
        HeldMacro(
            each["name"],
            tuple(
                HeldStage(tuple(stage["lines"]), stage["patience_ms"], stage["motion_ms"]) for stage in each["stages"]
            ),
        )
        for each in said["macros"]
    )
    return Table(
        head=TableHead(**said["head"]),
        positions=tuple(HeldPosition(**position) for position in said["positions"]),
        increments=tuple(said["increments"]),
        gesture=HeldGesture(**{**said["gesture"], "turns": tuple(said["gesture"]["turns"])}),
        answers=Answers(**{**said["answers"], "errors": tuple(said["answers"]["errors"])}),
        sent=Sent(**said["sent"]),
        macros=macros,
        slots=tuple(HeldSlot(**slot) for slot in said["slots"]),
        jog=HeldJog(**{**jog, "axes": axes}),
        edges_per_click=said["edges_per_click"],
    )


@pytest.fixture(scope="module")
def files():
    texts = {
        "slots.h": writing.text(table(EVENTS["table"])),
        "sender.h": part("sender.h"),
        "pendant.h": part("pendant.h"),
    }
    return {name: text.encode() for name, text in texts.items()}


def do(on, event, labels, increments):
    match event:
        case ["wait", milliseconds]:
            on.wait(milliseconds)
            return
        case ["click", count]:
            on.click(count, CLICK_MS)
            return
        case ["turn", label]:
            on.turn(None if label is None else labels.index(label))
        case ["increment", label]:
            on.increments = {increments.index(label)}
        case ["press"] | ["let go"]:
            on.enable = event == ["press"]
        case ["stop"] | ["release stop"]:
            on.stop = event == ["stop"]
        case ["answer", text]:
            on.answer = lambda line, number: text
        case _:
            raise AssertionError(event)
    on.wait(AFTER_MS)


@pytest.mark.parametrize("sequence", EVENTS["sequences"], ids=lambda each: each["name"])
def test_the_program_does_as_the_table_says(files, sequence):
    on = Whole(files)
    labels = [position["label"] for position in EVENTS["table"]["positions"]]
    for event in sequence["does"]:
        do(on, event, labels, EVENTS["table"]["increments"])
    assert on.sent == sequence["sent"]
    assert on.state.name.lower().replace("_", " ") == sequence["state"]
    assert on.why.name.lower().replace("was_", "").replace("_", " ") == sequence["why"]
    if "line" in sequence:
        assert on.at_line == sequence["line"]
