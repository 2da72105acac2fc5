"""Take-away: every file that would be written, what is left out and why, and the zip."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from flask import Blueprint, Response, render_template

from library import takeaway
from library.takeaway import manifest
from library.toml_text import DocumentError
from webapp import present, shelving, workshop

blueprint = Blueprint("takeaway", __name__, url_prefix="/take-away")

ZIP_NAME = "take-away.zip"


@dataclass(frozen=True, slots=True)
class Going:
    """A macro of the take-away, as its manifest names it."""

    id: str
    name: str
    file: str
    slots: tuple[str, ...]
    shape: str
    word: str
    sentence: str


@dataclass(frozen=True, slots=True)
class File:
    """A file of the take-away as the page shows it."""

    path: str
    size: str
    digest: str
    text: str

    @property
    def short(self) -> bool:
        """Whether it is shown at once: what runs on the machine is."""
        return self.path.startswith("macros/")


@blueprint.get("")
def show() -> str | tuple[str, int]:
    """What would be written; 409 with the reason where nothing can be."""
    shop = workshop.current()
    facts = {"machine": shop.sheets().machine.name}
    try:
        made = takeaway.make(takeaway.gather(shop))
    except (takeaway.TakeAwayError, DocumentError) as error:
        return render_template("takeaway.html", **facts, files=(), going=(), left_out={}, error=str(error)), 409
    return render_template(
        "takeaway.html",
        **facts,
        files=tuple(files(made.files)),
        going=tuple(going(made.files)),
        left_out=made.left_out,
        shelf=shelving.macros(shop),
        error="",
    )


@blueprint.get(f"/{ZIP_NAME}")
def download() -> Response | tuple[str, int]:
    """The zip, read back and proved again before it is sent; 409 with the reason where that fails."""
    shop = workshop.current()
    try:
        content = takeaway.zipped(takeaway.make(takeaway.gather(shop)))
    except (takeaway.TakeAwayError, DocumentError) as error:
        name = shop.sheets().machine.name
        return render_template("takeaway.html", machine=name, files=(), going=(), left_out={}, error=str(error)), 409
    return Response(
        content, mimetype="application/zip", headers={"Content-Disposition": f"attachment; filename={ZIP_NAME}"}
    )


def files(made: Mapping[str, bytes]) -> Iterator[File]:
    """Every file, what runs on the machine first and the documents last, the sum of each as the manifest has it."""
    last = ("macros/", "slots", "manifest", "documents/")
    for path, content in sorted(made.items(), key=lambda item: [not item[0].startswith(each) for each in last]):
        yield File(path, f"{len(content)} bytes", manifest.digest(content), content.decode())


def going(made: Mapping[str, bytes]) -> Iterator[Going]:
    """The macros that go, read off the manifest that goes with them."""
    for each in json.loads(made[manifest.NAME])["macros"]:
        yield Going(
            id=each["id"],
            name=each["name"],
            file=each["file"],
            slots=tuple(each["slots"]),
            shape=present.VERDICT_SHAPES[each["verdict"]],
            word=present.VERDICT_WORDS[each["verdict"]],
            sentence=each["sentence"],
        )
