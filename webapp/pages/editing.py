"""What a form of the bench asks of a macro's text: fields that were filled in, and buttons that were pressed.

The page sends every field, together with what the fields held when it was last in step with the macro (its base).
Only what differs between the two was typed here, so one page does not undo what another has changed meanwhile.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, field

from library import documents, macros
from library.blocks import REGISTRY
from library.documents import DocumentError
from library.macros import Macro

MOST_DIGITS = 6
"""Digits of the number of a step; a longer one is none."""

HEADER = ("name", "start", "purpose")
VERDICT = "verdict"
"""Id of the verdict on the page: where to go on after a button beside it, which may be gone by then."""
STALE = (
    "The steps were changed on another page meanwhile. Here they are as they stand now; what you typed was not used."
)


@dataclass(frozen=True, slots=True)
class Edited:
    """A macro's text after an edit. ``typed`` and ``problems`` are by field: what could not be used, and why.

    ``focus`` is the id of the control to go on with, ``told`` a message on the whole edit, ``why`` what to call it in
    the list of revisions.
    """

    text: str
    why: str = ""
    focus: str = ""
    told: str = ""
    typed: Mapping[str, str] = field(default_factory=dict)
    problems: Mapping[str, str] = field(default_factory=dict)


def field_name(step: int, parameter: str) -> str:
    """Name of a step's field in the form."""
    return f"step.{step}.{parameter}"


def as_typed(value: object) -> str:
    """A step's value as the text of its field."""
    return str(value).lower() if isinstance(value, bool) else str(value)


def field_values(macro: Macro) -> dict[str, str]:
    """Every field of the form with the text it holds for a macro."""
    return dict(_field_values(macro))


def _field_values(macro: Macro) -> Iterator[tuple[str, str]]:
    for key in HEADER:
        yield key, getattr(macro, key)
    for number, step in enumerate(macro.step, start=1):
        block = REGISTRY.get(step.block)
        for parameter in block.parameters if block else ():
            yield (
                field_name(number, parameter.name),
                as_typed(step.values.get(parameter.name, parameter.default_in(macro.units))),
            )


def base_of(macro: Macro, values: Mapping[str, str]) -> str:
    """What the page keeps to tell later what was typed into it: the blocks, and what the fields hold, as JSON."""
    return json.dumps({"blocks": [step.block for step in macro.step], "values": values})


def fill_in(text: str, form: Mapping[str, str]) -> Edited:
    """The text with the fields that were typed into. A value that no document can hold is left out and reported."""
    macro = documents.parse("macro", text)
    blocks, base = _base(form.get("base", ""), macro)
    changed = {
        name: given
        for name, now in field_values(macro).items()
        if name in form and (given := _given(form, name, now)) != base.get(name, now)
    }
    if blocks != [step.block for step in macro.step]:
        return Edited(text, told=STALE)
    typed: dict[str, str] = {}
    problems: dict[str, str] = {}
    for name, given in changed.items():
        try:
            candidate = _with_field(text, macro, name, given)
            documents.parse("macro", candidate)
            text = candidate
        except DocumentError as error:
            typed[name], problems[name] = given, error.why
    used = [name for name in changed if name not in problems]
    return Edited(text, why=_why(used), typed=typed, problems=problems)


def _given(form: Mapping[str, str], name: str, otherwise: str) -> str:
    """What a field holds. Empty lines before the first do nothing, and are not kept."""
    return form.get(name, otherwise).replace("\r\n", "\n").lstrip("\n")


def sent_values(macro: Macro, form: Mapping[str, str], problems: Collection[str]) -> dict[str, str]:
    """What the fields of the page are taken to hold after it has sent ``form``.

    Those with ``problems`` are as in the macro, so that what is still typed in them is told again.
    """
    values = field_values(macro).items()
    return {name: now if name in problems else _given(form, name, now) for name, now in values}


def _base(given: str, macro: Macro) -> tuple[list[str], dict[str, str]]:
    """Blocks and fields of the base a form came with; without one, or with a spoilt one, those of the macro itself."""
    try:
        base = json.loads(given)
        return list(base["blocks"]), {str(name): str(value) for name, value in base["values"].items()}
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return [step.block for step in macro.step], field_values(macro)


def _with_field(text: str, macro: Macro, name: str, given: str) -> str:
    if name in HEADER:
        return macros.set_header(text, name, given)
    _, number, key = name.split(".", 2)
    block = REGISTRY.get(macro.step[int(number) - 1].block)
    parameter = block.parameter(key) if block else None
    if parameter is None:
        return text
    return macros.set_step_value(text, int(number), key, given == "true" if parameter.kind == "flag" else given)


def _why(names: list[str]) -> str:
    if not names:
        return ""
    first = names[0]
    said = first if first in HEADER else "step {1}, {2}".format(*first.split(".", 2))
    return f"Changed {said}" + (f" and {len(names) - 1} more" if len(names) > 1 else "")


def press(text: str, button: str, form: Mapping[str, str]) -> Edited:
    """The text after a button: "up 2", "down 2", "remove 2", "add", "start CONDITION"; any other leaves it as it is."""
    what, _, argument = button.partition(" ")
    act = BUTTONS.get(what)
    return act(text, argument, form) if act else Edited(text)


def _up(text: str, argument: str, form: Mapping[str, str]) -> Edited:
    number = step_number(argument)
    if number < 2:
        return Edited(text)
    to = number - 1
    return Edited(macros.move_step(text, number, to), f"Moved step {number} up", f"up-{to}" if to > 1 else f"down-{to}")


def _down(text: str, argument: str, form: Mapping[str, str]) -> Edited:
    number, count = step_number(argument), len(documents.parse("macro", text).step)
    if not 1 <= number < count:
        return Edited(text)
    to = number + 1
    focus = f"down-{to}" if to < count else f"up-{to}"
    return Edited(macros.move_step(text, number, to), f"Moved step {number} down", focus)


def _remove(text: str, argument: str, form: Mapping[str, str]) -> Edited:
    number, count = step_number(argument), len(documents.parse("macro", text).step)
    focus = f"remove-{min(number, count - 1)}" if count > 1 else "add"
    return Edited(macros.remove_step(text, number), f"Removed step {number}", focus)


def _add(text: str, argument: str, form: Mapping[str, str]) -> Edited:
    block = REGISTRY.get(form.get("add", ""))
    if block is None:
        return Edited(text, told="Choose what the new step is to do, then add it.")
    macro = documents.parse("macro", text)
    number = len(macro.step) + 1
    values = {name: value for name, value in block.defaults(macro.units).items() if value != ""}
    focus = f"step-{number}-{block.fields[0]}" if block.fields else f"remove-{number}"
    return Edited(macros.add_step(text, block.id, values), f"Added step {number}: {block.title}", focus)


def _start(text: str, argument: str, form: Mapping[str, str]) -> Edited:
    return Edited(macros.set_header(text, "start", argument), f"Starts from: {argument}", VERDICT)


def step_number(argument: str) -> int:
    """The number of a step as a button names it, 0 for what is none."""
    return int(argument) if argument.isdecimal() and len(argument) <= MOST_DIGITS else 0


BUTTONS: Mapping[str, Callable[[str, str, Mapping[str, str]], Edited]] = {
    "up": _up,
    "down": _down,
    "remove": _remove,
    "add": _add,
    "start": _start,
}
