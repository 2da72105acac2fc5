"""The button of the bench that tidies lines written by hand."""

from __future__ import annotations

from library import documents, macros
from library.sheets import plain_controller
from parser.language.formatter import tidy
from webapp.pages.editing import Edited, step_number

BLOCK = "own-lines"
PARAMETER = "lines"


def tidied(text: str, argument: str, controller: str) -> Edited:
    """A macro's text with the lines of one step tidied; ``argument`` is its number, ``controller`` the sheet's text.

    A step that has no lines of its own is left as it is. Raises DocumentError.
    """
    steps = documents.parse("macro", text).step
    number = step_number(argument)
    if not 1 <= number <= len(steps) or steps[number - 1].block != BLOCK:
        return Edited(text)
    written = str(steps[number - 1].values.get(PARAMETER, ""))
    lines = tidy(written.replace("\r\n", "\n"), plain_controller(documents.parse("controller", controller)))
    changed = text if lines == written else macros.set_step_value(text, number, PARAMETER, lines)
    return Edited(changed, f"Tidied the lines of step {number}", f"tidy-{number}")
