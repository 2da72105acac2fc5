"""The table of what a hand may do, run through the pendant's program: it has to come to the same as on the page."""

from __future__ import annotations

import html
import re
import subprocess
from importlib.resources import files as resources

import pytest

from tests.library.benches import PENDANT
from tests.library.handled import POSITIONS, SLOTS, TABLE
from tests.library.pendant.compiling import C, program
from tests.library.pendant.pendants import NONE, Pendant

OFF = 6
ANSWERS = {"taken": b"TAKEN\n", "fault": b"FAULT 7\n", "silent": None}


@pytest.fixture(scope="module")
def files():
    return program(pendant=PENDANT + POSITIONS + SLOTS)


@pytest.mark.parametrize(
    ("row", "off"),
    [(row, OFF) for row in TABLE] + [(row, NONE) for row in TABLE if ("turn", (OFF,)) in row.deeds],
    ids=lambda given: getattr(given, "shows", "OFF not wired" if given == NONE else ""),
)
def test_what_a_hand_does_comes_to_what_the_table_says(files, row, off):
    on = Pendant(files, row.at)
    for name, given in row.deeds:
        if name in ANSWERS:
            on.answer = ANSWERS[name]
        elif (name, given) == ("turn", (OFF,)):
            on.turn(off)
        else:
            getattr(on, name)(*given)
    assert (tuple(line.decode().strip() for line in on.sent), on.why.name) == (row.sent, row.why)


def test_the_sketch_of_the_help_page_compiles(tmp_path, files):
    page = resources("webapp").joinpath("templates/help/at_the_pendant.html").read_text()
    sketch = html.unescape(re.search(r'id="sketch"><code>{% raw %}(.*?){% endraw %}', page, re.DOTALL)[1])
    own = """
    static void my_write(void *c, const char *b, size_t n) { (void)c; (void)b; (void)n; }
    static void my_line(void *c, const char *b, size_t n) { (void)c; (void)b; (void)n; }
    static int my_read(void *c) { (void)c; return -1; }
    static int my_button(void *c) { (void)c; return 0; }
    static int my_stop(void *c) { (void)c; return 0; }
    static int my_idle(void *c) { (void)c; return 1; }
    static uint32_t my_time(void *c) { (void)c; return 0; }
    static unsigned my_position(void) { return 0; }
    static unsigned my_increment(void) { return 0; }
    static int my_clicks(void) { return 0; }
    void begin(void);
    void look(void);
    """
    for name, content in files.items():
        (tmp_path / name).write_bytes(content)
    include, _, rest = sketch.partition("\n")
    (tmp_path / "sketch.c").write_text(f"{include}\n{own}\n{rest}")
    command = [*C, "-Wall", "-Wextra", "-Werror", "-Wno-unused-function", "-c", "sketch.c", "-o", "sketch.o"]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, timeout=60)
    assert done.returncode == 0, done.stderr
