"""The ``clickstop`` command.

Results go to standard output; everything else to standard error. Exit status 0: nothing refused; 1: a refusal; 2: the
input or the call cannot be used, said in one line with nothing on standard output.
"""

from __future__ import annotations

import dataclasses
import ipaddress
import json
import logging
import os
import socket
import sys
import threading
import traceback
import webbrowser
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, NoReturn

import click
import waitress

from library import documents, proving, takeaway
from library.build import BuildError
from library.macros import Macro
from library.sequences import WholePendant, whole_pendant
from library.slots import slots
from library.store import StoreError, Workshop
from library.takeaway import TakeAwayError
from parser.errors import ParserError
from parser.machine import Interval, Machine
from parser.report import Report, as_json, finding_as_json
from webapp import create_app, guard
from webapp.inputs import (
    ANYWHERE,
    Input,
    InputError,
    Sheets,
    find_inputs,
    find_pendant,
    find_sheets,
    home_workshop,
    read_macro,
    shown,
    start_place,
)
from webapp.meter import meter
from webapp.terminal import pendant_text, report_text

REFUSED = 1
UNUSABLE = 2
INTERRUPTED = 130
PORT = 8470
HOST = "127.0.0.1"

CANNOT_BE_USED = (InputError, documents.DocumentError, StoreError, TakeAwayError, BuildError, ParserError)
"""Errors that are written for the person at the terminal and need no more than to be shown."""


class Command(click.Group):
    """The group of commands, which tells every failure in one line and never shows a traceback."""

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
        try:
            status = super().main(args, prog_name, complete_var, standalone_mode=False, **more)
        except click.UsageError as error:
            command = error.ctx.command_path if error.ctx else "clickstop"
            fail(f"{error.format_message().rstrip('.')}; see {command} --help")
        except click.ClickException as error:
            fail(error.format_message())
        except click.Abort:
            sys.exit(INTERRUPTED)
        except CANNOT_BE_USED as error:
            fail(str(error))
        except Exception as error:
            where = traceback.extract_tb(error.__traceback__)[-1]
            place = f"{Path(where.filename).name}, line {where.lineno}"
            fail(f"something went wrong in the program itself ({type(error).__name__}: {error}; {place})")
        sys.exit(status if isinstance(status, int) else 0)


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


