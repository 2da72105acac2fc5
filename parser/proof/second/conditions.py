"""What a hit is, in SMT-LIB: the definition written down as it reads, for a start, a tool and a point at once.

``a.x`` is where a move is judged from along X and ``p.x`` where a point of the way is, ``l`` and ``r`` are the length
and the radius of the tool. Distances are squares, so that there is no root. ``by`` is what has to be passed by, mm: 0,
or a millionth where 0 has found something. For coming nearer a little more is asked then, so that no root is needed:
d(p)^2 + 2 off by + by^2 < d(a)^2, where p is within ``off``, so that d(p) + by < d(a) follows.

Conditions that follow from the others and are linear are written beside them, and say so: most questions come to an end
with those alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from parser.proof.second.exact import worked_out, written
from parser.proof.second.things import Cylinder, End, Ride, Side, Subject, Thing, Tied
from parser.proof.second.ways import Way

HEAD = """\
(declare-const l Real) ; length of the tool, from the nose down
(declare-const r Real) ; radius of the tool
(declare-const t Real) ; share of the way that is done
(assert (<= 0.0 t 1.0))
; how far q is from the range between two faces
(define-fun gap ((q Real) (low Real) (high Real)) Real
  (ite (< q low) (- low q) (ite (> q high) (- q high) 0.0)))
(define-fun between ((q Real) (one Real) (other Real)) Bool
  (or (<= one q other) (<= other q one)))
