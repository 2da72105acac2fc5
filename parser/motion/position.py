"""Where the machine stands, and the moves that take it from there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from parser.language.program import Line, Word
from parser.machine import Controller, Interval, Machine
from parser.motion import modes
from parser.motion.assumptions import SPINDLE, Assumption, on
from parser.motion.job import Job
from parser.motion.log import Log
from parser.motion.modal_state import ModalState
from parser.motion.moves import Arc, EventKind, Move, MoveKind
from parser.motion.offsets import somewhere
from parser.motion.places import Afloat, Coordinate, Name, Place, bounds, minus

NO_LENGTH_MM = 1e-9


class MachinePosition:
    """The place of every axis; each move is logged under the spindle and the path control that are then in force."""

    def __init__(
        self, machine: Machine, controller: Controller, start: Mapping[str, Interval], modes: ModalState, log: Log
    ) -> None:
        self.travel = {axis.name: axis.travel for axis in machine.axes}
        self.place: Place = {
            name: somewhere(Name("start", name), "start", start.get(name, travel))
            for name, travel in self.travel.items()
        }
        self.asked_to_home: Line | None = None
        self.forks: list[tuple[str, float]] = []
        self._doglegs = controller.rapid == "dogleg"
        self._crossed = False
        self._modes, self._log = modes, log

    def usually(self, likely: Mapping[str, float]) -> None:
        """Say where it stands in the run that is called typical, before anything moves."""
        for name, at in self.place.items():
            if name in likely and isinstance(at, Afloat):
                self.place[name] = replace(at, unknown=replace(at.unknown, likely=likely[name] - at.base))

    def go(
        self,
        job: Job,
        index: int,
        kind: MoveKind,
        end: Place,
        *,
        feed: float | None = None,
        minutes: float | None = None,
        arc: Arc | None = None,
        dogleg: bool = False,
        aim: Place | None = None,
    ) -> None:
        """Add a move to ``end``; one that cannot have length is left out. ``index`` is the word that moves."""
        if arc is None and not _goes_anywhere(self.place, end):
            return
        self._log_move(job, kind, end, job.span(index), feed=feed, minutes=minutes, arc=arc, dogleg=dogleg, aim=aim)
        self.place = end

    def dwell(self, job: Job, index: int, seconds: float) -> None:
        """Add a time in which the axes stand still."""
        word = job.words[index]
        self._log_move(job, "dwell", self.place, (word.column, word.end), seconds=seconds)

    def _log_move(self, job: Job, kind: MoveKind, end: Place, columns: tuple[int, int], **more: Any) -> None:
        """Add a move from here, in the state that is in force."""
        self._log.moves.append(
            Move(
                line=job.line.number,
                kind=kind,
                start=self.place,
                end=end,
                spindle=self._modes.spindle,
                path_control=self._modes.words.get(modes.PATH),
                column=columns[0],
                end_column=columns[1],
                **more,
            )
        )

    def rapid(self, job: Job, index: int, end: Place) -> None:
        """Add a rapid, of the kind the controller makes."""
        dogleg = self._doglegs and sum(at != end[axis] for axis, at in self.place.items()) > 1
        if not self._crossed and (self._modes.spindle is None or self._modes.said_by_hand):
            self._cross(end)
        self.go(job, index, "rapid", end, dogleg=dogleg)

    def _cross(self, end: Place) -> None:
        """Count on the spindle as it was left where the table is crossed and the program has not seen to it."""
        if any(axis in end and end[axis] != self.place[axis] for axis in ("x", "y")):
            unseen = self._modes.spindle is None
            found = on(Assumption(SPINDLE, "left")) if unseen else self._modes.by_hand(SPINDLE)
            self._crossed = bool(found)
            self._log.count_on(found)

    def lose(self, kind: str, line: Line, axes: tuple[str, ...]) -> None:
        """The axes stand somewhere in their travel, nobody knows where."""
        lost = {axis: somewhere(Name(kind, axis, line.number), kind, self.travel[axis]) for axis in axes}
        self.place = {**self.place, **lost}

    def wait_for_operator(self, line: Line, text: str, word: Word | None = None, *, optional: bool = False) -> None:
        """A pause, in which the operator homes the machine if the program has just asked for it."""
        if self.asked_to_home is None:
            self._log.happen(EventKind.PAUSE, line, text, word=word, optional=optional)
            return
        self.asked_to_home = None
        self._log.happen(EventKind.HOME_AT_PANEL, line, text, tuple(self.travel), word, optional=optional)
        self.lose("homed", line, tuple(self.travel))

    def end(self) -> None:
        """The end of the program; where the operator was asked to home the machine, that is done now."""
        if self.asked_to_home is not None:
            self._log.happen(EventKind.HOME_AFTERWARDS, self.asked_to_home, axes=tuple(self.travel))
            self.lose("homed", self.asked_to_home, tuple(self.travel))

    def fork(self, at: Coordinate, value: Coordinate) -> None:
        """Note that it matters on which side of a value a coordinate is that goes with the start."""
        if isinstance(at, Afloat) and at.unknown.kind == "start":
            reach = bounds(value)
            self.forks += [(at.unknown.axis, side - at.base) for side in (reach.low, reach.high)]


def _goes_anywhere(start: Place, end: Place) -> bool:
    for axis, at in start.items():
        to = end[axis]
        if at is not to:
            away = to - at if isinstance(to, float) and isinstance(at, float) else minus(to, at)
            if isinstance(away, Afloat) or abs(away) >= NO_LENGTH_MM:
                return True
    return False
