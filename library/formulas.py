"""Formulas: what a step's value may be, from numbers with units and the landmarks of the sheets.

The grammar is ``formulas.peg``. Values are in mm, s, mm/min, degrees or plain numbers, whatever units were written.
"""

from __future__ import annotations

import operator
import re
from collections.abc import Callable, ItemsView, Iterator, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any, Literal

from parsimonious import Grammar, NodeVisitor
from parsimonious.exceptions import ParseError
from parsimonious.nodes import Node

from library.fields import Units, in_mm, landmark_word
from library.nearest import did_you_mean
from library.sheets import ControllerSheet, MachineSheet, origins, plain_controller, plain_machine
from parser.machine import ROTARY, SYSTEMS, Interval, Machine

Dimension = Literal["length", "time", "rate", "angle", "count", "speed"]

DEEPEST = 12  # our choice, as are the next two
LONGEST = 300
LARGEST = 1e9

_A = {
    "length": "a length",
    "time": "a time",
    "rate": "a rate",
    "angle": "an angle",
    "count": "a plain number",
    "speed": "a spindle speed",
    "bare": "a number without a unit",
    "turning rate": "a rate of turning",
}

_UNITS: Mapping[str, tuple[str, Units]] = {
    "mm": ("length", "mm"),
    "in": ("length", "inch"),
    "s": ("time", "mm"),
    "mm/min": ("rate", "mm"),
    "in/min": ("rate", "inch"),
    "deg": ("angle", "mm"),
}


class FormulaError(Exception):
    """A formula that has no value; ``str()`` is one line that names what is wrong and where."""


@dataclass(frozen=True, slots=True)
class Measure:
    """A value and what it measures; ``bare`` is a number without a unit, whose meaning its use decides."""

    value: float
    dimension: str


@dataclass(frozen=True, slots=True)
class Landmarks:
    """The named places and numbers of the sheets; ``unclear`` says why a name that looks right has no one value."""

    values: Mapping[str, Measure]
    unclear: Mapping[str, str]

    @classmethod
    def of(cls, machine: MachineSheet, controller: ControllerSheet) -> Landmarks:
        """The landmarks that a machine sheet and a controller sheet give."""
        unclear: dict[str, str] = {}
        values = dict(_of_machine(machine)) | dict(_of_origins(machine, unclear))
        values["first_run.rate"] = Measure(plain_controller(controller).first_run_rate, "rate")
        return cls(values, unclear)

    def items(self) -> ItemsView[str, Measure]:
        """Every landmark, by name, with its value in mm, s, mm/min or degrees."""
        return self.values.items()

    def __getitem__(self, name: str) -> Measure:
        if name in self.values:
            return self.values[name]
        if name in self.unclear:
            raise FormulaError(self.unclear[name])
        hint = did_you_mean(name, self.values) or "; Help lists those that are"
        raise FormulaError(f"{name} is not a landmark of these sheets{hint}")


def _of_machine(sheet: MachineSheet) -> Iterator[tuple[str, Measure]]:
    machine = plain_machine(sheet)
    for axis in machine.axes:
        place = "angle" if axis.rotary else "length"
        for end, value in (
            ("min", axis.travel.low),
            ("max", axis.travel.high),
            ("middle", axis.travel.middle),
            ("length", axis.travel.length),
        ):
            yield f"travel.{axis.name}.{end}", Measure(value, place)
    if machine.safe_z is not None:
        yield "safe.z", Measure(machine.safe_z, "length")
    tops: dict[str, float] = {}
    for box in (box for setup in machine.setups for box in setup.keep_outs):
        word = landmark_word(box.name)
        tops[word] = max(box.high[2], tops.get(word, box.high[2]))
    for word, top in tops.items():
        yield f"keep_out.{word}.top", Measure(top, "length")
    yield "spindle.run_down", Measure(machine.run_down, "time")
    yield "tool.stick_out", Measure(machine.tool_stick_out, "length")
    yield "tool.radius", Measure(machine.tool_radius, "length")
    for axis in machine.axes:
        yield f"rapid.{axis.name}", Measure(axis.rapid, "turning rate" if axis.rotary else "rate")


