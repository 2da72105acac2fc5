"""Scripts and styles as they are sent: those of a page in one, without the comments, which are for the source.

The scripts of a page are small modules. Each becomes a function of its own that gives what it exports, in the order of
their imports, so that no name of one is seen by another. Our modules import from beside them, by name, in a line each;
a test holds them to it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from functools import lru_cache
from pathlib import Path

PAGES = {
    "bench.js": ("working", "bench", "pausing", "steps", "saving", "late", "keeping", "playback"),
    "bench.css": ("clickstop", "drawings", "working", "bench", "timing"),
}
"""What a page gets in one: the scripts it begins with, those they import come along; or its styles."""

COMMENT_OF_A_STYLE = re.compile(r"/\*.*?\*/", re.DOTALL)
ROOM_IN_A_STYLE = re.compile(r"(?<=[{:;,]) | (?=[{}])|;(?=\s*\})|(?<= [>~]) | (?=[>~] )|(?<![\d.\w])0(?=\.\d)")
ROOM_IN_A_SCRIPT = re.compile(
    r" (=>|[!=]==|&&|\|\||[?:=*<>]|[-+*<>]=) "
    r"|(?<=[\w)\]]) ([-+/%]) (?=[\w(\[$])"
    r"|(?<=[,;{]) | (?=\})|(?<=\)) (?=\{)|(?<=\bif) |(?<=\bfor) |(?<=^\}) | (?=\{$)"
)
"""Around what stands between two words of a script."""
END_OF_A_STATEMENT = re.compile(r";\n(?![(\[`+\-/])")
"""A line that ends so ends without it too, unless the next could go on with it."""
LITERAL = re.compile(r"""("(?:[^"\\]|\\.)*"|'(?:[^'\\]|\\.)*'|`(?:[^`\\]|\\.)*`)""")
REMARK = re.compile(r"\s+// [^\"'`/]*$")
"""What is said behind a line of a script. Within a text it would be followed by the mark that ends the text."""
IMPORT = re.compile(r'^import (?:\{ ([\w, ]+) \} from )?"\./(\w+)\.js";?\n', re.MULTILINE)
EXPORT = re.compile(r"^export ((?:async )?(?:function|class|const) (\w+))", re.MULTILINE)


def style(text: str) -> str:
    """A style sheet without comments, which has none within a text, and without the room that says nothing."""
    bare = (line.strip() for line in COMMENT_OF_A_STYLE.sub("", text).splitlines())
    return "".join(f"{ROOM_IN_A_STYLE.sub('', line)}\n" for line in bare if line).replace("}\n", "}")


def script(text: str) -> str:
    """A script without its comments; it keeps no text over several lines."""
    lines = (REMARK.sub("", line.strip()) for line in text.splitlines())
    bare = (_without_room(line) for line in lines if line and not line.startswith("//"))
    return END_OF_A_STATEMENT.sub("\n", "".join(f"{line}\n" for line in bare))


def _without_room(line: str) -> str:
    """A line without the room between its words; its texts as they are, all of it where texts stand within texts."""
    if line.startswith("import ") or line.count("`") > 2:
        return line
    parts = LITERAL.split(line)
    parts[::2] = [ROOM_IN_A_SCRIPT.sub(lambda found: found[1] or found[2] or "", part) for part in parts[::2]]
    return "".join(parts)


def scripts(names: Iterable[str], read: Callable[[str], str]) -> str:
    """Modules and all that they import as one script; ``read`` gives the text of one by its name."""
    done: dict[str, str] = {}

    def take(name: str) -> None:
        if name in done:
            return
        text = script(read(name))
        for found in IMPORT.finditer(text):
            take(found[2])
        inside = IMPORT.sub(lambda found: f"const {{ {found[1]} }} = ${found[2]};\n" if found[1] else "", text)
        gives = ", ".join(found[2] for found in EXPORT.finditer(inside))
        inside = EXPORT.sub(r"\1", inside)
        done[name] = f"const ${name} = (() => {{\n{inside}return {{ {gives} }};\n}})();\n"

    for name in names:
        take(name)
    return "".join(done.values())


def styles(names: Iterable[str], read: Callable[[str], str]) -> str:
    """Style sheets one after the other."""
    return "".join(style(read(name)) for name in names)


@lru_cache(maxsize=8)
def whole(page: str, folder: Path, changed: int) -> str:
    """All scripts or all styles of a page of ``PAGES``; ``changed`` is when the newest of the folder was (ns)."""
    kind = page.rpartition(".")[2]
    make = scripts if kind == "js" else styles
    return make(PAGES[page], lambda name: (folder / f"{name}.{kind}").read_text(encoding="utf-8"))


def newest(folder: Path) -> int:
    """When a file of a folder was changed last, ns."""
    return max(each.stat().st_mtime_ns for each in folder.iterdir())
