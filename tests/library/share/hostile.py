"""Bundles that somebody made to do harm, by kind, and what looking at one costs a process of its own.

python -m tests.library.share.hostile FILE...    a line of JSON for each: what is said, and the peak memory so far
"""

from __future__ import annotations

import io
import json
import stat
import struct
import sys
import warnings
import zipfile

from library import archive
from library.errors import LibraryError
from library.share import manifest
from library.share.incoming import incoming
from tests.library.share.shops import LIFT, document, files_of, made, resealed

SCRIPT = '<script>alert(1)</script><img src=x onerror="alert(2)">'
NAMES = {"id": "lift", "name": SCRIPT, "purpose": SCRIPT, "author": SCRIPT, "licence": SCRIPT, "tags": [SCRIPT]}


def zipped(entries):
    """A zip with entries in this order, whatever they are called; (name, bytes) or (ZipInfo, bytes)."""
    out = io.BytesIO()
    with warnings.catch_warnings(), zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:
        warnings.simplefilter("ignore")
        for name, content in entries:
            made.writestr(name, content)
    return out.getvalue()


def with_entry(*names, content=b"more"):
    """A good bundle with more entries."""
    return zipped([*files_of(made("lift")).items(), *((name, content) for name in names)])


def link():
    entry = zipfile.ZipInfo("macros/other.toml")
    entry.external_attr = (stat.S_IFLNK | 0o777) << 16
    return entry


def named(path):
    """A good bundle whose document has another name."""
    files = files_of(made("lift"))
    files[path] = files.pop("macros/lift.toml")

    def renamed(said):
        said["macros"][0]["file"] = path

    return resealed(files, renamed)


def with_document(text):
    """A bundle whose manifest is right about a document that says anything."""
    files = files_of(made("lift"))
    files["macros/lift.toml"] = text.encode() if isinstance(text, str) else text
    return resealed(files)


def wrong_digest():
    files = files_of(made("lift"))
    files["macros/lift.toml"] += b"# more\n"
    return archive.packed(files)


def encrypted():
    """A good bundle whose entries say that they are encrypted."""
    content = bytearray(made("lift"))
    for mark, flags in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        at = content.find(mark)
        while at >= 0:
            content[at + flags] |= 1
            at = content.find(mark, at + 4)
    return bytes(content)


def lying_bomb():
    """An entry that says it is small and unpacks to 300 MB."""
    files = files_of(made("lift")) | {"macros/lift.toml": b"x" * 300_000_000}
    content = bytearray(zipped(sorted(files.items(), key=lambda each: -len(each[1]))))
    directory = content.find(b"PK\x01\x02")
    struct.pack_into("<I", content, 22, 100)
    struct.pack_into("<I", content, directory + 24, 100)
    return bytes(content)


def said(change):
    return resealed(files_of(made("lift")), change)


def set_first(key, value):
    def change(told):
        told["macros"][0][key] = value

    return said(change)


def million_of_entries():
    """A directory of so many entries that reading it would take a gigabyte."""
    record = struct.pack("<4s6H3I5H2I", b"PK\x01\x02", 20, 20, 0, 0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0) + b"a"
    count = 300_000
    directory = record * count
    end = struct.pack("<4s4H2IH", b"PK\x05\x06", 0, 0, count & 0xFFFF, count & 0xFFFF, len(directory), 0, 0)
    return directory + end


