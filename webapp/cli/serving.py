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
import waitress

from webapp import create_app, guard
from webapp.cli.common import InputError, put, workshop_option
from webapp.cli.inputs import home_workshop

PORT = 8470  # our choice
HOST = "127.0.0.1"


@click.command()
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
