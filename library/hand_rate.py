"""The hand rate: no axis of a macro goes faster than that, by the macro itself, by the pendant, or by both."""

from __future__ import annotations

from contextlib import suppress

from library.bench import Bench
from library.errors import BlockError
from library.macros import Macro

OFFERED = 2000.0
"""mm/min. Set-up modes of the machining-centre standards cap axis speed at about 2 m/min (memory)."""

KEY = "hand_rate"


def hand_rate(macro: Macro, bench: Bench) -> float | None:
    """The lower of the macro's and the pendant's in mm/min, None where neither has one; raises BlockError."""
    rates = [bench.pendant.hand_rate] if bench.pendant.hand_rate else []
    if macro.hand_rate.strip():
        own = bench.writing(macro).evaluate(macro.hand_rate, "rate")
        if own <= 0:
            raise BlockError(f"the hand rate is {own:g} mm/min; give it one above zero, or leave it empty", KEY)
        rates.append(own)
    return min(rates, default=None)


def held_to(macro: Macro, bench: Bench) -> float | None:
    """The same for lines that are there already: None where it cannot be read, which keeps a macro from being taken."""
    with suppress(BlockError):
        return hand_rate(macro, bench)
    return None