@click.group(cls=Command, invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"]})
@click.pass_context
def main(context: click.Context) -> None:
    """Macros for the spare positions of a mill's hand pendant, proved from wherever the machine stands.

    Without a command the pages are served and the browser is opened.
    """
    if context.invoked_subcommand is None:
        context.invoke(serve)


@main.command()
@workshop_option()
@click.option(
    "--port",
    default=PORT,
    show_default=True,
    type=click.IntRange(0, 65535),
    metavar="PORT",
    help="Port to listen on; 0 takes a free one.",
)
@click.option(
    "--host",
    default=HOST,
    show_default=True,
    metavar="HOST",
    help="Address to listen on; the default is this computer only.",
)
@click.option(
    "--access-code", metavar="CODE", help="Code the pages ask for; needed where other computers can reach them."
)
@click.option("--no-browser", is_flag=True, help="Do not open the browser.")
def serve(workshop: Path | None, port: int, host: str, access_code: str | None, no_browser: bool) -> None:
    """Serve the pages on this computer and open them in the browser."""
    hosts = answered_hosts(host, access_code)
    app = create_app(workshop or home_workshop(), access_code=access_code, hosts=hosts)
    listening = listen(host, port)
    address = address_of(listening)
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
    server = waitress.create_server(app, sockets=[listening])
    put(f"Clickstop is at {address} (Ctrl-C stops it)\n")
    if not no_browser:
        threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
    server.run()


def answered_hosts(host: str, access_code: str | None) -> Sequence[str] | None:
    """The names to answer to, None for any; raises InputError where others can reach the pages without a code."""
    try:
        loopback = host == "localhost" or ipaddress.ip_address(host).is_loopback
    except ValueError:
        loopback = False
    if loopback:
        return guard.LOOPBACK if host in guard.LOOPBACK else (*guard.LOOPBACK, host)
    if not access_code:
        raise InputError(
            f"--host {host} lets other computers reach the pages; add --access-code CODE, or leave --host out"
        )
    return None


def listen(host: str, port: int) -> socket.socket:
    """A socket that listens; raises InputError where the port is taken or the address is not this computer's."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    try:
        return socket.create_server((host, port), family=family)
    except (OSError, UnicodeError) as error:
        why = (getattr(error, "strerror", None) or str(error)).lower()
        raise InputError(f"cannot listen on {host}, port {port}: {why}; name another with --port or --host") from error


def address_of(listening: socket.socket) -> str:
    """What to type into a browser on this computer."""
    host, port = listening.getsockname()[:2]
    if ipaddress.ip_address(host).is_unspecified:
        host = "::1" if ":" in host else HOST
    return f"http://[{host}]:{port}/" if ":" in host else f"http://{host}:{port}/"


@main.command()
@click.argument("files", nargs=-1, metavar="[FILE...|DIR]")
@workshop_option()
@sheet_options
@click.option(
    "--start",
    metavar='anywhere|"x,y,z"',
    help="Where the machine stands, in machine coordinates (mm, degrees); overrides a macro's own.",
)
@click.option("--assume", default="", metavar='"G21 G90 ..."', help="Words in force before the first line.")
@click.option(
    "--format",
    "form",
    type=click.Choice(["text", "json"]),
    default="text",
    show_default=True,
    help="How to print the result.",
)
def check(
    files: tuple[str, ...],
    workshop: Path | None,
    machine: str | None,
    controller: str | None,
    start: str | None,
    assume: str,
    form: str,
) -> int:
    """Prove RS-274 files and macros: named ones, or all in a folder; with --workshop alone its whole pendant."""
    if not files and workshop is None:
        raise click.UsageError(
            "Name a file or a folder to check, or a workshop with --workshop to check its whole pendant"
        )
    sheets = find_sheets(workshop, machine, controller)
    if not files and workshop is not None:
        return check_pendant(workshop, sheets, start, assume, form)
    inputs = find_inputs(files)
    reports = [(each.name, examined(each, sheets, start, assume)) for each in inputs]
    if form == "text":
        put("\n".join(report_text(name, report) for name, report in reports))
    else:
        shas = {"machine_sha256": sheets.machine_sha, "controller_sha256": sheets.controller_sha}
        found = [as_json(report, file=name, **shas) for name, report in reports]
        single = len(files) == 1 and not Path(files[0]).is_dir()
        put(json.dumps(found[0] if single else found, indent=1, allow_nan=False) + "\n")
    tell(sheets.notice)
    return REFUSED if any(report.refused for _, report in reports) else 0


def check_pendant(workshop: Path, sheets: Sheets, start: str | None, assume: str, form: str) -> int:
    """Prove every slot of a workshop's pendant and every sequence of them."""
    having = find_pendant(workshop, sheets)
    proved = {id: prove(macro, sheets, start, assume) for id, macro in having.macros.items()}
    whole = whole_pendant(having, having.macros, proved)
    on = {id: [slot.label for slot in whole.slots if slot.macro == id] for id in whole.proved}
    if form == "text":
        texts = [report_text(f"{id} ({', '.join(on[id])})", each.report) for id, each in whole.proved.items()]
        put("\n".join([*texts, pendant_text(having.pendant.name, whole)]))
    else:
        shas = {"machine_sha256": sheets.machine_sha, "controller_sha256": sheets.controller_sha}
        found = [as_json(each.report, file=id, **shas) | {"slots": on[id]} for id, each in whole.proved.items()]
        put(json.dumps([*found, as_pendant_json(whole, having.pendant.name)], indent=1, allow_nan=False) + "\n")
    tell(sheets.notice)
    return REFUSED if whole.verdict == "refused" else 0


def as_pendant_json(whole: WholePendant, name: str) -> dict[str, object]:
    """The pendant as the last object of the list that ``check --workshop --format json`` prints."""
    return {
        "file": None,
        "pendant": name,
        "slots": {slot.label: slot.macro for slot in whole.slots},
        "verdict": whole.verdict,
        "sentence": whole.sentence,
        "findings": [finding_as_json(finding) for finding in whole.findings],
    }


def examined(each: Input, sheets: Sheets, start: str | None, assume: str) -> Report:
    """The report on one file; raises InputError where a macro cannot be turned into lines."""
    if each.macro is None:
        box = _start_box(start, sheets)
        with meter(each.name) as told:
            return proving.prove_text(each.text, sheets, start=box, assume=assume, progress=told)
    proved = prove(each.macro, sheets, start, assume)
    if proved.problems:
        raise InputError(f"{each.name}: {proved.problems[0]}")
    return proved.report


def prove(macro: Macro, sheets: Sheets, start: str | None, assume: str) -> proving.Proved:
    """A macro proved from the start that was given, else from its own."""
    free = macro if start is None else macro.model_copy(update={"start": ANYWHERE})
    with meter(macro.name) as told:
        return proving.prove_macro(free, sheets, start=_start_box(start, sheets), assume=assume, progress=told)


def _start_box(start: str | None, sheets: Sheets) -> Mapping[str, Interval] | None:
    """The start that was given, None for anywhere or where none was."""
    if start is None or start.strip().lower() == ANYWHERE:
        return None
    return start_place(start, sheets.machine.plain())


def tell(message: str) -> None:
    """A remark on standard error, where there is one."""
    if message:
        click.echo(message, err=True)


@main.command()
@click.argument("macro", metavar="MACRO.toml")
@sheet_options
def build(macro: str, machine: str | None, controller: str | None) -> int:
    """Write the lines of a macro to standard output, and its verdict to standard error."""
    sheets = find_sheets(None, machine, controller)
    proved = proving.prove_macro(read_macro(macro), sheets)
    if proved.problems:
        raise InputError(f"{shown(macro)}: {proved.problems[0]}")
    put(proved.built.text.encode())
    tell(sheets.notice)
    tell(proved.report.sentence)
    return REFUSED if proved.report.refused else 0


@main.command()
@workshop_option()
@click.option(
    "--to", required=True, type=click.Path(path_type=Path), metavar="DIR|FILE.zip", help="Folder or zip to write."
)
@click.option("--replace", is_flag=True, help="Keep what is there already under another name, and write the pack.")
@click.option("--card", metavar="WIDTHxHEIGHT", help="Size of the legend card in mm; 90x60 unless told otherwise.")
@click.option(
    "--start", metavar='"X,Y,Z"', help="Where the first run starts, machine coordinates in mm; the middle otherwise."
)
def take(workshop: Path | None, to: Path, replace: bool, card: str | None, start: str | None) -> int:
    """Write the pack: every macro that is on a slot and proved, the slot table and the manifest."""
    opened = Workshop.open(workshop or home_workshop())
    wish = printing(card, start, opened.sheets().machine.plain())
    made = takeaway.make(dataclasses.replace(takeaway.gather(opened), printing=wish))
    aside = takeaway.write(made, to, replace=replace)
    takeaway.remember(opened.file.parent, made)
    put(f"Written to {to}, read back and proved again:\n" + "".join(f"  {path}\n" for path in made.files))
    tell(f"What was there before is kept as {aside}." if aside else "")
    for name, reason in made.left_out.items():
        tell(f"Left out: {name}: {reason}")
    pendant = documents.parse("pendant", opened.text("pendant", "workshop"), "pendant sheet")
    wanted = {slot.macro for slot in slots(pendant)} | {f"slot {slot.label}" for slot in slots(pendant)}
    return REFUSED if wanted & set(made.left_out) else 0


def printing(card: str | None, start: str | None, machine: Machine) -> takeaway.Printing:
    """What the printed pages are asked for; raises InputError."""
    wish = takeaway.Printing()
    if start is not None:
        places = start_place(start, machine).items()
        wish = dataclasses.replace(wish, start={name: at.low for name, at in places if at.low == at.high})
    if card is None:
        return wish
    try:
        width, height = map(float, card.lower().split("x"))
        return dataclasses.replace(wish, card_width=width, card_height=height)
    except ValueError as error:
        told = str(error) if str(error).startswith("a card") else "write it like 90x60"
        raise InputError(f"--card {card}: {told}") from None


@main.command()
@click.argument("written", metavar="DIR|FILE.zip", type=click.Path(path_type=Path))
@click.option(
    "--workshop",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Folder of a workshop: tell what has changed there since, and what its sheets no longer prove.",
)
def verify(written: Path, workshop: Path | None) -> int:
    """Read a pack again: is every byte the one that was proved, and is it still proved?"""
    found = takeaway.verify(written, takeaway.gather(Workshop(workshop)) if workshop else None)
    if not found:
        put(f"{written}: every file is as it was proved\n")
        return 0
    put("".join(f"{difference}\n" for difference in found))
    return REFUSED


@main.command()
@click.argument("kind", type=click.Choice(list(documents.KINDS)))
def schema(kind: str) -> None:
    """Print the JSON Schema of a kind of document."""
    put(json.dumps(documents.schema(kind), indent=2) + "\n")


if __name__ == "__main__":
    main()
