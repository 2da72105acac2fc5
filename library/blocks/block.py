"""What a block is: a kind of action with parameters, a sentence that is its editing form, and the lines it writes."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from string import Formatter
from typing import TYPE_CHECKING, Literal, Protocol

from library import formulas
from library.fields import Units
from parser.machine import Controller, Machine

if TYPE_CHECKING:
    from library.blocks.writer import Writer
    from library.macros import Macro
    from library.sheets import ControllerSheet, MachineSheet

Kind = Literal["length", "time", "rate", "angle", "count", "choice", "text", "lines", "flag"]
Value = float | str | bool | None

FORMULA_KINDS: tuple[formulas.Dimension, ...] = ("length", "time", "rate", "angle", "count")
SHOWN_UNIT = {"length": " mm", "time": " s", "rate": " mm/min", "angle": " deg", "count": ""}
FLAG_WORDS = {"true": True, "yes": True, "on": True, "false": False, "no": False, "off": False, "": False}


class BlockError(Exception):
    """A step cannot be written: ``str()`` is one line, ``parameter`` names the value to fix, "" the step itself."""

    def __init__(self, message: str, parameter: str = "") -> None:
        super().__init__(message)
        self.parameter = parameter


class Values(dict[str, Value]):
    """The values of one step after reading, by parameter name."""

    def number(self, name: str) -> float:
        """The value of a formula that has to be there."""
        value = self[name]
        assert isinstance(value, float)
        return value

    def maybe(self, name: str) -> float | None:
        """The value of a formula, None where it was left empty."""
        return None if self[name] is None else self.number(name)

    def text(self, name: str) -> str:
        """A choice, a text or lines."""
        return str(self[name])

    def flag(self, name: str) -> bool:
        """Whether a flag is set."""
        return self[name] is True


class HasSheets(Protocol):
    """The two sheets that a block looks at; ``shelf``, if there is one, maps ids to the macros a step may run."""

    @property
    def machine(self) -> MachineSheet: ...
    @property
    def controller(self) -> ControllerSheet: ...


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What a block adapts to. ``decimals`` is by written unit; ``units`` is what a bare number in a formula means.

    ``shelf`` holds the macros that a step may run, by id; ``inside`` are the ids of those being written, outermost
    first.
    """

    machine: Machine
    controller: Controller
    landmarks: formulas.Landmarks
    decimals: Mapping[str, int]
    units: Units = "mm"
    shelf: Mapping[str, Macro] = field(default_factory=dict)
    inside: tuple[str, ...] = ()

    @classmethod
    def of(cls, sheets: HasSheets, units: Units = "mm") -> Surroundings:
        """The surroundings that a pair of sheets describes."""
        decimals = {"mm": sheets.controller.decimals.mm, "inch": sheets.controller.decimals.inch}
        landmarks = formulas.Landmarks.of(sheets.machine, sheets.controller)
        shelf: Mapping[str, Macro] = getattr(sheets, "shelf", {})
        return cls(sheets.machine.plain(), sheets.controller.plain(), landmarks, decimals, units, shelf)

    def evaluate(self, text: str, dimension: formulas.Dimension) -> float:
        """Value of a formula in mm, s, mm/min, degrees or plain; BlockError says what is wrong with it."""
        try:
            return formulas.evaluate(text, self.landmarks, dimension, self.units)
        except formulas.FormulaError as error:
            raise BlockError(str(error)) from error