"""
"""What every text begins with."""


MET = ": met"
"""What the symbol of a subject ends with: a box may be called ``t``, ``start.x`` or ``and``, which mean something."""


def places(axes: Sequence[str]) -> str:
    """The two places that every question is about."""
    return "".join(f"(declare-const {place}.{axis} Real)\n" for place in "ap" for axis in axes)


def on_the_way(way: Way, axes: Sequence[str]) -> Iterator[str]:
    """That a is where the move is judged from and p a point of it; an axis that the machine lacks stays where it is.

    Along a single axis, and where each axis goes at its own rate, that is all between the ends.
    """
    several = len(way.moving) > 1
    for axis in axes:
        if axis not in way.begin:
            yield f"(= p.{axis} a.{axis})"
            continue
        begin, end = way.begin[axis], way.end[axis]
        yield f"(= a.{axis} {way.judged[axis].text()})"
        if begin == end:
            yield f"(= p.{axis} {begin.text()})"
            continue
        yield f"(between p.{axis} {begin.text()} {end.text()})"
        if several and not way.apart:
            yield f"(= p.{axis} (+ (* (- 1.0 t) {begin.text()}) (* t {end.text()})))"


def definitions(subject: Subject, symbol: str) -> list[str]:
    """What has to be defined before it can be asked whether a subject is met; nothing for an end of travel."""
    if isinstance(subject, Thing):
        return [*_plan(symbol, subject.x, subject.y), *_thing(subject, symbol)]
    if isinstance(subject, Ride):
        return [*_plan(symbol, subject.x, subject.y), _ride(subject, symbol)]
    return [_tied(subject, symbol)] if isinstance(subject, Tied) else []


def met(subject: Subject, symbol: str, way: Way, by: str) -> str:
    """The condition that a subject is met on a way, what has to be passed being passed by more than ``by``."""
    return _end(subject, way, by) if isinstance(subject, End) else f"({symbol} {by})"


def named(symbol: str, more: str) -> str:
    """The symbol of a part of a definition."""
    return f"|{symbol.strip('|').removesuffix(MET)}: {more}|"


def _all(parts: Sequence[str]) -> str:
    return "true" if not parts else parts[0] if len(parts) == 1 else f"(and {' '.join(parts)})"


def _any(parts: Sequence[str]) -> str:
    return "false" if not parts else parts[0] if len(parts) == 1 else f"(or {' '.join(parts)})"


def _plan(symbol: str, x: Side, y: Side) -> Iterator[str]:
    """Squared plan distance, its parts along X and Y, and whether a place is over the open inside."""
    sides = [(axis, side) for axis, side in (("x", x), ("y", y)) if side is not None]
    for place in "ap":
        gaps = []
        for axis, (low, high) in sides:
            gap = named(symbol, f"{place}.{axis} off")
            yield f"(define-fun {gap} () Real (gap {place}.{axis} {written(low)} {written(high)}))"
            gaps.append(f"(* {gap} {gap})")
        squared = f"(+ {' '.join(gaps)})" if len(gaps) > 1 else gaps[0] if gaps else "0.0"
        yield f"(define-fun {named(symbol, f'd({place}) squared')} () Real {squared})"
        over = _all([f"(< (+ {written(low)} by) {place}.{axis} (- {written(high)} by))" for axis, (low, high) in sides])
        yield f"(define-fun {named(symbol, f'over({place})')} ((by Real)) Bool {over})"
    a, p = (named(symbol, f"d({place}) squared") for place in "ap")
    offs = [(named(symbol, f"p.{axis} off"), named(symbol, f"a.{axis} off")) for axis, _ in sides]
    follows = _any([f"(< {one} {other})" for one, other in offs])
    yield (
        f"(define-fun {named(symbol, 'nearer')} ((off Real) (by Real)) Bool ; d(p) < d(a); the first part follows\n"
        f"  (and {follows} (< (+ {p} (* 2.0 off by) (* by by)) {a})))"
    )
    over_a, over_p = (named(symbol, f"over({place})") for place in "ap")
    yield (f"(define-fun {named(symbol, 'came over')} ((by Real)) Bool (and ({over_p} by) (not ({over_a} 0.0))))")
    near = [*(f"(< {one} (- off by))" for one, _ in offs), f"(< {p} (* (- off by) (- off by)))"]
    yield (
        f"(define-fun {named(symbol, 'within')} ((off Real) (by Real)) Bool ; d(p) < off - by or over(p)\n"
        f"  (or (and (< by off) {' '.join(near)}) ({over_p} by)))"
    )


def _thing(thing: Thing, symbol: str) -> Iterator[str]:
    parts = []
    for body in thing.bodies:
        part = named(symbol, body.name)
        parts.append(f"({part} by)")
        yield _body(thing, body, symbol, part)
    yield f"(define-fun {symbol} ((by Real)) Bool {_any(parts)})"


def _body(thing: Thing, body: Cylinder, symbol: str, part: str) -> str:
    """A tool, holder or nose meets a box: clear of it as drawn at a, within the margin at p, and it did not retreat.

    A box on the frame has an underside, under which only what is wider than the nose can stand. Where the table carries
    Z it has neither top nor underside, and no height of the head.
    """
    most_l, most_r, margin = written(body.length), written(body.radius), written(thing.margin)
    length, radius = ("l", "r") if body.any_size else (most_l, most_r)
    conditions = [f"(<= 0.0 l {most_l})", f"(<= 0.0 r {most_r})"] if body.any_size else []
    a_squared = named(symbol, "d(a) squared")
    clear = [f"(and (not ({named(symbol, 'over(a)')} 0.0)) (<= (* {radius} {radius}) {a_squared}))"]
    off = f"(+ {radius} {margin})"
    approaches = [f"({named(symbol, 'nearer')} {off} by)", f"({named(symbol, 'came over')} by)"]
    within = f"({named(symbol, 'within')} {off} by)"
    if thing.top is not None:
        top = written(thing.top)
        clear.append(f"(>= (- a.z {length}) {top})")
        conditions.append(f"(< (- p.z {length}) (- (+ {top} {margin}) by))")
        sinks, rises = "(< p.z (- a.z by))", "(> p.z (+ a.z by))"
        if thing.bottom is None or body.upwards:
            approaches.append(sinks)
        else:
            bottom = written(thing.bottom)
            conditions.append(f"(> p.z (+ (- {bottom} {margin}) by))")
            if body.radius > thing.nose:
                clear.append(f"(<= a.z {bottom})")
                approaches.append(f"(ite (<= a.z {bottom}) {rises} {sinks})")
            else:
                approaches.append(f"(and (> a.z {bottom}) {sinks})")
    lines = [*conditions, within, _any(clear), _any(approaches)]
    return f"(define-fun {part} ((by Real)) Bool (and\n  " + "\n  ".join(lines) + "))"


def _ride(ride: Ride, symbol: str) -> str:
    """A box on the table comes to one on the frame: within the margin at p, and nearer than at a."""
    off = written(ride.margin)
    within, nearer = (f"({named(symbol, each)} {off} by)" for each in ("within", "nearer"))
    came = f"({named(symbol, 'came over')} by)"
    return f"(define-fun {symbol} ((by Real)) Bool (and {within} (or {nearer} {came})))"


def _end(end: End, way: Way, by: str) -> str:
    """A move ends past an end of travel less its margin, and further out than where it is judged from."""
    last, first = way.end[end.axis].text(), way.judged[end.axis].text()
    high = f"(and (> {last} (+ {written(end.high)} {by})) (> {last} (+ {first} {by})))"
    low = f"(and (< {last} (- {written(end.low)} {by})) (< {last} (- {first} {by})))"
    return f"(or {high} {low})"


def _tied(tied: Tied, symbol: str) -> str:
    """``when`` holds at p and ``then`` does not, and along one of the two axes p is further that way than a."""
    past, came = [], []
    for (axis, op, value), holds in ((tied.limit.when, True), (tied.limit.then, False)):
        side = written(worked_out(value))
        if (">" in op) == holds:
            past.append(f"(> p.{axis} (+ {side} by))")
            came.append(f"(> p.{axis} (+ a.{axis} by))")
        else:
            past.append(f"(< p.{axis} (- {side} by))")
            came.append(f"(< p.{axis} (- a.{axis} by))")
    return f"(define-fun {symbol} ((by Real)) Bool (and {' '.join(past)} (or {' '.join(came)})))"
