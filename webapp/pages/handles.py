"""The points of a macro that may be dragged on its drawing: where a step goes to because fields of its own say so.

Where they stand is read off the report, like everything that is drawn. A point whose field is left empty on an axis is
not moved along it, and a step whose lines are not one for each point, or that is not drawn, has none.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from library.blocks import REGISTRY
from library.macros import Step
from library.proving import Proved
from parser.machine import LINEAR
from parser.motion.geometry import value_of
from parser.report import Report
from webapp.drawings import scene
from webapp.drawings.elevations import Handle

POINTS = REGISTRY["visit"].parameter("points")
Ends = Mapping[str, float]


def handles(proved: Proved, start: Mapping[str, float] | None = None) -> tuple[Handle, ...]:
    """Those of the steps that go to places, as they are drawn from ``start``."""
    found: list[Handle] = []
    for number, step in enumerate(proved.macro.step, start=1):
        ends = list(_ends(proved.report, number, start))
        if step.block == "go-to" and ends:
            axes = "".join(axis for axis in LINEAR if axis in ends[-1] and _filled_in(step, axis))
            found += [Handle(number, scene.point_of(ends[-1]), axes)] if axes else []
        if step.block == "visit":
            given = step.values.get("points", POINTS.default_in(proved.macro.units) if POINTS else "")
            rows = [line for line in str(given).splitlines() if line.strip()]
            if rows and len(rows) == len(ends):
                found += [Handle(number, scene.point_of(at), "xy", row) for row, at in enumerate(ends)]
    return tuple(found)


def _filled_in(step: Step, axis: str) -> bool:
    return str(step.values.get(axis, "")).strip() != ""


def _ends(report: Report, step: int, start: Mapping[str, float] | None) -> Iterator[Ends]:
    """Where each line of a step that moves something ends."""
    values = scene.settle(report.trace, start)
    by_line = {
        move.line: move.end
        for move in report.trace.moves
        if move.kind in ("rapid", "feed") and report.steps.get(move.line) == step
    }
    for place in by_line.values():
        yield {axis: value_of(at, values) for axis, at in place.items()}
