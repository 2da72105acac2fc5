"""What a pendant may be waiting for, why nothing fires, and how it knows that the controller is idle."""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum, IntEnum


class HandState(Enum):
    """What the pendant is waiting for."""

    TURNED = "the selector has not rested long enough"
    LET_GO_FIRST = "enable was held too early: let go first"
    READY = "waiting for enable"
    ENABLED = "enable is held: waiting for the wheel"
    ASKING = "the controller is asked whether it is idle"
    SENDING = "lines are being sent"
    FINISHED = "all is done: let go"
    FAILED = "a line was refused or not answered: let go"
    STOPPED = "stopped: release the stop, let go, turn the selector away and back"


class Why(IntEnum):
    """Why nothing fires, or how it ended; the numbers are the flashes of the lamp."""

    NOTHING = 0
    HELD_EARLY = 1
    WRONG_TURN = 2
    NO_MACRO = 3
    NOT_IDLE = 4
    LET_GO = 5
    REFUSED = 6
    NO_ANSWER = 7
    WAS_STOPPED = 8
    DONE = 9


TOLD: Mapping[Why, str] = {
    Why.NOTHING: "",
    Why.HELD_EARLY: "Enable was held before the selector had rested.",
    Why.WRONG_TURN: "A wrong turn: a click too many, the wrong way, too late, or the wheel had not rested before.",
    Why.NO_MACRO: "There is no macro here that may be sent.",
    Why.NOT_IDLE: "The controller is busy, or does not say that it is not.",
    Why.LET_GO: "Enable was let go, or a selector turned, before the end.",
    Why.REFUSED: "The controller refused a line: nothing more is sent.",
    Why.NO_ANSWER: "A line was not answered in time: nothing more is sent.",
    Why.WAS_STOPPED: "The stop was pressed.",
    Why.DONE: "All lines were sent and answered.",
}


class Means(Enum):
    """How the controller's being idle is known, once its answers are in."""

    CALL = "a wire or a function of one's own"
    ASKING = "asking"
    SETTLING = "the answer to the settle line"
    ANSWER = "the answer to each line"
    NOTHING = "nothing"
