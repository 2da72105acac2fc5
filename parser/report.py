"""Everything that reading, tracing, planning and proving found out about one text, and its JSON form."""

import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from typing import Annotated, Literal, Self

from parser import opinion
from parser.checking import check_fields, refused, text
from parser.findings import Finding, Number, Severity
from parser.language.program import Program
from parser.machine import AboveZero, AxisName, Controller, Interval, Machine, Range, SheetPart
from parser.motion.moves import TURNING, Move, Trace
from parser.motion.places import Coordinate, Place
from parser.opinion import SecondOpinion
from parser.quantities import Figures, Units
from parser.times.timing import Plan

Verdict = Literal["proved", "conditional", "accepted", "refused"]


@dataclass(frozen=True, slots=True)
class SafeStart:
    """The starts from which nothing is refused: ``box`` by axis, and a sentence to act on.

    ``box`` is None where no start is free of refusals or no refusal depends on the start. ``condition`` is the same as
    a macro's ``start`` value would say it ("z >= -38.2 mm"), "" for anywhere. ``advised`` is False where it is true and
    no place to send anybody to: low down, or shut in between two sides.
    """

    box: Mapping[str, Interval] | None
    sentence: str
    condition: str
    advised: bool = True


@dataclass(frozen=True, slots=True)
class Report:
    """The result of ``parser.examine``. ``steps[line]`` is the step of the macro that wrote that line, from 1.

    ``sentence`` is the verdict in words; ``claim`` is what it says is proved, without what it assumes, and ``scope``
    the part of it that says where that holds, "" where nothing is proved. ``rests_on`` are the parts of the sheets that
    the verdict rests on, none where they came from no sheet. Texts are in ``units``. ``second`` is the second opinion,
    None where none was asked for. ``hand_rate`` is the rate in mm/min that no axis may pass, None where none was set.
    """

    machine: Machine
    controller: Controller
    program: Program
    trace: Trace
    plan: Plan
    findings: tuple[Finding, ...]
    verdict: Verdict
    sentence: str
    claim: str
    assumptions: tuple[str, ...]
    start: Mapping[AxisName, Range]
    safe_start: SafeStart
    extents: Mapping[AxisName, Interval]
    steps: Mapping[Number, Number]
    units: Units = "mm"
    scope: str = ""
    second: SecondOpinion | None = None
    rests_on: tuple[SheetPart, ...] = ()
    hand_rate: AboveZero | None = None

    def __post_init__(self) -> None:
        check_fields(self, "the report")
        if (self.verdict == "refused") is not self.refused:
            why = "Its findings say otherwise."
            raise refused("verdict of the report", self.verdict, why, "Take the report that examine gives.")

    @property
    def twice(self) -> bool:
        """Whether all of it was proved a second time, nothing left out."""
        return self.second is not None and self.second.twice and self.verdict in ("proved", "conditional")

    @property
    def refused(self) -> bool:
        """Whether any finding is a refusal."""
        return any(finding.severity is Severity.REFUSE for finding in self.findings)

    def worded(self, units: Units) -> Self:
        """The same with its texts in the units of the reader; mm as it comes."""
        figures = Figures(units)
        safe = self.safe_start
        return replace(
            self,
            units=units,
            findings=tuple(finding.worded(figures) for finding in self.findings),
            sentence=figures.said(self.sentence),
            claim=figures.said(self.claim),
            scope=figures.said(self.scope),
            assumptions=tuple(map(figures.said, self.assumptions)),
            safe_start=SafeStart(safe.box, figures.said(safe.sentence), figures.said(safe.condition), safe.advised),
        )


def modes_at_end(report: Report) -> list[str]:
    """Modal words in force at the end, in the order of the published groups, G then M; unknown ones are left out."""
    final = report.trace.final
    words = [final.modes[group] for group in sorted(final.modes)]
    words += [word for word, way in TURNING.items() if way == final.spindle]
    if final.coolant is not None:
        words += sorted(final.coolant) or ["M9"]
    if final.overrides is not None:
        words.append(final.overrides)
    return words


