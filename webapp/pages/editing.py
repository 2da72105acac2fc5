"""What a form of the bench asks of a macro's text: fields that were filled in, and buttons that were pressed.

The page sends every field, together with what the fields held when it was last in step with the macro (its base): this
is how it says what it has seen. Only what differs between the two was typed here, so one page does not undo what
another has changed meanwhile; where both changed one field, the person chooses.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, field

from library import documents, json_text, macros, toml_edits
from library.blocks import REGISTRY
from library.documents import DocumentError
from library.macros import Macro
from library.toml_text import Path

MOST_DIGITS = 6
"""Digits of the number of a step; a longer one is none."""

HEADER = ("name", "start", "hand_rate", "purpose")
VERDICT = "verdict"
"""Id of the verdict on the page: where to go on after a button beside it, which may be gone by then."""
STALE = "The steps were changed on another page meanwhile. Here they are as they stand now."
LEFT_OVER = (
    "The steps were changed on another page meanwhile, so that what you typed may belong to another step by now. Below "
    "are the steps as they stand, and here is what you typed, to copy into the right one:"
)
MOVED_ON = (
    "The macro was changed on another page meanwhile, so the button has done nothing. Here it is as it stands now; "
    "press again if you still want it."
)
UNSEEN = (
    "Nothing has been saved: the form does not say which version its page showed, so that it could be put over a newer "
    "one unseen. Load the page again, or choose below what is to hold."
)
MOST_PROBLEMS = 20
"""Fields that are each told why they cannot be used; more at once nobody types (our choice)."""

AMONG_MANY = "Not saved: this field or another beside it cannot be used. Correct the others first."
OTHER_UNITS = (
    "Not copied: numbers without a unit are in {0} here and in {2} in {1}, so that the step would mean something else "
    "there. Give every number a unit in both macros, or write the step anew."
)
OF_A_STEP = re.compile(r"(?:step|open|up|down|insert|copy|off|on|tidy|remove)-(\d{1,6})\b")
UNNAMED = frozenset({"insert", "copy", "off", "on", "tidy", "remove"})
"""Buttons beside each step without an id of their own: twenty times six of them weigh."""
BOTH = "Changed on another page meanwhile. Choose above which of the two is to hold."
MINE, THEIRS = "mine", "theirs"


@dataclass(frozen=True, slots=True)
class Edited:
    """A macro's text after an edit. ``typed`` and ``problems`` are by field: what could not be used, and why.

    ``focus`` is the id of the control to go on with, ``told`` a message on the whole edit, ``why`` what to call it in
    the list of revisions. ``theirs`` is what another page has put into fields that were typed into here too, and
    ``left_over`` what was typed beside steps that are no longer where the page showed them, by what a person calls it.
    ``moved_on`` is True where the steps are no longer those that the page showed. ``revision`` is the saved one that
    the text is, None where it is not saved.
    """

    text: str
    why: str = ""
    focus: str = ""
    told: str = ""
    typed: Mapping[str, str] = field(default_factory=dict)
    problems: Mapping[str, str] = field(default_factory=dict)
    theirs: Mapping[str, str] = field(default_factory=dict)
    left_over: Mapping[str, str] = field(default_factory=dict)
    moved_on: bool = False
    revision: int | None = None


@dataclass(frozen=True, slots=True)
class Base:
    """What a page was last in step with: the blocks of the steps, and what the fields held."""

    blocks: list[str]
    values: Mapping[str, str]


def field_name(step: int, parameter: str) -> str:
    """Name of a step's field in the form."""
    return f"step.{step}.{parameter}"


def as_typed(value: object) -> str:
    """A step's value as the text of its field."""
    return str(value).lower() if isinstance(value, bool) else str(value)


def field_values(macro: Macro) -> dict[str, str]:
    """Every field of the form with the text it holds for a macro."""
    values = {key: str(getattr(macro, key)) for key in HEADER}
    for number, step in enumerate(macro.step, start=1):
        block = REGISTRY.get(step.block)
        for parameter in block.parameters if block else ():
            given = step.values.get(parameter.name, parameter.default_in(macro.units))
            values[field_name(number, parameter.name)] = as_typed(given)
    return values


def base_of(macro: Macro, values: Mapping[str, str]) -> str:
    """What the page keeps to tell later what was typed into it: blocks and fields, as JSON."""
    shown = {"blocks": [step.block for step in macro.step], "values": values}
    return json.dumps(shown, separators=(",", ":"))


