"""Rules about hands: what letting go does, which way things come, how long a button has to be held."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import inf
from typing import ClassVar

from parser.findings import Finding, Severity
from parser.machine import Axis
from parser.proof.evidence import Evidence
from parser.proof.passages import Passage, motions
from parser.proof.rules.base import Rule, register
from parser.quantities import Length, PerMinute, Speed, figure, say

LONG_RUN_ON_MM = 10.0  # our choice
LONG_HOLD_SECONDS = 20.0  # our choice
ROUNDED = 1e-6
"""The share of a rate that may be the rounding of a number in between, from inches."""


class HandsRule(Rule):
    """A rule about the operator's hands."""

    severity = Severity.CAUTION
    family = "hands"
    assume = "G17 G21 G40 G49 G54 G90 G94"


@register
class ReleaseDoesNotStop(HandsRule):
    """Letting go does not stop the macro

    What: By the controller sheet, letting go of the button stops nothing that the controller already holds: the
        lines in its queue, or the whole of a stored macro, run to their end.
    Why: A hand that lets go expects the machine to stop. Only the emergency stop does.
    Bad:
        G53 G0 Z-2
    Good:
        G80
    Remedy: Send one line at a time and wait until it is done, wire the enable button, or have the wheel hand go to the
        emergency stop once it moves.
    """

    id = "release-does-not-stop"

    def findings(self, evidence: Evidence) -> Iterable[Finding]:
        run_on = evidence.plan.run_on
        if not run_on.stops and run_on.millimetres > 0:
            yield self.finding(
                say(
                    "Letting go will NOT stop this macro: up to {remain} remain ({because})",
                    remain=Length(run_on.millimetres, 1),
                    because=run_on.because,
                ),
                "Once it moves, the wheel hand goes to the emergency stop, which has to remove drive power through a "
                "hard-wired circuit",
                line=run_on.line,
                figures={"up_to_mm": run_on.millimetres, "seconds": run_on.seconds},
            )


@register
class LongRunOn(HandsRule):
    """The machine runs on for more than 10 mm

    What: Letting go stops the macro, but latency, braking or lines in the queue carry it on for more than 10 mm.
    Why: That is far enough to catch a hand. The example is for a mill with fast axes.
    Bad:
        G53 G0 Z-2
        G53 G0 X10
    Good:
        G94
        G53 G1 Z-2 F200
    Remedy: Lower the rate of the long moves, or the latency of the pendant.
    """

    id = "long-run-on"
    setting: ClassVar[Mapping[str, object]] = {"release": "immediate", "stop_line": "M0"}

    def findings(self, evidence: Evidence) -> Iterable[Finding]:
        run_on = evidence.plan.run_on
        if run_on.stops and run_on.millimetres > LONG_RUN_ON_MM:
            yield self.finding(
                say(
                    "After letting go up to {remain} remain ({because})",
                    remain=Length(run_on.millimetres, 1),
                    because=run_on.because,
                ),
                "Lower the rate of this move, or the latency on the machine sheet if it was measured better",
                line=run_on.line,
                figures={"up_to_mm": run_on.millimetres, "seconds": run_on.seconds},
            )


@register
class FasterThanHandRate(HandsRule):
    """An axis goes faster than the hand rate

    What: The macro, or the pendant, has a hand rate, and a move may take an axis faster than that: a rapid of an axis
        that can, or a feed above it.
    Why: Whoever stands beside the machine with a hand on the pendant has set how fast it may come at most.
    Remedy: Write the move as G1 with an F of at most the hand rate, or raise the hand rate.
    """

    id = "faster-than-hand-rate"
    severity = Severity.REFUSE
    accepts = True

    def findings(self, evidence: Evidence) -> Iterable[Finding]:
        rate = evidence.hand_rate
        if rate is None:
            return
        rapids = {axis.name: axis.rapid for axis in evidence.machine.axes}
        told: set[int] = set()
        for move, timing in zip(evidence.trace.moves, evidence.plan.timings, strict=True):
            asked = move.feed if move.kind != "rapid" and move.feed is not None else inf
            if move.minutes is not None:
                asked = 60.0 * max(timing.axis_speed.values(), default=0.0)
            fast = max((name for name in move.moving), key=lambda name: min(rapids[name], asked), default=None)
            if fast is None or move.kind == "dwell" or move.line in told:
                continue
            at = min(rapids[fast], asked)
            if at > rate * (1.0 + ROUNDED):
                told.add(move.line)
                yield self.on(
                    move,
                    say(
                        "{axis} may go at {fast}, faster than the hand rate of {rate}",
                        axis=fast.upper(),
                        fast=PerMinute(at, fast),
                        rate=PerMinute(rate, fast),
                    ),
                    say(
                        "Write it as G1 with an F of at most {rate}, or raise the hand rate", rate=PerMinute(rate, fast)
                    ),
                    figures={"mm_min": at, "hand_rate": rate},
                )