def _digest(what: str, value: object) -> None:
    text(what, value)
    if not re.fullmatch("[0-9a-f]{64}", str(value)):
        raise refused(what, value, "It is no SHA-256.", "Write its 64 hexadecimal digits, or leave it out.")


Digest = Annotated[str, _digest]


def as_json(
    report: Report,
    *,
    file: str | None = None,
    machine_sha256: Digest | None = None,
    controller_sha256: Digest | None = None,
) -> dict[str, object]:
    """The report as the JSON object that ``clickstop check --format json`` prints.

    ``file`` is what the text is called, the others are digests of the sheets it was examined on; null where not given.
    """
    return {
        "file": file,
        "lines": len(report.program.lines),
        "machine": {"name": report.machine.name, "sha256": machine_sha256},
        "controller": {"name": report.controller.name, "sha256": controller_sha256},
        "verdict": report.verdict,
        "sentence": report.sentence,
        "assumptions": list(report.assumptions),
        **rests_as_json(report),
        "moves": [_move(report, index) for index in range(len(report.trace.moves))],
        "totals": asdict(report.plan.totals),
        "hand_rate": report.hand_rate,
        "run_on": {
            "stops": report.plan.run_on.stops,
            "mm": report.plan.run_on.millimetres,
            "seconds": report.plan.run_on.seconds,
            "by_axis": dict(report.plan.run_on.by_axis),
            "because": report.plan.run_on.because,
        },
        "extents": {name: [extent.low, extent.high] for name, extent in report.extents.items()},
        "ends": _place(report.trace.end),
        "modes_at_end": modes_at_end(report),
        "safe_start": _safe_start(report.safe_start),
        "second_opinion": opinion.as_json(report.second),
        "safe_start_sentence": report.safe_start.sentence,
        "findings": [finding_as_json(finding) for finding in report.findings],
    }


def rests_as_json(report: Report) -> dict[str, object]:
    """The parts of the sheets that a verdict rests on, and which of them are invented."""
    return {
        "rests_on": [
            {"part": part.name, "sheet": "controller" if part.tried else "machine", "measured": part.day or None}
            for part in report.rests_on
        ],
        "invented": [part.name for part in report.rests_on if part.invented],
    }


def _known(coordinate: Coordinate) -> float | None:
    return coordinate if isinstance(coordinate, (int, float)) else None


def _place(place: Place) -> dict[str, float | None]:
    return {name: _known(at) for name, at in place.items()}


def _move(report: Report, index: int) -> dict[str, object]:
    move, timing = report.trace.moves[index], report.plan.timings[index]
    return {
        "line": move.line,
        "step": report.steps.get(move.line),
        "kind": move.kind,
        "from": _place(move.start),
        "to": _place(move.end),
        "length": asdict(timing.length),
        "seconds": asdict(timing.seconds),
        "centre": _centre(move),
        "turn": move.arc.sweep if move.arc else None,
    }


def _centre(move: Move) -> dict[str, float | None] | None:
    if move.arc is None:
        return None
    return {name: _known(at) for name, at in zip(move.arc.axes, move.arc.centre, strict=True)}


def _safe_start(safe: SafeStart) -> dict[str, list[float]] | None:
    return None if safe.box is None else {name: [at.low, at.high] for name, at in safe.box.items()}


def finding_as_json(finding: Finding) -> dict[str, object]:
    """A finding as it stands in the JSON of a report."""
    return {
        "rule": finding.rule,
        "severity": finding.severity.value,
        "line": finding.line,
        "column": finding.column,
        "step": finding.step,
        "case": finding.case,
        "message": finding.told,
        "remedy": finding.remedy,
        "witness": finding.witness and asdict(finding.witness),
        "figures": dict(finding.figures),
    }
