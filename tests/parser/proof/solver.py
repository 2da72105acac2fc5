"""What meets what on a straight move, asked of an SMT solver over the reals: an oracle outside the proof.

A question is whether there are a start, work origins, a share t of the move and, for the tool, a length l and a radius
r, so that the move hits. It is written down as the definition of a hit reads (section 8 of the design), distances as
squares, numbers as the exact fractions of their decimals. Nothing is worked out beforehand and nothing is taken from
the parser but the plain data of a machine.

Touching is not hitting, and 1e-6 mm is. So each question is asked twice: as it stands, where no means that nothing may
be refused; and with everything that has to be passed passed by 1e-6 mm, where yes means that it has to be.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import Enum
from fractions import Fraction
from itertools import product

import z3

from parser.machine import Box, Interval, Limit, Machine, Setup
from tests.parser.proof.solver_scenes import AXES, TRAVEL, Leg, Place, Scene, exact

TOUCH = Fraction(1, 10**6)
EFFORT, TIMEOUT = 50_000, 5000
"""What a try at a question may take: the solver's own count, alike on every machine (some hundredths of a second), and
milliseconds at the very most."""

TRIES = [*((order, EFFORT) for order in range(24)), *((order, 10 * EFFORT) for order in range(6))]
"""Orders of the unknowns, and efforts, that are tried for a part of a question: what takes minutes in one order is
often done in hundredths of a second in another."""

Key = tuple[str, object]
"""What is met: ("K0", "") a box by what hangs on the spindle, ("Frame", "K0") a box on the frame by one on the table,
("x", 3) an end of travel of X on line 3, ("limit", 0) the first limit of the sheet."""


class Answer(Enum):
    """What the solver says of a move; TOUCHES is a hit by no more than 1e-6 mm, which may be called either."""

    CLEAR = "clear"
    TOUCHES = "touches"
    HITS = "hits"
    UNKNOWN = "unknown"


Lines = dict[int, Answer]
"""The answers by line, in order; lines after the first that hits are left out."""


Values = dict[str, float]
"""A case: numbers by the name of the unknown, as ``start.x``, ``origin.x``, ``t``, ``length`` or ``radius``."""


@dataclass(frozen=True)
class Thing:
    """A body against a box: what the definition of a hit calls l and r at their most, the box, and the margin.

    ``faces`` are those of the box along X and Y, None where it has none there; ``top`` and ``bottom`` likewise.
    ``any_size`` is True for the tool. ``nose`` is the radius of what reaches up from it without end.
    """

    name: str
    length: Fraction
    radius: Fraction
    any_size: bool
    faces: tuple[tuple[Fraction, Fraction] | None, ...]
    top: Fraction | None
    bottom: Fraction | None
    nose: Fraction
    margin: Fraction


@dataclass(frozen=True)
class Ride:
    """A box on the table against one on the frame: the readings between which they overlap along X and Y as drawn.

    None along an axis that the table does not carry. ``beside`` says that they overlap along those with the margin.
    """

    name: str
    readings: tuple[tuple[Fraction, Fraction] | None, ...]
    beside: bool
    margin: Fraction


@dataclass(frozen=True)
class End:
    """An end of travel of an axis, less its margin: the high one, or the low one."""

    axis: str
    place: Fraction
    high: bool


Subject = Thing | Ride | End | Limit


def subjects(machine: Machine, setup: Setup) -> Iterator[tuple[Key, Subject]]:
    """Everything that may be met in a setup but for ends of travel, which go by line."""
    for box in setup.keep_outs:
        for thing in _things(machine, box, fixed=False):
            yield (box.name, ""), thing
    for frame in machine.enclosures:
        for thing in _things(machine, frame, fixed=True):
            yield (frame.name, ""), thing
        if not _on_table(machine, "z"):
            for box in setup.keep_outs:
                yield (frame.name, box.name), _ride(machine, box, frame)
    for number, limit in enumerate(machine.limits):
        yield ("limit", number), limit


def ends(machine: Machine) -> Iterator[End]:
    """The ends of travel."""
    for axis in machine.axes:
        margin = exact(machine.travel_margin)
        yield End(axis.name, exact(axis.travel.high) - margin, high=True)
        yield End(axis.name, exact(axis.travel.low) + margin, high=False)


def _on_table(machine: Machine, axis: str) -> bool:
    return machine.axes[AXES.index(axis)].carried_by == "table"


def _things(machine: Machine, box: Box, *, fixed: bool) -> Iterator[Thing]:
    """Tool, holder and nose against a box that rides on the table, or that is fixed to the frame."""
    nose, length, radius = (exact(each) for each in (machine.nose_radius, machine.holder_length, machine.holder_radius))
    bodies = [("tool", exact(machine.tool_stick_out), exact(machine.tool_radius))]
    bodies += [("holder", length, radius)] if length or radius else []
    bodies += [("nose", Fraction(0), nose)] if nose else []
    faces = tuple(
        None if fixed and _on_table(machine, axis) else (exact(box.low[index]), exact(box.high[index]))
        for index, axis in enumerate("xy")
    )
    endless = fixed and _on_table(machine, "z")
    for name, most_l, most_r in bodies:
        yield Thing(
            name,
            most_l,
            most_r,
            name == "tool",
            faces,
            None if endless else exact(box.high[2]),
            exact(box.low[2]) if fixed and not endless and name != "nose" else None,
            nose,
            exact(machine.keep_out_margin),
        )


def _ride(machine: Machine, box: Box, frame: Box) -> Ride:
    margin = exact(machine.keep_out_margin)
    low = [exact(box.low[i]) - exact(frame.high[i]) for i in range(3)]
    high = [exact(box.high[i]) - exact(frame.low[i]) for i in range(3)]
    carried = [_on_table(machine, axis) for axis in AXES]
    return Ride(
        box.name,
        tuple((low[i], high[i]) if carried[i] else None for i in range(2)),
        all(carried[i] or (low[i] < margin and high[i] > -margin) for i in range(3)),
        margin,
    )


# The question


def number(value: Fraction) -> z3.ArithRef:
    """A fraction as the solver writes it."""
    return z3.Q(value.numerator, value.denominator)


@dataclass(frozen=True)
class Path:
    """A move for the solver: its unknowns' ranges, and by axis a (where it is judged from) and p (a point of it)."""

    ranges: list[z3.BoolRef]
    a: list[z3.ArithRef]
    p: list[z3.ArithRef]
    begin: list[z3.ArithRef]
    end: list[z3.ArithRef]