@register
class MovesTowardsOperator(HandsRule):
    """Something comes towards the operator

    What: A move, or the way home, brings the table, or the head, towards the side where the operator stands. Machine
        coordinates give the tool relative to the table (ISO 841): a table that carries Y comes forward when machine Y
        increases, a head goes back.
    Why: Fingers and the edge of a bench are in the way of the table.
    Bad:
        G53 G0 Z-2
        G53 G0 Y145
    Good:
        G53 G0 Z-2
    Remedy: Stand aside, and know beforehand how far it comes.
    """

    id = "moves-towards-operator"
    severity = Severity.NOTE

    def findings(self, evidence: Evidence) -> Iterable[Finding]:
        side = evidence.machine.operator_side
        axis = evidence.machine.axis(side[1])
        if axis is None:
            return
        part = axis.carried_by
        sense = (1 if part == "table" else -1) * (1 if side[0] == "-" else -1)
        far, fast, first = 0.0, 0.0, None
        for move, timing in zip(evidence.trace.moves, evidence.plan.timings, strict=True):
            along = motions(Passage(move, move.start), evidence.start)[axis.name]
            ahead = (along if sense > 0 else along.mirrored()).furthest_up
            if ahead > 0:
                first = first if first is not None else move.line
                far = max(far, ahead)
                fast = max(fast, timing.axis_speed.get(axis.name, 0.0))
        if first is not None:
            yield self.finding(
                say(
                    "{part} COMES FORWARD up to {far} at {fast}",
                    part=part.upper(),
                    far=Length(far, 1),
                    fast=Speed(fast),
                ),
                f"Stand aside, hands {'off the table' if part == 'table' else 'out of the way of the head'}",
                line=first,
                figures={"up_to_mm": far, "mm_s": fast},
            )
        yield from self._homing(evidence, axis)

    def _homing(self, evidence: Evidence, axis: Axis) -> Iterable[Finding]:
        """The way home where its end is the nearer one; the rate is the controller's own."""
        homing = next((event for event in evidence.trace.events if event.kind.homes and axis.name in event.axes), None)
        if homing is not None and axis.home == evidence.machine.nearer_end(axis):
            yield self.finding(
                say(
                    "{part} COMES FORWARD up to {far} on its way home, at a rate of the controller's own",
                    part=axis.carried_by.upper(),
                    far=Length(axis.travel.length, 1),
                ),
                f"Stand aside, hands {'off the table' if axis.carried_by == 'table' else 'out of the way of the head'}",
                line=homing.line,
                figures={"up_to_mm": axis.travel.length},
            )


@register
class LongHold(HandsRule):
    """The button has to be held for long

    What: The macro may take more than 20 seconds, for all of which the enable button is held.
    Why: A tired hand lets go, or is tempted to tape the button down.
    Bad:
        G4 P25
    Good:
        G4 P5
    Remedy: Shorten it, or split it in two macros.
    """

    id = "long-hold"
    severity = Severity.NOTE

    def findings(self, evidence: Evidence) -> Iterable[Finding]:
        most = evidence.plan.totals.seconds.most
        if most > LONG_HOLD_SECONDS:
            yield self.finding(
                f"The enable button has to be held for up to {figure(most, 1)} s",
                "Shorten the macro, or split it in two",
                figures={"seconds": most},
            )
