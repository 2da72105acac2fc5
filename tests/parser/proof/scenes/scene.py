"""A machine, a controller and a macro on it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from parser.machine import Controller, Interval, Machine

AXES = "xyz"
TRAVEL = {"x": Interval(0.0, 260.0), "y": Interval(0.0, 150.0), "z": Interval(-90.0, 0.0)}
HEADER = "G17 G21 G40 G49 G54 G80 G90 G94 G98"


def text(lines: Sequence[str]) -> str:
    """Lines as a program."""
    return "\n".join(lines) + "\n"


@dataclass(frozen=True)
class Scene:
    """``lines`` fired from anywhere in ``start``; ``before`` is a macro that runs first, whole or in part.

    ``reasons`` are the rules whose refusals the macro accepts, each with a reason.
    """

    machine: Machine
    controller: Controller
    lines: tuple[str, ...]
    start: Mapping[str, Interval]
    before: tuple[str, ...] = ()
    reasons: Mapping[str, str] = field(default_factory=dict)

    @property
    def text(self) -> str:
        return text(self.lines)
