"""What the lamp of the pendant flashes, in words, and whether there is one."""

from __future__ import annotations

from collections.abc import Iterator

from library.handling import TOLD, Why
from library.sheets import PendantSheet

ISSUE = (
    "At power-up it flashes the eight signs of the issue, one after the other with a pause after each: one to nine "
    "flashes for 1 to 9, ten for 0, eleven to sixteen for a to f; until enable is pressed. A selector that is turned "
    "before that is told by its place: one flash for the first position or increment, and so on; dark where no contact "
    "is closed."
)


def wired(pendant: PendantSheet) -> bool:
    """Whether the pendant sheet has a lamp."""
    return pendant.wiring is not None and bool(pendant.wiring.of("lamp"))


def codes() -> Iterator[str]:
    """What each number of flashes says."""
    yield "Lit: lines are sent, or the controller is asked whether it is idle. Dark: nothing to tell."
    for why in Why:
        if why not in (Why.NOTHING, Why.DONE):
            yield f"{why:d} flash{'es' if why > 1 else ''}: {TOLD[why]}"
