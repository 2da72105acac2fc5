"""From the axis words of a line to machine coordinates, under the offsets and the modes in force."""

from __future__ import annotations

from collections.abc import Mapping

from parser.language.program import Line
from parser.machine import LINEAR, Machine, Setup
from parser.motion import modes
from parser.motion.assumptions import Lasting, Rests, mode_of, offset_of, origin_of
from parser.motion.faults import fault
from parser.motion.job import Job
from parser.motion.log import Log
from parser.motion.modal_state import ModalState
from parser.motion.offsets import Named, Offsets, Resting
from parser.motion.places import Coordinate, Place, minus, plus


class Coordinates:
    """Work coordinates as they are counted now. ``origins_set`` has the zeros that the program has put somewhere.

    ``kept`` is the word that has made the offsets kept for G92.3 what they are, "" where the program has not.
    """

    def __init__(self, machine: Machine, setup: Setup | None, modes: ModalState, log: Log) -> None:
        self.offsets = Offsets(machine, setup)
        self.origins_set: Mapping[Lasting, Coordinate] = {}
        self.kept = ""
        self._modes, self._log = modes, log
        self._zeros: dict[tuple[str, str | None, str | None], Coordinate] = {}

    def target(self, job: Job, start: Place) -> Place:
        """Where the axis words of the line send a machine that stands at ``start``."""
        sense = job.sense
        axes = sense.axes
        # Item by item, as a copy made in one go would burden the garbage collector with each of many thousand places.
        place = {axis: at for axis, at in start.items()}  # noqa: C416
        if not axes:
            return place
        scale = 1.0 if sense.length is None else self._modes.scale(job, sense.length)
        in_machine = sense.in_machine_coordinates
        relative = not in_machine and self._modes.need(modes.DISTANCE, job, axes[0][1]) == "G91"
        for axis, index in axes:
            unit = scale if axis in LINEAR else 1.0
            value = job.coordinate(index, unit) if job.loose else job.values[index] * unit
            if in_machine:
                place[axis] = value
            else:
                place[axis] = plus(place[axis] if relative else self.zero(axis, job, index), value)
        return place

    # Work zero

    def zero(self, axis: str, job: Job, index: int) -> Coordinate:
        """Machine coordinate of work zero along an axis."""
        words = self._modes.words
        key = (axis, words.get(modes.SYSTEM), words.get(modes.LENGTH_OFFSET))
        at = self._zeros.get(key)
        if at is None:
            at = self._zeros[key] = self._find_zero(axis, job, index)
        return at

    def _find_zero(self, axis: str, job: Job, index: int) -> Coordinate:
        known = self.known_zero(axis)
        if known is not None:
            at, rests = known
            self._log.count_on(rests)
            return at
        system = self._modes.need(modes.SYSTEM, job, index)
        if axis == "z":
            self._modes.need(modes.LENGTH_OFFSET, job, index)
        doubt = self.offsets.doubt(axis)
        if doubt is not None:
            self._doubt(doubt, axis, system, job, index)
        zero, rests = self.offsets.zero(axis, system)
        self._log.count_on(rests)
        return plus(zero, self._modes.length_offset or 0.0) if axis == "z" else zero

    def _doubt(self, group: int, axis: str, system: str, job: Job, index: int) -> None:
        """G92 named a point of the axis in a mode that is not known: it is taken to have been the one used now."""
        self._log.assume(mode_of(group), "left", system if group == modes.SYSTEM else self._modes.taken_for(group))
        if self._log.first_blame(group):
            name = modes.STAKES[group].name
            self._log.blame(job, fault(index, "point named in an unknown mode", name=name, axis=axis.upper()))

    def known_zero(self, axis: str) -> Resting | None:
        """Work zero along an axis, None where it depends on a mode that nothing has set."""
        system, length = self._modes.words.get(modes.SYSTEM), self._modes.length_offset if axis == "z" else 0.0
        free = self.offsets.free_zero(axis, system, length)
        if free is not None:
            return plus(free[0], length or 0.0), free[1]
        if system is None or length is None or self.offsets.doubt(axis) is not None:
            return None
        zero, rests = self.offsets.zero(axis, system)
        return plus(zero, length), {**rests, **self._modes_by_hand(axis)}

    def _modes_by_hand(self, axis: str) -> Rests:
        """The modes that the zero of an axis depends on, where somebody has said which are in force."""
        groups = modes.MOVE_ZERO if axis == "z" else (modes.SYSTEM,)
        return {each: often for group in groups for each, often in self._modes.by_hand(mode_of(group)).items()}

    def forget_zeros(self) -> None:
        """Origins or offsets have changed."""
        self._zeros = {}

    # What words and settings change

    def set_origin(self, system: str, axis: str, at: Coordinate, line: Line) -> None:
        """Put an origin at a machine coordinate."""
        self.offsets.set_origin(system, axis, at)
        self.origins_set = {**self.origins_set, origin_of(system, axis): at}
        self._log.change(origin_of(system, axis), line)
        self.forget_zeros()

    def name_points(self, zeros: Mapping[str, Coordinate]) -> None:
        """Put the zeros of some axes at machine coordinates (G92), under the modes in force."""
        points = {}
        for axis, zero in zeros.items():
            length = self._modes.length_offset if axis == "z" else 0.0
            zero = minus(zero, length or 0.0)
            points[axis] = Named(zero, self._modes.words.get(modes.SYSTEM), length, self._modes_by_hand(axis))
        self.offsets.name_points(points, self._log.line)

    def note_offsets(self) -> None:
        """G92 offsets have changed."""
        origins = {about: at for about, at in self.origins_set.items() if about.kind == "origin"}
        offsets = {offset_of(axis): at for axis, at in self.offsets.named_zeros.items()}
        self.origins_set = origins | offsets
        self.forget_zeros()

    def all_by_hand(self) -> None:
        """What has been set so far is no doing of the program: somebody has said that it is so."""
        self.offsets.all_by_hand()
        self.forget_zeros()