KINDS = {
    "traversal": (lambda: named("macros/../../lift.toml"), "lead out of its folder"),
    "traversal by the other slash": (lambda: named("macros\\..\\lift.toml"), "lead out of its folder"),
    "absolute": (lambda: named("/etc/lift.toml"), "lead out of its folder"),
    "absolute with a drive": (lambda: named("C:/lift.toml"), "lead out of its folder"),
    "symlink": (lambda: zipped([*files_of(made("lift")).items(), (link(), b"/etc/passwd")]), "is a link"),
    "duplicate": (lambda: with_entry("macros/lift.toml"), "two files of one name"),
    "duplicate by case": (lambda: with_entry("macros/LIFT.toml"), "two files of one name"),
    "duplicate by Unicode form": (lambda: with_entry("a\u0301.txt", "\u00e1.txt"), "two files of one name"),
    "bomb": (lambda: with_entry("macros/more.toml", content=b"x" * 300_000_000), "more than 48,000,000 bytes"),
    "bomb that lies": (lying_bomb, "cannot be unpacked"),
    "10,000 entries": (lambda: with_entry(*(f"macros/m{n}.toml" for n in range(10_000))), "more than 2,100 files"),
    "a directory without end": (million_of_entries, "more than 2,100 files"),
    "wrong digest": (wrong_digest, "another checksum"),
    "truncated at the end": (lambda: made("lift")[:-40], "cut short"),
    "truncated within": (lambda: made("lift")[:200] + made("lift")[400:], "cannot be"),
    "nested": (lambda: with_entry("more.zip", content=made("lift")), "another archive"),
    "nested as a document": (lambda: with_document(made("lift")), "is not text"),
    "encrypted": (encrypted, "is encrypted"),
    "deep TOML": (lambda: with_document('format = "clickstop-macro/1"\na = ' + "[" * 60_000), "16 brackets"),
    "huge TOML": (lambda: with_document(LIFT + "# more\n" * 4_000_000), "larger than 256,000 bytes"),
    "long TOML": (lambda: with_document(LIFT + "\n" * 20_000), "10,000 lines"),
    "a name of 10,000 characters": (lambda: named("macros/" + "m" * 10_000 + ".toml"), "10,012 characters"),
    "an id of 10,000 characters": (lambda: set_first("id", "m" * 10_000), "manifest.json says what no bundle"),
    "a macro's name of 10,000 characters": (lambda: with_document(document("lift", name="n" * 10_000)), "200 char"),
    "device name": (lambda: named("macros/con.toml"), "name of a device"),
    "device name with an ending": (lambda: named("aux.d/lift.toml"), "name of a device"),
    "a name that is not seen": (lambda: named("macros/\u202elift.toml"), "not seen"),
    "deep manifest": (lambda: archive.packed({manifest.NAME: b"[" * 200_000}), "cannot be read"),
    "manifest of numbers without end": (lambda: archive.packed({manifest.NAME: b"1" * 6_000}), "cannot be read"),
    "manifest that is no table": (lambda: archive.packed({manifest.NAME: b"[]"}), "manifest.json cannot be read"),
    "figures without end": (lambda: archive.packed({manifest.NAME: b'{"format": NaN}'}), "json cannot be read"),
    "another id": (lambda: with_document(document("other")), "its document gives it the id other"),
    "no zip": (lambda: b"PK", "cut short"),
}
"""Each kind: how one is made, and what is said of it, whether it is refused or shown with a sentence."""

INERT = {
    "script in every text": lambda: with_document(document(**NAMES)),
    "ids that are device names": lambda: made(shelf={id: document(id) for id in ("con", "nul", "com1")}),
}
"""Kinds that are shown as the words they are."""


def told(name, content):
    """What is said of a file: why it is refused, or of which of its macros what is wrong."""
    try:
        return " ".join(each.wrong for each in incoming([(name, content)]).macros)
    except LibraryError as error:
        return str(error)


def peak_mb():
    """The most memory that this process has had in use, in MB (proc(5), VmHWM)."""
    with open("/proc/self/status") as status:
        return next(int(line.split()[1]) for line in status if line.startswith("VmHWM:")) / 1024


if __name__ == "__main__":
    for path in sys.argv[1:]:
        with open(path, "rb") as file:
            words = told(path, file.read())
        print(json.dumps({"file": path, "told": words, "peak_mb": peak_mb()}), flush=True)
