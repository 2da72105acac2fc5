"""Travel: from some start an axis would leave it, or break a limit that ties it to another."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import partial

from parser.findings import Witness
from parser.machine import Axis, Interval, Limit
from parser.motion.moves import Move
from parser.motion.offsets import within_margins
from parser.motion.places import Afloat, Coordinate
from parser.proof.axis_motion import TOUCH, Box, offset, reach
from parser.proof.effort import TRAVEL, spend
from parser.proof.evidence import Case, Evidence
from parser.proof.following import by_line, find
from parser.proof.limits import Breach, breach
from parser.proof.passages import Passage, entangled, fired_from, motions, place_on_the_way
from parser.proof.refusals import Breaking, Leaving
from parser.proof.rules.base import Result, register
from parser.proof.rules.cases import Judged, SpaceRule, case_name
from parser.quantities import Length, Reading, Readout, say


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
            for of_line in by_line(passed).values():
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
        finding = self.on(
            move,
            say(
                "The sheet asks for {then} while {when}, and from {start} this move {goes} to {there}{cut}",
                then=_words(limit.then),
                when=_words(limit.when),
                start=Readout(start, 1),
                goes=goes,
                there=Readout(tied, 1),
                cut=cut,
            ),
            f"Move {limit.when[0].upper()} out of the way first",
            case=case_name(evidence, case),
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
        return Result(finding, (Breaking(partial(_breaks_limit, limit, passage), passage, limit),))

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
            case=case_name(evidence, case),
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
        breaks = [
            Leaving(partial(_leaves, evidence, passage, axis, high), passage, axis.name, over.allowed, high)
            for passage, _ in met
            for high in BOTH_ENDS
        ]
        return Result(finding, tuple(breaks))


def _breaks_limit(limit: Limit, passage: Passage, box: Box, tolerance: float) -> bool:
    return breach(limit, passage, box, shown=False, tolerance=tolerance) is not None


def _apart(evidence: Evidence) -> Iterator[tuple[Case, list[Passage]]]:
    """The passages of every case, those left out that go just as in a case before it."""
    judged = Judged()
    for case in evidence.cases:
        yield case, judged.not_yet(case.passages)


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


def _words(condition: tuple[str, str, float]) -> str:
    axis, op, value = condition
    return say("{axis} {op} {value}", axis=axis.upper(), op=op, value=Reading(axis, value))
