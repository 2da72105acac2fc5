"""A macro on the bench as it stands, and as what is typed and pressed there leaves it, saved."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import replace
from functools import partial

from flask import abort

from library import documents
from library.documents import DocumentError
from library.store import Head, StoreError
from webapp import workshop
from webapp.pages import accepting, editing, tidying
from webapp.pages import fixes as fixes_page
from webapp.pages import shelf as shelf_page
from webapp.pages.editing import Edited
from webapp.pages.shelf import ONLY
from webapp.views import seen

STRUCTURE = frozenset({"up", "down", "move", "remove", "copy", "off", "on", "insert", "send", "tidy"})
"""Buttons that stand beside a step and mean that one."""


def as_it_stands(macro_id: str) -> Edited:
    """A macro as last saved; 404 where there is none."""
    if macro_id not in workshop.current().ids("macro"):
        abort(404, f"There is no macro {macro_id!r} on the shelf. It may have been renamed or removed.")
    head = workshop.current().head("macro", macro_id)
    return Edited(head.text, revision=head.number)


def pressed(macro_id: str, button: str, form: Mapping[str, str]) -> Edited:
    """What a button leaves, already saved."""
    what, _, argument = button.partition(" ")
    settled = (what, argument) if what in (editing.MINE, editing.THEIRS) else ("", "")
    if "base" in form or editing.has_fields(form) or not text_shown(macro_id):
        edited = change(macro_id, lambda text: editing.fill_in(text, form, settled))
    else:
        edited = as_it_stands(macro_id)
    if edited.moved_on and not edited.left_over and what != "apply":
        return replace(edited, told=editing.MOVED_ON)
    if edited.told or edited.problems:
        return edited
    if what in ("undo", "redo"):
        return turned_back(macro_id, what, edited, form)
    if what == "fix":
        return fixed(macro_id, edited, argument)
    if what in STRUCTURE and not editing.as_shown(edited.text, form, "step."):
        return replace(edited, told=editing.MOVED_ON)
    if what == "accept":
        field = f"because-{form.get('at', '')}"
        return change(macro_id, lambda text: accepting.accept(text, argument, form.get("because", ""), field))
    if what == "take-back":
        return change(macro_id, lambda text: accepting.take_back(text, argument))
    if what == "tidy":
        controller = workshop.current().text("controller", ONLY)
        return change(macro_id, lambda text: tidying.tidied(text, argument, controller))
    return change(macro_id, lambda text: editing.press(text, button, form))


def text_shown(macro_id: str) -> str:
    """The macro as it was when the posted form was shown, "" where that does not say which revision it was."""
    try:
        return str(workshop.current().seen("macro", macro_id, seen.revision()))
    except StoreError:
        return ""


def turned_back(macro_id: str, way: str, edited: Edited, form: Mapping[str, str]) -> Edited:
    """The revision before or after, unless another page has changed the macro since this one was shown."""
    shop = workshop.current()
    own = editing.as_shown(edited.text, form)
    if own:
        (shop.undo if way == "undo" else shop.redo)("macro", macro_id, seen=edited.revision)
    return replace(as_it_stands(macro_id), focus=way, told="" if own else editing.MOVED_ON)


def fixed(macro_id: str, edited: Edited, key: str) -> Edited:
    """A fix made; it takes its time to be proved, so that it is saved on the revision it was made from."""
    shop = workshop.current()
    machine, controller = shop.text("machine", ONLY), shop.text("controller", ONLY)
    made = fixes_page.fix(edited.text, key, machine, controller, shelf_page.others(shop, edited.text))
    if made.told or made.text == edited.text:
        return replace(made, revision=edited.revision)
    if as_it_stands(macro_id).revision != edited.revision:
        return replace(as_it_stands(macro_id), told=editing.MOVED_ON)
    head = shop.save("macro", macro_id, made.text, made.why, seen=edited.revision)
    return replace(made, text=head.text, revision=head.number)


def change(macro_id: str, make: Callable[[str], Edited]) -> Edited:
    """What ``make`` does to the macro as it stands, saved if it is still a macro, and still as it stood. 404 as above.

    It is made without keeping others from saving, and made again where somebody has.
    """
    while True:
        stood = as_it_stands(macro_id)
        try:
            edited = make(stood.text)
            documents.parse("macro", edited.text)
        except DocumentError as error:
            edited = Edited(stood.text, told=error.why)
        if edited.text == stood.text:
            return replace(edited, revision=stood.revision)
        with suppress(_SavedMeanwhileError):
            head = workshop.current().change("macro", macro_id, partial(_on_what_stood, stood, edited))
            return replace(edited, revision=head.number)


class _SavedMeanwhileError(Exception):
    """Somebody has saved between reading and saving."""


def _on_what_stood(stood: Edited, edited: Edited, head: Head) -> tuple[str, str]:
    if head.number != stood.revision:
        raise _SavedMeanwhileError
    return edited.text, edited.why


def sent(edited: Edited, form: Mapping[str, str]) -> tuple[Edited, str]:
    """A step copied to the end of another macro, and where it stands there, "" with why where it was not copied."""
    target = form.get("send-to", "")
    if target not in workshop.current().ids("macro"):
        return replace(edited, told="Choose the macro to copy to, then copy it."), ""
    made = change(target, lambda other: editing.copied_to(edited.text, other, form.get("send", "")))
    if made.told:
        return replace(edited, told=made.told), ""
    return made, f"/bench/{target}#{made.focus}"
