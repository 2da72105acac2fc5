"""Bundles and shelves for the tests of this folder, and for whoever takes one in."""

from __future__ import annotations

import hashlib
import json

from library import archive, documents
from library.share import bundle, manifest
from tests.library.benches import MILL, PENDANT, ROUTER

ANSWERS = 'format = "clickstop-controller/1"\nacknowledge = "TAKEN"\n'


def document(id, *steps, **header):
    """The text of a macro, with a comment in it."""
    keys = {"id": id, "name": id.replace("-", " ").capitalize(), **header}
    head = "".join(f"{key} = {json.dumps(value)}\n" for key, value in keys.items())
    body = "".join(
        "[[step]]\n" + "".join(f"{key} = {json.dumps(value)}\n" for key, value in step.items()) for step in steps
    )
    return f'format = "clickstop-macro/1"\n{head}\n# as we do it here\n{body}'


LIFT = document("lift", {"block": "raise"}, purpose="Up.", author="A. Turner", tags=["up"])
PRESENT = document("present", {"block": "run-macro", "macro": "lift"}, {"block": "present-table"}, licence="CC-BY-4.0")
LOW = document("low", {"block": "go-to", "z": "-60 mm"}, {"block": "go-to", "x": "240 mm", "y": "70 mm"})
NUDGE = document("nudge", {"block": "nudge"}, start="z <= -10 mm")
OWN = document("own", {"block": "raise"}, {"block": "own-lines", "lines": "G4 P1"})
SHELF = {"lift": LIFT, "present": PRESENT, "low": LOW, "nudge": NUDGE, "own": OWN}


def mill(shelf=None):
    return on(MILL, shelf)


def router(shelf=None):
    return on(ROUTER, shelf)


def on(machine, shelf=None, controller=ANSWERS):
    macros = {id: documents.parse("macro", text) for id, text in (shelf or {}).items()}
    return documents.bench(machine, controller, PENDANT, macros)


def made(*ids, shelf=SHELF, on=None, draw=None):
    """The bytes of a bundle of some macros."""
    bench = on or mill()
    return bundle.write(bundle.gather(shelf, bench, ids or tuple(shelf)), bench, draw)


def files_of(content):
    with archive.opened(content, bundle.BUNDLE_BYTES, bundle.BUNDLE_ENTRIES) as found:
        return {name: found.read(name) for name in found.names}


def resealed(files, change=lambda said: None):
    """The files as a bundle whose manifest is right about them, after a change of what it says."""
    said = json.loads(files[manifest.NAME])
    change(said)
    kept = {path: content for path, content in files.items() if path != manifest.NAME}
    said["files"] = {path: hashlib.sha256(content).hexdigest() for path, content in sorted(kept.items())}
    return archive.packed({**kept, manifest.NAME: json.dumps(said).encode()})
