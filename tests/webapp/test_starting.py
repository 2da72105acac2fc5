"""What a command loads: to check a file takes no web server, no drawings and no arrays."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
NOT_NEEDED = {"flask", "werkzeug", "jinja2", "waitress", "segno", "numpy", "webapp.application", "library.blocks"}
CHECK = """
import sys
from webapp.cli import main
try:
    main(["check", sys.argv[1]])
finally:
    print(*sys.modules, file=sys.stderr)
"""


@pytest.mark.parametrize(
    "lines", ["G21 G90\nG53 G0 Z-2\nG53 G0 X240 Y70\nG80\n", "G21 G90\nG91 G2 X10 Y0 I5 J0 F100\n"]
)
def test_checking_a_small_file_loads_nothing_that_it_does_not_need(lines, tmp_path):
    file = tmp_path / "small.nc"
    file.write_text(f"%\n{lines}%\n")
    env = {"XDG_DATA_HOME": str(tmp_path)}
    ran = subprocess.run([sys.executable, "-c", CHECK, file], cwd=ROOT, env=env, capture_output=True, text=True)
    assert "small.nc: " in ran.stdout
    loaded = set(ran.stderr.split())
    assert "pydantic" in loaded
    assert not loaded & NOT_NEEDED
