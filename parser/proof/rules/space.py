"""Rules about space beside contact: raised, referenced, the spindle stopped, and honest about what is not known."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import ClassVar

from parser.findings import Finding, Severity
from parser.machine import Machine
from parser.proof.axis_motion import TOUCH
from parser.proof.evidence import Evidence
from parser.proof.passages import Passage, motions
from parser.proof.rules.base import Reported, register
from parser.proof.rules.cases import SpaceRule
from parser.quantities import Reading, say


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
                yield self.on(
                    move,
                    say(
                        "The table is crossed with Z as low as {lowest}, below the safe height of {safe}",
                        lowest=Reading("z", lowest),
                        safe=Reading("z", safe),
                    ),
                    "Raise to safe.z before this line",
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
        "home-afterwards": "The machine is homed at the panel once the macro has ended, on a path that the controller "
        "chooses",
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
                homes = _comes_home(event.axes, evidence.machine) if event.kind.homes else ""
                yield Finding(
                    self.id,
                    self.severity,
                    self.said[event.kind] + homes,
                    "See that nothing stands in the way of any axis; once it moves, the wheel hand goes to the "
                    "emergency stop",
                    line=event.line,
                    column=event.column,
                    end=event.end_column,
                    undecided=True,
                )


def _comes_home(axes: tuple[str, ...], machine: Machine) -> str:
    """Which way the part that carries the operator's axis goes on its way home, as a clause; "" where it stays."""
    axis = machine.axis(machine.operator_side[1])
    if axis is None or axis.name not in axes or axis.home == "none":
        return ""
    if axis.home == machine.nearer_end(axis):
        return f"; the {axis.carried_by.upper()} COMES FORWARD on it"
    return f"; the {axis.carried_by} goes away from you on it, and may come forward for a little at its end"


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
                yield self.on(
                    move,
                    "The table is crossed with the spindle turning"
                    if move.spindle
                    else "The table is crossed and the spindle may still be turning: the macro has not stopped it",
                    "Stop the spindle (M5) and wait for its run-down before this line",
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
