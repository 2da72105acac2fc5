"""Coolant off, mist and flood."""

from __future__ import annotations

from library.blocks.block import Bench, Block, Values, Writer


def write(values: Values, bench: Bench, out: Writer) -> None:
    out.as_given("M9")


BLOCK = Block(
    id="coolant-off",
    title="Coolant off",
    sentence="Switch the coolant off",
    help="Switches mist and flood off.",
    family="Spindle and coolant",
    place=120,
    write=write,
)
