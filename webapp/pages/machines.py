"""What the page of the machines shows of each: its name, its controller, and how it differs at a glance."""

from __future__ import annotations

from dataclasses import dataclass

from library import documents, machines
from library.machines import MachineSet
from library.store import Workshop
from parser.errors import SheetError
from parser.quantities import Figures
from webapp.pages.last_change import ChangeNote
from webapp.pages.shelf import when


@dataclass(frozen=True, slots=True)
class MachineRow:
    """A machine in the list; ``travel`` is "" where a sheet cannot be read, which ``problem`` then says.

    ``seen`` goes out with each form, so that nothing is done to what the page has not shown.
    """

    id: str
    name: str
    in_force: bool
    seen: str
    controller: str
    travel: str
    problem: str
    change: ChangeNote | None


def listed(shop: Workshop) -> tuple[MachineRow, ...]:
    """Every machine of the workshop, the one in force first."""
    return tuple(_row(shop, each) for each in machines.machines(shop))


def _row(shop: Workshop, each: MachineSet) -> MachineRow:
    change = shop.last_change("machine", each.id)
    controller, travel, problem = "", "", ""
    try:
        bench = documents.bench(each.machine, each.controller)
        figures = Figures(bench.machine_sheet.units)
        controller = bench.controller.name
        travel = ", ".join(
            f"{axis.name.upper()} {figures.interval(axis.name, axis.travel)}"
            f" {'degrees' if axis.rotary else figures.unit}"
            for axis in bench.machine.axes
        )
    except (documents.DocumentError, SheetError) as error:
        problem = str(error)
    return MachineRow(
        each.id,
        each.name,
        each.in_force,
        each.shown,
        controller,
        travel,
        problem,
        ChangeNote(when(change.saved), change.who, change.why) if change else None,
    )
