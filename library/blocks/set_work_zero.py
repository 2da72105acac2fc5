"""Set a work zero: at fixed machine coordinates, or where the last probe tripped."""

from __future__ import annotations

from library.blocks.block import Bench, Block, BlockError, Parameter, Values, Writer
from parser.machine import SYSTEMS


def write(values: Values, bench: Bench, out: Writer) -> None:
    system = values.text("system")
    origin = {name: at for name in "xyz" if (at := values.maybe(name)) is not None}
    probed = values.text("source") == "probe"
    if probed and "z" in origin:
        raise BlockError("Z comes from the probe; leave it empty, or set the zero at fixed coordinates", "z")
    if not origin and not probed:
        raise BlockError("no axis has a place for the zero; fill in X, Y or Z, or remove the step")
    if origin:
        out.set_origin(system, origin)
    if probed:
        out.set_origin_from_probe(system, values.number("above"))


BLOCK = Block(
    id="set-work-zero",
    title="Set a work zero",
    sentence="Set the {system} zero at X {x} Y {y} Z {z}, Z from {source}, plate {above} thick",
    help="Puts the zero of a work coordinate system at machine coordinates, or its Z where the last probe-down step of "
    "this macro tripped. Axes left empty keep theirs. The zero stays so after the macro: it changes where every later "
    "program goes.",
    family="Work zero",
    place=270,
    parameters=(
        Parameter("system", "choice", "G54", "Work coordinate system whose zero is set.", choices=SYSTEMS),
        Parameter("source", "choice", "fixed", "Where Z comes from.", choices=("fixed", "probe")),
        Parameter("x", "length", "", "Machine X of the zero.", blank="keep", places=("x",)),
        Parameter("y", "length", "", "Machine Y of the zero.", blank="keep", places=("y",)),
        Parameter("z", "length", "", "Machine Z of the zero, under G49.", blank="keep", places=("z",)),
        Parameter(
            "above", "length", "0 mm", "Thickness of the plate that was probed; the zero is that far below its top."
        ),
    ),
    write=write,
)
