"""The wiring of a pendant: which conductor leads to which pin, for the commissioning sheet and the board file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from library.fields import Name, Part, twice, wrong

Group = Literal["selector", "increments", "wheel", "enable", "stop", "lamp", "serial"]
GROUPS: tuple[Group, ...] = ("selector", "increments", "wheel", "enable", "stop", "lamp", "serial")
"""The systems that are wired and tested one after the other (common practice)."""

BROKEN: Mapping[Group, tuple[str, str]] = {"enable": ("let go", "held"), "stop": ("pressed", "not pressed")}
"""What a broken lead has to read as, and what a pin that floats may read as instead."""

Short = Annotated[Name, Field(max_length=40)]


class Conductor(Part):
    """A conductor and the pin it leads to."""

    wire: Short = Field(description="what tells the conductor from the others: a colour, a number")
    pin: Short = Field(description="where it leads to on the board")


class Signal(Part):
    """A conductor that carries a signal."""

    group: Group = Field(
        description="the system it belongs to: selector, increments, wheel, enable, stop, lamp or serial"
    )
    is_: Short = Field(
        alias="is", description="what it is within its group: a position, an increment, A or B, or a word"
    )
    wire: Short = Field(description="what tells the conductor from the others: a colour, a number")
    pin: Short = Field(
        description="where it leads to on the board; for the file of an 8-bit board its port and bit, such as PD2"
    )
    closed: Literal["low", "high"] = Field(
        default="low",
        description="level of the pin while its contact is closed: low where it closes to common, with the pin's own "
        "pull-up; high where it closes to supply, which takes a resistor to common and is refused for enable and stop",
    )


class Wiring(Part):
    """The conductors of the pendant."""

    supply: Conductor | None = Field(default=None, description="the conductor that brings the supply")
    common: Conductor | None = Field(default=None, description="the one conductor that every return is connected to")
    signal: tuple[Signal, ...] = Field(default=(), description="the conductors that carry signals")

    @model_validator(mode="after")
    def _each_is_there_once(self) -> Self:
        pins = twice([signal.pin.casefold() for signal in self.signal])  # PB0 and pb0 are one
        if pins is not None:
            raise wrong(f'"{self.signal[pins].pin}" is there twice; a pin takes one signal', "signal", pins, "pin")
        what = twice([f"{signal.group} {signal.is_}" for signal in self.signal])
        if what is not None:
            signal = self.signal[what]
            raise wrong(f'"{signal.is_}" is there twice in the group {signal.group}', "signal", what, "is")
        lamps = [index for index, signal in enumerate(self.signal) if signal.group == "lamp"]
        if len(lamps) > 1:
            one, second = (self.signal[index].is_ for index in lamps[:2])
            two = f'is a second lamp, "{second}" beside "{one}"'
            raise wrong(f"{two}; the program switches one: join them on one pin", "signal", lamps[1], "group")
        for index, signal in enumerate(self.signal):
            if signal.group == "wheel" and signal.is_ not in ("A", "B"):
                raise wrong(f'is "{signal.is_}"; the two signals of a handwheel are A and B', "signal", index, "is")
            if signal.closed == "high" and signal.group in BROKEN:
                safe, unsafe = BROKEN[signal.group]
                told = f'is "high", so that a broken lead of {signal.group} may read as {unsafe}'
                instead = 'wire its contact to close to common and write "low"'
                raise wrong(f"{told}; {instead}, and a broken lead reads as {safe}", "signal", index, "closed")
        return self

    def of(self, group: Group) -> tuple[Signal, ...]:
        """The signals of a group, in the order of the sheet."""
        return tuple(signal for signal in self.signal if signal.group == group)
