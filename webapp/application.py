"""The factory of the application, and what it answers where something is amiss."""

from __future__ import annotations

from collections.abc import Sequence
from importlib import import_module
from importlib.resources import files
from pathlib import Path
from pkgutil import iter_modules
from types import TracebackType
from typing import Any

from flask import Flask, Response, current_app, render_template, request
from jinja2_fragments.flask import render_block
from markupsafe import Markup
from werkzeug.exceptions import Conflict, HTTPException, NotFound
from werkzeug.wrappers import Response as BaseResponse

from library import backup, shown
from library.documents import DocumentError
from library.errors import LibraryError
from library.limits import DOCUMENT_BYTES, DOCUMENT_LINES, REQUEST_BYTES
from library.store import DamagedError, StoreError
from parser.errors import ParserError
from parser.parts import named_invented
from webapp import guard, lean, progress, views, who, workshop
from webapp.pages import last_change
from webapp.pages import still_held as held

LARGEST_REQUEST = REQUEST_BYTES.most
PLAIN_WORDS = {
    400: "This request could not be read. Go back, reload the page and try again.",
    404: "There is no such page here. It may have been renamed or removed; the names above lead to what there is.",
    405: "This address only answers to a form on one of the pages. Go back to the page and use its button.",
    413: f"That is larger than {LARGEST_REQUEST >> 20} MB, more than a sheet or macro takes. Choose another file.",
    500: "Something went wrong in the program itself. What you had saved is kept; go back and try another way.",
}


HEADINGS = {
    400: "Not understood",
    401: "The access code is needed",
    403: "Refused",
    404: "Nothing of that name",
    405: "Only for a form of a page",
    409: "Not done",
    413: "Too large",
    422: "Not usable",
    500: "A fault of the program",
}
"""What a page says in large letters; the names that the standard gives to the codes are no words of the trade."""

DOCUMENT_MOST = Markup('data-most-lines="{}" data-most-bytes="{}"').format(DOCUMENT_LINES.most, DOCUMENT_BYTES.most)
"""What a field says that holds a document or a part of one, so that its script takes in no text that is larger."""

DISK = "The folder of the workshop cannot be used ({}). See to its rights and to the disk, then reload the page."


class Clickstop(Flask):
    """The application, which writes a failure of its own to the terminal as one line."""

    def log_exception(
        self, exc_info: tuple[type, BaseException, TracebackType | None] | tuple[None, None, None]
    ) -> None:
        """One line with the place it happened; the traceback only where logging is set to debug."""
        _, error, traceback = exc_info
        while traceback and traceback.tb_next:
            traceback = traceback.tb_next
        place = f"{traceback.tb_frame.f_code.co_filename}:{traceback.tb_lineno}" if traceback else "?"
        told = f"{request.method} {request.path} failed: {type(error).__name__}: {error} ({place})"
        self.logger.error("%s", shown.line(told))
        self.logger.debug("", exc_info=error)


def create_app(
    workshop_dir: Path, *, access_code: str | None = None, hosts: Sequence[str] | None = guard.LOOPBACK
) -> Flask:
    """The application for the workshop kept in ``workshop_dir``; a missing or empty directory gets the starter one.

    ``hosts`` are the names it answers to; None answers to any and then needs an ``access_code``.
    Raises ``library.store.StoreError`` where the directory cannot be used, ValueError for a host without its code.
    """
    app = Clickstop("webapp")
    app.config.update(MAX_CONTENT_LENGTH=LARGEST_REQUEST, MAX_FORM_MEMORY_SIZE=LARGEST_REQUEST)
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    guard.protect(app, access_code=access_code, hosts=hosts)
    workshop.attach(app, Path(workshop_dir))
    progress.attach(app)
    who.attach(app)
    app.add_url_rule("/static/htmx.min.js", "htmx", htmx)
    app.add_url_rule("/static/whole/<name>", "whole", whole)
    app.add_template_global(sheet_names)
    app.add_template_global(takes_focus)
    app.jinja_env.globals["document_most"] = DOCUMENT_MOST
    app.add_url_rule("/readable.zip", "readable", readable)
    app.add_template_global(still_held)
    app.add_template_global(changed_last)
    app.register_error_handler(HTTPException, plain_error)
    app.register_error_handler(DamagedError, damaged)
    for unusable in (LibraryError, ParserError):
        app.register_error_handler(unusable, lambda error: plain_error(Conflict(str(error))))
    app.register_error_handler(OSError, lambda error: plain_error(Conflict(DISK.format(error.strerror or error))))
    for found in iter_modules(views.__path__):
        blueprint = getattr(import_module(f"{views.__name__}.{found.name}"), "blueprint", None)
        if blueprint is not None:
            app.register_blueprint(blueprint)
    return app


