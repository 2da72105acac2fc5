"""The header is good C99 and good C++17, with every warning on, whatever the documents say."""

from __future__ import annotations

import random
import subprocess

import pytest

from library.names import LONGEST_LITERAL, c_string
from tests.library.benches import PENDANT, controller
from tests.library.pendant.compiling import ANSWERING, CPP, SLOTS, C, compiled, header
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
HEADERS = {
    "as published": {"controller": controller()},
    "answering": {},
    "no slots": {"pendant": PENDANT},
    "no waiting": {"pendant": SLOTS + "[gesture]\nsettle = 0.0\nwindow = 0.0\nclicks = 1\nenable_held = false\n"},
    "stopping": {"controller": ANSWERING + 'release = "immediate"\nstop_line = "\\"@\\\\"\nline_ending = "crlf"\n'},
    "storing": {"controller": ANSWERING + 'call = "@{number}"\n'},
    "very long lines": {
        "pendant": ROOMY,
        "controller": ANSWERING + "line_limit = 9000\n",
        "lift": document("lift", 'block = "raise"', f'block = "own-lines"\nlines = "G21 G90\\n{LONG}"'),
    },
    **{f"name {name[:9]}": {"lift": document("lift", 'block = "raise"', name=name)} for name in NAMES},
}


@pytest.fixture(params=list(HEADERS))
def made(request):
    return header(**HEADERS[request.param])


@pytest.mark.parametrize("compiler", [C, CPP], ids=["C99", "C++17"])
def test_the_tables_alone_compile_without_a_warning(made, compiler):
    compiled(made, "tables.c", compiler=compiler)


@pytest.mark.parametrize("compiler", [C, CPP], ids=["C99", "C++17"])
def test_all_of_it_compiles_without_a_warning(made, compiler):
    options = ("-O2", "-DCLICKSTOP_SENDER", "-DCLICKSTOP_NAMES")
    compiled(made, "tables.c", *options, compiler=compiler)


def test_a_qualifier_for_the_flash_is_carried_by_every_table_and_pointer():
    # any qualifier does: a pointer that lost it would be an error
    compiled(header(), "tables.c", "-DCLICKSTOP_SENDER", "-DCLICKSTOP_NAMES", "-DCLICKSTOP_FLASH=volatile")


def test_it_is_plain_ascii(made):
    assert made.isascii()


def test_a_string_longer_than_compilers_have_to_take_is_written_byte_by_byte():
    assert c_string("x" * LONGEST_LITERAL).startswith('"')
    assert c_string("x" * (LONGEST_LITERAL + 1)).startswith("{ 120, ")


def test_a_string_of_any_kind_is_the_bytes_it_was(tmp_path):
    chance = random.Random(6)
    signs = [chr(number) for number in (*range(1, 128), 0xE9, 0x4E2D, 0x1F600)] + ["??/", "\\n", "\\x41", "0"]
    texts = ["".join(chance.choices(signs, k=chance.randrange(40))) for _ in range(300)] + ["y" * 5000]
    arrays = "".join(f"static const char t{index}[] = {c_string(text)};\n" for index, text in enumerate(texts))
    written = "".join(f"fwrite(t{index}, 1, sizeof t{index}, stdout);\n" for index in range(len(texts)))
    source = tmp_path / "texts.c"
    source.write_text(f"#include <stdio.h>\n{arrays}int main(void)\n{{\n{written}return 0;\n}}\n")
    done = subprocess.run([compiled(b"", source)], capture_output=True, timeout=60)
    assert done.stdout == b"".join(text.encode() + b"\0" for text in texts)


def test_the_same_documents_give_the_same_header():
    assert header() == header()
