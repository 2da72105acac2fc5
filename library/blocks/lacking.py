"""What a controller lacks for a step, which key says so, and what there is instead."""

from __future__ import annotations

from collections.abc import Mapping

INSTEAD: Mapping[str, str] = {
    "G53": "keep a work system at 0, 0, 0 for machine coordinates, and name it as machine_system there",
    "G38.2": "touch off by hand, and set the zero where the axis then stands",
    "G10": "type the zero in on the offsets page at the panel, or set it where the axis stands (origin_here)",
    "G4": "wait by a pause step instead",
    "G91": "give the place itself with a go-to step instead",
    "G49": "take the tool length offset off at the panel, and list G43 there as well if there is none at all",
    "M3": 'write control = "manual" under spindle on the machine sheet, and the operator is asked instead',
    "M5": 'write control = "manual" under spindle on the machine sheet, and the operator is asked instead',
    "M9": "switch the coolant off by hand, asked for by a pause step",
}
"""What there is instead of a word that a controller lacks."""

CAN_CORRECT = "take it out of that list if the controller has it after all"

NO_CALCULATING = (
    "this controller does not calculate (expressions on the controller sheet), and where the probe tripped is only "
    "known to it; read the place off the display while the probe touches, and set the zero at that number"
)

NO_PAUSE = (
    "this controller has no line that waits for the operator (pause on the controller sheet); wait by a dwell step, or "
    "make two macros of it, so that the gesture of the second is the waiting"
)


def no_word(word: str) -> str:
    """Why a step cannot be written without a word that the controller sheet lists as unsupported."""
    instead = INSTEAD.get(word)
    what = f"{instead}, or {CAN_CORRECT}" if instead else CAN_CORRECT
    return f"this controller has no {word} (unsupported on the controller sheet); {what}"
