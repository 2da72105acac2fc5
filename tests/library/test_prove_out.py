"""The prove-out sheet: what it asks for before the first run, and what it expects after each line."""

from __future__ import annotations

import hashlib
import html
import re
from html.parser import HTMLParser

import markupsafe
import pytest

import parser as rs274
from library import pack, starter
from library.pack import Printing
from parser.machine import Interval
from parser.motion.places import bounds
from parser.motion.usual_start import clear_start
from parser.quantities import figure
from tests.library.benches import MILL, ROUTER, bench, controller
from tests.library.printing import ACCEPTED, WILD_NAMES, document, wild
from tests.library.test_first_run import BESIDE
from tests.library.test_pack import gathered, made, on_slot

STARTER_CONTROLLER = starter.text("controller.toml")


class Cells(HTMLParser):
    """The rows of every table as lists of text, and the tags of the whole page."""

    def __init__(self, page):
        super().__init__()
        self.rows, self.tags, self._open = [], set(), False
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th"):
            self.rows[-1].append("")
            self._open = True

    def handle_endtag(self, tag):
        if tag in ("td", "th"):
            self._open = False

    def handle_data(self, data):
        if self._open:
            self.rows[-1][-1] += data


def sheet(printing=None, **changes):
    wish = {} if printing is None else {"printing": printing}
    taken = pack.make(pack.Gathered(**{**fields(gathered(**changes)), **wish}))
    return taken.files["prove-out.html"].decode()


def fields(given):
    return {name: getattr(given, name) for name in ("machine", "controller", "pendant", "macros", "dates")}


def plain(page):
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", page.split("</style>")[1])))


def lines(page):
    """The expected position and the seconds by the text of each line."""
    return {row[1]: row[2:7] for row in Cells(page).rows if row[0].isdigit()}


PRESENT = on_slot("present")


# What it says


def test_cautions_come_first_and_say_what_an_emergency_stop_must_be():
    # ISO 13850, 4.1; IEC 60204-1, 9.2
    said = plain(sheet(pendant=PRESENT))
    assert said.index("has to remove drive power through a hard-wired circuit") < said.index("Verdict: Proved")
    assert "A button that is only an input of a microcontroller is not an emergency stop" in said


def test_every_assumption_is_there_to_be_ticked():
    report = pack.outgoing(gathered(pendant=PRESENT)).taken["present"].report
    page = sheet(pendant=PRESENT)
    for assumption in report.assumptions:
        assert f"<li>{markupsafe.escape(assumption)}</li>" in page
    assert "Not checked: hands, hoses, chips, anything not drawn." in plain(page)


def test_every_finding_is_on_it_with_its_remedy():
    report = pack.outgoing(gathered(pendant=PRESENT)).taken["present"].report
    said = plain(sheet(pendant=PRESENT))
    assert report.findings
    for finding in report.findings:
        if finding.rule in ("not-referenced", "figures-invented"):  # ticked, and told with the verdict
            continue
        assert finding.message in said
        assert finding.remedy in said


def test_the_set_up_is_to_be_ticked():
    said = plain(sheet(pendant=PRESENT))
    for wanted in (
        "Tool out of the spindle",
        "Tool clear of the work",
        "Once it moves, the wheel hand goes to the emergency stop",
        "No program running",
        "HOME FIRST: machine homed since power-on and since the last emergency stop",
    ):
        assert wanted in said


def test_a_start_condition_is_on_it_and_the_slow_copy_is_run_under_it():
    low = document("low", "Low", 'block = "raise"', header='start = "z >= -20 mm"\n')
    said = plain(sheet(pendant=on_slot("low"), low=low))
    assert "Start only from Z at or above -20 mm : the pendant cannot check this" in said
    assert "Verdict: Proved with a condition" in said
    run = said.split("Run first-run/low--slow.nc")[1]
    assert (
        "Proved on its own, as the manifest says. ONLY FROM Z at or above -20 mm: the pendant cannot check this." in run
    )


OVER = 'block = "go-to"\nx = "travel.x.middle"\ny = "travel.y.middle"'


def accepted_sheet(header=ACCEPTED, **changes):
    return plain(sheet(pendant=on_slot("low"), low=document("low", "Low", OVER, header=header), **changes))


