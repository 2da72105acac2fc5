"""Scripts and styles as they are sent: those of a page in one, without the comments, which are for the source.

The scripts of a page are small modules. Each becomes a function of its own that gives what it exports, in the order of
their imports, so that no name of one is seen by another. Our modules import from beside them, by name, in a line each,
and what they load later by its whole address; a test holds them to it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from functools import lru_cache
from pathlib import Path

from rcssmin import cssmin
from rjsmin import jsmin

PAGES = {
    "bench.js": ("working", "bench", "pausing", "steps", "saving", "late", "keeping", "playback", "by_hand"),
    "bench.css": ("clickstop", "drawings", "working", "bench", "timing"),
}
"""What a page gets in one: the scripts it begins with, those they import come along; or its styles."""

IMPORT = re.compile(r'^import (?:\{ ([\w, ]+) \} from )?"\./(\w+)\.js";\n', re.MULTILINE)
EXPORT = re.compile(r"^export ((?:async )?(?:function|class|const) (\w+))", re.MULTILINE)


def scripts(names: Iterable[str], read: Callable[[str], str]) -> str:
    """Modules and all that they import as one script, as it is sent; ``read`` gives the text of one by its name."""
    done: dict[str, str] = {}

    def take(name: str) -> None:
        if name in done:
            return
        text = read(name)
        for found in IMPORT.finditer(text):
            take(found[2])
        inside = IMPORT.sub(lambda found: f"const {{ {found[1]} }} = ${found[2]};\n" if found[1] else "", text)
        gives = ", ".join(found[2] for found in EXPORT.finditer(inside))
        inside = EXPORT.sub(r"\1", inside)
        done[name] = f"const ${name} = (() => {{\n{inside}return {{ {gives} }};\n}})();\n"

    for name in names:
        take(name)
    return str(jsmin("".join(done.values())))


def styles(names: Iterable[str], read: Callable[[str], str]) -> str:
    """Style sheets one after the other, as they are sent."""
    return str(cssmin("".join(map(read, names))))


@lru_cache(maxsize=8)
def whole(page: str, folder: Path, changed: int) -> str:
    """All scripts or all styles of a page of ``PAGES``; ``changed`` is when the newest of the folder was (ns)."""
    kind = page.rpartition(".")[2]
    make = scripts if kind == "js" else styles
    return make(PAGES[page], lambda name: (folder / f"{name}.{kind}").read_text(encoding="utf-8"))


def newest(folder: Path) -> int:
    """When a file of a folder was changed last, ns."""
    return max(each.stat().st_mtime_ns for each in folder.iterdir())
