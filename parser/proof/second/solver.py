"""Asking the solver: each question within so much effort as it counts itself, alike on every machine.

Most come to an end in the linear part alone. The others go to a procedure for polynomials, and what takes it long in
one order of the unknowns is often done at once in another, or in parts: a and p each on one side of the box.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from hashlib import sha256
from importlib import import_module
from itertools import product
from typing import Any

from parser.errors import NoSolverError
from parser.progress import Progress, unheard
from parser.proof.second.conditions import met
from parser.proof.second.exact import TOUCH, written
from parser.proof.second.questions import AskedMove, Asking, Questions
from parser.proof.second.things import Ride, Thing

FIRST_EFFORT, EFFORT = 100_000, 300_000
"""What the first try and one by another procedure may take, in the solver's own count: tenths and hundredths of a
second."""

SEEDS = range(1, 7)
"""Other beginnings of the first procedure."""

TRIES = [(order, EFFORT // 5) for order in range(4)]
"""Orders of the unknowns and efforts that are tried for a part of a question."""

MOST_MILLISECONDS = 20_000
"""A clock ends only what the solver does not count: a step of its own that is far beyond all others."""

Values = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Answer:
    """What the solver says of a question: whether there is such a case, None where it has not decided in its effort.

    ``by_touch`` says whether there is one by more than a millionth of a mm, None where that is not decided; ``values``
    are those of a case, by symbol.
    """

    meets: bool | None
    by_touch: bool | None = False
    values: Values | None = None


def load() -> Any:
    """The solver; raises NoSolverError where it is not installed."""
    try:
        return import_module("z3")
    except ImportError:
        raise NoSolverError(
            "A second opinion needs a solver that is not installed. Install Clickstop with it: pip install "
            "'clickstop[second]' (in its own folder: pip install '.[second]')."
        ) from None


def installed() -> bool:
    """Whether the solver can be asked."""
    try:
        load()
    except NoSolverError:
        return False
    return True


def answers(asked: Questions, progress: Progress = unheard) -> list[list[Answer]]:
    """The answers to all questions, by move; what ``progress`` raises ends the work. Raises NoSolverError."""
    share = 0.0
    solver = _Solver(load(), asked, lambda: progress(share))
    found: list[list[Answer]] = []
    for number, each in enumerate(asked.asked):
        share = number / len(asked.asked)
        found.append(solver.about(each))
    return found


MOST_KNOWN = 2000
"""Moves whose answers are kept: a pack is made, read back and proved again, and asks the very same each time."""

_known: dict[bytes, list[Answer]] = {}
"""Answers by the digest of the text that was asked. The solver counts its effort, so it would answer the same again."""


class _Solver:
    """The solver with the definitions of one text."""

    def __init__(self, z3: Any, asked: Questions, goes_on: Callable[[], None]) -> None:
        self._z3 = z3
        self._context = z3.Context()
        self._preamble = asked.preamble()
        self._goes_on = goes_on

    def about(self, asked: AskedMove) -> list[Answer]:
        """The answers to every question about one move; what ``goes_on`` raises between two tries ends the work."""
        self._goes_on()
        if not asked.questions:
            return []
        by = (written(Fraction(0)), written(TOUCH))
        conditions = [met(each.subject, each.symbol, asked.way, how) for each in asked.questions for how in by]
        text = self._preamble + "".join(f"(assert {each})\n" for each in (*asked.given, *conditions))
        key = sha256(text.encode()).digest()
        answers = _known.get(key)
        if answers is None:
            answers = self._answers(asked, text, len(conditions))
            if len(_known) >= MOST_KNOWN:
                _known.clear()
            _known[key] = answers
        return answers

    def _answers(self, asked: AskedMove, text: str, conditions: int) -> list[Answer]:
        parsed = list(self._z3.parse_smt2_string(text, ctx=self._context))
        given, rest = parsed[:-conditions], parsed[-conditions:]
        return [
            self._answer(question, given, rest[2 * number], rest[2 * number + 1])
            for number, question in enumerate(asked.questions)
        ]

    def _answer(self, question: Asking, given: Sequence[Any], touching: Any, passing: Any) -> Answer:
        found, values = self._decide(question, given, touching)
        if found is False:
            return Answer(False)
        by_touch, better = self._decide(question, given, passing)
        return Answer(True if by_touch else found, by_touch, better or values)

    def _decide(self, question: Asking, given: Sequence[Any], condition: Any) -> tuple[bool | None, Values]:
        conditions = [*given, condition]
        found, values = self._first(conditions)
        if found is None:
            found, values = self._try(conditions, 0, EFFORT)
        if found is None:
            tries = (self._first(conditions, seed) for seed in SEEDS)
            found, values = next(((one, case) for one, case in tries if one is not None), (None, {}))
        return (found, values) if found is not None else self._by_sides(question, conditions)

    def _first(self, conditions: Sequence[Any], seed: int = 0) -> tuple[bool | None, Values]:
        """What the solver finds that begins with the linear part and adds products as it needs them."""
        self._goes_on()
        z3 = self._z3
        solver = z3.SimpleSolver(ctx=self._context)
        solver.set("rlimit", FIRST_EFFORT)
        solver.set("random_seed", seed)
        solver.set("timeout", MOST_MILLISECONDS)
        solver.add(*conditions)
        found = solver.check()
        if found == z3.sat:
            return True, self._case(solver.model())
        return (False if found == z3.unsat else None), {}

    def _try(self, conditions: Sequence[Any], order: int, effort: int) -> tuple[bool | None, Values]:
        self._goes_on()
        z3 = self._z3
        solver = self._ordered(order).solver()
        solver.set("rlimit", effort)
        solver.set("timeout", MOST_MILLISECONDS)
        solver.add(*conditions)
        found = solver.check()
        if found == z3.sat:
            return True, self._case(solver.model())
        return (False if found == z3.unsat else None), {}

    def _ordered(self, order: int) -> Any:
        """A procedure for polynomials; any order but 0 shuffles the unknowns."""
        z3, context = self._z3, self._context
        if order == 0:
            return z3.Tactic("qfnra-nlsat", ctx=context)
        shuffled = z3.With(z3.Tactic("nlsat", ctx=context), shuffle_vars=True, seed=order)
        steps = ("simplify", "purify-arith", "elim-term-ite", "tseitin-cnf")
        return z3.Then(*(z3.Tactic(each, ctx=context) for each in steps), shuffled)

    def _by_sides(self, question: Asking, conditions: list[Any]) -> tuple[bool | None, Values]:
        """A question in up to 81 parts: a and p each between or past two faces of the box, along X and Y."""
        known: bool | None = False
        for part in product(*self._sides(question)):
            found, values = self._first([*conditions, *part])
            if found is None:
                tries = (self._try([*conditions, *part], order, effort) for order, effort in TRIES)
                found, values = next(((one, case) for one, case in tries if one is not None), (None, {}))
            if found:
                return True, values
            known = None if found is None else known
        return known, {}

    def _sides(self, question: Asking) -> Iterator[list[Any]]:
        z3, subject = self._z3, question.subject
        if not isinstance(subject, Thing | Ride):
            return
        for place in "ap":
            for axis, side in (("x", subject.x), ("y", subject.y)):
                if side is not None:
                    at = z3.Real(f"{place}.{axis}", ctx=self._context)
                    low, high = (z3.Q(each.numerator, each.denominator, ctx=self._context) for each in side)
                    yield [at <= low, z3.And(at >= low, at <= high), at >= high]

    def _case(self, model: Any) -> Values:
        z3, values = self._z3, {}
        for unknown in model.decls():
            value = model[unknown]
            if z3.is_algebraic_value(value):
                value = value.approx(20)
            if z3.is_rational_value(value):
                values[unknown.name()] = float(value.as_fraction())
        return values