def test_an_accepted_refusal_is_on_it_and_nothing_is_called_proved():
    said = accepted_sheet()
    not_proved = "NOT PROVED: accepted because the <vise> is off & stays off (crosses-keep-out)."
    invented = "INVENTED FIGURES: everything on the machine sheet."
    assert f"Verdict: NOT PROVED, accepted {invented} {not_proved} Nothing else is refused if" in said
    assert f"no move faster than 500 mm/min. {not_proved} Note what you observe" in said
    assert "NOT PROVED from any start: the reason for accepting it is true today" in said
    for wrong in ("It was proved", "Proved on its own", "It holds if", "May start from anywhere"):
        assert wrong not in said


def test_the_reason_of_an_accepted_refusal_is_on_it_twice_and_no_more():
    assert accepted_sheet().count("off & stays off") == 2


def test_a_reason_that_lowered_nothing_is_not_on_it():
    said = plain(sheet(pendant=on_slot("lift"), lift=document("lift", "Lift", 'block = "raise"', header=ACCEPTED)))
    assert "accepted because" not in said
    assert "May start from anywhere" in said


def test_an_accepted_macro_with_a_condition_says_both_and_is_nowhere_called_proved_under_it():
    said = accepted_sheet(header='start = "z >= -80 mm"\n' + ACCEPTED)
    assert "NOT PROVED from any start" in said
    assert "Start only from Z at or above -80 mm : the pendant cannot check this" in said
    assert "stays off (crosses-keep-out). ONLY FROM Z at or above -80 mm: the pendant cannot check this. Note" in said
    assert "Proved only where" not in said


def test_an_accepted_macro_without_a_slow_copy_is_not_proved_where_it_is_run():
    low = document("low", "Low", 'block = "own-lines"\nlines = "G91"', header=ACCEPTED.replace(
        "crosses-keep-out", "mode-left-changed"
    ))  # fmt: skip
    said = plain(sheet(pendant=on_slot("low"), low=low))
    assert "as the controller allows. NOT PROVED: accepted because the <vise>" in said


def test_where_only_the_slow_copy_is_proved_the_macro_is_still_called_not_proved():
    step = 'block = "own-lines"\nlines = "G21 G90\\nG53 G0 X250 Y40"'
    header = 'start = "x = 10 mm and y = 10 mm and z = -60 mm"\n' + ACCEPTED
    low = document("low", "Low", step, header=header)
    said = plain(sheet(machine=BESIDE, controller=controller(rapid='"dogleg"'), pendant=on_slot("low"), low=low))
    first, then = said.split("Run first-run/low--slow.nc")[1].split("Back to the start.")[:2]
    assert "Proved on its own, as the manifest says." in first
    assert "NOT PROVED: accepted because" not in first
    assert "NOT PROVED: accepted because the <vise>" in then


def test_a_refused_macro_is_not_on_it():
    low = document("low", "Low", 'block = "go-to"\nx = "travel.x.middle"\ny = "travel.y.middle"')
    assert "No macro goes" in plain(sheet(pendant=on_slot("low"), low=low))


def test_a_macro_without_a_slow_copy_says_why():
    said = plain(sheet(pendant=on_slot("home"), home=document("home", "Home", 'block = "home"')))
    assert "There is no slow copy: its own lines move nothing" in said


def test_a_slow_copy_for_a_controller_that_keeps_macros_stands_beside_the_macro_under_its_own_number():
    # M98 and M99 are no words of RS-274/NGC; the sheet says what they do
    keeps = controller(call='"M98 P{number}"', ending='"M99"', extra_words='{ M98 = "call", M99 = "end" }')
    said = plain(sheet(pendant=PRESENT, controller=keeps))
    assert "Put first-run/present--slow.nc on the controller beside the macro" in said
    assert "at the panel enter M98 P2" in said
    assert "Do not start it as a program of its own" in said


def test_the_issue_is_on_it_in_eight_digits_and_the_digest_of_the_manifest_only_in_the_code():
    taken = made()
    digest = hashlib.sha256(taken.files["manifest.json"]).hexdigest()
    said = plain(taken.files["prove-out.html"].decode()).replace(" ", "")
    assert f"Issue{taken.goes.issue}" in said
    assert digest not in said


def test_the_expected_start_is_one_that_the_longest_and_thickest_tool_clears():
    # half way down from 0 to -200 the nose would be 20 mm below the top of the vise, at -80
    vise = re.sub("travel = .-90.0, 0.0.", "travel = [-200.0, 0.0]", MILL)
    said = plain(sheet(machine=vise, pendant=PRESENT))
    # 80 below, 40 of tool and 2 of margin above that
    assert "Jogged to X 130 Y 75 Z -38 (machine coordinates, mm)" in said


