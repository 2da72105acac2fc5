"""The table of what a hand may do, run through the pendant's program: it has to come to the same as on the page."""

from __future__ import annotations

import functools
import html
import re
import subprocess
from importlib.resources import files as resources

import pytest

from library import pack
from library.trying import Pendant as Tried
from tests.bulk import some_of_today
from tests.library.benches import PENDANT, controller
from tests.library.handled import FIRE, HOLDS, NOT_THE_MACRO, POSITIONS, SLOTS, STOPS, TABLE, WAYS, deeds
from tests.library.pendant.answered import Answered
from tests.library.pendant.compiling import C, program
from tests.library.pendant.pendants import NONE
from tests.library.test_pack import document, gathered

pytestmark = pytest.mark.long

OFF = 6
SHEET = PENDANT + POSITIONS + SLOTS
HELD = {name: ({**keys, **HOLDS}, by_call) for name, (keys, by_call) in WAYS.items()}


@functools.cache
def outgoing(keys):
    return pack.outgoing(gathered(pendant=SHEET, controller=controller(**dict(keys))))


def both(way, after, at):
    """The page's pendant and the program's, with what tells that the controller is idle."""
    keys, by_call = way
    goes = outgoing(tuple(sorted(keys.items())))
    tried = Tried.of(goes, at, by_call=by_call)
    tried.controller.after = after
    files = program(pendant=SHEET, controller=controller(**keys))
    return tried, Answered(files, goes.bench.controller_sheet, at, after=after, by_call=by_call)


def told(on):
    """All that can be seen of a pendant."""
    line = on.at_line if on.why.name in ("REFUSED", "NO_ANSWER") else 0
    return tuple(on.sent), on.why.name, on.state.name, line


def followed(row, way, after, off=OFF):
    """What a row comes to, after both were compared at each deed."""
    tried, program = both(way, after, row.at)
    for name, given in row.deeds:
        getattr(tried, name)(*given)
        getattr(program, name)(*((off,) if (name, given) == ("turn", (OFF,)) else given))
        assert told(program) == told(tried), (row.shows, name, given)
    return told(tried)


@pytest.mark.parametrize("after", [10, 100])
@pytest.mark.parametrize("way", WAYS)
def test_what_a_hand_does_comes_to_the_same_in_both_and_to_what_the_table_says(way, after):
    for row in some_of_today(TABLE, 6, 14):
        sent, why, _, _ = followed(row, WAYS[way], after)
        if way in row.by and after == 10:
            assert (tuple(line for line in sent if line not in NOT_THE_MACRO), why) == (row.sent, row.why), row.shows


@pytest.mark.parametrize("way", HELD)
def test_it_comes_to_the_same_where_what_was_stopped_is_held(way):
    for row in some_of_today(TABLE, 6, 14):
        followed(row, HELD[way], 10)


def test_a_row_says_what_comes_of_it_or_only_compares_the_two():
    assert all((row.why == "") is (row.by == ()) for row in TABLE)
    assert sum(1 for row in TABLE if row.by) > 40


@pytest.mark.parametrize("row", [row for row in TABLE if ("turn", (OFF,)) in row.deeds], ids=lambda row: row.shows)
def test_an_off_position_without_a_wire_comes_to_the_same(row):
    on = Answered(program(pendant=SHEET), outgoing(tuple(WAYS["call"][0].items())).bench.controller_sheet, row.at)
    for name, given in row.deeds:
        getattr(on, name)(*((NONE,) if (name, given) == ("turn", (OFF,)) else given))
    assert (tuple(on.sent), on.why.name) == (row.sent, row.why)


VISIT = document("visit", 'block = "visit"\npoints = """\n10, 20\n30, 40\n50, 60"""')
POINTS = [f"G53 G0 X{x} Y{y}" for x, y in ((10, 20), (30, 40), (50, 60))]
AT_POINTS = SHEET + '[slots."5"]\nx1 = "visit"\n'


def visiting(text):
    """The points that are gone to in a story that begins where the points are visited, the same in both."""
    keys = {**WAYS["call"][0], **STOPS}
    changes = {"pendant": AT_POINTS, "controller": controller(**keys), "visit": VISIT}
    tried = Tried.of(pack.outgoing(gathered(**changes)), 4, by_call=True)
    on = Answered(program(**changes), pack.outgoing(gathered(**changes)).bench.controller_sheet, 4, by_call=True)
    for each in (tried, on):
        do(each, text)
    assert told(on) == told(tried)
    return [POINTS.index(line) + 1 for line in on.sent if line in POINTS]


JOGGED = "turn:2 rest press +5 wait:2000 let_go"
"""An axis is jogged, and the button let go of."""

JOGGED_SHORT = "slow:400 turn:2 rest press +5 let_go wait:3000 slow:1"
"""It is let go of while the jog is on its way, which sends the stop line."""


@pytest.mark.parametrize("jog", [JOGGED, JOGGED_SHORT])
def test_points_are_visited_one_after_another_with_jogging_in_between(jog):
    point = f"turn:4 {FIRE} wait:4000 let_go"
    assert visiting(" ".join([point, jog, point, jog, point, jog, point])) == [1, 2, 3, 1]


@pytest.mark.parametrize(
    "in_between",
    [
        f"turn:3 {FIRE} wait:4000 let_go",  # another macro
        "push wait:100 pull turn:3 turn:4",  # a stop
        f"slow:900 {FIRE} wait:500 let_go wait:3000 slow:1",  # the next stage, let go of
    ],
)
def test_points_are_begun_anew_after_another_macro_a_stop_or_letting_go(in_between):
    point = f"turn:4 {FIRE} wait:4000 let_go"
    assert visiting(" ".join([point, in_between, point]))[-1] == 1


TELLS = ("call", "call and queued", "asking", "asking and done", "settling", "settling and done")


def behind(on):
    """What was sent after the stop line but questions and settle lines."""
    return [line for line in on.sent[on.sent.index("@CEASE") + 1 :] if line not in NOT_THE_MACRO]


@pytest.mark.parametrize("way", HELD)
@pytest.mark.parametrize("at", [0, 3], ids=["a jog", "a macro"])
def test_nothing_is_sent_behind_what_the_controller_holds(way, at):
    again = "rest press wait:20,3 wait:900" if at == 0 else f"{FIRE} wait:900"
    for on in both(HELD[way], 10, at):
        do(on, f"slow:2000 {again} let_go {again} let_go {again} let_go")
        assert "@CEASE" in on.sent
        assert behind(on) == []
        assert on.why.name in ("NOT_IDLE", "LET_GO")
        do(on, f"wait:500 resume wait:30000 {again} wait:20,1 wait:900")
        assert bool(behind(on)) is (way in TELLS)  # where nothing tells, it stays so until power-up


def test_without_that_safeguard_a_macro_would_go_behind_what_is_held():
    keys, by_call = HELD["nothing"]
    files = dict(program(pendant=SHEET, controller=controller(**keys)))
    before = b"(sender->held && calls->controller_idle == NULL && !CLICKSTOP_ASKS && !clickstop_only_settles(sender))"
    assert files["sender.h"].count(before) == 1
    files["sender.h"] = files["sender.h"].replace(before, b"0")
    on = Answered(files, outgoing(tuple(sorted(keys.items()))).bench.controller_sheet, by_call=by_call)
    do(on, f"slow:2000 {FIRE} wait:900 let_go {FIRE} wait:900")
    assert behind(on) != []


def do(on, text):
    for name, given in deeds(text):
        getattr(on, name)(*given)


def test_the_sketch_of_the_help_page_compiles(tmp_path):
    files = program(pendant=SHEET)
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