def _of_origins(sheet: MachineSheet, unclear: dict[str, str]) -> Iterator[tuple[str, Measure]]:
    """Work origins: a number where the sheet and all its setups agree, and always the extremes ``.min``, ``.max``."""
    own, *others = origins(sheet)
    for system in SYSTEMS:
        for axis, _ in sheet.axes.each():
            cases = [known[system].axes.get(axis) if system in known else None for known in (own, *others)]
            known = [case for case in cases if case is not None]
            name = f"work.{system.lower().replace('.', '_')}.{axis}"
            everywhere = cases[1:] if others else cases
            if not all(everywhere):
                partly = " in every setup" if known else ""
                unclear[name] = f"{name} is not known: the machine sheet does not give {axis} of {system}{partly}"
                continue
            reach = known[0]
            for case in known[1:]:
                reach = reach.hull(case)
            dimension = "angle" if axis in ROTARY else "length"
            yield f"{name}.min", Measure(reach.low, dimension)
            yield f"{name}.max", Measure(reach.high, dimension)
            if reach.length == 0:
                yield name, Measure(reach.low, dimension)
            else:
                unclear[name] = (
                    f"{name} is not one number on the machine sheet (from {reach.low:g} to {reach.high:g}); "
                    f"write {name}.min or {name}.max"
                )


def evaluate(text: str, landmarks: Landmarks, dimension: Dimension, units: Units = "mm") -> float:
    """The value of a formula in mm, s, mm/min, degrees or plain; ``units`` are those of a number without a unit.

    Raises FormulaError, one line that names what is wrong and where.
    """
    found = _tree("formula", text)
    quantity = _Calculation(landmarks, units).result(found)
    return _as(quantity, dimension, units, text.strip())


def names_in(text: str, rule: Literal["formula", "start"] = "formula") -> tuple[str, ...]:
    """The landmarks that a formula, or a start condition, names, each once; raises FormulaError as it is read."""
    return _parts(text, rule, "landmark")


def axes_in(condition: str) -> tuple[str, ...]:
    """The axes that a start condition limits, each once; raises FormulaError as it is read."""
    return _parts(condition, "start", "axis")


def leading_number(text: str, dimension: Dimension, units: Units = "mm") -> tuple[float, str] | None:
    """The number that a formula begins with, in mm, s, mm/min, degrees or plain, and what is added to it as written.

    None where it begins with a landmark, or cannot be read as one of that dimension.
    """
    try:
        whole = _tree("formula", text)
        first = whole.children[1].children[0]
        if _parts(first.text, "formula", "landmark"):
            return None
        rest = whole.text[first.start + len(first.text.rstrip()) :]
        return evaluate(first.text, Landmarks({}, {}), dimension, units), rest.rstrip()
    except FormulaError:
        return None


def _parts(text: str, rule: str, kind: str) -> tuple[str, ...]:
    """The parts of one kind of the grammar in a text, in lower case and in its order, each once."""
    found: dict[str, None] = {}
    waiting = [_tree(rule, text)]
    while waiting:
        node = waiting.pop()
        if node.expr_name == kind:
            found[node.text.lower()] = None
        waiting += reversed(node.children)
    return tuple(found)


def start_box(text: str, landmarks: Landmarks, machine: Machine, units: Units = "mm") -> Mapping[str, Interval]:
    """The starts a condition allows, by axis: ``anywhere``, or ``z >= -20 mm and x <= 100 mm``.

    ``<`` and ``>`` are proved with the value itself, which errs on the safe side. Raises FormulaError, also where
    nothing of the travel is left.
    """
    box = {axis.name: axis.travel for axis in machine.axes}
    if text.strip().lower() in ("", "anywhere"):
        return box
    calculation = _Calculation(landmarks, units)
    for axis, comparison, value, written in calculation.conditions(_tree("start", text)):
        if axis not in box:
            raise FormulaError(f'in "{written}": this machine has no {axis.upper()} axis; it has {", ".join(box)}')
        limit = _as(value, "angle" if axis in ROTARY else "length", units, written)
        whole = box[axis]
        low = max(whole.low, limit) if comparison in (">", ">=", "=") else whole.low
        high = min(whole.high, limit) if comparison in ("<", "<=", "=") else whole.high
        if (
            low > high
            or (low == high < whole.high and comparison == "<")
            or (low == high > whole.low and comparison == ">")
        ):
            reach = f"from {whole.low:g} to {whole.high:g}"
            raise FormulaError(f'"{written}" leaves no start: without it {axis.upper()} could only be {reach}')
        box[axis] = Interval(low, high)
    return box


def _as(quantity: Measure, dimension: str, units: Units, text: str) -> float:
    wanted = "count" if dimension == "speed" else dimension
    if quantity.dimension == "bare":
        quantity = _in_units(quantity, wanted, units)
    if quantity.dimension != wanted:
        raise FormulaError(f'"{text}" is {_A[quantity.dimension]}, and {_A[dimension]} is wanted here')
    return quantity.value


def _in_units(bare: Measure, dimension: str, units: Units) -> Measure:
    return Measure(in_mm(bare.value, units) if dimension in ("length", "rate") else bare.value, dimension)


