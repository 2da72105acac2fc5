"""What the commands have in common: options, exit status, and how they speak."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn, TextIO

import click

from library import shown

if TYPE_CHECKING:  # to print help takes no sheets
    from library.sheets import MachineSheet

REFUSED = 1  # our choice, as is the next
UNUSABLE = 2


class InputError(Exception):
    """A file or a call that cannot be used; ``str()`` is one line: what, why, what to do."""


def fail(message: str) -> NoReturn:
    """One line on standard error and exit status 2."""
    tell("clickstop: " + " ".join(shown.text(message).split()))
    sys.exit(UNUSABLE)


def put(content: str | bytes) -> None:
    """Write results to standard output; a reader that has gone away is no error of ours, a full disk is told.

    Characters that are not seen are made visible, but for the bytes of a file that are not sent to a terminal.
    """
    out = sys.stdout
    if out is None:
        fail("standard output is closed, so there is nowhere to write the result; leave it open, or name a file")
    try:
        if isinstance(content, bytes) and not out.isatty():
            click.echo(content, nl=False)
        else:
            plain = content.decode("utf-8", "replace") if isinstance(content, bytes) else content
            out.write(shown.encoded(plain, out.encoding))
        out.flush()
    except BrokenPipeError:
        give_up(out)
    except OSError as error:
        full(error)


def full(error: OSError) -> NoReturn:
    """Say that the results could not be written."""
    give_up(sys.stdout)
    fail(f"standard output cannot be written ({error.strerror or error}); make room, or write somewhere else")


def tell(message: str) -> None:
    """A remark on standard error, where there is one, and somewhere to put it: one line, nothing in it unseen."""
    out = sys.stderr
    if not message or out is None:
        return
    try:
        out.write(shown.encoded(shown.line(message), out.encoding) + "\n")
        out.flush()
    except OSError:
        give_up(out)


def remark(sheet: MachineSheet) -> None:
    """What is to be asked of a machine sheet, and what its setups override, a line each on standard error."""
    from library.sheets.overriding import overrides
    from library.sheets.sense import doubts

    for doubt in doubts(sheet):
        tell(f"Machine sheet, {doubt.key}: {doubt.text}")
    for overridden in overrides(sheet):
        tell(f"Machine sheet: {overridden}.")


def give_up(out: TextIO | None) -> None:
    """Let nothing more reach a stream that cannot be written, not even what is left in it when the program ends."""
    if out is None:
        return
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), out.fileno())


class PathByName(click.Path):
    """A path that somebody has named. An empty name, as an unset variable leaves it, is not the current folder."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The path; a usage error for an empty name."""
        if value == "":
            self.fail("the name is empty; write that of a file or a folder", param, ctx)
        return super().convert(value, param, ctx)


A_PATH = PathByName(path_type=Path)


def workshop_option(*, makes: bool = False) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """The option that names the workshop, of a command that makes a missing one or does not."""
    missing = "a missing one is made, with the starter workshop in it" if makes else "it has to be there"
    return click.option(
        "--workshop",
        type=A_PATH,
        metavar="DIR",
        help=f"Folder of the workshop; {missing}.",
    )


def second_opinion_option() -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """The option that has everything proved a second time, by a solver."""
    return click.option(
        "--second-opinion",
        is_flag=True,
        help="Put every move to a solver as well, and refuse where the two proofs differ.",
    )


def sheet_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options that name the sheets to check on."""
    command = click.option(
        "--controller",
        metavar="FILE|PRESET",
        help="Controller sheet, or presets joined with +, such as as-published+dwell-milliseconds.",
    )(command)
    return click.option("--machine", metavar="FILE", help="Machine sheet; else the workshop's.")(command)
