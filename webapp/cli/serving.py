"""Serving the pages."""

from __future__ import annotations

import ipaddress
import logging
import socket
import threading
import webbrowser
from collections.abc import Sequence
from pathlib import Path

import click
from click.core import ParameterSource

from library import documents, shown
from webapp import create_app, guard
from webapp.cli import front
from webapp.cli.common import InputError, put, workshop_option
from webapp.cli.inputs import home_workshop

PORT = 8470  # our choice
HOST = "127.0.0.1"
COMMANDLINE = ParameterSource.COMMANDLINE


@click.command()
@workshop_option(makes=True)
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
    "--access-code",
    metavar="CODE|-",
    envvar="CLICKSTOP_ACCESS_CODE",
    show_envvar=True,
    help="Code the pages ask for; needed where other computers can reach them. Others on this computer can read an "
    "option in the list of processes: - asks for it instead.",
)
@click.option(
    "--access-code-file", metavar="FILE", help="File with the access code on its first line, for this account only."
)
@click.option("--no-browser", is_flag=True, help="Do not open the browser.")
def serve(
    workshop: Path | None,
    port: int,
    host: str,
    access_code: str | None,
    access_code_file: str | None,
    no_browser: bool,
) -> None:
    """Serve the pages on this computer and open them in the browser."""
    logged_plainly()
    access_code = the_code(access_code, access_code_file)
    hosts = answered_hosts(host, access_code)
    app = create_app(workshop or home_workshop(), access_code=access_code, hosts=hosts)
    listening = listen(host, port)
    address = address_of(listening)
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
    server = front.server(app, listening)
    put(f"Clickstop is at {address} (Ctrl-C stops it)\n")
    if not no_browser:
        threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
    server.run()


class Plainly(logging.Formatter):
    """Lines of a log in which every control character is shown."""

    def format(self, record: logging.LogRecord) -> str:
        """The line; what was logged stays one."""
        return shown.line(super().format(record))


def logged_plainly() -> None:
    """Send what is logged to standard error, one line each, so that no request can write a line of its own."""
    handler = logging.StreamHandler()
    handler.setFormatter(Plainly("%(levelname)s: %(message)s"))
    logging.basicConfig(handlers=[handler], level=logging.WARNING)


def the_code(given: str | None, file: str | None) -> str | None:
    """The access code from an option, a prompt or a file, None for none; raises InputError."""
    if file is not None:
        if given is not None and click.get_current_context().get_parameter_source("access_code") is COMMANDLINE:
            raise InputError("--access-code and --access-code-file both give a code; take one of them out")
        text = documents.read_file(file)
        code = next(iter(text.splitlines()), "").strip()
        if not code:
            raise InputError(f"{file} has no access code on its first line; write one there")
        return code
    if given == "-":
        return str(click.prompt("Access code", hide_input=True, err=True))
    if given is not None and not given.strip():
        raise InputError("the access code is empty; write one, or leave --access-code out")
    return given


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
            f"--host {host} lets other computers reach the pages; add --access-code - or --access-code-file FILE, "
            "or leave --host out"
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
