"""To check a small file takes little longer than to load two of the libraries that a check may need.

Whole processes are compared, by the processor time of each. The bare ``import pydantic`` loads next to nothing of it,
so the class that every sheet is made of is asked for. Byte code is kept, as it is once a program is installed.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from resource import RUSAGE_CHILDREN, getrusage

import pytest

from tests.benchmarks.measuring import decided, keeps_to, ratio

pytestmark = pytest.mark.long

ROOT = Path(__file__).parents[2]
LIBRARIES = ("-c", "import numpy; from pydantic import BaseModel")
SMALL = "%\nG21 G90\nG53 G0 Z-2\nG53 G0 X240 Y70\nG80\n%\n"
ROUNDS = 11


def processor_seconds(*arguments, env):
    """Processor time of a process of its own, which has to end well."""
    before = getrusage(RUSAGE_CHILDREN)
    subprocess.run([sys.executable, *arguments], env=env, cwd=ROOT, capture_output=True, check=True)
    after = getrusage(RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def test_checking_a_small_file_takes_at_most_1_6_times_loading_numpy_and_pydantic(tmp_path):
    file = tmp_path / "small.nc"
    file.write_text(SMALL)
    env = os.environ | {"PYTHONPYCACHEPREFIX": str(tmp_path / "code"), "XDG_DATA_HOME": str(tmp_path)}
    env.pop("PYTHONDONTWRITEBYTECODE", None)
    works = ("-m", "webapp.cli", "check", str(file)), LIBRARIES
    for work in works:
        processor_seconds(*work, env=env)
    bound = "check a small file"
    times = [], []
    while len(times[0]) < ROUNDS and not decided(times, ratio(bound), ROUNDS):
        for taken, work in zip(times, works, strict=True):
            taken.append(processor_seconds(*work, env=env))
    keeps_to(bound, *times)
