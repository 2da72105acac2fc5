"""What a page gets of scripts and styles: all of it in one, and light enough."""

from __future__ import annotations

import gzip
import html
import re
from pathlib import Path

import webapp
from tests.browser.workplace import furnish
from webapp import lean

STATIC = Path(webapp.__file__).parent / "static"
MOST = 60_000
"""Bytes of the bench with a macro of twenty steps among six boxes, with every script and style, each compressed."""
MOST_LINES = 200
REMARK = re.compile(r"\s+// [^\"'`/]*$")
"""What is said behind a line of a script."""


def read(name):
    return (STATIC / f"{name}.js").read_text(encoding="utf-8")


def together(**modules):
    return lean.scripts(["main"], lambda name: modules[name])


def test_the_bench_weighs_little(app, client):
    furnish(Path(app.extensions["workshop"].path))
    parts = {"the page": client.get("/bench/twenty").data}
    for address in re.findall(r'(?:src|href)="(/static/[^"]+)"', html.unescape(parts["the page"].decode())):
        parts[address] = client.get(address).data
    assert len(parts) >= 4
    weights = {name: len(gzip.compress(data, 9)) for name, data in parts.items()}
    assert sum(weights.values()) <= MOST, weights


def test_no_script_is_long():
    long = {each.name: n for each in STATIC.glob("*.js") if (n := len(each.read_text().splitlines())) > MOST_LINES}
    assert long == {}


def test_every_module_of_a_page_is_written_so_that_it_can_be_put_together():
    done, waiting = set(), list(lean.PAGES["bench.js"])
    while waiting:
        name = waiting.pop()
        if name in done:
            continue
        done.add(name)
        text = read(name)
        imports = list(lean.IMPORT.finditer(text))
        assert len(re.findall(r"^import\b|\bimport\((?!\"/static/)", text, re.MULTILINE)) == len(imports), name
        assert len(re.findall(r"^export\b", text, re.MULTILINE)) == len(lean.EXPORT.findall(text)), name
        assert all(line.count("`") % 2 == 0 for line in text.splitlines()), f"{name} keeps a text over several lines"
        for found in imports:
            given = {each[1] for each in lean.EXPORT.findall(read(found[2]))}
            assert set(filter(None, (found[1] or "").split(", "))) <= given, f"{name} from {found[2]}"
            waiting.append(found[2])
    assert {"bench", "player"} <= done


def test_what_a_module_imports_stands_before_it_and_once():
    made = together(
        main='import { two } from "./other.js";\nimport "./third.js";\nconst held = two;\n',
        other='import "./third.js";\nexport const two = 2;\n',
        third="// A remark\nconst held = 1;\n",
    )
    assert made == (
        "const $third=(()=>{const held=1;return{};})();"
        "const $other=(()=>{const two=2;return{two};})();"
        "const $main=(()=>{const{two}=$other;const held=two;return{};})();"
    )


def test_styles_lose_what_says_nothing():
    sheets = {"one": "/* Two\nlines */\n.a { color: red; }\n", "two": ".a :is(.b, .c) { margin: 0 1px; }"}
    assert lean.styles(sheets, sheets.get) == ".a{color:red}.a :is(.b,.c){margin:0 1px}"


def test_no_script_keeps_a_text_within_a_text():
    """The library that takes out what is for the source takes the end of the one for the end of the other."""
    nested = re.compile(r"`[^`]*\$\{[^`}]*`")
    assert nested.search("told = `${unit ? ` ${unit}` : 0}`")
    assert not nested.search("told = so ? `${unit} more` : `${unit} less`")
    found = [each.name for each in STATIC.glob("*.js") if nested.search(each.read_text(encoding="utf-8"))]
    assert found == []


def test_no_text_of_a_script_loses_anything():
    text = re.compile(r'"(?:[^"\\]|\\.)*"|`(?:[^`\\]|\\.)*`')
    for path in STATIC.glob("*.js"):
        written = path.read_text(encoding="utf-8")
        bare = "\n".join(REMARK.sub("", line) for line in written.splitlines() if not line.strip().startswith("//"))
        sent = lean.scripts([path.stem], read)
        missing = [each for each in text.findall(bare) if each not in sent and "./" not in each]
        assert missing == [], path.name


def test_a_page_that_gets_them_one_by_one_has_no_whole(client):
    assert client.get("/static/whole/shelf.js").status_code == 404
    assert client.get("/static/whole/bench.js").mimetype == "text/javascript"
    assert client.get("/static/bench.js").status_code == 200
