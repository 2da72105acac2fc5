"""Every question about a program, as one text in SMT-LIB 2.6 that any solver can be asked: is there such a case?

Names say which move, obstacle and axis. ``unsat`` is the answer wanted of each: no start, no tool and no point of the
way does it. What is the same in several setups or positions of the block delete switch is asked once.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import chain, count

from parser.limits import QUESTIONS
from parser.machine import LINEAR, Machine, Setup
from parser.motion.moves import Trace
from parser.opinion import NotAsked
from parser.proof.second.conditions import HEAD, MET, definitions, met, on_the_way, places
from parser.proof.second.exact import TOUCH, worked_out, written
from parser.proof.second.things import End, Subject, Thing, Tied, ToldUnder, subjects
from parser.proof.second.ways import Way, ways

TOO_MANY = f"no more than {QUESTIONS} are asked"


@dataclass(frozen=True, slots=True)
class Followed:
    """One way the program may run: followed in a setup, under a name that says which where there are several."""

    name: str
    setup: Setup
    trace: Trace


@dataclass(frozen=True, slots=True)
class Asking:
    """Whether something is met on one move: under which ``key`` it is told, and the condition for each ``by``."""

    key: ToldUnder
    subject: Subject
    name: str
    symbol: str


@dataclass(slots=True)
class AskedMove:
    """A move with every question about it. ``label`` says which move it is, ``given`` are a, p and the unknowns."""

    way: Way
    label: str
    given: list[str]
    questions: list[Asking] = field(default_factory=list)


@dataclass(slots=True)
class Questions:
    """All that is asked about a program, and the lines that are not, or not in full."""

    axes: tuple[str, ...]
    unknowns: list[str] = field(default_factory=list)
    defined: list[str] = field(default_factory=list)
    asked: list[AskedMove] = field(default_factory=list)
    not_asked: list[NotAsked] = field(default_factory=list)

    @property
    def count(self) -> int:
        return sum(len(each.questions) for each in self.asked)

    def preamble(self) -> str:
        """What stands before the first question: unknowns and what it is to be met."""
        unknowns = "".join(f"(declare-const {symbol} Real)\n" for symbol in self.unknowns)
        return HEAD + unknowns + places(self.axes) + "\n".join(self.defined) + "\n"

    def text(self, heading: Iterable[str] = (), again: Collection[int] = ()) -> str:
        """The whole, for any solver. ``heading`` are lines of comment.

        ``again`` numbers the questions, from 1, that are asked a second time, because their answer is not no: whether
        it happens by more than a millionth of a mm.
        """
        lines = [f"; {_plain(line)}".rstrip() for line in heading]
        lines += ["(set-info :smt-lib-version 2.6)", "(set-logic QF_NRA)", self.preamble()]
        number = 0
        for asked in self.asked:
            lines += [f'(echo "{_plain(asked.label)}")', "(push 1)"]
            lines += [f"(assert {each})" for each in asked.given]
            for question in asked.questions:
                number += 1
                lines += _ask(asked, question, Fraction(0), "")
                if number in again:
                    lines += _ask(asked, question, TOUCH, " by more than a millionth of a mm")
            lines.append("(pop 1)")
        return "\n".join(lines) + "\n"


def _ask(asked: AskedMove, question: Asking, by: Fraction, more: str) -> list[str]:
    condition = met(question.subject, question.symbol, asked.way, written(by))
    return [f'(echo "  {_plain(question.name)}{more}")', f"(push 1) (assert {condition}) (check-sat) (pop 1)"]


def questions(machine: Machine, cases: Sequence[Followed]) -> Questions:
    """What is asked of a program on a machine, in every case."""
    axes = tuple(dict.fromkeys((*LINEAR, *machine.names)))
    made = Questions(axes)
    symbols: dict[Subject, str] = {}
    seen: dict[object, AskedMove] = {}
    known: set[tuple[object, Subject]] = set()
    left = QUESTIONS.most
    for case in cases:
        about = ways(case.trace, blends=machine.corner == "blend")
        made.not_asked += about.not_asked
        things = [(each, _symbol(each, case.setup, symbols, made)) for each in subjects(machine, case.setup)]
        for way in about.asked:
            given = [*_ranges(way), *on_the_way(way, axes)]
            for symbol in way.unknowns:
                if symbol not in made.unknowns:
                    made.unknowns.append(symbol)
            same = (way.line, *given)
            asked = seen.get(same) or AskedMove(way, _label(way, case, cases), given)
            for subject, symbol in things:
                if (same, subject) in known or (isinstance(subject, End) and subject.axis not in way.moving):
                    continue
                if left == 0:
                    made.not_asked.append(NotAsked(way.line, TOO_MANY))
                    break
                left -= 1
                known.add((same, subject))
                asked.questions.append(Asking(subject.key, subject, _name(subject), symbol))
            if same not in seen:
                seen[same] = asked
                made.asked.append(asked)
    made.not_asked = list(dict.fromkeys(made.not_asked))
    return made


def _ranges(way: Way) -> Iterator[str]:
    for symbol, reach in way.unknowns.items():
        yield f"(<= {written(reach.low)} {symbol} {written(reach.high)})"


def _label(way: Way, case: Followed, cases: Sequence[Followed]) -> str:
    axes = " ".join(axis.upper() for axis in way.moving)
    return f"line {way.line}{f', {axes}' if axes else ''}{f', {case.name}' if len(cases) > 1 and case.name else ''}"


def _name(subject: Subject) -> str:
    if isinstance(subject, End):
        return f"end of {subject.axis.upper()} travel"
    if isinstance(subject, Tied):
        (axis, op, value), (other, relation, bound) = subject.limit.when, subject.limit.then
        return f"limit: while {axis} {op} {_figure(value)}, {other} {relation} {_figure(bound)}"
    return f"{subject.key.rider} against {subject.key.what}" if subject.key.rider else subject.key.what


def _symbol(subject: Subject, setup: Setup, symbols: dict[Subject, str], made: Questions) -> str:
    """The symbol of a subject, which is defined where it is new."""
    if subject in symbols or isinstance(subject, End):
        return symbols.get(subject, "")
    name = _plain(_name(subject))
    taken = set(symbols.values())
    tries = chain((name, f"{name} in {_plain(setup.name)}"), (f"{name} {number}" for number in count(2)))
    symbol = next(each for each in (f"|{each}{MET}|" for each in tries) if each not in taken)
    symbols[subject] = symbol
    made.defined += ["", *_drawn(subject), *definitions(subject, symbol)]
    return symbol


def _drawn(subject: Subject) -> Iterator[str]:
    """A comment that says what a subject is."""
    if isinstance(subject, Thing):
        sides = [
            f"{axis} from {float(side[0])} to {float(side[1])}" if side else f"{axis} does not matter"
            for axis, side in (("X", subject.x), ("Y", subject.y))
        ]
        top = "" if subject.top is None else f", top {float(subject.top)}"
        yield f"; {_plain(_name(subject))}: {', '.join(sides)}{top}, margin {float(subject.margin)}"
    else:
        yield f"; {_plain(_name(subject))}"


def _figure(value: float) -> float:
    """A number of a sheet as somebody would read it out."""
    return float(worked_out(value))


def _plain(text: str) -> str:
    """A text in the characters that every solver reads, without quotation marks."""
    return re.sub(r'[^ -~]|["|\\]', "?", text)