def path(leg: Leg, start: dict[str, Interval], setup: Setup) -> Path:
    """The move from any start of a box, for any work origins of a setup."""
    ranges: list[z3.BoolRef] = []

    def unknown(name: str, low: Fraction, high: Fraction) -> z3.ArithRef:
        if low == high:
            return number(low)
        found = z3.Real(name)
        ranges.extend([found >= number(low), found <= number(high)])
        return found

    t = unknown("t", Fraction(0), Fraction(1))
    origins = setup.origins["G54"].axes
    a, p, begins, ends = [], [], [], []
    for axis in AXES:
        started = unknown(f"start.{axis}", exact(start[axis].low), exact(start[axis].high))
        origin = unknown(f"origin.{axis}", exact(origins[axis].low), exact(origins[axis].high))

        def at(place: Place, started: z3.ArithRef = started, origin: z3.ArithRef = origin) -> z3.ArithRef:
            parts = [started] * place.on_start + [origin] * place.on_origin
            return z3.Sum(number(place.number), *parts)

        begin, end = at(leg.begin[axis]), at(leg.end[axis])
        a.append(at(leg.judged_from[axis]))
        p.append(begin if leg.begin[axis] == leg.end[axis] else begin + t * (end - begin))
        begins.append(begin)
        ends.append(end)
    return Path(ranges, a, p, begins, ends)


def question(subject: Subject, path: Path, by: Fraction) -> z3.BoolRef:
    """The conditions of a hit, everything that has to be passed being passed by more than ``by``."""
    if isinstance(subject, Thing):
        return _met(subject, path, by)
    if isinstance(subject, Ride):
        return _ridden_into(subject, path, by)
    if isinstance(subject, End):
        return _overrun(subject, path, by)
    return _broken(subject, path, by)


Faces = tuple[tuple[Fraction, Fraction] | None, ...]


def _gap(q: z3.ArithRef, low: Fraction, high: Fraction) -> z3.ArithRef:
    return z3.If(q < number(low), number(low) - q, z3.If(q > number(high), q - number(high), 0))


def _square_of_distance(q: list[z3.ArithRef], faces: Faces) -> z3.ArithRef:
    gaps = [_gap(q[i], *faces[i]) for i in range(2) if faces[i] is not None]
    return z3.Sum(number(Fraction(0)), *(gap * gap for gap in gaps))


def _over(q: list[z3.ArithRef], faces: Faces, by: Fraction = Fraction(0)) -> z3.BoolRef:
    sides = [(q[i], faces[i]) for i in range(2) if faces[i] is not None]
    return z3.And(*(z3.And(at > number(side[0] + by), at < number(side[1] - by)) for at, side in sides))


