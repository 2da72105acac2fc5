"""What all trials share: a report, its refusals by what they are about, a macro fired from many starts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from parser.findings import Finding, Severity
from parser.machine import Interval, Setup
from parser.pipeline import examine
from parser.question import Question
from parser.report import Report
from tests.parser.proof.scenes.scene import Scene, text
from tests.parser.proof.simulation.chance import runs
from tests.parser.proof.simulation.legs import Leg
from tests.parser.proof.simulation.meeting import Flags, Key
from tests.parser.proof.simulation.program import Running
from tests.parser.proof.simulation.travel import out, out_of_limits
from tests.parser.proof.simulation.words import Values

SPACE = {"crosses-keep-out", "beyond-travel", "enters-enclosure"}

ROUNDING = 1e-5
"""mm a sample has to be deep before it counts: what floating point may differ by."""

Box = Mapping[str, Interval]


class DisagreementError(AssertionError):
    """The proof and the simulation do not agree; ``kind`` says in what."""

    def __init__(self, kind: str, made: Scene, **facts: object) -> None:
        machine = made.machine
        bodies = (
            f"nose {machine.nose_radius}, holder {machine.holder_length} x {machine.holder_radius}, "
            f"tool {machine.tool_stick_out} x {machine.tool_radius}, margins {machine.keep_out_margin} and "
            f"{machine.travel_margin}, corner {machine.corner} {machine.tolerance}, rapid {made.controller.rapid}"
        )
        start = " ".join(f"{axis} {side.low:g}..{side.high:g}" for axis, side in made.start.items())
        shown = {"sheet": bodies, "start": start, **facts}
        said = "\n".join(f"    {name}: {value}" for name, value in shown.items())
        before = f"{text(made.before)}-- then\n" if made.before else ""
        super().__init__(f"{kind}\n{said}\n{before}{made.text}")
        self.kind = kind


def prove(made: Scene, start: Box | None = None, *, seek_start: bool = False) -> Report:
    """What the proof says of a scene, from all of its starts or from some."""
    box = made.start if start is None else start
    return examine(
        made.text, made.machine, made.controller, Question(start=box, accepted=made.reasons, seek_start=seek_start)
    )


def refused(report: Report) -> list[Finding]:
    return [each for each in report.findings if each.severity is Severity.REFUSE]


def refusals(report: Report) -> dict[Key, list[Finding]]:
    """Refusals for space by the key of what they are about."""
    found: dict[Key, list[Finding]] = {}
    for finding in refused(report):
        if finding.rule in SPACE:
            found.setdefault(_key(finding), []).append(finding)
    return found


def _key(finding: Finding) -> Key:
    witness = finding.witness
    assert witness is not None
    if finding.rule == "beyond-travel":
        return ("limit" if witness.obstacle.startswith("limit") else witness.body, finding.line)
    return witness.obstacle, witness.body if witness.body.startswith("K") else ""


def unusable(report: Report) -> set[str]:
    """The rules by which some line cannot be carried out, at least from some starts."""
    return {finding.rule for finding in refused(report)} - SPACE


def may(finding: Finding) -> bool:
    """Whether a refusal says only that something may happen, not that it would."""
    return " may " in finding.message


@dataclass(frozen=True)
class Fired:
    """A macro as it goes in one setup, from many starts (3, n)."""

    setup: Setup
    run: Running
    legs: list[Leg]
    starts: Values

    def one(self, hit: Flags) -> dict[str, object]:
        """The first of some starts, with its tool and its way, for somebody to look at."""
        index = int(np.flatnonzero(hit)[0])
        way = [
            f"{leg.line}: {leg.begin[:, index].round(4).tolist()} -> {leg.end[:, index].round(4).tolist()}"
            for leg in self.legs
        ]
        return {
            "setup": self.setup.name,
            "from": self.starts[:, index].tolist(),
            "tool": self.legs[0].tools[:, index].tolist() if self.legs else None,
            "way": "".join(f"\n      {leg}" for leg in way),
            "share of the starts": float(hit.mean()),
        }


def fired(made: Scene, random: np.random.Generator, box: Box, count: int) -> Iterator[Fired]:
    """The macro fired from all over a box, in each setup."""
    for setup, run in runs(random, made.machine, made.controller, box, count):
        starts = run.place
        yield Fired(setup, run, run.follow(made.lines), starts)


def left(made: Scene, legs: list[Leg]) -> dict[Key, Flags]:
    """For each axis or limit and line, which starts are taken out."""
    return {**out(made.machine, legs, ROUNDING), **out_of_limits(made.machine, legs, ROUNDING)}
