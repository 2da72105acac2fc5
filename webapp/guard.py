"""What keeps other people's pages and other people's machines out of this one.

The program listens on the computer's own address, where any page open in the same browser could try to reach it:

* A page elsewhere can point a name of its own at 127.0.0.1 and would then count as the same site. So only the names
  listed in ``hosts`` are answered.
* A page elsewhere can send a form here without asking. Browsers say where a request comes from in ``Sec-Fetch-Site``
  (W3C, Fetch Metadata Request Headers; memory) and, for anything that is not a plain GET, in ``Origin`` (RFC 6454, 7;
  memory); neither can be set by a page. A request that may change something is refused when they say "elsewhere". When
  both are missing it was not a browser that sent it, and a program on this computer needs no trick to write into the
  workshop. So no token is needed in any form.
* A page elsewhere can show this one in a frame and catch clicks. The headers forbid framing.
* What people type is shown again. Templates escape it; the content policy allows no script, style or frame but our own
  files, so that a slip in the escaping still runs nothing.

Served to a network, the pages ask for an access code, which is kept in a cookie as a keyed digest for as long as
the program runs. Cookies know no ports (RFC 6265, 8.5; memory), so its name has that of the address: two workshops
served from one computer would sign each other's visitors out. It keeps visitors out; it is no substitute for a network
that one trusts, as nothing is encrypted.
"""

from __future__ import annotations

import hmac
import ipaddress
import math
import re
import secrets
import time
from collections import OrderedDict
from collections.abc import Callable, Sequence
from threading import Lock
from urllib.parse import quote, urlencode, urlsplit

from flask import Flask, Response, abort, redirect, render_template, request
from werkzeug.wrappers import Response as BaseResponse

from parser.quantities import how_many
from webapp import who

LOOPBACK = ("127.0.0.1", "localhost", "[::1]")
SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
COOKIE = "clickstop-access"
OPEN_TO_ALL = ("/static/", "/access")
NOT_TAKEN = (
    "The access code is asked for again, as the program was restarted, so nothing was saved. Open the first page in "
    "another tab and give the code there. Then reload this page: the browser sends what you typed once more."
)
OUR_PATH = re.compile(r"/(?:[!-.0-\[\]-~][!-\[\]-~]*)?")
"""A slash, then printable ASCII without a backslash that does not begin with a second slash."""

FREE_TRIES, FIRST_WAIT, LONGEST_WAIT = 10, 15.0, 900.0
"""Wrong codes from one address before it has to wait, and the seconds it waits then, twice as many each time."""

FORGOTTEN_AFTER = 3600.0
"""Seconds after which the wrong codes of an address no longer count."""

MOST_ADDRESSES = 1000
"""Addresses whose wrong codes are counted; beyond that the one that was quiet the longest is forgotten (our choice, as
are the figures above)."""

HEADERS = {  # CSP 3; Permissions Policy; Referrer Policy; the Fetch and HTML standards (all memory)
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
        "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
}


def protect(app: Flask, *, access_code: str | None, hosts: Sequence[str] | None) -> None:
    """Put the checks in front of every view of ``app`` and the headers on every answer.

    ``hosts`` None answers to any name; raises ValueError when that is asked for without an access code.
    """
    if hosts is None and not access_code:
        raise ValueError("Answering to any host name needs an access code.")
    if hosts is not None:
        app.before_request(refuse_strange_host(hosts))
    app.before_request(refuse_other_origins)
    if access_code:
        Gate(access_code).put_before(app)
    app.after_request(add_headers)


def cookie_here() -> str:
    """The name of the cookie of whoever came in by this address: with its port, where it says one."""
    try:
        port = urlsplit(f"//{request.host}").port
    except ValueError:
        port = None
    return COOKIE if port is None else f"{COOKIE}-{port}"


def is_htmx() -> bool:
    """Whether the request asks for a fragment of a page."""
    return request.headers.get("HX-Request") == "true"


def _whole_path() -> str:
    """The path asked for as it came, with its query."""
    query = request.query_string.decode("latin-1")
    return quote(request.path) + (f"?{query}" if query else "")


def local_path(target: str) -> str:
    """``target`` if it is a path on this site, else the first page.

    Browsers drop tabs and line ends from an address and take a backslash for a slash (URL Standard, 4.4; memory), so a
    path with one of these, or with anything but printable ASCII, is none of ours.
    """
    return target if OUR_PATH.fullmatch(target) else "/"


def refuse_strange_host(hosts: Sequence[str]) -> Callable[[], Response | None]:
    """A check that answers 400 in plain text to a host name that is not ours: no page is shown under a strange name."""
    ours = frozenset(host.strip("[]").lower() for host in hosts)
    told = f"This program does not answer to that name. Open it as {' or '.join(hosts)}, at the address it printed.\n"

    def check() -> Response | None:
        try:
            known = urlsplit(f"//{request.host}").hostname in ours
        except ValueError:
            known = False
        return None if known else Response(told, 400, mimetype="text/plain")

    return check