def _nearer(path: Path, faces: Faces, by: Fraction) -> z3.BoolRef:
    """d(p) < d(a) - by; d(a), at which a square root would be taken, is any number whose square is no larger."""
    was_squared, is_squared = _square_of_distance(path.a, faces), _square_of_distance(path.p, faces)
    if by == 0:
        return is_squared < was_squared
    was = z3.Real("was")
    return z3.And(was > number(by), was * was <= was_squared, is_squared < (was - number(by)) * (was - number(by)))


def _within(path: Path, faces: Faces, off: z3.ArithRef, by: Fraction) -> z3.BoolRef:
    """d(p) < off - by, or p over the box by that."""
    near = off - number(by)
    close = z3.And(near > 0, _square_of_distance(path.p, faces) < near * near)
    return z3.Or(close, _over(path.p, faces, by))


def _came_over(path: Path, faces: Faces, by: Fraction) -> z3.BoolRef:
    return z3.And(_over(path.p, faces, by), z3.Not(_over(path.a, faces)))


def _met(thing: Thing, path: Path, by: Fraction) -> z3.BoolRef:
    """A tool, holder or nose meets a box.

    Where the table carries Z, a box on the frame has neither top nor underside and the head never comes lower in the
    frame: then only coming nearer in plan counts.
    """
    a, p, faces, margin = path.a, path.p, thing.faces, number(thing.margin)
    most_l, most_r = number(thing.length), number(thing.radius)
    length, radius = (z3.Real("length"), z3.Real("radius")) if thing.any_size else (most_l, most_r)
    conditions = [length >= 0, length <= most_l, radius >= 0, radius <= most_r]
    clear = [z3.And(_square_of_distance(a, faces) >= radius * radius, z3.Not(_over(a, faces)))]
    conditions.append(_within(path, faces, radius + margin, by))
    approaches = [_nearer(path, faces, by), _came_over(path, faces, by)]
    if thing.top is not None:
        top = number(thing.top)
        clear.append(a[2] - length >= top)
        conditions.append(p[2] - length < top + margin - number(by))
        sinks, rises = p[2] < a[2] - number(by), p[2] > a[2] + number(by)
        if thing.bottom is None:
            approaches.append(sinks)
        else:
            below = a[2] <= number(thing.bottom)
            if thing.radius > thing.nose:
                clear.append(below)
                approaches.append(z3.If(below, rises, sinks))
            else:
                approaches.append(z3.And(z3.Not(below), sinks))
            conditions.append(p[2] > number(thing.bottom) - margin + number(by))
    return z3.And(*conditions, z3.Or(*clear), z3.Or(*approaches))


def _ridden_into(ride: Ride, path: Path, by: Fraction) -> z3.BoolRef:
    """A box on the table comes to one on the frame; a start in which they overlap never comes nearer."""
    faces = ride.readings
    approaches = z3.Or(_nearer(path, faces, by), _came_over(path, faces, by))
    return z3.And(ride.beside, _within(path, faces, number(ride.margin), by), approaches)


def _overrun(end: End, path: Path, by: Fraction) -> z3.BoolRef:
    """A move ends past an end of travel, further out than it was; one that stays there may be called either."""
    index, sign = AXES.index(end.axis), 1 if end.high else -1
    out = sign * (path.end[index] - number(end.place))
    further = sign * (path.end[index] - path.a[index])
    moved = path.end[index] - path.begin[index]
    goes = z3.Or(moved > number(by), -moved > number(by)) if by else True
    return z3.And(out > number(by), further > number(by), goes)


def _broken(limit: Limit, path: Path, by: Fraction) -> z3.BoolRef:
    """``when`` holds and ``then`` does not, and along one of the two axes p is further that way than a."""
    past, came = [], []
    for (axis, op, value), wanted in ((limit.when, True), (limit.then, False)):
        index = AXES.index(axis)
        sign = 1 if (">" in op) == wanted else -1
        past.append(sign * (path.p[index] - number(exact(value))) > number(by))
        came.append(sign * (path.p[index] - path.a[index]) > number(by))
    return z3.And(*past, z3.Or(*came))


# The answer


Found = tuple[bool | None, Values]
"""Whether all conditions can hold at once, with a case if so; None where the solver does not know."""


def solve(conditions: list[z3.BoolRef], order: int = 0, effort: int = EFFORT) -> Found:
    """One try."""
    solver = _solver(order)
    solver.set(rlimit=effort, timeout=TIMEOUT)
    solver.add(*conditions)
    found = solver.check()
    if found == z3.sat:
        return True, _case(solver.model())
    return (False if found == z3.unsat else None), {}


