"""How many lines the pendant may have with the controller at once, and what it sends when the button is let go."""

from __future__ import annotations

from dataclasses import dataclass

from library.sheets import ControllerSheet
from library.sheets.plain import answers_once_done, has_to_wait, holds_what_was_stopped

BY_STOP_LINE = ("queued-line", "immediate")
"""Kinds of release in which it is the stop line that stops."""


QUIET, QUIET_ONCE_DONE = 0.25, 0.05  # our choice
"""Seconds that the controller has to be idle without a break; less where its answer already says that it is done.

What it tells of itself may be some tenths of a second old, and a line that was only queued may not have begun.
"""


@dataclass(frozen=True, slots=True)
class Sending:
    """What the sender does beyond one line for each answer.

    Never more than one line is without its answer. Where letting go stops nothing that the controller already holds,
    each line also waits until the controller is idle, even if the answer only means that the last one was queued: so
    what is left to run after letting go is the line that runs. It waits by a wire, too, that no sheet knows of; where
    nothing at all tells, it cannot, and no figure counts on it (``one_line_at_once``). Where the stop is obeyed at once
    the queue may fill, and corners between lines are taken as the controller takes them. Where what was stopped is held
    (``stop_holds``), nothing is sent behind it before the controller is told to be idle.
    """

    waits_for_idle: bool
    stop_line: str
    quiet: float
    stop_holds: bool

    @classmethod
    def of(cls, controller: ControllerSheet) -> Sending:
        """What a controller sheet asks for; a controller that answers nothing is waited for by its being idle."""
        done = answers_once_done(controller)
        return cls(
            waits_for_idle=done or has_to_wait(controller),
            stop_line=controller.stop_line if controller.release in BY_STOP_LINE else "",
            quiet=QUIET_ONCE_DONE if done else QUIET,
            stop_holds=holds_what_was_stopped(controller),
        )
