"""What a block is: a kind of action with parameters, a sentence that is its editing form, and the lines it writes.

All that a file with a block needs is imported from here.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from string import Formatter
from typing import Literal

from library import formulas
from library.bench import Bench
from library.blocks.rows import Columns, RowValues, read_rows
from library.blocks.writer import Writer
from library.errors import BlockError
from library.fields import Units, in_inches
from library.macros import OFF
from library.nearest import did_you_mean
from parser.quantities import figure

__all__ = ["REGISTRY", "Bench", "Block", "BlockError", "Columns", "Parameter", "Value", "Values", "Writer"]

ParameterKind = Literal["length", "time", "rate", "angle", "count", "choice", "text", "lines", "flag"]
Value = float | str | bool | None

FORMULA_KINDS: tuple[formulas.Dimension, ...] = ("length", "time", "rate", "angle", "count")
SHOWN_UNIT = {"length": " mm", "time": " s", "rate": " mm/min", "angle": " deg", "count": ""}
_IN_MM = re.compile(r"(\d+(?:\.\d+)?) mm\b")
OFF_SCHEMA: dict[str, object] = {"type": "boolean", "description": OFF, "default": False}
FLAG_WORDS = {"true": True, "yes": True, "on": True, "false": False, "no": False, "off": False, "": False}


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

    def rows(self, name: str) -> tuple[tuple[float, ...], ...]:
        """What the formulas of each row come to."""
        value = self[name]
        assert isinstance(value, RowValues)
        return value.values

    def flag(self, name: str) -> bool:
        """Whether a flag is set."""
        return self[name] is True


@dataclass(frozen=True, slots=True)
class Parameter:
    """One value of a step.

    ``kind`` is the dimension of a formula, or choice, text, lines, flag. ``blank`` says what leaving it empty means; ""
    where a value is needed. ``least`` and ``most`` are in mm, s, mm/min, degrees.

    ``places`` are the axes on which a formula, or each column of a row, is a machine coordinate: its letter, or the
    name of the value of the same step that names it. None for a distance, a time, a rate. ``placed_in`` names the value
    that says in which coordinates, "" where they are always the machine's; in any but "machine" it is no machine
    coordinate. ``columns`` says what is in the rows of lines that hold formulas. ``only_with`` are the axes that it
    is for, all where it is empty: where the machine has none of them a sentence leaves it out while it is the default.
    """

    name: str
    kind: ParameterKind
    default: str | bool
    help: str
    choices: tuple[str, ...] = ()
    blank: str = ""
    least: float | None = None
    most: float | None = None
    places: tuple[str, ...] = ()
    columns: Columns | None = None
    placed_in: str = ""
    only_with: tuple[str, ...] = ()

    @property
    def dimension(self) -> formulas.Dimension | None:
        """The dimension of a formula, None for a value that is not one."""
        return next((dimension for dimension in FORMULA_KINDS if dimension == self.kind), None)

    def idle_on(self, axes: Collection[str], given: object) -> bool:
        """Whether a machine with these axes has no use for the value as it was given (None: not at all)."""
        return bool(self.only_with) and not set(self.only_with) & set(axes) and given in (None, "", self.default)

    def default_in(self, units: Units) -> str | bool:
        """The default as a document in these units has it; the same length, to four decimals of an inch."""
        if units == "mm" or isinstance(self.default, bool):
            return self.default
        return _IN_MM.sub(lambda found: f"{figure(in_inches(float(found[1])), 4)} in", self.default)

    def read(self, given: object, bench: Bench) -> Value:
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
        return text if self.columns is None else read_rows(text, self.name, self.columns, bench)

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

    def _number(self, text: str, dimension: formulas.Dimension, bench: Bench) -> float | None:
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
    BlockError where it cannot. ``note`` says which part of the machine moves, "" where nothing does. ``caution`` is
    what one has to know before using it, "" where nothing is special. ``family`` groups blocks in a menu and ``place``
    orders them.
    """

    id: str
    title: str
    sentence: str
    help: str
    family: str
    place: int
    write: Callable[[Values, Bench, Writer], None]
    parameters: tuple[Parameter, ...] = ()
    note: Callable[[Values, Bench], str] = field(default=lambda values, bench: "")
    caution: str = ""

    @property
    def fields(self) -> tuple[str, ...]:
        """Names of the fields in the sentence, in its order."""
        return tuple(name for _, name, _, _ in Formatter().parse(self.sentence) if name)

    def defaults(self, units: Units) -> dict[str, object]:
        """Every parameter as a new step of a macro in these units has it."""
        return {parameter.name: parameter.default_in(units) for parameter in self.parameters}

    def parameter(self, name: str) -> Parameter | None:
        """The parameter of that name, None where there is none."""
        return next((parameter for parameter in self.parameters if parameter.name == name), None)

    def unknown(self, given: Mapping[str, object]) -> dict[str, str]:
        """Why each value that this block does not take is none of its own."""
        known = [parameter.name for parameter in self.parameters]
        foreign = (name for name in given if name not in known)
        return {name: f"the block {self.id} has no value {name!r}{_nearest(name, known)}" for name in foreign}

    def values(self, given: Mapping[str, object], bench: Bench) -> Values:
        """What the step's values come to, defaults for those left out; raises the first BlockError."""
        return Values({each.name: each.read(given.get(each.name, each.default), bench) for each in self.parameters})

    def lines(self, given: Mapping[str, object], bench: Bench) -> tuple[str, ...]:
        """The lines a step would write as the first of a macro; raises BlockError."""
        writer = Writer(bench)
        self.write(self.values(given, bench), bench, writer)
        before = len(writer.lines)
        told = writer.finish()
        return tuple(writer.lines[:before] + writer.lines[told.start : told.stop])

    def schema(self) -> dict[str, object]:
        """JSON Schema of a step of this kind."""
        values = {parameter.name: parameter.schema() for parameter in self.parameters}
        return {
            "title": self.title,
            "description": f"{self.help} {self.caution}".strip(),
            "type": "object",
            "properties": {"block": {"const": self.id}, "off": OFF_SCHEMA} | values,
            "required": ["block"],
            "additionalProperties": False,
        }


REGISTRY: dict[str, Block] = {}
"""Every block by its id, in the order a menu shows them; filled by the package that finds them."""


def block_of(name: str) -> Block:
    """The block of that id; raises BlockError."""
    if name not in REGISTRY:
        raise BlockError(f"there is no block {name!r}{_nearest(name, REGISTRY)}", "block")
    return REGISTRY[name]


def _nearest(name: str, known: Collection[str]) -> str:
    return did_you_mean(name, known) or (f"; it has {', '.join(known)}" if known else "; it has none")


def _name_of(given: object) -> str:
    return {bool: "true or false", list: "a list", dict: "a table"}.get(type(given), "this")
