"""The parts of the pendant's program that are the same for everybody, as they stand beside this file."""

from __future__ import annotations

from importlib.resources import files


def part(name: str) -> str:
    """The text of one of the C files of this folder; ASCII only."""
    return files("library.pendant").joinpath(name).read_text(encoding="ascii")