@cache
def grammar() -> Grammar:
    """The grammar, made when a formula is first met: a file that is only checked has none."""
    return Grammar(files("library").joinpath("formulas.peg").read_text(encoding="utf-8"))


def _tree(rule: str, text: str) -> Node:
    if len(text) > LONGEST:
        raise FormulaError(f"the formula is longer than {LONGEST} characters; shorten it")
    depth = deepest = 0
    for character in text:
        depth += {"(": 1, ")": -1}.get(character, 0)
        deepest = max(deepest, depth)
    if deepest > DEEPEST:
        raise FormulaError(f"brackets are nested {deepest} deep; {DEEPEST} is the most")
    try:
        return _parsed(rule, text.replace("\N{MINUS SIGN}", "-"))
    except ParseError:
        raise FormulaError(_complaint(text, rule)) from None


@lru_cache(maxsize=4096)
def _parsed(rule: str, text: str) -> Node:
    """The tree of a text, which nobody changes: the steps of a workshop hold few formulas and are read many times."""
    return grammar()[rule].parse(text)


class _Calculation(NodeVisitor):  # type: ignore[misc]
    """The value of a tree of the grammar, from the leaves up."""

    unwrapped_exceptions = (FormulaError,)

    def __init__(self, landmarks: Landmarks, units: Units) -> None:
        self.landmarks, self.units = landmarks, units

    def result(self, node: Node) -> Measure:
        found: Measure = self.visit(node)
        return found

    def conditions(self, node: Node) -> list[tuple[str, str, Measure, str]]:
        found: list[tuple[str, str, Measure, str]] = self.visit(node)
        return found

    def visit_start(self, _: Node, parts: list[Any]) -> list[Any]:
        return [parts[1], *(rest[3] for rest in _listed(parts[2]))]

    def visit_condition(self, node: Node, parts: list[Any]) -> tuple[str, str, Measure, str]:
        return parts[0].text.lower(), parts[2].text, parts[4], node.text.strip()

    def visit_formula(self, _: Node, parts: list[Any]) -> Measure:
        result: Measure = parts[1]
        return result

    def visit_sum(self, node: Node, parts: list[Any]) -> Measure:
        return self._chained(node, parts, self._added)

    def visit_product(self, node: Node, parts: list[Any]) -> Measure:
        return self._chained(node, parts, self._multiplied)

    def _chained(self, node: Node, parts: list[Any], combine: Callable[..., Measure]) -> Measure:
        result: Measure = parts[0]
        for _, sign, _, value in _listed(parts[1]):
            result = _sane(combine(sign.text, result, value, node.text.strip()), node.text)
        return result

    def _added(self, sign: str, left: Measure, right: Measure, text: str) -> Measure:
        left, right = self._alike(left, right)
        if left.dimension != right.dimension:
            verb = "added" if sign == "+" else "taken from each other"
            raise FormulaError(f'in "{text}": {_A[left.dimension]} and {_A[right.dimension]} cannot be {verb}')
        change = operator.add if sign == "+" else operator.sub
        return Measure(change(left.value, right.value), left.dimension)

    def _multiplied(self, sign: str, left: Measure, right: Measure, text: str) -> Measure:
        if sign == "*":
            for one, other in ((left, right), (right, left)):
                if one.dimension in ("bare", "count"):
                    return Measure(left.value * right.value, _scaled(one, other))
            raise FormulaError(
                f'in "{text}": {_A[left.dimension]} times {_A[right.dimension]} is nothing a step can use'
            )
        if right.value == 0:
            raise FormulaError(f'in "{text}": the divisor is zero')
        if right.dimension in ("bare", "count"):
            return Measure(left.value / right.value, _scaled(right, left))
        if left.dimension == right.dimension:
            return Measure(left.value / right.value, "count")
        raise FormulaError(f'in "{text}": {_A[left.dimension]} cannot be divided by {_A[right.dimension]}')

    def _alike(self, left: Measure, right: Measure) -> tuple[Measure, Measure]:
        """Both with one meaning, where a number without a unit can take the other's."""
        if left.dimension == "bare" != right.dimension:
            return _in_units(left, right.dimension, self.units), right
        if right.dimension == "bare" != left.dimension:
            return left, _in_units(right, left.dimension, self.units)
        return left, right

    def visit_signed(self, _: Node, parts: list[Any]) -> Measure:
        value: Measure = parts[2]
        negative = any(sign.text == "-" for sign in _listed(parts[0]))
        return Measure(-value.value, value.dimension) if negative else value

    def visit_value(self, _: Node, parts: list[Any]) -> Measure:
        result: Measure = parts[0]
        return result

    def visit_call(self, node: Node, parts: list[Any]) -> Measure:
        choose = min if parts[0].text.lower() == "min" else max
        result: Measure = parts[4]
        for value in (rest[3] for rest in _listed(parts[5])):
            left, right = self._alike(result, value)
            if left.dimension != right.dimension:
                raise FormulaError(
                    f'in "{node.text}": {_A[left.dimension]} and {_A[right.dimension]} cannot be compared'
                )
            result = Measure(choose(left.value, right.value), left.dimension)
        return result

    def visit_group(self, _: Node, parts: list[Any]) -> Measure:
        result: Measure = parts[2]
        return result

    def visit_measure(self, node: Node, parts: list[Any]) -> Measure:
        if len(parts[0].text) > 20:
            raise FormulaError(f'"{parts[0].text[:20]}..." has more digits than any machine; shorten it')
        dimension, units = next((_UNITS[unit.text.lower()] for unit in _listed(parts[2])), ("bare", "mm"))
        return _sane(Measure(in_mm(float(parts[0].text), units), dimension), node.text)

    def visit_landmark(self, node: Node, _: list[Any]) -> Measure:
        return self.landmarks[node.text.lower()]

    def generic_visit(self, node: Node, parts: list[Any]) -> Any:
        return parts if parts else node


