"""Work origins of a machine sheet that a setup overrides, so that whoever edits either one knows."""

from __future__ import annotations

from collections.abc import Iterator

from library.sheets.machine import MachineSheet
from parser.machine import AXES


def overrides(sheet: MachineSheet) -> Iterator[str]:
    """A sentence for each origin of the sheet of which a setup has its own: what is under work counts nowhere there."""
    own = dict(sheet.work.each())
    for setup in sheet.setup:
        for system, zero in setup.work.each():
            if system not in own:
                continue
            axes = [axis.upper() for axis in AXES if getattr(zero, axis) is not None]
            shared = [axis for axis in axes if getattr(own[system], axis.lower()) is not None]
            if shared:
                of = "" if len(shared) == _given(own[system]) else f" along {' '.join(shared)}"
                named = f'[work."{system}"]' if "." in system else f"[work.{system}]"
                yield f'{named} is overridden{of} in setup "{setup.name}": change it there'


def _given(zero: object) -> int:
    return sum(getattr(zero, axis) is not None for axis in AXES)
