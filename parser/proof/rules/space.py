"""Rules about space: in travel, clear of what stands on the table, and honest about what is not known."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import partial
from itertools import product
from typing import ClassVar

from parser.findings import Finding, Severity, ToolSize, Witness
from parser.machine import Axis, Interval, Limit, Machine
from parser.motion.moves import Move
from parser.motion.offsets import within_margins
from parser.motion.places import Afloat, Coordinate
from parser.proof.axis_motion import TOUCH, Box, offset, reach
from parser.proof.contact import (
    FAR,
    Body,
    Hit,
    Obstacle,
    bodies,
    enclosure,
    gap,
    keep_out,
    riding,
    table_carries_z,
)
from parser.proof.effort import TRAVEL, spend
from parser.proof.evidence import Case, Evidence
from parser.proof.limits import Breach, breach
from parser.proof.passages import Passage, entangled, find, fired_from, hit, motions, place_on_the_way
from parser.proof.rules.base import Reported, Result, Rule, register
from parser.quantities import Bound, Length, Position, Reading, counted, joined, say, sentence_list


class SpaceRule(Rule):
    """A rule about where things are."""

    severity = Severity.REFUSE
    family = "space"
    accepts = True
    assume = "G17 G21 G40 G49 G54 G90 G94"


@register
class BeyondTravel(SpaceRule):
    """The axis would leave its travel

    What: From some start a move ends, or an arc passes, nearer to an end of travel than the travel margin, and
        further out than the macro started; or it breaks a [[limit]] of the sheet that ties one axis to another.
        Standing there already is never blamed.
    Why: The axis meets its switch or its stop: the position is lost and every later move is wrong.
    Bad:
        G53 G0 Y151
    Good:
        G53 G0 Y145
    Remedy: Move the target inwards, or write it as a formula such as travel.y.max - 5 mm.
    """

    id = "beyond-travel"
    accepts = False

    def results(self, evidence: Evidence) -> Iterable[Result]:
        for case, passed in _apart(evidence):
            for line in dict.fromkeys(passage.move.line for passage in passed):
                of_line = [passage for passage in passed if passage.move.line == line]
                for axis in evidence.machine.axes:
                    met = [(p, over) for p in of_line if (over := _overtravel(evidence, p, axis, evidence.start))]
                    if met:
                        yield self._result(evidence, case, axis, met)
            for limit in evidence.machine.limits:
                for passage in passed:
                    broken = breach(limit, passage, evidence.start)
                    if broken is not None:
                        yield self._limit_result(evidence, case, limit, passage, broken)

    def _limit_result(self, evidence: Evidence, case: Case, limit: Limit, passage: Passage, broken: Breach) -> Result:
        move = passage.move
        start = broken.start
        tied = {each: broken.at[each] for each in sorted((limit.when[0], limit.then[0]))}
        goes = "goes" if broken.sure else "may go"
        by = evidence.machine.tolerance
        cut = say(" (a rounded corner may cut in by {by})", by=Length(by)) if passage.may_be_cut else ""
        finding = self.finding(
            say(
                "The sheet asks for {then} while {when}, and from {start} this move {goes} to {there}{cut}",
                then=_words(limit.then),
                when=_words(limit.when),
                start=Position(start, 1),
                goes=goes,
                there=Position(tied, 1),
                cut=cut,
            ),
            f"Move {limit.when[0].upper()} out of the way first",
            line=move.line,
            column=move.column,
            end=move.end_column,
            case=_case_name(evidence, case),
            witness=Witness(
                start,
                broken.at,
                body=limit.then[0],
                obstacle=f"limit of {limit.then[0].upper()}",
                setup=case.setup.name,
            ),
            cause="limit",
            axis=limit.then[0],
        )
        return Result(finding, (partial(_breaks_limit, limit, passage),))

    def _result(self, evidence: Evidence, case: Case, axis: Axis, met: list[tuple[Passage, _Over]]) -> Result:
        passage, over = max(met, key=lambda each: each[1].by)
        move = passage.move
        would = "would" if over.sure and not move.guessed else "may"
        name = axis.name.upper()
        outside = over.reached > axis.travel.high or over.reached < axis.travel.low
        gap = min(abs(over.reached - axis.travel.low), abs(axis.travel.high - over.reached))
        message = say(
            "{name} {would} go to {reached}, which is {gap} outside its travel of {low} to {high}"
            if outside
            else "{name} {would} go to {reached}, only {gap} from the end of its travel (the sheet asks for {margin})",
            name=name,
            would=would,
            reached=Reading(axis.name, over.reached),
            gap=Reading(axis.name, gap, with_unit=True),
            low=Reading(axis.name, axis.travel.low),
            high=Reading(axis.name, axis.travel.high),
            margin=Reading(axis.name, evidence.machine.travel_margin),
        )
        column, end = _word_of(evidence, move, axis)
        finding = self.finding(
            message,
            _missing_origin(evidence, move.furthest[axis.name])
            or say(
                "Keep {name} between {low} and {high}{further}",
                name=name,
                low=Reading(axis.name, over.allowed.low),
                high=Reading(axis.name, over.allowed.high, with_unit=True),
                further=_from_where(passage, axis),
            ),
            line=move.line,
            column=column,
            end=end,
            case=_case_name(evidence, case),
            witness=Witness(
                over.fired,
                over.place,
                body=axis.name,
                obstacle=f"end of {name} travel",
                setup=case.setup.name,
            ),
            figures={"by": gap if outside else evidence.machine.travel_margin - gap},
            cause="outside" if outside else "margin",
            axis=axis.name,
        )
        breaks = [partial(_leaves, evidence, passage, axis, high) for passage, _ in met for high in (True, False)]
        return Result(finding, tuple(breaks))


def _since(passage: Passage) -> str:
    """Words for what lies between the start of the macro and the place a passage is judged from, "" for nothing."""
    return "" if passage.since is None else f" and after line {passage.since}"


def _breaks_limit(limit: Limit, passage: Passage, box: Box, tolerance: float) -> bool:
    return breach(limit, passage, box, shown=False, tolerance=tolerance) is not None


def _apart(evidence: Evidence) -> Iterator[tuple[Case, list[Passage]]]:
    """The passages of every case, those left out that go just as in a case before it."""
    seen: set[object] = set()
    for case in evidence.cases:
        yield case, _not_yet(case.passages, seen)


def _not_yet(passages: Iterable[Passage], seen: set[object], about: object = None) -> list[Passage]:
    """Those of some passages that are not the same as one in ``seen``, to which they are added.

    Of passages of one line that are followed again one will do: it stands for all of them.
    """
    found: dict[object, Passage] = {}
    for passage in passages:
        same = passage.same_as()
        if same is None or (about, same) not in seen:
            found.setdefault(passage.once, passage)
    seen.update((about, same) for passage in found.values() if (same := passage.same_as()) is not None)
    return list(found.values())


def _from_where(passage: Passage, axis: Axis) -> str:
    """What else helps where it depends on the start how far the move goes."""
    end, start = passage.move.furthest[axis.name], passage.start[axis.name]
    tied = offset(end, start) is not None
    return ": fire from further in, or make the step shorter" if tied else ""


def _missing_origin(evidence: Evidence, end: Coordinate) -> str:
    """What to do where a place hangs on a work origin that the sheet leaves out, "" where it does not."""
    parts = end.unknown.parts if isinstance(end, Afloat) else ()
    for unknown, _ in parts:
        system = unknown.name.of
        if (system, unknown.axis) in evidence.trace.origins_missing:
            return (
                f"Put the {unknown.axis.upper()} origin of {system} on the machine sheet, under [work.{system}]: "
                "without it the place may be anywhere in travel, its ends included"
            )
    return ""


def _word_of(evidence: Evidence, move: Move, axis: Axis) -> tuple[int | None, int | None]:
    """Columns of the word that takes an axis there; those of the whole move where no word names the axis."""
    for word in evidence.program.lines[move.line - 1].words:
        if word.letter == axis.name.upper():
            return word.column, word.end
    return move.column, move.end_column


@dataclass(frozen=True, slots=True)
class _Over:
    """How far an axis goes out: where all axes are then, where the macro fired, and whether some start does it."""

    reached: float
    allowed: Interval
    high: bool
    fired: Mapping[str, float]
    place: Mapping[str, float]
    sure: bool = True

    @property
    def by(self) -> float:
        return max(self.reached - self.allowed.high, self.allowed.low - self.reached)


BOTH_ENDS = (True, False)


def _leaves(evidence: Evidence, passage: Passage, axis: Axis, high: bool, box: Box, _: float) -> bool:
    """Whether an axis goes out at its high or at its low end from some start in ``box``."""
    return _overtravel(evidence, passage, axis, box, (high,), shown=False) is not None


def _overtravel(
    evidence: Evidence,
    passage: Passage,
    axis: Axis,
    box: Box,
    which: tuple[bool, ...] = BOTH_ENDS,
    *,
    shown: bool = True,
) -> _Over | None:
    """How far an axis goes out on a move from some start in ``box``; None where it keeps within its margins."""
    allowed = within_margins(axis.travel, evidence.machine.travel_margin)

    def on_the_way(one: Passage, part: Box) -> _Over | None:
        return _goes_out(one, axis.name, allowed, part, which, shown)

    return find(passage, box, on_the_way, lambda found: replace(found, sure=False), shown=shown)


def _goes_out(
    passage: Passage, axis: str, allowed: Interval, box: Box, which: tuple[bool, ...], shown: bool
) -> _Over | None:
    if axis not in passage.move.moving:
        return None
    spend(TRAVEL)
    along = motions(passage, box)[axis]
    for high in which:
        turned, limit, sign = (along, allowed.high, 1.0) if high else (along.mirrored(), -allowed.low, -1.0)
        tie, top, start = turned.tie[1], turned.high[1], turned.start
        reached = tie * start.high + top
        further = top if tie else reached - start.low
        if reached > limit + TOUCH and further > TOUCH:
            if not shown:
                return _Over(sign * reached, allowed, high, {}, {})
            judged = {each: reach(at, box).middle for each, at in passage.start.items()}
            judged[axis] = sign * (start.high if tie else (start.low + min(start.high, reached)) / 2)
            place = place_on_the_way(passage, judged, box, axis, high) | {axis: sign * reached}
            sure = not entangled(passage)
            return _Over(sign * reached, allowed, high, fired_from(passage, judged, box), place, sure)
    return None


class Contact(SpaceRule):
    """A body meeting an obstacle. The first line that meets it is reported; later ones are named in the remedy."""

    verb: ClassVar[str] = "meet"

    def obstacles(self, evidence: Evidence, case: Case) -> Iterable[Obstacle]:
        """What must not be met in a case."""
        return ()

    def results(self, evidence: Evidence) -> Iterable[Result]:
        checked = bodies(evidence.machine)
        yield from self._meetings(evidence, lambda case: [(checked, each) for each in self.obstacles(evidence, case)])

    def _meetings(
        self, evidence: Evidence, asked: Callable[[Case], Iterable[tuple[tuple[Body, ...], Obstacle]]]
    ) -> Iterator[Result]:
        """One result for each obstacle that one of the bodies asked about may meet, in each case."""
        seen: set[object] = set()
        for case in evidence.cases:
            for checked, obstacle in asked(case):
                met = [
                    passage
                    for passage in _not_yet(case.passages, seen, (checked, obstacle))
                    if _any_contact(passage, obstacle, checked, evidence.start)
                ]
                if met:
                    yield self._result(evidence, case, obstacle, met, checked)

    def _result(
        self,
        evidence: Evidence,
        case: Case,
        obstacle: Obstacle,
        met: list[Passage],
        checked: tuple[Body, ...],
    ) -> Result:
        body, worst = _worst_contact(met[0], obstacle, checked, evidence.start)
        move = met[0].move
        of_line = [each for each in met if each.move.line == move.line]
        later = sorted({passage.move.line for passage in met} - {move.line})
        would = "would" if worst.depth > 0 else "may"
        point = {name: value for name, value in zip("xyz", worst.point, strict=True) if name in evidence.start}
        start = worst.fired or {}
        size = ToolSize(*worst.size) if body.name == "tool" else None
        what = (
            say("a tool {long} long and {thick} thick", long=Length(size.length, 1), thick=Length(2 * size.radius, 1))
            if size
            else f"the {body.name}"
            if body.name in ("holder", "nose")
            else body.name
        )
        finding = self.finding(
            say(
                "From {start}{since}, {what} {would} {meet} at {point}",
                start=Position(start, 1),
                since=_since(met[0]),
                what=what,
                would=would,
                meet=self._meet(worst, obstacle, body),
                point=Position(point, 1),
            ),
            joined(
                ". ",
                [
                    self._remedy(obstacle, checked, evidence.machine, worst, _heights(of_line, evidence.start)),
                    *([f"{counted('Line', [*map(str, later)])} may {self.verb} it too"] if later else []),
                ],
            ),
            line=move.line,
            column=move.column,
            end=move.end_column,
            case=_case_name(evidence, case),
            witness=Witness(start, point, size, body.name, obstacle.name, case.setup.name),
            figures={"depth_mm": worst.depth},
            cause="inside" if gap(worst.point, worst.size, obstacle, body) <= TOUCH else "margin",
        )
        breaks = [partial(_contact, passage, obstacle, each) for passage in met for each in checked]
        return Result(finding, tuple(breaks))

    def _meet(self, worst: Hit, obstacle: Obstacle, body: Body) -> str:
        off = gap(worst.point, worst.size, obstacle, body)
        if off <= TOUCH:
            return f"{self.verb} {obstacle.name}"
        asked = Length(obstacle.margin)
        return say(
            "come within {off} of {name} (the sheet asks for {asked})", off=Length(off), name=obstacle.name, asked=asked
        )

    def _remedy(
        self, obstacle: Obstacle, checked: tuple[Body, ...], machine: Machine, worst: Hit, heights: Heights
    ) -> str:
        """What to do about it: the height at which none of the bodies can meet the obstacle, if Z gets there."""
        if obstacle.top >= FAR:
            return "Keep the table further from it, or go there by another order of axes"
        if worst.start[2] <= obstacle.bottom:
            low = Bound("z", obstacle.bottom - obstacle.margin, least=False)
            if obstacle.x.high >= FAR and obstacle.y.high >= FAR:
                return say(
                    "Keep Z at or below {low}: the table carries X and Y, so neither takes the head away", low=low
                )
            return say("Come out from under it first: below it only Z at or below {low} is clear", low=low)
        height = obstacle.top + obstacle.margin + max(body.length for body in checked)
        upright = machine.axis("z")
        if upright is not None and height + heights.lowered > upright.travel.high:
            return "Go round it, or keep to starts that are clear of it: Z does not reach a height that clears it"
        above = Bound("z", height + (heights.lowered if heights.fixed >= height else 0.0), least=True)
        if heights.fixed < height:
            return say("The macro comes down there by itself: keep Z at or above {above}, or go round it", above=above)
        if heights.lowered > 0:
            return say(
                "Raise first: from Z at or above {above} this line is clear, as it goes {lowered} down",
                above=above,
                lowered=Length(heights.lowered),
            )
        return say("Raise first: with Z at or above {above} this line is clear", above=above)


@dataclass(frozen=True, slots=True)
class Heights:
    """How low some moves go: ``lowered`` mm below where they are judged from, by steps, and to ``fixed`` heights."""

    lowered: float
    fixed: float


def _heights(passages: Iterable[Passage], box: Box) -> Heights:
    lowered, fixed = 0.0, float("inf")
    for along in (motions(passage, box)["z"] for passage in passages if "z" in passage.move.start):
        for tie, low, reached in zip(along.tie, along.low, (along.begins, along.ends), strict=True):
            if tie:
                lowered = max(lowered, -low)
            elif reached != along.start:
                fixed = min(fixed, low)
    return Heights(lowered, fixed)


def _any_contact(passage: Passage, obstacle: Obstacle, checked: Iterable[Body], box: Box) -> bool:
    return any(hit(passage, obstacle, body, box, shown=passage.again is not None) is not None for body in checked)


def _worst_contact(passage: Passage, obstacle: Obstacle, checked: Iterable[Body], box: Box) -> tuple[Body, Hit]:
    """The plainest case on a passage on which there is one, or one that plain arithmetic does not confirm."""
    met = [(body, found) for body in checked if (found := hit(passage, obstacle, body, box)) is not None]
    met = met or [(each, found) for each in checked if (found := hit(passage, obstacle, each, box, shown=False))]
    return max(met, key=lambda pair: (pair[1].depth, not pair[0].any_size))


def _contact(passage: Passage, obstacle: Obstacle, body: Body, box: Box, tolerance: float) -> bool:
    return hit(passage, obstacle, body, box, shown=False, tolerance=tolerance) is not None


@register
class CrossesKeepOut(Contact):
    """The tool, the holder or the nose would enter a keep-out

    What: From some start, a tool up to the longest and thickest of the sheet that was clear of a keep-out as it is
        drawn when the macro fired is not clear of it, or comes within the margin round it, later on. Holder and nose
        likewise. Raising and moving away are never blamed, even from within the margin. A shorter or thinner tool
        counts too: it may have stood lower or closer.
    Why: The tool breaks, or the vise gets a new groove.
    Bad:
        G53 G0 X120 Y70
    Good:
        G53 G0 Z-2
        G53 G0 X120 Y70
    Remedy: Raise first, go round, or state a start condition that keeps such starts out.
    """

    id = "crosses-keep-out"

    def obstacles(self, evidence: Evidence, case: Case) -> Iterable[Obstacle]:
        return [keep_out(box, evidence.machine) for box in case.setup.keep_outs]

    def results(self, evidence: Evidence) -> Iterable[Result]:
        yield from super().results(evidence)
        yield from self._turned(evidence)

    def _turned(self, evidence: Evidence) -> Iterable[Result]:
        """What is drawn is drawn for one position of a rotary axis; the first line that turns one says so."""
        drawn = any(case.setup.keep_outs for case in evidence.cases) or evidence.machine.enclosures
        if not drawn:
            return
        for move in evidence.trace.moves:
            turning = [axis for axis in evidence.machine.axes if axis.rotary and axis.name in move.moving]
            if turning:
                names = sentence_list([axis.name.upper() for axis in turning])
                finding = self.finding(
                    f"{names} may turn here; what turns with {'it' if len(turning) == 1 else 'them'} is not followed, "
                    "and everything is checked as it is drawn",
                    "Draw the keep-outs large enough for every position of the axis, or see that it turns in the clear",
                    line=move.line,
                    column=move.column,
                    end=move.end_column,
                )
                yield Result(replace(finding, severity=Severity.CAUTION, undecided=True))
                return


@register
class EntersEnclosure(Contact):
    """Something would enter a box that is fixed to the frame

    What: The head, for the boxes of [[enclosure]], the same way as for a keep-out; only axes that the head carries
        count, for along the others it stays where it is in the frame. Such a box has an underside: a tool or a holder
        wider than the nose may meet it from below. And what rides on the table: along an axis that
        the table carries an enclosure is measured from the spindle, along the others in machine coordinates.
    Why: Cable ducts, lamps, covers and the column do not move out of the way.
    Bad:
        G53 G0 X120
    Good:
        G53 G0 Z-2
    Remedy: Choose a target or an order of axes that keeps the head, and what is on the table, out.
    """

    id = "enters-enclosure"
    verb = "enter"

    def obstacles(self, evidence: Evidence, case: Case) -> Iterable[Obstacle]:
        return [enclosure(box, evidence.machine) for box in evidence.machine.enclosures]

    def results(self, evidence: Evidence) -> Iterable[Result]:
        yield from super().results(evidence)
        if evidence.machine.enclosures and table_carries_z(evidence.machine):
            yield Result(
                replace(
                    self.finding(
                        "The table carries Z; whether what rides on it meets an enclosure from below is not checked",
                        "Raise the table fully with everything clamped that may be, and look",
                    ),
                    severity=Severity.CAUTION,
                    undecided=True,
                )
            )
            return
        yield from self._meetings(evidence, partial(_rides, evidence))


def _rides(evidence: Evidence, case: Case) -> list[tuple[tuple[Body, ...], Obstacle]]:
    """Every box on the table with every box on the frame, where the table can bring the two together."""
    pairs = product(case.setup.keep_outs, evidence.machine.enclosures)
    met = [(Body(box.name, 0.0, 0.0, rides=True), riding(box, fixed, evidence.machine)) for box, fixed in pairs]
    return [((body,), obstacle) for body, obstacle in met if obstacle is not None]


def _words(condition: tuple[str, str, float]) -> str:
    axis, op, value = condition
    return say("{axis} {op} {value}", axis=axis.upper(), op=op, value=Reading(axis, value))


@register
class CrossingNotRaised(SpaceRule):
    """The table is crossed below the safe height

    What: X or Y moves while Z may be below the safe Z of the sheet, whether or not something drawn is in the way.
    Why: What is not drawn on the sheet (clamps, a stop, chips) is cleared only at the safe height.
    Bad:
        G53 G0 X10
    Good:
        G53 G0 Z-2
        G53 G0 X10
    Remedy: Raise to safe.z first.
    """

    id = "crossing-not-raised"
    severity = Severity.CAUTION
    accepts = False

    def findings(self, evidence: Evidence) -> Iterable[Finding]:
        safe = evidence.machine.safe_z
        if safe is None or evidence.machine.axis("z") is None:
            return
        for move in evidence.trace.moves:
            lowest = motions(Passage(move, evidence.trace.start), evidence.start)["z"].reached().low
            if lowest < safe - TOUCH and {"x", "y"} & set(move.moving):
                yield self.finding(
                    say(
                        "The table is crossed with Z as low as {lowest}, below the safe height of {safe}",
                        lowest=Reading("z", lowest),
                        safe=Reading("z", safe),
                    ),
                    "Raise to safe.z before this line",
                    line=move.line,
                    column=move.column,
                    end=move.end_column,
                )
                return


@register
class WorkZeroUnknown(SpaceRule):
    """The work zero is not on the sheet

    What: A move goes to a place in a work coordinate system whose origin the machine sheet does not give.
    Why: Anywhere in travel, less its margins, has to be reckoned with, so little can be proved.
    Bad:
        G55 G0 X0
    Good:
        G54 G0 X0
    Remedy: Put the origin, or its range, on the machine sheet under [work.G55].
    """

    id = "work-zero-unknown"
    severity = Severity.CAUTION
    accepts = False

    def findings(self, evidence: Evidence) -> Iterable[Finding]:
        missing: dict[tuple[int, str], list[str]] = {}
        for (system, axis), line in evidence.trace.origins_missing.items():
            missing.setdefault((line, system), []).append(axis.upper())
        for (line, system), axes in missing.items():
            which = f"{' and '.join(axes)} origin of {system}"
            yield self.finding(
                f"The {which} is not on the sheet: it may be anywhere in travel less its margins",
                f"Give it under [work.{system}], as a number or as a range",
                line=line,
            )


@register
class NotReferenced(SpaceRule):
    """Nothing tells whether the machine has been homed

    What: The macro moves in machine coordinates, does not home, and the controller does not itself refuse to move
        before homing.
    Why: Before homing the machine coordinates mean nothing, and neither does this proof.
    Bad:
        G53 G0 Z-2
    Good:
        G80
    Remedy: HOME FIRST after switching on; the card says so.
    """

    id = "not-referenced"
    severity = Severity.CAUTION
    accepts = False

    def findings(self, evidence: Evidence) -> Iterable[Finding]:
        if evidence.controller.refuses_unhomed:
            return
        homed = min((event.before for event in evidence.trace.events if event.kind.homes), default=None)
        moves = [move for move in evidence.trace.moves[:homed] if move.kind != "dwell"]
        if moves:
            yield self.finding(
                "Proved for a homed machine only, and nothing stops this macro on one that is not homed",
                "Home the machine after switching on, before the pendant is used",
                line=moves[0].line,
            )


@register
class PathNotKnown(Reported):
    """Part of the path is not known

    What: The controller chooses the way (a homing cycle), the operator moves the machine (homing at the panel),
        another program is called, a tool is changed (3.6.3), the shape of an arc depends on where it starts, or a
        line moves in a mode or by a parameter that is not known and that a written reason lets it rely on.
    Why: Nothing can be said about what is met on the way.
    Bad:
        (MSG, HOME AT THE PANEL)
        M0
    Good:
        G53 G0 Z-2
    Remedy: Run it with the table clear; once it moves, the wheel hand goes to the emergency stop.
    """

    id = "path-not-known"
    severity = Severity.CAUTION
    family = "space"
    setting: ClassVar[Mapping[str, object]] = {}

    said: ClassVar[Mapping[str, str]] = {
        "homing": "The controller chooses the path of its homing cycle",
        "home-at-panel": "The machine is homed at the panel here, on a path that the controller chooses",
        "by-hand": "The operator moves the machine by hand here",
        "motion-not-known": "Where this line goes is not known, because it depends on what the macro has not set: "
        "nothing is proved of it, and the lines after it are judged from anywhere in travel",
        "tool-change": "The controller may move the axes to change the tool, and brings them back",
        "call": "Another program is called here, and what it does is not known",
    }

    def findings(self, evidence: Evidence) -> Iterable[Finding]:
        yield from (replace(finding, undecided=True) for finding in super().findings(evidence))
        for event in evidence.trace.events:
            if event.kind in self.said:
                yield Finding(
                    self.id,
                    self.severity,
                    self.said[event.kind],
                    "See that nothing stands in the way of any axis; once it moves, the wheel hand goes to the "
                    "emergency stop",
                    line=event.line,
                    column=event.column,
                    end=event.end_column,
                    undecided=True,
                )


@register
class MovesWithSpindleOn(SpaceRule):
    """The table is crossed with the spindle turning

    What: X or Y moves at rapid while the spindle turns, or while the macro does not know whether it does.
    Why: The part is brought to a hand; a cutter must not be turning above it.
    Bad:
        G53 G0 Z-2
        G53 G0 X10
    Good:
        M5
        G53 G0 Z-2
        G53 G0 X10
    Remedy: Stop the spindle first and wait until it has run down.
    """

    id = "moves-with-spindle-on"
    severity = Severity.CAUTION
    accepts = False

    def findings(self, evidence: Evidence) -> Iterable[Finding]:
        for move in evidence.trace.moves:
            if move.kind == "rapid" and {"x", "y"} & set(move.moving) and move.spindle != "stopped":
                yield self.finding(
                    "The table is crossed with the spindle turning"
                    if move.spindle
                    else "The table is crossed and the spindle may still be turning: the macro has not stopped it",
                    "Stop the spindle (M5) and wait for its run-down before this line",
                    line=move.line,
                    column=move.column,
                    end=move.end_column,
                )
                return


@register
class ReliesOnOperator(SpaceRule):
    """The macro is proved under a condition that the operator has to see to

    What: The macro has a start condition; it is proved only for starts that meet it.
    Why: The pendant cannot check where the machine stands.
    Remedy: Better: raise first, so that no condition is needed. Otherwise read the condition on the card each
        time.
    """

    id = "relies-on-operator"
    severity = Severity.CAUTION
    accepts = False

    def findings(self, evidence: Evidence) -> Iterable[Finding]:
        if evidence.condition:
            yield self.finding(
                f"Proved only where {evidence.condition}: the pendant cannot check this",
                "Look at the readout before firing, or raise first so that no condition is needed",
            )


def _case_name(evidence: Evidence, case: Case) -> str | None:
    return case.name if len(evidence.cases) > 1 else None