def sheet_names() -> dict[str, str]:
    """What every page says about the sheets in force; ``invented`` is "" once each part of the machine was measured."""
    try:
        bench = workshop.current().bench()
    except (StoreError, DocumentError, OSError):
        return {
            "machine": "not readable",
            "controller": "not readable",
            "units": "not known",
            "invented": "",
            "several": "",
        }
    machine = bench.machine_sheet
    return {
        "machine": machine.name,
        "controller": bench.controller.name,
        "units": machine.units,
        "several": "yes" if len(workshop.current().ids("machine")) > 1 else "",
        "invented": named_invented(bench.machine.parts),
    }


def takes_focus() -> str:
    """The attribute of what is to have the focus.

    In a fragment it is one of our own: where something has the focus already, a browser calls its own blocked.
    """
    return "data-autofocus" if guard.is_htmx() else "autofocus"


def still_held() -> str:
    """What every page says of an issue on the machine that is not as it should be any more, "" where all is well."""
    return held.still_held(workshop.current())


def changed_last() -> last_change.ChangeNote | None:
    """When, from where and why the document of this page was changed last, None for a page of none."""
    try:
        return last_change.last_change(workshop.current(), request.endpoint or "", request.view_args or {})
    except (StoreError, OSError):
        return None


def htmx() -> BaseResponse:
    """The htmx script out of the installed distribution, so that no copy of it lies in the tree."""
    script = files("js_lib_htmx").joinpath("static/htmx/htmx.min.js").read_bytes()
    response = Response(script, mimetype="text/javascript")
    response.add_etag()
    return response.make_conditional(request)


def whole(name: str) -> BaseResponse:
    """All scripts or all styles of a page in one; 404 for a page that has its own one by one."""
    if name not in lean.PAGES:
        raise NotFound
    folder = Path(current_app.static_folder or "")
    text = lean.whole(name, folder, lean.newest(folder))
    response = Response(text, mimetype="text/javascript" if name.endswith(".js") else "text/css")
    response.add_etag()
    return response.make_conditional(request)


def readable() -> Response:
    """What can be read of the workshop, which need not be damaged, document by document."""
    headers = {"Content-Disposition": "attachment; filename=readable.zip"}
    return Response(backup.salvage(workshop.current()), mimetype="application/zip", headers=headers)


def put_alone(place: str, part: str) -> dict[str, str]:
    """Headers that put a part of an answer into a place of the page, whatever was asked for and however it is shown."""
    return {"HX-Retarget": place, "HX-Reswap": "innerHTML", "HX-Reselect": part, "HX-Push-Url": "false"}


def damaged(error: DamagedError) -> tuple[str, int, dict[str, str]]:
    """A page that says so, with what can still be read to be taken away."""
    told = {"message": str(error), "documents": len(list(workshop.current().readable()))}
    if guard.is_htmx():
        return render_block("damaged.html", "main", **told), 500, put_alone("#main", "#damaged")
    return render_template("damaged.html", **told), 500, {}


def plain_error(error: HTTPException) -> tuple[str, int, dict[str, str]] | HTTPException:
    """A failed request as a page with one clear message; for htmx only the message, put where notices go."""
    code = error.code or 500
    if error.response is not None or code < 400:
        return error
    own_words = error.description if error.description != type(error).description else None
    told: dict[str, Any] = {
        "code": code,
        "heading": HEADINGS.get(code, "Not done"),
        "message": own_words or PLAIN_WORDS.get(code, error.name),
    }
    if not guard.is_htmx():
        return render_template("error.html", **told), code, {}
    headers = put_alone("#notice", ".finding")
    if isinstance(error, progress.StoppedError):
        code, headers[progress.STOPPED_HEADER] = 200, "yes"
    return render_block("error.html", "message", **told), code, headers