def _solver(order: int) -> z3.Solver:
    """A solver for polynomials; any order but 0 shuffles the unknowns."""
    if order == 0:
        return z3.Tactic("qfnra-nlsat").solver()
    shuffled = z3.With("nlsat", shuffle_vars=True, seed=order)
    return z3.Then("simplify", "purify-arith", "elim-term-ite", "tseitin-cnf", shuffled).solver()


def _case(model: z3.ModelRef) -> Values:
    values = {}
    for unknown in model.decls():
        value = model[unknown]
        if z3.is_algebraic_value(value):
            value = value.approx(20)
        if z3.is_rational_value(value):
            values[unknown.name()] = float(value.as_fraction())
    return values


def solve_by_sides(subject: Subject, way: Path, by: Fraction) -> Found:
    """A question in up to 81 parts: a and p each on one side of the box, between or past its faces, along X and Y.

    Each part is put in two ways, once with p as unknowns of its own.
    """
    known: bool | None = False
    for put in zip(_parts(subject, way, by), _parts(subject, _named(way), by), strict=True):
        found, case = _solve_hard(put)
        if found:
            return True, case
        known = None if found is None else known
    return known, {}


def _parts(subject: Subject, way: Path, by: Fraction) -> Iterator[list[z3.BoolRef]]:
    faces = subject.faces if isinstance(subject, Thing) else subject.readings if isinstance(subject, Ride) else ()
    sided = [_sides(q[i], *side) for q in (way.a, way.p) for i, side in enumerate(faces) if side is not None]
    for part in product(*sided):
        yield [*way.ranges, question(subject, way, by), *part]


def _named(way: Path) -> Path:
    p = [z3.Real(f"p.{axis}") for axis in AXES]
    return replace(way, p=p, ranges=[*way.ranges, *(name == at for name, at in zip(p, way.p, strict=True))])


def _solve_hard(put: tuple[list[z3.BoolRef], ...]) -> Found:
    for (order, effort), conditions in product(TRIES, put):
        found, case = solve(conditions, order, effort)
        if found is not None:
            return found, case
    return None, {}


def _sides(q: z3.ArithRef, low: Fraction, high: Fraction) -> list[z3.BoolRef]:
    return [q <= number(low), z3.And(q >= number(low), q <= number(high)), q >= number(high)]


def ask(subject: Subject, leg: Leg, start: dict[str, Interval], setup: Setup) -> tuple[Answer, Values]:
    """What happens on one move, with a case that hits."""
    way = path(leg, start, setup)
    hits: dict[Fraction, bool | None] = {}
    for by in (Fraction(0), TOUCH):
        hits[by], case = solve([*way.ranges, question(subject, way, by)])
        if hits[by] is None:
            hits[by], case = solve_by_sides(subject, way, by)
        if hits[by] is False and by == 0:
            return Answer.CLEAR, {}
    if hits[TOUCH]:
        return Answer.HITS, case
    return (Answer.UNKNOWN if None in hits.values() else Answer.TOUCHES), {}


def decide(scene: Scene) -> dict[Key, Lines]:
    """The answers about everything that a scene may meet, the gravest over all setups and bodies on each line."""
    legs = list(scene.legs())
    found: dict[Key, Lines] = {}
    asked: dict[object, Answer] = {}

    def asked_once(subject: Subject, leg: Leg, setup: Setup) -> Answer:
        """Setups that differ in nothing the question is about need not be asked twice."""
        key = subject, leg.line, tuple(setup.origins["G54"].axes[axis] for axis in AXES if leg.hangs_on(axis))
        if key not in asked:
            asked[key] = ask(subject, leg, scene.start, setup)[0]
        return asked[key]

    for key in dict.fromkeys(key for setup in scene.machine.setups for key, _ in subjects(scene.machine, setup)):
        found[key] = {}
        for leg in legs:
            answers = (
                asked_once(subject, leg, setup)
                for setup in scene.machine.setups
                for other, subject in subjects(scene.machine, setup)
                if other == key
            )
            found[key][leg.line] = gravest(answers)
            if found[key][leg.line] is Answer.HITS:
                break
    for leg, axis in product(legs, TRAVEL):
        if leg.begin[axis] != leg.end[axis]:
            answers = (
                asked_once(end, leg, setup)
                for setup in scene.machine.setups
                for end in ends(scene.machine)
                if end.axis == axis
            )
            found[axis, leg.line] = {leg.line: gravest(answers)}
    return found


ORDER = (Answer.HITS, Answer.UNKNOWN, Answer.TOUCHES, Answer.CLEAR)


def gravest(answers: Iterator[Answer]) -> Answer:
    """HITS as soon as there is one, else UNKNOWN if there is one, and so on."""
    worst = Answer.CLEAR
    for answer in answers:
        worst = min(worst, answer, key=ORDER.index)
        if worst is Answer.HITS:
            break
    return worst
