"""The state of a program while it runs: the only thing in the parser that changes.

``interpreter`` feeds it lines and ``handlers`` changes it word by word.
"""

from __future__ import annotations

from collections.abc import Mapping

from parser.machine import Controller, Interval, Machine, Setup
from parser.motion.coordinates import Coordinates
from parser.motion.faults import Fault
from parser.motion.job import Job, UnusableError
from parser.motion.log import Log
from parser.motion.modal_state import ModalState
from parser.motion.moves import State
from parser.motion.parameters import Parameters
from parser.motion.places import Place
from parser.motion.position import MachinePosition


class Run:
    """What is in force, where the machine stands, how coordinates are counted, what parameters hold, and the log.

    After a line that is left undone ``stays`` takes the machine to stand still. Otherwise its place is lost, and
    ``adrift`` names the axes whose work zero is, and the words whose stored point is.
    """

    def __init__(
        self, machine: Machine, controller: Controller, setup: Setup | None, start: Mapping[str, Interval]
    ) -> None:
        self.machine = machine
        self.controller = controller
        self.axis_names = machine.names
        self.rotary = any(axis.rotary for axis in machine.axes)
        self.log = Log()
        self.modes = ModalState(controller, machine.spindle_by_program, self.log)
        self.position = MachinePosition(machine, controller, start, self.modes, self.log)
        self.coordinates = Coordinates(machine, setup, self.modes, self.log)
        self.parameters = Parameters(machine.names, self.coordinates, self.modes, self.log)
        self.ended = False
        self.stays = False
        self.adrift: set[str] = set()
        self.trips: Mapping[int, Interval] = {}
        self._setup_by_setup = setup is None and len(machine.setups) > 1

    def target(self, job: Job) -> Place:
        """Where the axis words of the line send the machine."""
        return self.coordinates.target(job, self.position.place)

    def refuse(self, fault: Fault) -> None:
        """Give up a line, by UnusableError.

        What only some of the starts and origins make wrong is judged in each setup by itself: the hull of their
        origins holds cases that are in none of them.
        """
        if not (self._setup_by_setup and fault.from_some_starts):
            raise UnusableError(fault)

    def all_by_hand(self) -> None:
        """What has been set so far is no doing of the program: somebody has said that it is so."""
        for part in (self.modes, self.coordinates, self.parameters):
            part.all_by_hand()
        self.log.begin_anew()

    def state(self, line: int) -> State:
        """The modal state after a line."""
        modes, coordinates = self.modes, self.coordinates
        in_force = (modes.words, modes.feed, modes.speed, modes.spindle, modes.coolant, modes.overrides, modes.tool)
        return State(line, *in_force, self.log.changed, self.ended, coordinates.origins_set, coordinates.kept)
