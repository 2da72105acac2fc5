"""Machines: those that the workshop has, which of them is in force, and adding, naming and taking them out."""

from __future__ import annotations

from collections.abc import Callable

from flask import Blueprint, Response, abort, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as BaseResponse

from library import documents, machines, starter
from library.errors import LibraryError
from library.merging import ClashError
from webapp import workshop
from webapp.pages import handbook
from webapp.pages import machines as machines_page
from webapp.pages import sheet as sheet_page
from webapp.views import seen

blueprint = Blueprint("machines", __name__, url_prefix="/sheets/machines")

NOTICES = {
    "added": "The machine is in the list. It is not in force yet.",
    "in-force": "It is in force: every page, file and command is about it from now on.",
    "renamed": "Renamed.",
    "out": "Taken out. It can be brought back below.",
    "back": "It is back in the list.",
}
MEANWHILE = "It was changed on another page meanwhile. Here it is as it stands now; press again if you still want it."
Answer = BaseResponse | tuple[str, int]


@blueprint.get("")
def show() -> str:
    """Every machine of the workshop."""
    return page()


@blueprint.post("/add")
def add() -> Answer:
    """A further machine: a copy of the one in force, the invented one, or from files; 422 where it cannot be added."""
    shop = workshop.current()
    try:
        machine, controller, why = SOURCES.get(request.form.get("source", ""), _copied)()
        name = request.form.get("name", "").strip()
        if not name:
            name = machines.free_name(shop, documents.parse("machine", machine, "machine sheet").name)
        machines.add(shop, documents.write("machine", {("name",): name}, machine), controller, why)
    except LibraryError as error:
        return page(f"Not added. {handbook.sentence(str(error))}"), 422
    return redirect(url_for("machines.show", done="added"))


def _copied() -> tuple[str, str, str]:
    machine, controller, _ = workshop.current().sheets()
    return machine, controller, "copied from the one in force"


def _invented() -> tuple[str, str, str]:
    return starter.text("machine.toml"), starter.text("controller.toml"), "the invented machine to begin with"


def _from_files() -> tuple[str, str, str]:
    machine, controller = _sent("machine"), _sent("controller")
    if not machine:
        raise documents.DocumentError("no file was chosen; choose the document of a machine sheet")
    return machine, controller or workshop.current().sheets()[1], "added from a file"


def _sent(field: str) -> str:
    sent = request.files.get(field)
    try:
        return sent.read().decode("utf-8-sig") if sent and sent.filename else ""
    except UnicodeDecodeError:
        raise documents.DocumentError(f"the file of the {field} is not text; a document in TOML is wanted") from None


SOURCES: dict[str, Callable[[], tuple[str, str, str]]] = {
    "copy": _copied,
    "files": _from_files,
    "invented": _invented,
}


@blueprint.post("/<name>/in-force")
def put_in_force(name: str) -> Answer:
    """Let this machine count from now on; 409 where it was changed meanwhile or is not there."""
    return _done(lambda: machines.put_in_force(workshop.current(), name, shown()), "in-force", "Not put in force.")


@blueprint.post("/<name>/rename")
def rename(name: str) -> Answer:
    """Another name for the machine; 409 as above, or where the name cannot be used."""
    wanted = request.form.get("name", "").strip()
    return _done(lambda: machines.rename(workshop.current(), name, wanted, shown()), "renamed", "Not renamed.")


@blueprint.post("/<name>/take-out")
def take_out(name: str) -> Answer:
    """Take a machine out that is not in force; its revisions are kept. 409 as above."""
    return _done(lambda: machines.take_out(workshop.current(), name, shown()), "out", "Not taken out.")


@blueprint.post("/<name>/bring-back")
def bring_back(name: str) -> Answer:
    """Put a machine back that was taken out; 409 where that cannot be."""
    return _done(lambda: machines.bring_back(workshop.current(), name), "back", "Not brought back.", over=False)


@blueprint.get("/<name>/<any(machine, controller):kind>.toml")
def download(name: str, kind: str) -> Response:
    """A sheet of a machine as a file; 404 for a machine that is not there."""
    here = _found(name)
    return Response(
        here.machine if kind == "machine" else here.controller,
        mimetype="application/toml",
        headers={"Content-Disposition": f"attachment; filename={here.id}-{kind}.toml"},
    )


def _found(name: str) -> machines.MachineSet:
    try:
        return machines.find(workshop.current(), name)
    except machines.MachineError as error:
        abort(404, handbook.sentence(str(error)))


def shown() -> str:
    """What the page showed of the machine that a form is about; "" where the form does not say it."""
    return request.form.get("seen", "")


def _done(do: Callable[[], object], notice: str, not_done: str, *, over: bool = True) -> Answer:
    """Do it and say so; ``over`` is whether it puts something over what is there, so that it has to have been seen."""
    if over and not shown():
        return page(seen.UNSEEN), 409
    try:
        do()
    except ClashError:
        return page(f"{not_done} {MEANWHILE}"), 409
    except LibraryError as error:
        return page(f"{not_done} {handbook.sentence(str(error))}"), 409
    return redirect(url_for("machines.show", done=notice))


def page(error: str = "") -> str:
    """The list, with what could not be done if there is anything."""
    shop = workshop.current()
    return render_template(
        "machines.html",
        titles=sheet_page.TITLES,
        machines=machines_page.listed(shop),
        taken_out=machines.taken_out(shop),
        notice=NOTICES.get(request.args.get("done", "")),
        error=error,
    )
