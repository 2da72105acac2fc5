"""Programs made from the pendant's program, for the tests of this folder."""

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
STRICT = ("-Wall", "-Wextra", "-Wpedantic", "-Werror", "-Wconversion")
C, CPP = ("gcc", "-std=c99"), ("g++", "-std=c++17", "-x", "c++")
CLANG, CLANG_CPP = ("clang", "-std=c99"), ("clang++", "-std=c++17", "-x", "c++")
CHIP = "atmega328p"  # any that avr-gcc and the simulator both know
EIGHT_BIT = ("avr-gcc", "-std=c99", "-Os", f"-mmcu={CHIP}", "-DF_CPU=16000000UL")
SANITIZED = ("-g", "-fsanitize=address,undefined", "-fno-sanitize-recover=all")

ANSWERING = controller(acknowledge='"TAKEN"', acknowledge_means='"done"', error_starts='["FAULT"]')
SLOTS = PENDANT + (
    'positions = [ { label = "X", drives = "x" }, { label = "Y", drives = "y" }, { label = "Z", drives = "z" }, '
    '{ label = "4" }, { label = "5" }, { label = "6" }, { label = "OFF", dead = true } ]\n'
    '[slots."4"]\nx1 = "lift"\nx10 = "present"\n[slots."6"]\nx100 = "lift"\n'
)


def need(*commands):
    """Skips what needs programs that are not installed, or fails it where there have to be such."""
    missing = [name for name in commands if shutil.which(name) is None]
    if missing and os.environ.get("CLICKSTOP_COMPILER_REQUIRED"):
        pytest.fail(f"{' and '.join(missing)} are required here and not installed")
    if missing:
        pytest.skip(f"the tests of the pendant's program need {' and '.join(missing)}; see .ci/run for the packages")


def program(**changes):
    """The files of the program in a pack with two macros on three slots, by name; the controller answers TAKEN."""
    return dict(_program(tuple(sorted(changes.items()))))


@functools.cache
def _program(changes):
    return program_of(taken(**dict(changes)))


def program_of(taken):
    """The files of the program in a pack, by name."""
    files = taken.files
    return {path.removeprefix("pendant/"): content for path, content in files.items() if path.startswith("pendant/")}


def taken(**changes):
    return pack.make(documents(**changes))


def documents(**changes):
    return gathered(**{"pendant": SLOTS, "controller": ANSWERING, "lift": LIFT, "present": PRESENT, **changes})


@functools.cache
def _folder():
    return Path(tempfile.mkdtemp(prefix="clickstop-program-"))


def compiled(files, source, *options, compiler=C):
    """The path of what ``source`` comes to beside the files of a program, made once; fails with what the compiler says.

    ``source`` is one of those files, or one of this folder.
    """
    return _compiled(tuple(sorted(files.items())), source, options, tuple(compiler))


@functools.cache
def _compiled(files, source, options, compiler):
    key = hashlib.sha256(repr((files, source, options, compiler)).encode()).hexdigest()[:16]
    folder = _folder() / key
    folder.mkdir()
    for name, content in files:
        (folder / name).write_bytes(content)
    path = folder / source if source in dict(files) else HERE / source
    libraries = [option for option in options if option.startswith("-l")]
    others = [option for option in options if not option.startswith("-l")]
    command = [*compiler, *STRICT, *others, "-I", str(folder), str(path), "-o", str(folder / "made"), *libraries]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr
    return folder / "made"


def forget_programs():
    shutil.rmtree(_folder(), ignore_errors=True)
    _folder.cache_clear()
    _compiled.cache_clear()
    _program.cache_clear()
