"""Go to a place given by a formula for each axis, in machine coordinates."""

from __future__ import annotations

from collections.abc import Mapping

from library.blocks.block import Bench, Block, BlockError, Parameter, Values, Writer

ORDERS: Mapping[str, tuple[str, ...]] = {
    "z-first": ("z", "xy"),
    "z-last": ("xy", "z"),
    "together": ("xyz",),
}


def write(values: Values, bench: Bench, out: Writer) -> None:
    places = {name: values.maybe(name) for name in "xyz"}
    targets = {name: at for name, at in places.items() if at is not None}
    if not targets:
        raise BlockError("no axis has a place to go to; fill in X, Y or Z, or remove the step")
    for names in ORDERS[values.text("order")]:
        together = {name: at for name, at in targets.items() if name in names}
        if together:
            out.machine_move(together, values.maybe("feed"))


BLOCK = Block(
    id="go-to",
    title="Go to",
    sentence="Go to X {x} Y {y} Z {z}, {order}, at {feed}",
    help="Takes each axis that is filled in to a machine coordinate. Z first is right for going up, Z last for "
    "going down; together makes one slanting move.",
    family="Moves",
    place=40,
    parameters=(
        Parameter("x", "length", "", "Machine X to go to.", blank="stay", places=("x",)),
        Parameter("y", "length", "", "Machine Y to go to.", blank="stay", places=("y",)),
        Parameter(
            "z", "length", "", "Machine Z to go to: the reading of the spindle nose.", blank="stay", places=("z",)
        ),
        Parameter("order", "choice", "z-first", "Which axes move first.", choices=tuple(ORDERS)),
        Parameter("feed", "rate", "", "Rate of the moves; left empty they are rapids.", blank="rapid", least=0.001),
    ),
    write=write,
)
