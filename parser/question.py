"""What is asked of a text, beside the machine and the controller: from where, and with what taken for granted."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated

from parser.checking import above_zero, check_fields, text
from parser.errors import AssumeError, SheetError
from parser.findings import Number
from parser.machine import Interval, Range, interval
from parser.opinion import SecondOpinion


def words(what: str, value: object) -> None:
    """Check words to assume; raises AssumeError for what is no text."""
    try:
        text(what, value)
    except SheetError as error:
        raise AssumeError(str(error)) from None


def share(what: str, value: object) -> None:
    """Check a range of shares of the way of a move."""
    interval(what, value)
    assert isinstance(value, Interval)
    if value.low < 0 or value.high > 1:
        why = "It is a share of the way."
        raise SheetError(what, f"{value.low} to {value.high}", why, "Write a range within 0 to 1.")


Assumed = Annotated[str, words]


@dataclass(frozen=True, slots=True)
class Question:
    """What ``examine`` and ``evidence`` are asked; without any field: is it safe from anywhere, and where if not.

    ``start`` narrows where the text may be run from, by axis in machine coordinates (mm, degrees), and an axis that it
    leaves out may be anywhere in its travel. ``condition`` is the wording of a macro's own start condition, which then
    has to hold. ``assume`` is a line of words in force beforehand. ``accepted`` maps rules to the written reason for
    lowering their refusals, which does nothing for a rule that cannot be lowered or without a reason. ``steps`` maps
    lines to the steps that wrote them. ``seek_start`` False leaves the safe start out, which takes longest where
    something is refused. ``second`` asks for a second opinion, which takes a solver, but where ``said`` is what one has
    said before: that is believed then. ``hand_rate`` is a rate in mm/min (degrees where only rotary axes move) that no
    axis may pass, None for none. Raises SheetError, for ``assume``
    AssumeError, where a field makes no sense; whether the machine can stand at ``start`` is seen when both are given
    to a function.
    """

    start: Mapping[str, Range] | None = None
    condition: str = ""
    assume: Assumed = ""
    accepted: Mapping[str, str] = field(default_factory=dict)
    steps: Mapping[Number, Number] = field(default_factory=dict)
    seek_start: bool = True
    second: bool = False
    said: SecondOpinion | None = None
    hand_rate: Annotated[float, above_zero] | None = None

    def __post_init__(self) -> None:
        check_fields(self)


FROM_ANYWHERE = Question()