def test_a_start_that_is_clear_in_the_middle_stays_there():
    bare = re.sub(r"\[\[keep_out\]\].*?(?=\[\[setup)", "", MILL, flags=re.DOTALL)
    assert "Jogged to X 130 Y 75 Z -45 (machine coordinates, mm)" in plain(sheet(machine=bare, pendant=PRESENT))


def test_over_a_place_that_was_asked_for_the_height_is_one_that_is_clear_there():
    over = plain(sheet(pendant=PRESENT, printing=Printing(start={"x": 90.0, "y": 40.0})))
    beside = plain(sheet(pendant=PRESENT, printing=Printing(start={"x": 20.0, "y": 140.0})))
    assert "Jogged to X 90 Y 40 Z -38" in over
    assert "Jogged to X 20 Y 140 Z -45" in beside


def test_where_no_height_over_the_middle_is_clear_another_place_is_asked_for():
    tall = MILL.replace("to = [170.0, 105.0, -80.0]", "to = [170.0, 105.0, -1.0]")
    box = {axis: Interval(*ends) for axis, ends in {"x": (0, 260), "y": (0, 150), "z": (-90, 0)}.items()}
    machine = bench(machine=tall).machine
    at = clear_start(box, machine)
    assert (at["x"], at["y"], at["z"]) != (130, 75, -45)
    assert not 80 - 32 < at["x"] < 170 + 32 or not 35 - 32 < at["y"] < 105 + 32


def test_a_macro_that_homes_warns_of_the_table_and_asks_for_no_slow_copy():
    said = plain(sheet(pendant=on_slot("home"), home=document("home", "Home", 'block = "home"')))
    assert "TABLE MAY COME FORWARD while it homes" in said
    assert "Slow copy" not in said.split("Sign-off")[1]
    assert "Slow copy" in plain(sheet(pendant=PRESENT)).split("Sign-off")[1]


def test_a_controller_that_holds_what_was_stopped_is_warned_of():
    held = controller(acknowledge='"TAKEN"', release='"immediate"', stop_line='"!"', stop_keeps='"held"')
    assert "RESUME CONTINUES IT" in plain(sheet(pendant=PRESENT, controller=held))
    assert "RESUME CONTINUES IT" not in plain(sheet(pendant=PRESENT))


def test_what_may_remain_is_the_line_that_runs_where_something_tells_that_it_is_done():
    # of two lines that move, one runs when the button is let go, and the other was not sent
    settles = STARTER_CONTROLLER.replace('settle = ""', 'settle = "G4 P0"')
    report = pack.outgoing(gathered(pendant=PRESENT, controller=settles)).taken["present"].report
    longest = max(timing.path_mm.most for timing in report.plan.timings)
    assert report.plan.run_on.millimetres == pytest.approx(longest)
    assert "the line that runs is finished" in plain(sheet(pendant=PRESENT, controller=settles))


def test_what_may_remain_is_all_that_the_controller_may_hold_where_nothing_tells_that_it_is_idle():
    report = pack.outgoing(gathered(pendant=PRESENT, controller=STARTER_CONTROLLER)).taken["present"].report
    whole = sum(timing.path_mm.most for timing in report.plan.timings)
    assert report.plan.run_on.millimetres == pytest.approx(whole)
    told = plain(sheet(pendant=PRESENT, controller=STARTER_CONTROLLER))
    assert "the line that runs is finished" not in told
    assert (
        f"up to {figure(whole, 1)} mm remain (the line that runs, up to 8 held by the controller and one on its way"
        in told
    )


def test_nothing_is_fetched_and_nothing_is_run():
    page = sheet()
    assert not Cells(page).tags & {"script", "link", "img", "iframe", "object"}
    assert not re.search(r"url\(|@import|(?:src|href)=", page)


@pytest.mark.parametrize("name", WILD_NAMES)
def test_a_name_is_text_of_the_page_and_nothing_else(name):
    page = wild().files["prove-out.html"].decode()
    assert f"<h1>{html.escape(name, quote=False)}</h1>" in page.replace("&#34;", '"').replace("&#39;", "'")
    assert not Cells(page).tags & {"script", "i"}


# The table


def test_the_position_after_each_line_is_from_the_middle_unless_a_start_is_picked():
    (row,) = (row for text, row in lines(sheet(pendant=PRESENT)).items() if text.startswith("G53 G0 X130 Y145"))
    assert row[:3] == ["130", "145", "-2"]
    raised = next(row for text, row in lines(sheet(pendant=PRESENT)).items() if text.startswith("G53 G0 Z-2"))
    assert raised[:3] == ["130", "75", "-2"]


