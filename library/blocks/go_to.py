"""Go to a place given by a formula for each axis, in machine coordinates or in a work system as it stands."""

from __future__ import annotations

import re
from collections.abc import Mapping

from library.blocks.block import Bench, Block, BlockError, Parameter, Values, Writer
from parser.machine import AXES, LINEAR, ROTARY, SYSTEMS

MACHINE, CHOSEN = "machine", "chosen"

ORDERS: Mapping[str, tuple[str, ...]] = {
    "z-first": ("z", "xy", "abc"),
    "z-last": ("xy", "abc", "z"),
    "together": ("xyzabc",),
}


def write(values: Values, bench: Bench, out: Writer) -> None:
    places = {name: values.maybe(name) for name in AXES}
    targets = {name: at for name, at in places.items() if at is not None}
    if not targets:
        raise BlockError("no axis has a place to go to; fill in X, Y or Z, or remove the step")
    for name in targets:
        if bench.machine.axis(name) is None:
            raise BlockError(
                f"this machine has no {name.upper()} axis (axes.{name} on the machine sheet); leave it empty", name
            )
    for names in _order(values, targets):
        together = {name: at for name, at in targets.items() if name in names}
        feed = values.maybe("feed") if any(name in LINEAR for name in together) else None
        if not together:
            continue
        if values.text("system") == MACHINE:
            out.machine_move(together, feed)
        else:
            out.work_move(values.text("system"), together, feed)


def _order(values: Values, targets: Mapping[str, float]) -> tuple[str, ...]:
    """The letters of the axes that go together, one group after another."""
    if values.text("order") != CHOSEN:
        return ORDERS[values.text("order")]
    text = values.text("sequence").lower()
    groups = tuple(filter(None, re.split(r"[\s,]+", text)))
    if set("".join(groups)) - set(AXES):
        raise BlockError(f"sequence is {text!r}; write the letters of axes, such as z, xy, a", "sequence")
    twice = next((name for name in AXES if text.count(name) > 1), None)
    if twice:
        raise BlockError(f"sequence names {twice.upper()} twice; an axis goes once", "sequence")
    missing = [name.upper() for name in targets if name not in text]
    if missing:
        raise BlockError(f"sequence does not say when {' and '.join(missing)} is to go; add it", "sequence")
    return groups


def _place(name: str) -> Parameter:
    if name in ROTARY:
        return Parameter(
            name, "angle", "", f"Where axis {name.upper()} is to turn to.", blank="stay", only_with=(name,)
        )
    reading = ": the reading of the spindle nose" if name == "z" else ""
    help = f"Machine {name.upper()} to go to{reading}; or {name.upper()} of the work system that is chosen."
    return Parameter(name, "length", "", help, blank="stay", places=(name,), placed_in="system")


BLOCK = Block(
    id="go-to",
    title="Go to",
    sentence="Go to X {x} Y {y} Z {z} A {a} B {b} C {c}, in {system} coordinates, in the order {order} ({sequence}), "
    "at {feed}",
    help="Takes each axis that is filled in to a place: in machine coordinates, or in a work system as it stands, with "
    "no tool length offset, which is then in force afterwards. Z first is right for going up, Z last for going down; "
    "rotary axes turn by themselves, at rapid; together makes one slanting move. Or choose the order: z, xy, a takes "
    "Z, then X and Y at once, then A.",
    family="Moves",
    place=40,
    parameters=(
        *(_place(name) for name in AXES),
        Parameter(
            "system", "choice", MACHINE, "Coordinates that the places are given in.", choices=(MACHINE, *SYSTEMS)
        ),
        Parameter("order", "choice", "z-first", "Which axes move first.", choices=(*ORDERS, CHOSEN)),
        Parameter(
            "sequence",
            "text",
            "",
            "The order that is chosen: letters of axes that go at once, set apart by commas.",
            blank="none chosen",
        ),
        Parameter("feed", "rate", "", "Rate of the moves; left empty they are rapids.", blank="rapid", least=0.001),
    ),
    write=write,
)
