"""Work that a page waits for: how far it has come, and a way to stop it.

The script of the page names its request with a header of its own, asks now and then for the share done, and may ask to
stop. A request without the header is worked on as ever.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from flask import Flask, current_app, g, has_request_context, request
from werkzeug.exceptions import Conflict

NAME_HEADER = "X-Work"
LONGEST_NAME = 40
STOPPED_HEADER = "X-Stopped"
STOPPED = "Stopped. What was saved before is kept; press again to let it run to the end."


class StoppedError(Conflict):
    """The page has asked to stop. That is what it wanted and no error, which a browser would write on its console."""


@dataclass(slots=True)
class Work:
    """One request being worked on: the share done, 0 to 1, and whether it is to stop.

    ``begin`` and ``span`` are of the part in hand, where the work is done in several.
    """

    share: float = 0.0
    stopping: bool = False
    begin: float = 0.0
    span: float = 1.0


def attach(app: Flask) -> None:
    """Keep an account of the requests that ``app`` is working on."""
    app.extensions["working"] = {}
    app.before_request(_begin)
    app.teardown_request(_end)


def under_way() -> dict[str, Work]:
    """What is being worked on, by the name its page gave it."""
    works: dict[str, Work] = current_app.extensions["working"]
    return works


def told(share: float) -> None:
    """Progress of the request in hand. Raises StoppedError where the page has asked to stop."""
    work = _in_hand()
    if work is None:
        return
    work.share = work.begin + share * work.span
    if work.stopping:
        raise StoppedError(STOPPED)


@contextmanager
def part(number: int, count: int) -> Iterator[None]:
    """What is told within is of part ``number`` (from 0) of so many equal ones."""
    work = _in_hand()
    if work is not None:
        work.begin, work.span = number / count, 1 / count
    yield
    if work is not None:
        work.begin, work.span = 0.0, 1.0


def _in_hand() -> Work | None:
    return g.get("work") if has_request_context() else None


def _begin() -> None:
    name = request.headers.get(NAME_HEADER, "")
    if 0 < len(name) <= LONGEST_NAME:
        g.work = under_way()[name] = Work()
        g.work_name = name


def _end(error: BaseException | None) -> None:
    under_way().pop(g.get("work_name", ""), None)
