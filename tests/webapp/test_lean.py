"""What a page gets of scripts and styles: all of it in one, and light enough."""

from __future__ import annotations

import gzip
import html
import re
from pathlib import Path

import pytest

import webapp
from tests.browser.workplace import furnish
from webapp import lean

STATIC = Path(webapp.__file__).parent / "static"
MOST = 60_000
"""Bytes of the bench with a macro of twenty steps among six boxes, with every script and style, each compressed."""
MOST_LINES = 200


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
        assert len(re.findall(r"^import\b|\bimport\(", text, re.MULTILINE)) == len(imports), name
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
        "const $third = (() => {\nconst held=1\nreturn {  };\n})();\n"
        "const $other = (() => {\nconst two=2\nreturn { two };\n})();\n"
        "const $main = (() => {\nconst { two } = $other;\nconst held=two\nreturn {  };\n})();\n"
    )


@pytest.mark.parametrize(
    ("written", "sent"),
    [
        ("/* Two\nlines */\n.a { color: red; }\n", ".a{color:red}"),
        (".a :is(.b, .c) { margin: 0 1px; }", ".a :is(.b,.c){margin:0 1px}"),
    ],
)
def test_a_style_loses_what_says_nothing(written, sent):
    assert lean.style(written) == sent


@pytest.mark.parametrize(
    ("written", "sent"),
    [
        ("  let edits = 0; // how often\n// A remark\n", "let edits=0\n"),
        ('const at = "here // there";\n', 'const at="here // there"\n'),
        ("fetch(`http://${host}/`);\n", "fetch(`http://${host}/`)\n"),
        (
            'say(`${found.join(", ")} = ${so ? "a, b" : `c > ${d}`}`);\n',
            'say(`${found.join(", ")} = ${so ? "a, b" : `c > ${d}`}`)\n',
        ),
        ("go();\n[one] = all;\n", "go();\n[one]=all\n"),
    ],
)
def test_a_script_loses_its_remarks_and_nothing_of_its_texts(written, sent):
    assert lean.script(written) == sent


def test_no_text_of_a_script_loses_anything():
    text = re.compile(r'"(?:[^"\\]|\\.)*"|`(?:[^`\\]|\\.)*`')
    for path in STATIC.glob("*.js"):
        lines = [lean.REMARK.sub("", line.strip()) for line in path.read_text(encoding="utf-8").splitlines()]
        written = "\n".join(line for line in lines if not line.startswith("//"))
        assert text.findall(lean.script(path.read_text(encoding="utf-8"))) == text.findall(written), path.name


def test_a_page_that_gets_them_one_by_one_has_no_whole(client):
    assert client.get("/static/whole/shelf.js").status_code == 404
    assert client.get("/static/whole/bench.js").mimetype == "text/javascript"
    assert client.get("/static/bench.js").status_code == 200