@dataclass(frozen=True, slots=True)
class Parameter:
    """One value of a step.

    ``kind`` is the dimension of a formula, or choice, text, lines, flag. ``blank`` says what leaving it empty means; ""
    where a value is needed. ``least`` and ``most`` are in mm, s, mm/min, degrees.
    """

    name: str
    kind: Kind
    default: str | bool
    help: str
    choices: tuple[str, ...] = ()
    blank: str = ""
    least: float | None = None
    most: float | None = None

    @property
    def dimension(self) -> formulas.Dimension | None:
        """The dimension of a formula, None for a value that is not one."""
        return next((dimension for dimension in FORMULA_KINDS if dimension == self.kind), None)

    def read(self, given: object, bench: Surroundings) -> Value:
        """The value as the block uses it: a number for a formula, None for one left empty; raises BlockError."""
        if self.kind == "flag":
            return self._flag(given)
        if not isinstance(given, str | int | float) or isinstance(given, bool):
            raise BlockError(f"{self.name} must be {self._expected()}, not {_name_of(given)}", self.name)
        text = str(given).strip() if self.kind != "lines" else str(given)
        if self.dimension:
            return self._number(text, self.dimension, bench)
        if self.kind == "choice" and text not in self.choices:
            raise BlockError(f"{self.name} is {text!r}; it must be one of {', '.join(self.choices)}", self.name)
        if not text.strip() and not self.blank:
            raise BlockError(f"{self.name} is empty; fill it in or remove the step", self.name)
        return text

    def schema(self) -> dict[str, object]:
        """JSON Schema of the value in a macro document."""
        shape: dict[str, object] = {"description": self.help, "default": self.default}
        if self.kind == "flag":
            return {"type": "boolean"} | shape
        if self.kind == "choice":
            return {"enum": list(self.choices)} | shape
        return {"type": ["string", "number"] if self.dimension else "string"} | shape

    def _flag(self, given: object) -> bool:
        if isinstance(given, bool):
            return given
        if isinstance(given, str) and given.strip().lower() in FLAG_WORDS:
            return FLAG_WORDS[given.strip().lower()]
        raise BlockError(f"{self.name} must be true or false, not {given!r}", self.name)

    def _number(self, text: str, dimension: formulas.Dimension, bench: Surroundings) -> float | None:
        if not text:
            if self.blank:
                return None
            raise BlockError(f"{self.name} is empty; give it {self._expected()}", self.name)
        try:
            value = bench.evaluate(text, dimension)
        except BlockError as error:
            raise BlockError(str(error), self.name) from error
        unit = SHOWN_UNIT[self.kind]
        if self.least is not None and value < self.least:
            raise BlockError(f"{self.name} is {value:g}{unit}; the least it may be is {self.least:g}{unit}", self.name)
        if self.most is not None and value > self.most:
            raise BlockError(f"{self.name} is {value:g}{unit}; the most it may be is {self.most:g}{unit}", self.name)
        return value

    def _expected(self) -> str:
        article = "an" if self.kind == "angle" else "a"
        if self.dimension:
            return f"{article} {self.kind}, a number or a formula"
        return "one of " + ", ".join(self.choices) if self.kind == "choice" else "text"


@dataclass(frozen=True, slots=True)
class Block:
    """A kind of action.

    ``sentence`` is imperative, with every parameter as a {field}. ``write`` adds the lines through a writer and raises
    BlockError where it cannot. ``note`` says which part of the machine moves, "" where nothing does. ``family`` groups
    blocks in a menu and ``place`` orders them.
    """

    id: str
    title: str
    sentence: str
    help: str
    family: str
    place: int
    write: Callable[[Values, Surroundings, Writer], None]
    parameters: tuple[Parameter, ...] = ()
    note: Callable[[Values, Surroundings], str] = field(default=lambda values, bench: "")

    @property
    def fields(self) -> tuple[str, ...]:
        """Names of the fields in the sentence, in its order."""
        return tuple(name for _, name, _, _ in Formatter().parse(self.sentence) if name)

    @property
    def defaults(self) -> dict[str, object]:
        """Every parameter as a new step has it."""
        return {parameter.name: parameter.default for parameter in self.parameters}

    def parameter(self, name: str) -> Parameter | None:
        """The parameter of that name, None where there is none."""
        return next((parameter for parameter in self.parameters if parameter.name == name), None)

    def values(self, given: Mapping[str, object], bench: Surroundings) -> Values:
        """What the step's values come to, defaults for those left out; raises the first BlockError."""
        return Values({each.name: each.read(given.get(each.name, each.default), bench) for each in self.parameters})

    def lines(self, given: Mapping[str, object], bench: Surroundings) -> tuple[str, ...]:
        """The lines a step would write as the first of a macro; raises BlockError."""
        from library.blocks.writer import Writer  # the writer is built on this module

        writer = Writer(bench)
        self.write(self.values(given, bench), bench, writer)
        return tuple(writer.lines)

    def moves_note(self, given: Mapping[str, object], bench: Surroundings) -> str:
        """Which part of the machine moves and where to, as the operator sees it; "" where nothing can be said."""
        return self.note(self.values(given, bench), bench)

    def schema(self) -> dict[str, object]:
        """JSON Schema of a step of this kind."""
        values = {parameter.name: parameter.schema() for parameter in self.parameters}
        return {
            "title": self.title,
            "description": self.help,
            "type": "object",
            "properties": {"block": {"const": self.id}} | values,
            "required": ["block"],
            "additionalProperties": False,
        }


def _name_of(given: object) -> str:
    return {bool: "true or false", list: "a list", dict: "a table"}.get(type(given), "this")