def seen_of(macro: Macro, edited: Edited, form: Mapping[str, str]) -> dict[str, str]:
    """What a page is taken to have seen of each field of a sheet that it gets.

    Where it has yet to choose between two, that is what it had seen before: else whatever it sends next would be its
    choice.
    """
    base = read_base(form) if edited.theirs else None
    undecided = {name: base.values[name] for name in edited.theirs} if base else {}
    return field_values(macro) | undecided


def read_base(form: Mapping[str, str]) -> Base | None:
    """The base that a form came with; None without a good one, or where it leaves a field of the form out."""
    try:
        base = json_text.read(form["base"])
        values = {str(name): str(value) for name, value in base["values"].items()}
        blocks = list(base["blocks"])
    except (ValueError, TypeError, KeyError, AttributeError):
        return None
    return Base(blocks, values) if all(name in values for name in form if _is_field(name)) else None


def has_fields(form: Mapping[str, str]) -> bool:
    """Whether a form is that of the operation sheet, and not one of the small ones beside its results."""
    return any(_is_field(name) for name in form)


def _is_field(name: str) -> bool:
    return name in HEADER or name.startswith("step.")


def unseen(text: str, form: Mapping[str, str]) -> Edited:
    """The text as it is, each field that differs to choose, for a form that does not say what its page showed."""
    now = field_values(documents.parse("macro", text))
    typed = {name: given for name, held in now.items() if (given := _given(form, name, held)) != held}
    theirs = {name: now[name] for name in typed}
    return Edited(text, told=UNSEEN, typed=typed, problems=dict.fromkeys(typed, BOTH), theirs=theirs)


def fill_in(text: str, form: Mapping[str, str], settled: tuple[str, str] = ("", "")) -> Edited:
    """The text with the fields that were typed into.

    A value that no document can hold is left out and reported, and so is one of a field that another page has changed
    meanwhile, unless ``settled`` says ``MINE`` or ``THEIRS`` of it, or ``MINE`` of "" for all. Where the steps are no
    longer those of the page nothing is put into them, and what was typed beside them is told.
    """
    macro = documents.parse("macro", text)
    base = read_base(form)
    if base is None:
        return unseen(text, form)
    whose, settles = settled
    now = field_values(macro)
    changed = {
        name: given
        for name, held in now.items()
        if name in form
        and (given := _given(form, name, held)) not in (base.values[name], held)
        and settled != (THEIRS, name)
    }
    moved_on = base.blocks != [step.block for step in macro.step] or _moved_on(base, now, form)
    left_over = _beside_steps(base, form, now) if moved_on else {}
    if moved_on:
        changed = {name: given for name, given in changed.items() if name in HEADER}
    typed: dict[str, str] = {}
    problems: dict[str, str] = {}
    theirs: dict[str, str] = {}
    own: dict[str, tuple[Path, object]] = {}
    for name, given in changed.items():
        if base.values[name] != now[name] and (whose != MINE or settles not in ("", name)):
            typed[name], problems[name], theirs[name] = given, BOTH, now[name]
        elif (held := _held(macro, name, given)) is not None:
            own[name] = held
    text, refused = _with_fields(text, own, MOST_PROBLEMS)
    problems |= refused
    typed |= {name: changed[name] for name in refused}
    used = [name for name in changed if name not in problems]
    return Edited(
        text,
        why=_why(used),
        told=LEFT_OVER if left_over else STALE if moved_on else "",
        typed=typed,
        problems=problems,
        theirs=theirs,
        left_over=left_over,
        moved_on=moved_on,
    )


def _beside_steps(base: Base, form: Mapping[str, str], now: Mapping[str, str]) -> dict[str, str]:
    """What was typed into fields of steps, by what a person calls the field on the page that it was typed on."""
    typed = {
        name: given
        for name, held in base.values.items()
        if name.startswith("step.") and (given := _given(form, name, held)) not in (held, now.get(name))
    }
    return {_called(base, name): given for name, given in typed.items()}


def _called(base: Base, name: str) -> str:
    _, step, parameter = name.split(".", 2) if name.count(".") > 1 else ("", "", name)
    number = step_number(step)
    block = REGISTRY.get(str(base.blocks[number - 1])) if 0 < number <= len(base.blocks) else None
    return field_label(number, block.title, parameter) if block else name


def field_label(step: int, title: str, parameter: str) -> str:
    """What a person calls a field of a step."""
    return f"Step {step}, {title}: {parameter}"


