"""From where something was changed: an address and, where somebody gave one, a name. Nobody logs in, so it is no proof.

The page that asks for the access code also asks what to call this device. Both are kept with each revision as they were
said, so that two people at one workshop can see who of them changed what last.
"""

from __future__ import annotations

from ipaddress import ip_address
from urllib.parse import quote, unquote

from flask import Flask, request
from werkzeug.wrappers import Response

from library.acting import by
from library.shown import line

COOKIE = "clickstop-device"
LONGEST_NAME = 40
HERE = "this computer"
COMMAND = "the command"


def attach(app: Flask) -> None:
    """Keep with whatever a request to ``app`` saves from where it came."""
    app.before_request(_begin)
    app.teardown_request(_end)


def _begin() -> None:
    by.set(asking())


def _end(error: BaseException | None) -> None:
    by.set("")


def asking() -> str:
    """Who asks now: "this computer", "192.0.2.7", "Tablet at 192.0.2.7"."""
    address = _address(request.remote_addr or "")
    name = named(unquote(request.cookies.get(COOKIE, "")))
    return f"{name} at {address}" if name else address


def _address(client: str) -> str:
    try:
        whole = ip_address(client.partition("%")[0])
    except ValueError:
        return "an unknown address"
    return HERE if whole.is_loopback else str(whole)


def named(typed: str) -> str:
    """What a device calls itself, fit to be shown; "" for nothing."""
    return line(" ".join(typed.split()))[:LONGEST_NAME].strip()


def remember(response: Response, typed: str) -> None:
    """Let the browser say this name from now on."""
    name = named(typed)
    if name:
        response.set_cookie(COOKIE, quote(name), httponly=True, samesite="Strict", max_age=365 * 24 * 3600)
