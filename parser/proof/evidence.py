"""What the rules look at: one program traced in every setup and case, its times, and the starts it may fire from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from parser.findings import Trouble
from parser.language.program import Program
from parser.machine import Controller, Interval, Machine, Setup
from parser.motion.moves import Trace
from parser.proof.passages import Passage
from parser.times.timing import Plan


@dataclass(frozen=True, slots=True)
class Case:
    """One way the program may run: in one setup.

    ``name`` says which where it matters to a reader, None where there is only one. ``passages`` are the moves of its
    trace, each with the place it is judged from.
    """

    name: str | None
    setup: Setup
    trace: Trace
    passages: tuple[Passage, ...]


@dataclass(frozen=True, slots=True)
class Evidence:
    """Everything a rule may look at.

    ``trace`` and ``plan`` take each work origin as the range over all setups, to be shown; ``cases`` has every setup
    with its own origins, to be judged. The block delete switch is in one position throughout. ``start`` is the box of
    starts, ``condition`` what narrowed it, "" for anywhere. ``hand_rate`` is what no axis may pass, in mm/min, None for
    nothing.
    """

    program: Program
    machine: Machine
    controller: Controller
    start: Mapping[str, Interval]
    condition: str
    trace: Trace
    plan: Plan
    cases: tuple[Case, ...]
    hand_rate: float | None = None

    def troubles(self) -> Iterator[tuple[str | None, Trouble]]:
        """What reading and tracing could not accept, each once, with the case it belongs to (None: every case)."""
        for trouble in self.program.troubles:
            yield None, trouble
        told, of_each = set(), [set(case.trace.troubles) for case in self.cases]
        everywhere = set.intersection(*of_each) if of_each else set()
        for case in self.cases:
            for trouble in case.trace.troubles:
                if trouble not in told:
                    told.add(trouble)
                    yield None if trouble in everywhere else case.name, trouble
