"""What the commands have in common: options, exit status, and how they speak."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, NoReturn

import click

REFUSED = 1  # our choice, as is the next
UNUSABLE = 2


class InputError(Exception):
    """A file or a call that cannot be used; ``str()`` is one line: what, why, what to do."""


def fail(message: str) -> NoReturn:
    """One line on standard error and exit status 2."""
    click.echo("clickstop: " + " ".join(message.split()), err=True)
    sys.exit(UNUSABLE)


def put(content: str | bytes) -> None:
    """Write to standard output; a reader that has gone away is no error of ours."""
    try:
        click.echo(content, nl=False)
        sys.stdout.flush()
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def workshop_option() -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """The option that names the workshop."""
    return click.option(
        "--workshop",
        type=click.Path(path_type=Path),
        metavar="DIR",
        help="Folder of the workshop; a missing one is made, with the starter workshop in it.",
    )


def sheet_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options that name the sheets to check on."""
    command = click.option(
        "--controller",
        metavar="FILE|PRESET",
        help="Controller sheet, or presets joined with +, such as as-published+dwell-milliseconds.",
    )(command)
    return click.option("--machine", metavar="FILE", help="Machine sheet; else the workshop's.")(command)


def tell(message: str) -> None:
    """A remark on standard error, where there is one."""
    if message:
        click.echo(message, err=True)
