"""One name stands for one class, whichever package it is in."""

import ast
from collections import defaultdict
from pathlib import Path

import library
import parser
import webapp


def test_no_two_classes_have_one_name():
    found = defaultdict(list)
    for package in (parser, library, webapp):
        for path in sorted(Path(package.__file__).parent.rglob("*.py")):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.ClassDef):
                    found[node.name].append(f"{path}:{node.lineno}")
    assert len(found) > 100
    assert {name: places for name, places in found.items() if len(places) > 1} == {}
