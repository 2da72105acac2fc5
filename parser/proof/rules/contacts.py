"""Contact: from some start a tool, the holder, the nose or what rides on the table would meet what is drawn."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from itertools import product
from typing import ClassVar

from parser.findings import Severity, ToolSize, Witness
from parser.machine import Machine
from parser.proof.axis_motion import TOUCH, Box
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
from parser.proof.evidence import Case, Evidence
from parser.proof.passages import Passage, motions
from parser.proof.refusals import Meeting
from parser.proof.rules.base import Result, register
from parser.proof.rules.cases import Judged, SpaceRule, case_name
from parser.proof.seeking import hit
from parser.quantities import Bound, Length, Readout, counted, joined, say, sentence_list


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
        judged = Judged()
        for case in evidence.cases:
            for checked, obstacle in asked(case):
                met = [
                    passage
                    for passage in judged.not_yet(case.passages, (checked, obstacle))
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
        size = ToolSize(*worst.size) if body.any_size else None
        what = (
            say("a tool {long} long and {thick} thick", long=Length(size.length, 1), thick=Length(2 * size.radius, 1))
            if size
            else body.name
            if body.rides
            else f"the {body.name}"
        )
        finding = self.on(
            move,
            say(
                "From {start}{since}, {what} {would} {meet} at {point}",
                start=Readout(start, 1),
                since="" if met[0].since is None else f" and after line {met[0].since}",
                what=what,
                would=would,
                meet=self._meet(worst, obstacle, body),
                point=Readout(point, 1),
            ),
            joined(
                ". ",
                [
                    self._remedy(obstacle, checked, evidence.machine, worst, _heights(of_line, evidence.start)),
                    *([f"{counted('Line', [*map(str, later)])} may {self.verb} it too"] if later else []),
                ],
            ),
            case=case_name(evidence, case),
            witness=Witness(start, point, size, body.name, obstacle.name, case.setup.name, rides=body.rides),
            figures={"depth_mm": worst.depth},
            cause="inside" if gap(worst.point, worst.size, obstacle, body) <= TOUCH else "margin",
        )
        breaks = [
            Meeting(partial(_contact, passage, obstacle, each), passage, obstacle, each)
            for passage in met
            for each in checked
        ]
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
        self, obstacle: Obstacle, checked: tuple[Body, ...], machine: Machine, worst: Hit, heights: Depths
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
class Depths:
    """How low some moves go: ``lowered`` mm below where they are judged from, by steps, and to ``fixed`` heights."""

    lowered: float
    fixed: float


def _heights(passages: Iterable[Passage], box: Box) -> Depths:
    lowered, fixed = 0.0, float("inf")
    for along in (motions(passage, box)["z"] for passage in passages if "z" in passage.move.start):
        for tie, low, reached in zip(along.tie, along.low, (along.begins, along.ends), strict=True):
            if tie:
                lowered = max(lowered, -low)
            elif reached != along.start:
                fixed = min(fixed, low)
    return Depths(lowered, fixed)


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
                finding = self.on(
                    move,
                    f"{names} may turn here; what turns with {'it' if len(turning) == 1 else 'them'} is not followed, "
                    "and everything is checked as it is drawn",
                    "Draw the keep-outs large enough for every position of the axis, or see that it turns in the clear",
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
