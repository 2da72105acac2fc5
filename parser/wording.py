"""Texts that stand in a file beside what tells them: blocks of lines set apart by blank ones, each under a name.

What stands in curly brackets is filled in. The first block says what the file is.
"""

from __future__ import annotations

from collections.abc import Mapping
from importlib.resources import files

from parser.quantities import Value, say

Texts = Mapping[str, tuple[str, ...]]


def texts(package: str, name: str) -> Texts:
    """The lines under each name of a file of a package."""
    blocks = files(package).joinpath(name).read_text(encoding="utf-8").strip().split("\n\n")[1:]
    return {title: tuple(lines) for title, *lines in (block.split("\n") for block in blocks)}


def filled(lines: tuple[str, ...], **values: Value) -> tuple[str, ...]:
    """Some lines with these values in them."""
    return tuple(say(line, **values) for line in lines)
