"""The program is good C99 and good C++17, with every warning on, whatever the documents say and whoever compiles it."""

from __future__ import annotations

import random
import re
import subprocess

import pytest

from library.names import LONGEST_LITERAL, c_string
from library.outgoing import PackError
from tests.bulk import mostly_long
from tests.library.benches import PENDANT, controller
from tests.library.pendant.compiling import (
    ANSWERING,
    CLANG,
    CLANG_CPP,
    CPP,
    EIGHT_BIT,
    SLOTS,
    C,
    compiled,
    need,
    program,
    taken,
)
from tests.library.pendant.pendants import Pendant
from tests.library.test_pack import document

LONG = "G53 G0 Z-2 (" + "x" * 4500 + ")"
ROOMY = SLOTS + "[memory]\nlongest_line = 9000\n"
NAMES = [
    'He said \\"up\\"',
    "back\\\\slash\\\\",
    "??/ ??= %s %n",
    "caf\u00e9 \u4e2d\u6587",
    "x" * 200,
    "*/ int x; /*",
    "../../up",
]
STORING = 'call = "@{number}"\nfile_name = "{number}.nc"\n'
PROGRAMS = {
    "answering nothing": {"controller": controller() + STORING},
    "answering": {},
    "no slots": {"pendant": PENDANT},
    "no jog": {"controller": ANSWERING + "jog = []\n"},
    "nothing decimal": {"controller": ANSWERING + "decimals = { mm = 0, inch = 0 }\n",
                        "pendant": SLOTS + "[jog]\nstep = { x100 = 1.0 }\n"},
    "one increment": {"pendant": PENDANT + 'increments = ["x1"]\n[slots."4"]\nx1 = "lift"\n'},
    "no waiting": {"pendant": SLOTS + "[gesture]\nsettle = 0.0\nwindow = 0.0\nturns = [1]\nenable_held = false\n"},
    "stopping": {"controller": ANSWERING + 'release = "immediate"\nstop_line = "\\"@\\\\"\nline_ending = "crlf"\n'},
    "asking": {"controller": ANSWERING.replace("done", "queued") + 'idle_ask = "@?"\nidle_answer = "IDLE"\n'},
    "settling": {"controller": ANSWERING.replace("done", "queued") + 'settle = "G4 P0"\n'},
    "storing": {"controller": ANSWERING + STORING},
    "very long lines": {
        "pendant": ROOMY,
        "controller": ANSWERING + "line_limit = 9000\n",
        "lift": document("lift", 'block = "raise"', f'block = "own-lines"\nlines = "G21 G90\\n{LONG}"'),
    },
    **{f"name {name[:9]}": {"lift": document("lift", 'block = "raise"', name=name)} for name in NAMES},
}  # fmt: skip


@pytest.fixture(params=mostly_long(PROGRAMS, 4, most=4))
def made(request):
    return program(**PROGRAMS[request.param])


@pytest.mark.parametrize("source", ["tables.c", "board.c"])
@pytest.mark.parametrize("compiler", [C, CPP, CLANG, CLANG_CPP], ids=["gcc", "g++", "clang", "clang++"])
@pytest.mark.parametrize("kind", mostly_long(["answering", "no slots", "asking"]))
def test_it_compiles_without_a_warning(kind, compiler, source):
    need(compiler[0])
    compiled(program(**PROGRAMS[kind]), source, "-O2", compiler=compiler)


def test_it_compiles_without_a_warning_whatever_the_documents_say(made):
    compiled(made, "tables.c", "-O2")


@pytest.mark.parametrize("kind", ["answering", "no slots", "asking", "stopping"])
def test_it_compiles_for_the_8_bit_chip_without_a_warning(kind):
    need(EIGHT_BIT[0])
    compiled(program(**PROGRAMS[kind]), "tables.c", compiler=EIGHT_BIT)


def test_the_c_plus_plus_of_the_8_bit_chip_takes_it_too():
    need("avr-g++")
    compiled(program(), "tables.c", compiler=("avr-g++", "-x", "c++", "-std=c++11", *EIGHT_BIT[2:]))


FLASH = (
    "-DCLICKSTOP_FLASH=__attribute__((unused))",
    "-DPROGMEM=",
    "-D__flash=",
    "-DCLICKSTOP_SENDER",
    "-DCLICKSTOP_NAMES",
)


@pytest.mark.parametrize("compiler", [C, CPP], ids=["C99", "C++17"])
def test_nothing_that_a_sketch_defines_changes_how_tables_are_read(compiler):
    # a qualifier for the flash, as an earlier form of the table wanted it
    compiled(program(), "tables.c", *FLASH, compiler=compiler)
    plain = compiled(program(), "handles.c", "-shared", "-fPIC", "-s").read_bytes()
    assert compiled(program(), "handles.c", "-shared", "-fPIC", "-s", *FLASH).read_bytes() == plain


def test_every_table_is_read_out_of_flash_on_the_8_bit_chip():
    # what is in data memory is counted as data; the tables are not
    need(EIGHT_BIT[0], "avr-size")
    path = compiled(program(), "everything.c", compiler=EIGHT_BIT)
    done = subprocess.run(["avr-size", path], capture_output=True, text=True, timeout=60)
    _, data, _, *_ = done.stdout.splitlines()[1].split()
    assert int(data) < 40


def test_users_have_functions_and_never_a_table():
    text = program()["slots.h"].decode()
    tables = re.findall(r"^static const .*?(\w+)\[\]", text, re.MULTILINE)
    assert tables
    assert all(name.startswith("clickstop_private_") for name in tables)


def test_it_is_plain_ascii(made):
    assert all(content.isascii() for content in made.values())


def test_the_issue_is_a_string_and_can_be_asked_for():
    files = program()
    said = re.search(rb'#define CLICKSTOP_ISSUE "(.*)"', files["slots.h"])
    assert Pendant(files).issue == said[1].decode()


def test_a_step_that_the_decimals_cannot_write_is_refused_in_one_line():
    with pytest.raises(PackError, match=r"the jog step of x1, 0\.01, is nothing at the 1 decimals"):
        taken(controller=ANSWERING + "decimals = { mm = 1, inch = 4 }\n")


def test_a_string_longer_than_compilers_have_to_take_is_written_byte_by_byte():
    assert c_string("x" * LONGEST_LITERAL).startswith('"')
    assert c_string("x" * (LONGEST_LITERAL + 1)).startswith("{ 120, ")


def test_a_string_of_any_kind_is_the_bytes_it_was(tmp_path):
    chance = random.Random(6)
    signs = [chr(number) for number in (*range(1, 128), 0xE9, 0x4E2D, 0x1F600)] + ["??/", "\\n", "\\x41", "0"]
    texts = ["".join(chance.choices(signs, k=chance.randrange(40))) for _ in range(300)] + ["y" * 5000]
    arrays = "".join(f"static const char t{index}[] = {c_string(text)};\n" for index, text in enumerate(texts))
    written = "".join(f"fwrite(t{index}, 1, sizeof t{index}, stdout);\n" for index in range(len(texts)))
    source = f"#include <stdio.h>\n{arrays}int main(void)\n{{\n{written}return 0;\n}}\n"
    done = subprocess.run([compiled({"texts.c": source.encode()}, "texts.c")], capture_output=True, timeout=60)
    assert done.stdout == b"".join(text.encode() + b"\0" for text in texts)


def test_the_same_documents_give_the_same_program():
    assert taken().files == taken().files
