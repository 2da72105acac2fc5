"""The three sheets: what the machine is, how the controller behaves, how the pendant is laid out.

Attribute names are the keys of the TOML documents (``from`` is ``from_``). Numbers are as written, in the document's
units, and defaults in mm; ``plain_machine`` and ``plain_controller`` give what the parser needs, always in mm.
"""

from library.sheets.controller import ControllerSheet
from library.sheets.machine import MachineSheet
from library.sheets.pendant import FIRST_RUN, Gesture, PendantSheet, Position
from library.sheets.plain import UNDERFOOT, origins, plain_controller, plain_machine
from library.sheets.presets import PRESETS, preset_text

__all__ = [
    "FIRST_RUN",
    "PRESETS",
    "UNDERFOOT",
    "ControllerSheet",
    "Gesture",
    "MachineSheet",
    "PendantSheet",
    "Position",
    "origins",
    "plain_controller",
    "plain_machine",
    "preset_text",
]
