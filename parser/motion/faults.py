"""What may be wrong with a line, and how it is told: the rule that owns it, what is said and what to do.

The words stand in ``faults.txt`` under a name for each.
"""

from __future__ import annotations

from dataclasses import dataclass

from parser.quantities import Value
from parser.wording import filled, texts

WORDED = texts("parser.motion", "faults.txt")
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
    rule, message, remedy = filled(WORDED[name], **values)
    return rule, message, remedy


def fault(index: int, name: str, /, **values: Value) -> Fault:
    """What is wrong with the word at ``index``, by its name."""
    return Fault(index, *told(name, **values))
