"""Make portable: typed numbers that equal a landmark here become that landmark, and the lines here stay the same.

Only what is exactly equal counts, and only where the landmark means the same kind of thing: a place on the same axis, a
time, a rate. What is added to the number is kept as it is written.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

from library import documents, formulas
from library.bench import Bench
from library.blocks.rows import apart
from library.build import build
from library.macros import Macro, set_step_value
from library.share.lacks import rigid
from library.share.needs import needed
from library.share.typed import TypedFormula, alike, typed
from library.toml_text import DocumentError


@dataclass(frozen=True, slots=True)
class Portion:
    """One number that can be a landmark: the formula it begins, what that becomes, and the landmarks it equals too.

    ``key`` names it among those of the macro, for a form.
    """

    formula: TypedFormula
    becomes: str
    landmark: str
    others: tuple[str, ...]

    @property
    def key(self) -> str:
        """Which value of which step it is."""
        row = "" if self.formula.row is None else f".{self.formula.row}.{self.formula.column}"
        return f"{self.formula.step}.{self.formula.parameter}{row}"


@dataclass(frozen=True, slots=True)
class Portable:
    """A macro made portable: its text, what was changed, and what of it does not adapt, one sentence each."""

    text: str
    changes: tuple[Portion, ...]
    rigid: tuple[str, ...]


def offered(macro: Macro, bench: Bench) -> tuple[Portion, ...]:
    """What of a macro's own steps can be a landmark here, in order."""
    return tuple(_portions(macro, bench))


def portable(text: str, bench: Bench, keys: Collection[str] | None = None) -> Portable:
    """The text of a macro with its numbers as landmarks, those with these ``keys`` or all, comments kept.

    A change after which the lines here would not be the same to the letter is left out. Raises DocumentError where the
    text is no macro.
    """
    macro = documents.parse("macro", text)
    lines = build(macro, bench).text
    made: list[Portion] = []
    for portion in _portions(macro, bench):
        if keys is not None and portion.key not in keys:
            continue
        changed = _changed(text, portion)
        if changed is not None and build(documents.parse("macro", changed), bench).text == lines:
            text, made = changed, [*made, portion]
    return Portable(text, tuple(made), tuple(rigid(needed(macro, bench).needs)))


def _portions(macro: Macro, bench: Bench) -> Iterator[Portion]:
    for each in typed(macro):
        found = (
            formulas.leading_number(each.text, each.dimension, macro.units) if each.given and each.dimension else None
        )
        if found is None:
            continue
        value, rest = found
        known = bench.landmarks.values
        equal = [name for name in alike(each.axis, each.dimension, known) if known[name].value == value]
        if equal:
            yield Portion(each, f"{equal[0]}{rest}".strip(), equal[0], tuple(equal[1:]))


def _changed(text: str, portion: Portion) -> str | None:
    """The text with one formula changed, None where it cannot be written there."""
    each = portion.formula
    value = portion.becomes
    if each.row is not None:
        step = documents.parse("macro", text).step[each.step - 1]
        rows = [line.strip() for line in str(step.values[each.parameter]).splitlines() if line.strip()]
        parts = apart(rows[each.row])
        parts[each.column] = value
        rows[each.row] = ", ".join(parts)
        value = "\n".join(rows)
    try:
        return set_step_value(text, each.step, each.parameter, value)
    except DocumentError:
        return None