def test_the_position_after_each_line_is_from_the_start_that_was_picked():
    page = sheet(Printing(start={"x": 20.0, "z": -10.0}), pendant=PRESENT)
    raised = next(row for text, row in lines(page).items() if text.startswith("G53 G0 Z-2"))
    assert raised[:3] == ["20", "75", "-2"]
    assert "Jogged to X 20 Y 75 Z -10" in plain(page)


def test_the_seconds_are_those_of_a_move_from_rest_to_rest():
    # 8 mm at 20 mm/s and 120 mm/s^2: 8/20 + 20/120 = 0.567 s; at 500 mm/min: 0.96 + 0.0694 = 1.029 s
    page = sheet(Printing(start={"z": -10.0}), pendant=PRESENT)
    raised = next(row for text, row in lines(page).items() if text.startswith("G53 G0 Z-2"))
    assert raised[3:5] == ["1", "0.6"]


def test_a_start_from_which_the_macro_may_not_fire_is_told():
    low = document("low", "Low", 'block = "raise"', header='start = "z >= -20 mm"\n')
    page = sheet(Printing(start={"z": -80.0}), pendant=on_slot("low"), low=low)
    assert "This macro may not start where you asked" in plain(page)
    assert "Jogged to X 130 Y 75 Z -10" in plain(page)


def test_positions_are_in_the_units_of_the_machine_sheet():
    page = sheet(machine=ROUTER, pendant=on_slot("lift"))
    assert "Jogged to X -4 Y 6 Z -2 (machine coordinates, in)" in plain(page)


def test_the_slow_line_stands_below_the_line_it_replaces():
    assert any("slow, line 9: G94 G53 G1 Z-2 F500" in text for text in lines(sheet(pendant=PRESENT)))


def test_where_only_the_machine_can_tell_a_word_stands_for_the_position():
    taken = sheet(
        controller=controller(g28='"home"', homing='["G28"]'),
        pendant=on_slot("home"),
        home=document("home", "Home", 'block = "home"'),
    )
    assert lines(taken)["G28homes on the controller's own path"][:3] == ["as homed"] * 3


def homing(*steps):
    taken = sheet(pendant=on_slot("home"), home=document("home", "Home", *steps))
    return plain(taken)


def test_a_macro_that_homes_first_asks_for_no_homing_and_no_place_before_it():
    said = homing('block = "home"')
    assert "HOME FIRST" not in said
    assert "Jogged to" not in said
    assert "It homes: not homed beforehand" in said


def test_a_macro_that_moves_before_it_homes_asks_for_both():
    said = homing('block = "raise"', 'block = "home"')
    assert "HOME FIRST" in said
    assert "Jogged to" in said


def test_a_macro_that_moves_once_it_is_homed_asks_for_neither():
    assert "HOME FIRST" not in homing('block = "home"', 'block = "raise"')


def test_a_tick_box_is_not_parted_from_its_words_by_a_column():
    rule = re.search(r"\.ticks li \{([^}]*)\}", sheet())[1]
    assert "break-inside: avoid" in rule
    assert "display: inline-block" in rule


def test_a_machine_of_six_axes_has_its_positions_one_behind_the_other():
    turning = 'rapid = 3600.0\nacceleration = 3600.0\nhome = "none"\ncarried_by = "table"\n'
    axes = "".join(f"[axes.{name}]\ntravel = [0.0, 360.0]\n{turning}" for name in "abc")
    page = sheet(machine=MILL.replace("[operator]", f"{axes}[operator]"), pendant=PRESENT)
    row = next(row for row in Cells(page).rows if row[0].isdigit() and row[1].startswith("G53 G0 X130 Y145"))
    assert row[2].split() == ["X", "130", "Y", "145", "Z", "-2", "A", "180", "B", "180", "C", "180"]


def test_places_are_those_that_following_the_lines_one_by_one_gives():
    on = bench()
    text = "G21 G90\nG53 G0 Z-2\nG53 G0 X20 Y30\nG91\nG0 X5\nG0 X5\nG90\nG80\n"
    machine, plain_controller = on.machine, on.controller
    start = {axis: Interval(at, at) for axis, at in {"x": 50.0, "y": 60.0, "z": -20.0}.items()}

    def followed(some):
        return rs274.trace(rs274.read(some, plain_controller), machine, plain_controller, start=start)

    whole = followed(text)
    for count in range(1, len(text.splitlines()) + 1):
        part = followed("\n".join(text.splitlines()[:count]) + "\n")
        assert {axis: bounds(at) for axis, at in whole.place_after(count).items()} == {
            axis: bounds(at) for axis, at in part.end.items()
        }