def _moved_on(base: Base, now: Mapping[str, str], form: Mapping[str, str]) -> bool:
    """Whether a step that the page shows is now another one: then a field beside it would mean another step's.

    One that is now what the form has in it is not: this page has saved that itself, and the answer was lost.
    """
    shown, there = _by_step(base.values), _by_step(now)
    typed = _by_step({name: _given(form, name, held) for name, held in base.values.items()})
    return any(
        there.get(number) not in (held, typed[number])
        and held in [each for other, each in there.items() if other != number]
        for number, held in shown.items()
    )


def _by_step(values: Mapping[str, str]) -> dict[str, dict[str, str]]:
    found: dict[str, dict[str, str]] = {}
    for name, value in values.items():
        if name.startswith("step."):
            _, number, key = name.split(".", 2)
            found.setdefault(number, {})[key] = value
    return found


def as_shown(text: str, form: Mapping[str, str], prefix: str = "") -> bool:
    """Whether the fields whose names begin so hold what the page showed or what was typed into it, and no other page's.

    No number of a revision could tell: the answer with that of what this page has saved itself may be held back while a
    button is pressed.
    """
    macro = documents.parse("macro", text)
    base = read_base(form)
    now = field_values(macro)
    return (
        base is not None
        and base.blocks == [step.block for step in macro.step]
        and all(
            now[name] in (held, _given(form, name, held))
            for name, held in base.values.items()
            if name.startswith(prefix) and name in now
        )
    )


def _given(form: Mapping[str, str], name: str, otherwise: str) -> str:
    return form.get(name, otherwise).replace("\r\n", "\n")


def sent_values(macro: Macro, form: Mapping[str, str], problems: Collection[str]) -> dict[str, str]:
    """What the fields of the page are taken to hold after it has sent ``form``.

    Those with ``problems`` are as in the macro, so that what is still typed in them is told again.
    """
    values = field_values(macro).items()
    return {name: now if name in problems else _given(form, name, now) for name, now in values}


def behind(text: str, form: Mapping[str, str]) -> bool:
    """Whether a field that was not typed into holds something else by now than the page shows: somebody else's."""
    base = read_base(form)
    now = field_values(documents.parse("macro", text))
    return base is not None and any(
        name in form and now.get(name, held) != held == _given(form, name, held) for name, held in base.values.items()
    )


def _held(macro: Macro, name: str, given: str) -> tuple[Path, object] | None:
    """Where a document holds a field, and as what; None where it holds none of that name."""
    if name in HEADER:
        return (name,), given
    _, number, key = name.split(".", 2)
    block = REGISTRY.get(macro.step[int(number) - 1].block)
    parameter = block.parameter(key) if block else None
    if parameter is None:
        return None
    return ("step", int(number) - 1, key), given == "true" if parameter.kind == "flag" else given


def _with_fields(text: str, own: Mapping[str, tuple[Path, object]], most: int) -> tuple[str, dict[str, str]]:
    """The text with as many fields as make a good document, and why the others do not, by field.

    All are tried together, as a document is read as a whole each time, and halved where they do not go together. Once
    ``most`` are refused, those that do not go together are not looked at one by one.
    """
    if not own:
        return text, {}
    try:
        candidate = toml_edits.set_values(text, dict(own.values()))
        documents.parse("macro", candidate)
        return candidate, {}
    except DocumentError as error:
        if len(own) == 1 or most < 1:
            return text, dict.fromkeys(own, error.why if len(own) == 1 else AMONG_MANY)
    fields = list(own.items())
    half = len(fields) // 2
    text, first = _with_fields(text, dict(fields[:half]), most)
    text, second = _with_fields(text, dict(fields[half:]), most - len(first))
    return text, first | second


def _why(names: list[str]) -> str:
    if not names:
        return ""
    first = names[0]
    said = first if first in HEADER else "step {1}, {2}".format(*first.split(".", 2))
    return f"Changed {said}" + (f" and {len(names) - 1} more" if len(names) > 1 else "")


def press(text: str, button: str, form: Mapping[str, str]) -> Edited:
    """The text after a button: "up 2", "move 2 5", "add raise", "start CONDITION"; any other leaves it as it is."""
    what, _, argument = button.partition(" ")
    act = BUTTONS.get(what)
    return act(text, argument, form) if act else Edited(text)


def _moved(text: str, argument: str, way: str) -> Edited:
    """The text with a step moved "up" or "down"; the focus goes with it, to the other button at either end."""
    number, count = step_number(argument), len(documents.parse("macro", text).step)
    to = number - 1 if way == "up" else number + 1
    if not (1 <= number <= count and 1 <= to <= count):
        return Edited(text)
    at_the_end = to == (1 if way == "up" else count)
    other = "down" if way == "up" else "up"
    focus = f"{other if at_the_end else way}-{to}"
    return Edited(macros.move_step(text, number, to), f"Moved step {number} {way}", focus)


