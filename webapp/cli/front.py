"""The server in front of the pages: whole requests within a deadline, so that a slow client holds up nobody else.

A connection on which no whole request arrives in time is closed, and so is one that does not take its answers in time.
Where there are as many as may be, those that have been waiting longest make room for the next, which is never one of
them.
"""

from __future__ import annotations

import os
import socket
import time
from collections.abc import Callable
from typing import Any

from waitress.adjustments import Adjustments
from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser, ParsingError
from waitress.server import TcpWSGIServer
from waitress.task import ErrorTask

from library.limits import REQUEST_BYTES
from webapp.guard import HEADERS

REQUEST_SECONDS = 20.0  # our choice, as are the next
"""From the first byte of a request, or from connecting, to its last."""

READING_SECONDS = 30.0
"""From the first byte of answers that are not taken yet to the last."""

AHEAD = 4
"""Requests of one connection that wait for their answers; further ones are not taken, and it is closed after these."""

IDLE_SECONDS = 60
CONNECTIONS = 200
ROOM = 20
"""Connections that are closed at once where there are as many as may be."""

THREADS = 8
HEADER_BYTES = 65_536
BESIDE_FORM = 65_536
"""Bytes of a request beside its form, so that one that is a little too large is told so by a page."""

TOLD = {  # RFC 9110, 15.5, and RFC 6585, 5 (memory)
    400: "This request could not be read. Go back, reload the page and try again.",
    413: f"That is larger than {REQUEST_BYTES.most >> 20} MB, more than a sheet, a macro or a bundle takes, and has "
    "not been saved. Make it shorter, or choose another file.",
    431: f"The head of this request is larger than {HEADER_BYTES >> 10} kB. Clear the cookies of this address, or "
    "open a shorter one.",
}
OTHERWISE = "The program could not answer this request. What was saved is kept; go back, reload the page and try again."

Application = Callable[..., Any]


class Parser(HTTPRequestParser):  # type: ignore[misc]
    """Reads a request, and answers 400 to an address in which there is half a bracket, as to any other that is none."""

    def parse_header(self, header_plus: bytes) -> None:
        """Take in the lines before the body. Raises ParsingError, which is answered."""
        try:
            super().parse_header(header_plus)
        except ValueError:
            raise ParsingError("Bad URI") from None


class Unread(ErrorTask):  # type: ignore[misc]
    """A request that never reaches the pages is answered in their words, for a page in the place of its notices."""

    def execute(self) -> None:
        """Write the answer, then close the connection, as what else comes on it cannot be told apart."""
        error = self.request.error
        message = (
            f'<p class="finding refuse"><span class="severity">stopped</span> {TOLD.get(error.code, OTHERWISE)}</p>'
        )
        if self.request.headers.get("HX_REQUEST") == "true":
            self.response_headers += [
                ("HX-Retarget", "#notice"),
                ("HX-Reswap", "innerHTML"),
                ("HX-Reselect", ".finding"),
            ]
        else:
            message = (
                f'<!doctype html><html lang="en"><title>Clickstop</title>{message}<p><a href="/">Clickstop</a></p>'
            )
        self.response_headers += [("Content-Type", "text/html; charset=utf-8"), *HEADERS.items()]
        body = message.encode()
        self.status = f"{error.code} {error.reason}"
        self.set_close_on_finish()
        self.content_length = len(body)
        self.write(body)


class Channel(HTTPChannel):  # type: ignore[misc]
    """A connection that knows since when it has been waited for."""

    parser_class = Parser
    error_task_class = Unread

    def __init__(self, *given: Any, **named: Any) -> None:
        super().__init__(*given, **named)
        self.waited_since = time.monotonic()
        self.ever_asked = False
        self.reading_since: float | None = None

    def received(self, data: bytes) -> Any:
        """Take in what has come; whoever has sent a whole request is waited for anew."""
        before = self.request is not None
        taken = super().received(data)
        if not before or self.request is None:
            self.waited_since = time.monotonic()
        self.ever_asked = self.ever_asked or bool(self.requests)
        with self.requests_lock:
            if len(self.requests) > AHEAD:
                del self.requests[AHEAD:]
                self.close_when_flushed = True
        return taken

    @property
    def asks_nothing(self) -> bool:
        """Whether no whole request is being answered on it."""
        return not (self.requests or self.total_outbufs_len or self.will_close)

    def reads_too_slowly(self, now: float) -> bool:
        """Whether answers have been lying here for too long; asked again and again, it notes since when."""
        if not self.total_outbufs_len:
            self.reading_since = None
        elif self.reading_since is None:
            self.reading_since = now
        return self.reading_since is not None and self.reading_since < now - READING_SECONDS

    @property
    def half_asked(self) -> bool:
        """Whether a request has begun, or none has ever come."""
        return self.request is not None or not self.ever_asked


class Server(TcpWSGIServer):  # type: ignore[misc]
    """Answers on one socket that listens already."""

    channel_class = Channel

    def maintenance(self, now: float) -> None:
        """Close what has been idle too long, what has not asked in time, and what does not take its answers."""
        super().maintenance(now)
        now = time.monotonic()
        for channel in list(self.active_channels.values()):
            if channel.asks_nothing and channel.half_asked and channel.waited_since < now - REQUEST_SECONDS:
                channel.will_close = True
            elif channel.reads_too_slowly(now):
                channel.handle_close()

    def handle_accept(self) -> None:
        """Take in one more, and make room for the next."""
        before = list(self.active_channels.values())
        super().handle_accept()
        if len(self.active_channels) >= CONNECTIONS:
            waiting = [channel for channel in before if channel.asks_nothing or channel.total_outbufs_len]
            waiting.sort(key=lambda channel: channel.waited_since)
            for channel in waiting[:ROOM]:
                if channel.asks_nothing:
                    channel.will_close = True
                else:
                    channel.handle_close()


def server(application: Application, listening: socket.socket) -> Server:
    """A server of the application on a socket that listens."""
    settings = Adjustments(
        sockets=[listening],
        channel_timeout=IDLE_SECONDS,
        cleanup_interval=1,
        connection_limit=2 * CONNECTIONS,
        asyncore_use_poll=os.name == "posix",
        threads=THREADS,
        max_request_body_size=REQUEST_BYTES.most + BESIDE_FORM,
        max_request_header_size=HEADER_BYTES,
        ident=None,
    )
    about = (listening.family, listening.type, listening.proto, listening.getsockname())
    return Server(application, {}, True, listening, adj=settings, bind_socket=False, sockinfo=about)
