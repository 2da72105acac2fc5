"""What a real value comes to: the operations and functions of NISTIR 6556, 3.3.2. Angles are in degrees."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from parser.language.program import Arctangent, Binary, ParameterValue, RealValue, Unary
from parser.language.words import whole

LAST_PARAMETER = 5399  # NISTIR 6556, 3.2.1


class Arithmetic(Exception):  # noqa: N818 -- the trade's word for it, and what the rule is called
    """A calculation that has no result: ``message`` says why, ``remedy`` what to do."""

    def __init__(self, message: str, remedy: str) -> None:
        super().__init__(message)
        self.message = message
        self.remedy = remedy


def evaluate(value: RealValue, parameters: Callable[[float], float]) -> float:
    """The number a real value comes to (NISTIR 6556, 3.3.2).

    ``parameters`` gives the value of a parameter by its index, an integer from 1 to 5399; what it raises passes
    through. Raises Arithmetic where there is no finite result.
    """
    match value:
        case ParameterValue(index):
            return parameters(float(parameter_number(evaluate(index, parameters))))
        case Unary(name, argument):
            operand = evaluate(argument, parameters)
            return _finite(lambda: _UNARY[name](operand), f"{name}[{operand:g}]")
        case Binary(name, left, right):
            before, after = evaluate(left, parameters), evaluate(right, parameters)
            return _finite(lambda: _BINARY[name](before, after), f"{before:g} {name} {after:g}")
        case Arctangent(opposite, adjacent):
            return math.degrees(math.atan2(evaluate(opposite, parameters), evaluate(adjacent, parameters)))
        case number:
            return number


def parameter_number(value: float) -> int:
    """The parameter that an index means (NISTIR 6556, 3.2.1); Arithmetic where there is none."""
    number = whole(value)
    if number is None or not 1 <= number <= LAST_PARAMETER:
        raise Arithmetic(
            f"There is no parameter #{value:g}: they are numbered 1 to {LAST_PARAMETER}.",
            f"Use a whole number from 1 to {LAST_PARAMETER} after the #.",
        )
    return number


def _finite(operation: Callable[[], float], written: str) -> float:
    try:
        result = float(operation())
    except OverflowError:
        result = math.inf
    if math.isfinite(result):
        return result
    raise Arithmetic(f"{written} is too large to calculate with.", "Use smaller values.")


def _round(value: float) -> float:
    """The nearest integer; halfway, the one further from zero."""
    towards_zero = math.trunc(value)
    return towards_zero + math.copysign(1, value) if abs(value - towards_zero) >= 0.5 else towards_zero


def _within_one(function: Callable[[float], float], name: str) -> Callable[[float], float]:
    def inverse(value: float) -> float:
        if not -1 <= value <= 1:
            raise Arithmetic(f"{name}[{value:g}] has no value: {name} takes -1 to 1.", "Check what is in the bracket.")
        return math.degrees(function(value))

    return inverse


def _natural_log(value: float) -> float:
    if value <= 0:
        raise Arithmetic(f"LN[{value:g}] has no value: LN takes more than 0.", "Check what is in the bracket.")
    return math.log(value)


def _square_root(value: float) -> float:
    if value < 0:
        raise Arithmetic(f"SQRT[{value:g}] has no value: SQRT takes 0 or more.", "Check what is in the bracket.")
    return math.sqrt(value)


def _divide(left: float, right: float) -> float:
    if right == 0:
        raise Arithmetic(f"{left:g} / 0 has no value.", "Check the value after the / sign.")
    return left / right


def _modulo(left: float, right: float) -> float:
    """The remainder, never negative."""
    if right == 0:
        raise Arithmetic(f"{left:g} MOD 0 has no value.", "Check the value after MOD.")
    remainder = math.fmod(left, right)
    return remainder + abs(right) if remainder < 0 else remainder


def _power(left: float, right: float) -> float:
    if left == 0 and right < 0:
        raise Arithmetic(f"0 ** {right:g} divides by zero.", "Check the value before the ** sign.")
    if left < 0 and not right.is_integer():
        raise Arithmetic(
            f"{left:g} ** {right:g} has no value: a negative number takes whole powers only.",
            "Check both values of the ** sign.",
        )
    return math.pow(left, right)


_UNARY: Mapping[str, Callable[[float], float]] = {
    "ABS": abs,
    "ACOS": _within_one(math.acos, "ACOS"),
    "ASIN": _within_one(math.asin, "ASIN"),
    "COS": lambda value: math.cos(math.radians(value)),
    "EXP": math.exp,
    "FIX": math.floor,
    "FUP": math.ceil,
    "LN": _natural_log,
    "ROUND": _round,
    "SIN": lambda value: math.sin(math.radians(value)),
    "SQRT": _square_root,
    "TAN": lambda value: math.tan(math.radians(value)),
}

_BINARY: Mapping[str, Callable[[float, float], float]] = {
    "**": _power,
    "*": lambda left, right: left * right,
    "/": _divide,
    "MOD": _modulo,
    "+": lambda left, right: left + right,
    "-": lambda left, right: left - right,
    "OR": lambda left, right: left != 0 or right != 0,
    "XOR": lambda left, right: (left != 0) is not (right != 0),
    "AND": lambda left, right: left != 0 and right != 0,
}
"""Zero is false, anything else true; true comes out as 1 (NISTIR 6556, 3.3.2.3)."""
