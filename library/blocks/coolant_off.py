"""Coolant off, mist and flood."""

from __future__ import annotations

from library.blocks.block import Bench, Block, Values, Writer


def write(values: Values, bench: Bench, out: Writer) -> None:
    if not {"M7", "M8", "M9"} <= bench.controller.unsupported:
        out.words("M9")


BLOCK = Block(
    id="coolant-off",
    title="Coolant off",
    sentence="Switch the coolant off",
    help="Switches mist and flood off. On a controller that has none of M7, M8 and M9 there is nothing to switch, and "
    "it writes nothing.",
    family="Spindle and coolant",
    place=120,
    write=write,
)
