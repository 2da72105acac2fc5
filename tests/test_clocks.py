"""Speed is asserted in tests/benchmarks alone: anywhere else a busy machine would fail what is right."""

from __future__ import annotations

import ast
from pathlib import Path

HERE = Path(__file__).parent
CLOCKS = {"monotonic", "perf_counter", "process_time", "thread_time", "getrusage", "times"}
CLOCKS |= {f"{clock}_ns" for clock in CLOCKS}


def reads_a_clock(node):
    called = node.func if isinstance(node, ast.Call) else None
    name = getattr(called, "attr", getattr(called, "id", ""))
    return name in CLOCKS or (called is not None and ast.unparse(called) in ("time.time", "time.time_ns"))


def test_no_function_outside_the_benchmarks_reads_a_clock_and_asserts_something():
    found = [
        f"{path.relative_to(HERE)}: {each.name}"
        for path in HERE.rglob("*.py")
        if HERE / "benchmarks" not in path.parents
        for each in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(each, ast.FunctionDef)
        and any(map(reads_a_clock, ast.walk(each)))
        and any(isinstance(part, ast.Assert) for part in ast.walk(each))
    ]
    assert found == []