def _carried(text: str, argument: str, form: Mapping[str, str]) -> Edited:
    """The text with a step taken to another place: "3 1" makes the third the first."""
    number, to = (step_number(each) for each in (*argument.split(" "), "", "")[:2])
    count = len(documents.parse("macro", text).step)
    if not (1 <= number <= count and 1 <= to <= count) or number == to:
        return Edited(text)
    return Edited(macros.move_step(text, number, to), f"Moved step {number} to be step {to}", f"open-{to}")


def _copied(text: str, argument: str, form: Mapping[str, str]) -> Edited:
    number = step_number(argument)
    return Edited(macros.copy_step(text, number), f"Duplicated step {number}", f"open-{number + 1}")


def _switched(text: str, argument: str, *, off: bool) -> Edited:
    number, way, other = step_number(argument), *(("off", "on") if off else ("on", "off"))
    return Edited(macros.switch(text, number, off=off), f"Switched step {number} {way}", f"{other}-{number}")


def _inserting(text: str, argument: str, form: Mapping[str, str]) -> Edited:
    return Edited(text, focus="find")


def copied_to(text: str, other: str, argument: str) -> Edited:
    """The text ``other`` of another macro with a step of ``text`` after its last; told where it cannot be copied.

    A number without a unit is in the units of its document, so that it only goes to one in the same.
    """
    macro, target = documents.parse("macro", text), documents.parse("macro", other)
    number = step_number(argument)
    if not 1 <= number <= len(macro.step):
        return Edited(other, told="Choose the step to copy, then copy it.")
    if macro.units != target.units:
        return Edited(other, told=OTHER_UNITS.format(macro.units, target.name, target.units))
    step, to = macro.step[number - 1], len(target.step) + 1
    written = macros.add_step(other, step.block, {**({"off": True} if step.off else {}), **step.values})
    return Edited(written, f"Copied from step {number} of {macro.name}", f"open-{to}")


def open_step(focus: str) -> int:
    """The step that stands open for a control to have the focus, 0 for none."""
    found = OF_A_STEP.match(focus)
    return int(found[1]) if found else 0


def anchor(focus: str) -> str:
    """Where a page that is loaded anew is to be: at the control, or at the line of the step that its button is in."""
    return f"open-{open_step(focus)}" if focus.split("-")[0] in UNNAMED else focus


def first_step(names: Iterable[str]) -> int:
    """The first step that one of these fields belongs to, 0 for none."""
    return min((int(name.split(".")[1]) for name in names if name.startswith("step.")), default=0)


def _remove(text: str, argument: str, form: Mapping[str, str]) -> Edited:
    number, count = step_number(argument), len(documents.parse("macro", text).step)
    focus = f"remove-{min(number, count - 1)}" if count > 1 else "add"
    return Edited(macros.remove_step(text, number), f"Removed step {number}", focus)


def _add(text: str, argument: str, form: Mapping[str, str]) -> Edited:
    block = REGISTRY.get(argument or form.get("add", ""))
    if block is None:
        return Edited(text, told="Choose what the new step is to do, then add it.")
    macro = documents.parse("macro", text)
    count, after = len(macro.step), form.get("after", "")
    number = min(step_number(after), count) + 1 if after.isdecimal() else count + 1
    values = {name: value for name, value in block.defaults(macro.units).items() if value != ""}
    focus = f"step-{number}-{block.fields[0]}" if block.fields else f"open-{number}"
    return Edited(macros.add_step(text, block.id, values, number), f"Added step {number}: {block.title}", focus)


def _start(text: str, argument: str, form: Mapping[str, str]) -> Edited:
    return Edited(macros.set_header(text, "start", argument), f"Starts from: {argument}", VERDICT)


def step_number(argument: str) -> int:
    """The number that a button names its step by, 0 for none."""
    return int(argument) if argument.isdecimal() and len(argument) <= MOST_DIGITS else 0


BUTTONS: Mapping[str, Callable[[str, str, Mapping[str, str]], Edited]] = {
    "up": lambda text, argument, form: _moved(text, argument, "up"),
    "down": lambda text, argument, form: _moved(text, argument, "down"),
    "move": _carried,
    "copy": _copied,
    "off": lambda text, argument, form: _switched(text, argument, off=True),
    "on": lambda text, argument, form: _switched(text, argument, off=False),
    "insert": _inserting,
    "remove": _remove,
    "add": _add,
    "start": _start,
}
