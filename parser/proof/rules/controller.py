"""Rules about this controller: where it departs from the published language."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

from parser.findings import Severity
from parser.proof.rules.base import Reported, register


class ControllerRule(Reported):
    """A breach of what the controller sheet says."""

    severity = Severity.REFUSE
    family = "controller"
    accepts = True
    assume = "G17 G21 G40 G49 G54 G90 G94"


@register
class WordNotSupported(ControllerRule):
    """The controller does not have this word

    What: The word is published, but the controller sheet says that this controller lacks it, or Clickstop does
        not follow it in a macro (cutter radius compensation, for instance, has no use in one).
    Why: The macro would stop there, or do something that was not proved.
    Bad:
        G41 D1
    Good:
        G40
    Remedy: Say it with words that the controller has.
    """

    id = "word-not-supported"
    accepts = False


@register
class HomeWordDiffers(ControllerRule):
    """G28 means something else here

    What: On this controller G28 runs the homing cycle; as published it returns to a stored point (3.5.8). The
        line is not one of the homing lines of the controller sheet.
    Why: A macro written for the other meaning drives to the home switches from wherever it stands.
    Bad:
        G28 X0 Z0
    Good:
        G53 G0 Z-2
    Remedy: Go to the place with G53, or use the home block, which writes the homing lines of the sheet.
    """

    id = "home-word-differs"
    setting: ClassVar[Mapping[str, object]] = {"g28": "home", "homing": ("G28",)}


@register
class EndsTheCaller(ControllerRule):
    """M2 or M30 in a macro that another program calls

    What: The controller sheet says that the pendant calls stored macros; the macro has M2 or M30.
    Why: These words end everything, the calling program included, and reset modes (3.6.1).
    Bad:
        M2
    Good:
        G80
    Remedy: Leave the word out, or use the ending of the controller sheet.
    """

    id = "ends-the-caller"
    setting: ClassVar[Mapping[str, object]] = {"call": "M98 P{number}"}


@register
class EndingMissing(ControllerRule):
    """The file lacks its ending

    What: The controller sheet names a last word that the file does not end with; or the file neither is wrapped
        in percent lines nor ends with M2 or M30 where the controller expects one of them (3.1).
    Why: Some controllers wait for more, or report an error after the last line.
    Bad:
        G53 G0 Z-2
    Good:
        G53 G0 Z-2
        M99
    Remedy: End the file as the controller sheet says; macros built from blocks do so by themselves.
    """

    id = "ending-missing"
    severity = Severity.CAUTION
    accepts = False
    setting: ClassVar[Mapping[str, object]] = {"ending": "M99", "extra_words": {"M99": "end"}}