def _listed(part: Any) -> list[Any]:
    """The repetitions of a part of the grammar that may be missing."""
    return part if isinstance(part, list) else []


def _scaled(factor: Measure, other: Measure) -> str:
    """What a quantity times, or by, a plain factor measures."""
    return factor.dimension if other.dimension == "bare" else other.dimension


def _sane(quantity: Measure, text: str) -> Measure:
    if not abs(quantity.value) <= LARGEST:
        raise FormulaError(f'"{text.strip()}" comes to {quantity.value:g}, beyond any machine; fix it')
    return quantity


_TOKEN = re.compile(r"\s*(?:(\d+\.?\d*|\.\d+)|([^\W\d_][\w.]*(?:/min\b(?!\s*\())?)|(<=|>=|[-+*/(),<>=])|(\S))")


def _complaint(text: str, rule: str) -> str:
    """Why a text that the grammar refuses is not a formula, naming the first thing that is out of place."""
    if not text.strip():
        return "the formula is empty; write a number or a landmark"
    shown = text.strip()
    if shown.count("(") != shown.count(")"):
        missing = ")" if shown.count("(") > shown.count(")") else "("
        return f'in "{shown}": a bracket {missing} is missing'
    if rule == "start" and not re.match(r"\s*[xyzabc]\s*[<>=]", text, re.IGNORECASE):
        return f'"{shown}" is not a start condition; write "anywhere", or such as "z >= -20 mm and x <= 100 mm"'
    value_next, before, inside = True, "", 0
    for token in _TOKEN.finditer(text):
        number, word, sign, strange = token.groups()
        found, column = token[0].strip(), token.start() + len(token[0]) - len(token[0].lstrip()) + 1
        where = f'in "{shown}", column {column}'
        if strange:
            return f"{where}: {found} means nothing in a formula{_HINTS.get(found, '')}"
        inside += {"(": 1, ")": -1}.get(found, 0)
        if found == "," and not inside:
            return f"{where}: a comma belongs between the values of min or max; decimals are written with a point"
        if number and not value_next:
            return f"{where}: a + - * or / is missing before {found}"
        if word and before == "number":
            if word.lower() not in _UNITS and word.lower() != "and":
                return f"{where}: {word} is not a unit here; write {', '.join(_UNITS)}"
            value_next = word.lower() == "and"
        elif word:
            if word.lower() not in ("min", "max", "and", *"xyzabc") and "." not in word:
                return f"{where}: {word} is not a landmark; they look like travel.y.max or safe.z"
            value_next = False
        elif number:
            value_next = False
        elif sign in ("*", "/", ")", ",") and value_next:
            return f"{where}: a value is missing before {found}{_HINTS.get(before + found, '')}"
        else:
            value_next = sign != ")"
        before = "number" if number else found
    if value_next:
        return f'"{shown}" ends too early; a value is missing after {before}'
    return f'"{shown}" is not a formula; write such as "travel.y.max - 20 mm" or "min(safe.z, -5 mm)"'


_HINTS = {
    "^": "; write a product",
    "**": "; write a product",
    "[": "; write ( and )",
    "]": "; write ( and )",
    "#": "; a formula has no parameters, only landmarks",
    '"': "; a unit is written mm or in",
}