def refuse_other_origins() -> None:
    """403 for a request that may change something and comes from another site."""
    if request.method in SAFE_METHODS:
        return
    site = request.headers.get("Sec-Fetch-Site")
    origin = request.headers.get("Origin")
    elsewhere = site not in ("same-origin", "none") if site else origin and _host_of(origin) != request.host
    if elsewhere:
        abort(403, "This form was sent from another site and has been refused. Open the page here and send it again.")


def _host_of(origin: str) -> str:
    """Host and port of an origin, "" where there is none to be read."""
    try:
        return urlsplit(origin).netloc
    except ValueError:
        return ""


def add_headers(response: Response) -> Response:
    """The headers that keep a page to itself; pages are asked for again each time, files may be kept."""
    for name, value in HEADERS.items():
        response.headers.setdefault(name, value)
    if not request.path.startswith("/static/"):
        response.headers.setdefault("Cache-Control", "no-store")
    return response


def address_of(client: str) -> str:
    """What counts as one sender: an address, of IPv6 the half that names a network (RFC 4291, 2.5.4; memory)."""
    try:
        whole = ipaddress.ip_address(client.partition("%")[0])
    except ValueError:
        return client
    if isinstance(whole, ipaddress.IPv6Address):
        return str(whole.ipv4_mapped or ipaddress.ip_network((whole, 64), strict=False))
    return str(whole)


class Wrong:
    """The wrong codes of each address, and how long it has to wait for them; no other address waits with it."""

    def __init__(self) -> None:
        self._counts: OrderedDict[str, tuple[int, float]] = OrderedDict()
        self._lock = Lock()

    def wait(self, address: str) -> float:
        """Seconds until the address may try again, 0 or less where it may now."""
        with self._lock:
            count, last = self._counts.get(address, (0, 0.0))
            if count < FREE_TRIES:
                return 0.0
            return last + min(FIRST_WAIT * 2.0 ** min(count - FREE_TRIES, 60), LONGEST_WAIT) - time.monotonic()

    def add(self, address: str) -> None:
        """Count one more."""
        now = time.monotonic()
        with self._lock:
            count, last = self._counts.pop(address, (0, now))
            self._counts[address] = (1 if now - last > FORGOTTEN_AFTER else count + 1, now)
            if len(self._counts) > MOST_ADDRESSES:
                self._counts.popitem(last=False)


class Gate:
    """Asks for the access code once in a browser and remembers it until the program stops."""

    def __init__(self, access_code: str) -> None:
        self._code = access_code.encode()
        self._pass = hmac.new(secrets.token_bytes(32), self._code, "sha256").hexdigest()
        self._wrong = Wrong()

    def put_before(self, app: Flask) -> None:
        """Ask on every page of ``app`` and add the page that asks."""
        app.before_request(self.check)
        app.add_url_rule("/access", "access", self.ask, methods=["GET", "POST"])

    def check(self) -> BaseResponse | None:
        """None to let the request pass, else the way to the page that asks."""
        if request.path.startswith(OPEN_TO_ALL) or hmac.compare_digest(
            request.cookies.get(cookie_here(), "").encode(), self._pass.encode()
        ):
            return None
        if is_htmx():
            abort(401, "The access code is asked for again, as the program was restarted. Reload the page.")
        if request.method not in SAFE_METHODS:
            abort(401, NOT_TAKEN)
        return redirect("/access?" + urlencode({"next": _whole_path()}))

    def ask(self) -> BaseResponse | tuple[str, int] | tuple[str, int, dict[str, str]]:
        """The form for the code. 401 with the form again for a wrong one, 429 while the address has to wait."""
        target = local_path(request.values.get("next", "/"))
        if request.method == "GET":
            return render_template("access.html", next=target, message=""), 200
        address = address_of(request.remote_addr or "")
        wait = self._wrong.wait(address)
        if wait > 0:
            seconds = math.ceil(wait)
            told = f"Too many wrong codes from your address. Wait {how_many(seconds, 'second')}, then try again."
            return render_template("access.html", next=target, message=told), 429, {"Retry-After": str(seconds)}
        if not hmac.compare_digest(request.form.get("code", "").encode(), self._code):
            self._wrong.add(address)
            return render_template(
                "access.html",
                next=target,
                message="That is not the access code. It was given when the program was started.",
            ), 401
        response = redirect(target)
        who.remember(response, request.form.get("name", ""))
        response.set_cookie(cookie_here(), self._pass, httponly=True, samesite="Strict")
        return response
