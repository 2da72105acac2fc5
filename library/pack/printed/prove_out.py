"""The prove-out sheet: what to read, to tick, to run and to note down when a macro runs for the first time."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import segno
from markupsafe import Markup

import parser
from library import gestures, verdicts
from library.outgoing import Outgoing, SlowCopy, Taken
from library.pack import caveats
from library.pack.printed.filling import render
from library.pack.printed.legend import comes_forward
from parser.findings import Severity
from parser.machine import Interval
from parser.motion.moves import Trace
from parser.motion.places import in_words
from parser.motion.usual_start import clear_start
from parser.parts import invented_figures
from parser.proof.verdict import NOT_CHECKED
from parser.quantities import Figures, figure
from parser.report import Report
from parser.times.timing import Plan

SEVERITIES = {Severity.REFUSE: "Refused", Severity.CAUTION: "Caution", Severity.NOTE: "Note"}

ACCEPTED = "Accepted, not proved"

WAITS = {
    "pause": "waits for you",
    "home-at-panel": "waits while you home it",
    "home-afterwards": "ends, then you home it",
    "homing": "homes on the controller's own path",
    "by-hand": "waits while you move it by hand",
    "motion-not-known": "goes to an unknown place",
    "tool-change": "waits for the tool",
    "call": "runs what another file says",
    "input": "waits for its input",
}

MOST_AXES = 4
"""Axes that have columns of their own; more are written one behind the other."""


@dataclass(frozen=True, slots=True)
class ExpectedLine:
    """One line of the macro: what is expected after it. ``slow`` is what the slow copy has instead, with its number.

    ``places`` holds for each axis where it then stands and whether this line took it there; times are "" where none.
    """

    line: int
    text: str
    slow: tuple[int, str] | None
    waits: str
    places: tuple[tuple[str, str, bool], ...]
    slow_seconds: str
    seconds: str


@dataclass(frozen=True, slots=True)
class ProveOut:
    """What the sheet of one macro says; ``call`` is the line that runs it where the controller keeps macros.

    ``accepted`` are the warnings that it is not proved; ``stands`` is how far what runs first was proved.
    """

    name: str
    purpose: str
    slots: tuple[str, ...]
    path: str
    slow_path: str
    slow_rate: str
    why_not_slow: str
    call: str
    slow_call: str
    verdict: str
    invented: str
    claim: str
    accepted: tuple[str, ...]
    stands: tuple[str, ...]
    assumptions: tuple[str, ...]
    findings: tuple[tuple[str, str, str], ...]
    runs_on: bool
    forward: str
    condition: str
    start: tuple[tuple[str, str], ...]
    elsewhere: bool
    rows: tuple[ExpectedLine, ...]
    total: str
    slow_total: str
    parts: int
    homes: bool

    @property
    def axes(self) -> tuple[str, ...]:
        return tuple(axis for axis, _ in self.start)

    @property
    def waits(self) -> bool:
        """Whether some of it takes a time that nothing predicts."""
        return any(row.waits for row in self.rows)

    @property
    def columns(self) -> bool:
        """Whether each axis has a column of its own."""
        return len(self.start) <= MOST_AXES


def page(goes: Outgoing, digest: str) -> str:
    """The sheets of all macros that go, one after the other; ``digest`` is the SHA-256 of the manifest."""
    return render(
        "prove-out.html",
        sheets=[_sheet(each, goes) for each in goes.taken.values()],
        machine=goes.bench.machine,
        controller=goes.bench.controller,
        dates=goes.dates,
        unit=goes.bench.figures.unit,
        gesture=gestures.line(goes.bench.pendant.gesture),
        unhomed=not goes.bench.controller.refuses_unhomed,
        not_checked=NOT_CHECKED,
        digest=digest,
        issue=goes.issue,
        resumes=goes.bench.controller_sheet.stop_keeps == "held",
        code=code(digest),
    )


def code(digest: str) -> Markup:
    """The QR code (ISO/IEC 18004) of a digest as SVG, a module being one unit of its view box."""
    made = segno.make_qr(f"sha256:{digest}", error="m")
    return Markup(made.svg_inline(omitsize=True, svgclass="code", lineclass=None, title="SHA-256 of manifest.json"))


def _sheet(each: Taken, goes: Outgoing) -> ProveOut:
    report, slow = each.report, each.slow if isinstance(each.slow, SlowCopy) else None
    figures = goes.bench.figures
    start, elsewhere = _start(report, goes.printing.start)
    run = _run(report, start)
    slow_run = _run(slow.report, start) if slow else None
    return ProveOut(
        name=each.macro.name,
        purpose=each.macro.purpose,
        slots=tuple(slot.label for slot in goes.slots if slot.macro == each.macro.id),
        path=each.path,
        slow_path=each.slow_path,
        slow_rate=figures.rate(report.controller.first_run_rate),
        why_not_slow="" if isinstance(each.slow, SlowCopy) else each.slow,
        call=each.stages[0].lines[0] if goes.bench.controller.call else "",
        slow_call=slow.call if slow else "",
        verdict=f"{caveats.NOT_PROVED}, accepted" if report.verdict == "accepted" else verdicts.in_words(report),
        invented=invented_figures(report.rests_on),
        claim=report.claim,
        accepted=tuple(f"{caveats.NOT_PROVED}: {caveats.because(one)}" for one in caveats.accepted(each.macro, report)),
        stands=caveats.standing(each.macro, slow.report, figures)
        if slow
        else caveats.warnings(each.macro, report, figures),
        assumptions=report.assumptions,
        findings=tuple(_findings(each, figures)),
        runs_on=any(finding.rule == "release-does-not-stop" for finding in report.findings),
        forward=comes_forward(each, figures) if waits_for_homing(report) else "",
        condition=caveats.condition(each.macro, report, figures),
        start=tuple((axis.upper(), figures.coordinate(axis, at)) for axis, at in start.items()),
        elsewhere=elsewhere,
        rows=tuple(_rows(report, run, slow, slow_run, figures)),
        total=_seconds(run[1].totals.seconds.typical),
        slow_total=_seconds(slow_run[1].totals.seconds.typical) if slow_run else "",
        parts=len(each.stages),
        homes=homes_first(report),
    )


def waits_for_homing(report: Report) -> bool:
    """Whether something of the macro homes, on a path that nothing here checks."""
    return any(event.kind.homes for event in report.trace.events)


def homes_first(report: Report) -> bool:
    """Whether it homes before it moves anything, so that nothing has to be homed for it, nor stand anywhere."""
    homing = [event.line for event in report.trace.events if event.kind.homes]
    moving = [move.line for move in report.trace.moves if move.kind != "dwell"]
    return bool(homing) and all(line >= min(homing) for line in moving)


def _findings(each: Taken, figures: Figures) -> Iterator[tuple[str, str, str]]:
    """Kind, message and remedy of what was found.

    The reason of what was accepted stands elsewhere, and prominently. A condition is told in the same words everywhere,
    and nothing is called proved where something was accepted.
    """
    for found in each.report.findings:
        if found.rule in ("not-referenced", "figures-invented"):  # ticked below, and told with the verdict
            continue
        kind, message = SEVERITIES[found.severity], found.message
        if found.lowered:
            kind = ACCEPTED
        elif found.rule == "relies-on-operator":
            message = "".join(caveats.only_from(each.macro, each.report, figures))
        yield kind, message, found.remedy


def _start(report: Report, wanted: Mapping[str, float]) -> tuple[dict[str, float], bool]:
    """Where the table begins: as wanted, else a clear place; and whether what is wanted is no start of this macro."""
    box = {axis: report.start[axis] for axis in report.machine.names}
    asked = {axis: at for axis, at in wanted.items() if axis in box}
    if all(box[axis].contains(at) for axis, at in asked.items()):
        narrowed = box | {axis: Interval(at, at) for axis, at in asked.items()}
        return clear_start(narrowed, report.machine) | asked, False
    return clear_start(box, report.machine), True


def _run(report: Report, start: Mapping[str, float]) -> tuple[Trace, Plan]:
    begins = {axis: Interval(at, at) for axis, at in start.items()}
    trace = parser.trace(report.program, report.machine, report.controller, start=begins)
    return trace, parser.plan(trace, report.machine, report.controller)


def _rows(
    report: Report,
    run: tuple[Trace, Plan],
    slow: SlowCopy | None,
    slow_run: tuple[Trace, Plan] | None,
    figures: Figures,
) -> Iterator[ExpectedLine]:
    trace = run[0]
    waits = {event.line: WAITS[event.kind] for event in trace.events if event.kind in WAITS}
    told = {event.line for event in trace.events}
    before = trace.start
    for line in report.program.lines:
        if not (line.words or line.settings or line.number in told or not line.readable):
            continue
        place = trace.place_after(line.number)
        instead = slow.lines.get(line.number) if slow else None
        yield ExpectedLine(
            line=line.number,
            text=line.text.strip(),
            slow=(instead, slow.texts[instead - 1])
            if slow and instead and slow.texts[instead - 1] != line.text
            else None,
            waits=waits.get(line.number, ""),
            places=tuple((axis.upper(), in_words(axis, at, figures), at != before[axis]) for axis, at in place.items()),
            slow_seconds=_line_seconds(slow_run, instead),
            seconds=_line_seconds(run, line.number),
        )
        before = place


def _line_seconds(run: tuple[Trace, Plan] | None, line: int | None) -> str:
    if run is None or line is None:
        return ""
    trace, plan = run
    spent = [
        timing.seconds.typical for move, timing in zip(trace.moves, plan.timings, strict=True) if move.line == line
    ]
    return _seconds(sum(spent)) if spent else ""


def _seconds(value: float) -> str:
    return figure(value, 1)
