"""Touching twice with a probe: fast, back, slow; and the zero that follows from where it tripped.

The rates and the way back are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from library.blocks import spindle_off
from library.blocks.block import Bench, BlockError, Parameter, Values, Writer
from library.blocks.writer import PROBED
from parser.machine import SYSTEMS
from parser.motion.checks import why_unsupported
from parser.motion.probing import LEAST_WAY_MM

LEAST_REACH = 0.3
LEAST_BACK = 0.5
"""mm. A probe has to be more than 0.254 mm from its target (NISTIR 6556, 3.5.9); the slow touch has twice the back."""

assert LEAST_REACH > LEAST_WAY_MM
assert 2 * LEAST_BACK > LEAST_WAY_MM

KEPT: Mapping[str, int] = {"x": 101, "y": 102}
"""Parameters in which a place is kept until both axes have been probed: such as programs may use (common practice)."""

NO_CONTACT = (
    "Without contact the probe stops at the limit: most controls then stop with an alarm (common practice). One that "
    "goes on sets a zero from a place that touched nothing, so look at the result before you cut."
)
TRY_FIRST = "Touch the probe with a finger first and see on the display that it trips."
NOT_COUNTED_ON = (
    "The proof does not count on the probe to trip: the whole way to the limit has to be clear of what is drawn, or "
    "the refusal accepted with the reason."
)


@dataclass(frozen=True, slots=True)
class TwoTouches:
    """How to touch: the work system to count in, the two rates in mm/min, and how far back between them in mm."""

    system: str
    fast: float
    slow: float
    back: float

    @classmethod
    def of(cls, values: Values) -> TwoTouches:
        """As the values of a step have it; raises BlockError for a slow touch that is the faster."""
        fast, slow = values.number("fast"), values.number("slow")
        if slow > fast:
            raise BlockError(f"the slow touch at {slow:g} mm/min is faster than the fast one at {fast:g}", "slow")
        return cls(values.text("system"), fast, slow, values.number("back"))


PARAMETERS = (
    Parameter("fast", "rate", "100 mm/min", "Rate of the first touch.", least=0.001, most=1000.0),
    Parameter(
        "back", "length", "1 mm", "How far back between the touches and after them.", least=LEAST_BACK, most=50.0
    ),
    Parameter("slow", "rate", "20 mm/min", "Rate of the second touch, which counts.", least=0.001, most=1000.0),
)
SYSTEM = Parameter("system", "choice", "G54", "Work coordinate system whose zero is set.", choices=SYSTEMS)
RETRACT = Parameter("retract", "length", "safe.z", "Machine Z to go up to afterwards.", places=("z",))
VALUES = (*PARAMETERS, SYSTEM, *spindle_off.BLOCK.parameters, RETRACT)
"""What every block that probes the work asks for, beside what is its own."""

HOW = "at {fast}, back {back}, again at {slow}"


def begin(values: Values, bench: Bench, out: Writer) -> None:
    """Stop the spindle; raises BlockError where the controller cannot probe."""
    if why_unsupported(bench.controller, "G38.2"):
        raise BlockError(
            "this controller has no G38.2 (unsupported on the controller sheet): touch off by hand instead, and put a "
            "zero-here step in place of this one"
        )
    spindle_off.write(values, bench, out)


def touch(out: Writer, how: TwoTouches, axis: str, way: float) -> None:
    """Two touches along an axis by at most ``way`` mm, signed; the machine stays where the second one tripped."""
    sign = 1.0 if way > 0 else -1.0
    out.probe_by(how.system, {axis: way}, how.fast)
    out.step_by({axis: -sign * how.back})
    out.probe_by(how.system, {axis: sign * 2 * how.back}, how.slow)


def tripped(axis: str) -> str:
    """Where the last touch tripped along an axis, as a line says it."""
    return f"#{PROBED[axis]}"


def keep(out: Writer, axis: str, value: str) -> None:
    """Keep a value of an axis in its parameter."""
    out.as_given(f"#{KEPT[axis]}={value}")


def kept(axis: str) -> str:
    """What is kept of an axis, as a line says it."""
    return f"#{KEPT[axis]}"


def calculates(bench: Bench) -> bool:
    """Whether the controller can set an origin from what it works out itself."""
    return bench.controller.expressions and "G10" not in bench.controller.unsupported


def require_calculating(bench: Bench, instead: str) -> None:
    """Raise BlockError where the controller cannot set an origin from what it works out; ``instead`` is what to do."""
    if not calculates(bench):
        key = "unsupported" if bench.controller.expressions else "expressions"
        lacks = "G10" if bench.controller.expressions else "expressions and # parameters"
        raise BlockError(f"this controller has no {lacks} ({key} on the controller sheet): {instead}")
