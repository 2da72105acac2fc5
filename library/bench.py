"""The bench: what every macro of a workshop is written and proved on, held together once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from library import formulas
from library.errors import BlockError
from library.fields import Units
from library.macros import Macro
from library.sheets import ControllerSheet, MachineSheet, PendantSheet, plain_controller, plain_machine
from library.sheets.plain import with_machine_system
from parser.machine import Controller, Machine
from parser.opinion import SecondOpinion
from parser.quantities import Figures


@dataclass(frozen=True, slots=True)
class Bench:
    """The sheets with what the parser needs of them; made by ``Bench.of``.

    ``shelf`` holds the macros that a step may run, by id, and ``digests`` the SHA-256 of the sheets' texts by kind.
    ``units`` is what a bare number in a formula means; ``inside`` are the ids of the macros being written, outermost
    first. ``second`` says that a second opinion is asked for whenever something is proved on it; ``said`` holds by the
    id of a macro what one has said before, which is believed then.
    """

    machine_sheet: MachineSheet
    controller_sheet: ControllerSheet
    pendant: PendantSheet
    machine: Machine
    controller: Controller
    landmarks: formulas.Landmarks
    shelf: Mapping[str, Macro] = field(default_factory=dict)
    digests: Mapping[str, str] = field(default_factory=dict)
    units: Units = "mm"
    inside: tuple[str, ...] = ()
    second: bool = False
    said: Mapping[str, SecondOpinion] = field(default_factory=dict)

    @classmethod
    def of(
        cls,
        machine: MachineSheet,
        controller: ControllerSheet,
        pendant: PendantSheet | None = None,
        shelf: Mapping[str, Macro] | None = None,
        digests: Mapping[str, str] | None = None,
    ) -> Bench:
        """The bench of these sheets, with a pendant that holds nothing where none is given; raises SheetError."""
        return cls(
            machine,
            controller,
            pendant or PendantSheet(format="clickstop-pendant/1"),
            with_machine_system(plain_machine(machine), controller),
            plain_controller(controller),
            formulas.Landmarks.of(machine, controller),
            {} if shelf is None else shelf,
            {} if digests is None else digests,
            machine.units,
        )

    @property
    def figures(self) -> Figures:
        """Numbers in words, in the units of the machine sheet."""
        return Figures(self.machine_sheet.units)

    def writing(self, macro: Macro) -> Bench:
        """The bench as the steps of a macro see it."""
        return replace(self, units=macro.units, inside=(*self.inside, macro.id))

    def evaluate(self, text: str, dimension: formulas.Dimension) -> float:
        """Value of a formula in mm, s, mm/min, degrees or plain; BlockError says what is wrong with it."""
        try:
            return formulas.evaluate(text, self.landmarks, dimension, self.units)
        except formulas.FormulaError as error:
            raise BlockError(str(error)) from error
