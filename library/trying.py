"""The pendant tried without one: what turning, pressing and clicking would send, and why nothing fires.

It does what the pendant's program does, in looks ``LOOK`` milliseconds apart, with a controller that answers as its
sheet says. One table of sequences is run through both.
"""

from __future__ import annotations

from library.outgoing import Outgoing
from library.sender import LOOK, Loaded
from library.wheel import Jogging

CLICKS_APART = 50
"""From one click to the next of those that are made together."""


def loaded(goes: Outgoing) -> Loaded:
    """What a pendant holds after a pack was put on it."""
    pendant = goes.bench.pendant
    places = {position.label: at for at, position in enumerate(pendant.positions)}
    increments = {label: at for at, label in enumerate(pendant.increments)}
    slots = () if goes.blind else goes.slots
    return Loaded.of(
        goes.bench,
        {
            (places[slot.position], increments[slot.increment]): (slot.macro, goes.taken[slot.macro].stages)
            for slot in slots
        },
    )


class Pendant(Jogging):
    """A pendant in a hand."""

    @classmethod
    def of(cls, goes: Outgoing, position: int = 0, increment: int = 0, *, by_call: bool = False) -> Pendant:
        """The pendant of a pack, its selectors at these places counted from 0."""
        return cls(loaded(goes), position, increment, by_call=by_call)

    # What a hand does

    def wait(self, milliseconds: int, clicks: int = 0) -> Pendant:
        """Time passes, with clicks at its beginning."""
        for _ in range(max(1, milliseconds // LOOK)):
            self.pass_look(clicks)
            clicks = 0
        return self

    def turn(self, position: int, increment: int = 0) -> Pendant:
        """Both selectors, by their places counted from 0."""
        self.position, self.increment = position, increment
        return self.wait(10)

    def press(self) -> Pendant:
        """Enable is pressed."""
        self.held = True
        return self.wait(20)

    def let_go(self) -> Pendant:
        """Enable is let go."""
        self.held = False
        return self.wait(20)

    def click(self, *runs: int) -> Pendant:
        """Clicks ``CLICKS_APART``, the sign of each run its way round."""
        for run in runs:
            for _ in range(abs(run)):
                self.wait(CLICKS_APART, 1 if run > 0 else -1)
        return self

    def push(self) -> Pendant:
        """The stop is pressed."""
        self.stop = True
        return self.wait(20)

    def pull(self) -> Pendant:
        """The stop is released."""
        self.stop = False
        return self.wait(20)

    # What the controller does

    def taken(self) -> Pendant:
        """From now on each line is taken."""
        self.controller.answer = "taken"
        return self

    def fault(self) -> Pendant:
        """From now on each line is refused."""
        self.controller.answer = "fault"
        return self

    def silent(self) -> Pendant:
        """From now on no line is answered."""
        self.controller.answer = "silent"
        return self

    def busy(self) -> Pendant:
        """A program runs at the panel."""
        self.controller.kept_busy = True
        return self

    def free(self) -> Pendant:
        """That program has ended."""
        self.controller.kept_busy = False
        return self

    def slow(self, milliseconds: int) -> Pendant:
        """From now on each line takes so long."""
        self.controller.takes = lambda line: milliseconds
        return self

    def resume(self) -> Pendant:
        """The controller is told to go on with what it holds."""
        self.controller.resume()
        return self
