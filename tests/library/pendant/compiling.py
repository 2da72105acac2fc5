"""Programs made from the header, for the tests of this folder."""

from __future__ import annotations

import functools
import hashlib
import os
import shutil
import subprocess
import tempfile
from pathlib import Path

import pytest

from library import pack
from tests.library.benches import PENDANT, controller
from tests.library.test_pack import LIFT, PRESENT, gathered

HERE = Path(__file__).parent
STRICT = ("-Wall", "-Wextra", "-Wpedantic", "-Werror")
C, CPP = ("gcc", "-std=c99"), ("g++", "-std=c++17", "-x", "c++")
SANITIZED = ("-g", "-fsanitize=address,undefined", "-fno-sanitize-recover=all")

ANSWERING = controller(acknowledge='"TAKEN"', acknowledge_means='"done"')
SLOTS = PENDANT + (
    'positions = [ { label = "X", drives = "x" }, { label = "Y", drives = "y" }, { label = "Z", drives = "z" }, '
    '{ label = "4" }, { label = "5" }, { label = "6" } ]\n'
    '[slots."4"]\nx1 = "lift"\nx10 = "present"\n[slots."6"]\nx100 = "lift"\n'
)


def need_compilers():
    """Skips the tests of a module where no C compiler is installed, or fails them where there has to be one."""
    missing = [name for name in (C[0], CPP[0]) if shutil.which(name) is None]
    if missing and os.environ.get("CLICKSTOP_COMPILER_REQUIRED"):
        pytest.fail(f"{' and '.join(missing)} are required here and not installed")
    if missing:
        pytest.skip("the tests of the C header need compilers: install the packages gcc and g++")


def header(**changes):
    """The header of a pack with two macros on three slots, for a controller that answers TAKEN."""
    return taken(**changes).files["clickstop_slots.h"]


def taken(**changes):
    return pack.make(documents(**changes))


def documents(**changes):
    return gathered(**{"pendant": SLOTS, "controller": ANSWERING, "lift": LIFT, "present": PRESENT, **changes})


@functools.cache
def _folder():
    return Path(tempfile.mkdtemp(prefix="clickstop-firmware-"))


@functools.cache
def compiled(header, source, *options, compiler=C):
    """The path of what ``source`` comes to with a header, made once; fails with what the compiler says."""
    key = hashlib.sha256(repr((header, source, options, compiler)).encode()).hexdigest()[:16]
    folder = _folder() / key
    folder.mkdir()
    (folder / "clickstop_slots.h").write_bytes(header)
    command = [*compiler, *STRICT, *options, "-I", str(folder), str(HERE / source), "-o", str(folder / "made")]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr
    return folder / "made"


def forget_programs():
    shutil.rmtree(_folder(), ignore_errors=True)
    _folder.cache_clear()
    compiled.cache_clear()
