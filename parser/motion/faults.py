"""What may be wrong with a line, and how it is told: the rule that owns it, what is said and what to do.

The words stand in ``faults.txt`` under a name for each.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files

from parser.quantities import Value, say

_BLOCKS = files("parser.motion").joinpath("faults.txt").read_text(encoding="utf-8").strip().split("\n\n")[1:]
WORDED: Mapping[str, tuple[str, ...]] = {name: tuple(said) for name, *said in (each.split("\n") for each in _BLOCKS)}
"""The rule, the message and the remedy of each."""


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with a word of a line; ``index`` counts its words from 0.

    ``from_some_starts`` says that it is so from some of the starts, perhaps not from others.
    """

    index: int
    rule: str
    message: str
    remedy: str
    from_some_starts: bool = False


def told(name: str, /, **values: Value) -> tuple[str, str, str]:
    """The rule that owns what is wrong, what is said of it and what to do."""
    rule, message, remedy = WORDED[name]
    return rule, say(message, **values), say(remedy, **values)


def fault(index: int, name: str, /, **values: Value) -> Fault:
    """What is wrong with the word at ``index``, by its name."""
    return Fault(index, *told(name, **values))
