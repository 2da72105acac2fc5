"""The ``clickstop`` command.

Results go to standard output; everything else to standard error. Exit status 0: nothing refused; 1: a refusal; 2: the
input or the call cannot be used, said in one line with nothing on standard output. What a command needs is imported
when it is called: to check a file takes no web server.
"""

from __future__ import annotations

from webapp.cli import starting

# isort: split
import atexit
import gc
import sys
import traceback
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path
from typing import Any

import click

from library.acting import by
from library.errors import LibraryError
from library.limits import TABLE
from parser.errors import ParserError
from webapp.cli.common import InputError, fail, full, give_up, put

INTERRUPTED = 130  # 128 and the number of the signal (common practice)

COMMANDS = {
    "serve": "webapp.cli.serving",
    "check": "webapp.cli.checking",
    "build": "webapp.cli.checking",
    "take": "webapp.cli.packs",
    "verify": "webapp.cli.packs",
    "fitted": "webapp.cli.packs",
    "shelf": "webapp.cli.shelf",
    "schema": "webapp.cli.schemas",
    "backup": "webapp.cli.backups",
    "restore": "webapp.cli.backups",
}
"""The commands in the order of the help, each with the module that it is in."""

CANNOT_BE_USED = (InputError, LibraryError, ParserError)
"""Errors that are written for the person at the terminal and need no more than to be shown."""


class Command(click.Group):
    """The group of commands, which tells every failure in one line and never shows a traceback."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names of all commands."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """A command by its name."""
        return command(cmd_name) if cmd_name in COMMANDS else None

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The limits, below the commands."""
        with formatter.section("Limits, the same as on the Help page of that name"):
            formatter.write_dl([(str(each), f"of {each.of}") for each in TABLE])

    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = "clickstop",
        complete_var: str | None = None,
        standalone_mode: bool = True,
        **more: Any,
    ) -> Any:
        """Run the command that ``args`` name and leave with its exit status."""
        if not standalone_mode:
            return super().main(args, prog_name, complete_var, standalone_mode=False, **more)
        atexit.register(
            gc.freeze
        )  # the process is over: going through all it holds once more takes a seventh of a check
        try:
            status = super().main(args, prog_name, complete_var, standalone_mode=False, **more)
        except click.UsageError as error:
            command = error.ctx.command_path if error.ctx else "clickstop"
            fail(f"{error.format_message().rstrip('.')}; see {command} --help")
        except click.ClickException as error:
            fail(error.format_message())
        except (click.Abort, KeyboardInterrupt):
            sys.exit(INTERRUPTED)
        except CANNOT_BE_USED as error:
            fail(str(error))
        except BrokenPipeError:
            give_up(sys.stdout)
            sys.exit(0)
        except OSError as error:
            if error.filename is None:  # a help or a version, which click writes itself
                full(error)
            fail(f"{error.filename} cannot be used ({error.strerror or error}); check its name and the rights to it")
        except MemoryError:
            fail("there is not enough memory for this; check a shorter part by itself")
        except Exception as error:
            where = traceback.extract_tb(error.__traceback__)[-1]
            place = f"{Path(where.filename).name}, line {where.lineno}"
            fail(f"something went wrong in the program itself ({type(error).__name__}: {error}; {place})")
        if sys.stdout is not None:
            put("")  # what click has written itself, as a help, may still wait for a disk that is full
        sys.exit(status if isinstance(status, int) else 0)


@click.group(cls=Command, invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"]})
@click.pass_context
def main(context: click.Context) -> None:
    """Macros for the spare positions of a mill's hand pendant, proved from wherever the machine stands.

    Without a command the pages are served and the browser is opened.
    """
    by.set("the command")
    if context.invoked_subcommand is None:
        context.invoke(command("serve"))


def command(name: str) -> click.Command:
    """One of the commands, imported now."""
    collecting = gc.isenabled()
    gc.disable()  # nothing that a module makes while it is loaded is garbage
    try:
        found: click.Command = getattr(import_module(COMMANDS[name]), name)
    finally:
        if collecting:
            gc.enable()
    return found


starting.over()
