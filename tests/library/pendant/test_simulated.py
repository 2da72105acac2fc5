"""The 8-bit build in a simulator: what comes out of its serial port is what was proved, and its sizes are as stated."""

from __future__ import annotations

import json
import os
import subprocess
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from click.testing import CliRunner

from library import pack, starter
from library.outgoing import Gathered
from library.pack import contents
from library.pendant import gathering, sizes
from parser.report import as_json
from tests.bulk import in_turn, some_of_today
from tests.library.pendant.compiling import EIGHT_BIT, C, compiled, need, program_of
from webapp.cli import main

pytestmark = pytest.mark.long

HEADER = Path("/usr/include/simavr/sim_avr.h")  # of the package libsimavr-dev
PLACES = ["OFF", "X", "Y", "Z", "4", "5", "6"]
PINS = {
    **dict(zip(PLACES[1:], ["D2", "D3", "D4", "D5", "D6", "D7"], strict=True)),
    **dict(zip(["x1", "x10", "x100"], ["B0", "B1", "B2"], strict=True)),
    "A": "C0", "B": "C1", "enable": "C2", "stop": "C3", "lamp": "B5",
}  # fmt: skip
GROUPS = {"A": "wheel", "B": "wheel", "enable": "enable", "stop": "stop", "lamp": "lamp", "x1": "increments"}


def wiring():
    for name, pin in PINS.items():
        group = GROUPS.get(name, "increments" if name.startswith("x") else "selector")
        yield f'[[wiring.signal]]\ngroup = "{group}"\nis = "{name}"\nwire = "{name} wire"\npin = "P{pin}"\n'


@cache
def nine():
    """The starter's documents with all nine slots taken and the pendant wired."""
    found = {(kind, id): text for kind, id, text in starter.documents()}
    pendant = (
        found["pendant", "workshop"].split("\n[slots.", 1)[0]
        + "\n"
        + "".join(
            f'[slots."{place}"]\n' + "".join(f'{increment} = "{macro}"\n' for increment, macro in row.items())
            for place, row in {
                "4": {"x1": "present-part", "x10": "centre-table", "x100": "above-work"},
                "5": {"x1": "retract", "x10": "park", "x100": "measure-part"},
                "6": {"x1": "home", "x10": "park", "x100": "retract"},
            }.items()
        )
    )
    macros = {id: text for (kind, id), text in found.items() if kind == "macro" and f'"{id}"' in pendant}
    controller = (
        found["controller", "workshop"]
        .replace('release = "nothing"', 'release = "immediate"')
        .replace('stop_line = ""', 'stop_line = "\\u0018"')
    )
    return Gathered(found["machine", "workshop"], controller, pendant + "".join(wiring()), macros)


@cache
def goes():
    made = contents.outgoing(nine())
    assert made.left_out == {}
    assert len(made.slots) == 9
    return made


@cache
def built():
    need(EIGHT_BIT[0])
    return compiled(program_of(pack.make(nine())), "board.c", compiler=EIGHT_BIT)


SECOND = {"stop": "C4", "enable": "C5"}
"""A second conductor of each, on the pendants that have one."""


@cache
def built_with_two(group):
    """With a second conductor of a group."""
    need(EIGHT_BIT[0])
    second = f'[[wiring.signal]]\ngroup = "{group}"\nis = "second"\nwire = "w"\npin = "P{SECOND[group]}"\n'
    made = pack.make(replace(nine(), pendant=nine().pendant + second))
    return compiled(program_of(made), "board.c", compiler=EIGHT_BIT)


@pytest.fixture(scope="module")
def simulated():
    """Runs a script of what is turned and pressed; gives the lines that came out."""
    if not HEADER.exists() and not os.environ.get("CLICKSTOP_COMPILER_REQUIRED"):
        pytest.skip("the tests in the simulator need the packages libsimavr-dev and gcc-avr; see .ci/run")
    # the simulator's own headers are not written for every warning
    lenient = ("-O2", "-Wno-error", "-w", "-lsimavr")
    tool = compiled({}, "simulated.c", *lenient, compiler=(*C[:1], "-std=gnu99"))

    def run(*script, program=None):
        pins = [*(pin for name, pin in PINS.items() if name != "lamp"), *SECOND.values()]
        opened = [f"pin {pin[0]} {pin[1]} 1" for pin in pins]
        told = [*opened, "answer TAKEN", *close("stop"), *script]
        done = subprocess.run(
            [tool, program or built()], input="\n".join(told) + "\n", capture_output=True, text=True, timeout=120
        )
        assert done.returncode == 0, done.stderr
        return [line for line in done.stdout.splitlines() if not line.startswith(("lamp", "Loaded"))]

    return run


def level(name, value, bounces):
    """A contact that bounces for some milliseconds before it stands."""
    port, bit = PINS[name]
    for each in range(bounces):
        yield f"pin {port} {bit} {value ^ (each % 2)}"
        yield "wait 2"
    yield f"pin {port} {bit} {value}"


def close(name, bounces=0):
    return list(level(name, 0, bounces))


def open_(name, bounces=0):
    return list(level(name, 1, bounces))


def fired(place, increment):
    return [
        *close(place, 7), *close(increment, 7), "wait 700", *close("enable", 9), "wait 100", "wheel 3", "wheel -3",
        "wait 3000", *open_("enable", 5), "wait 100", *open_(place), *open_(increment), "wait 100",
    ]  # fmt: skip


STOP = "<18>"


def checked(tmp_path, lines, name):
    """The verdict of ``clickstop check`` on lines that came out, and the moves that it finds."""
    machine, controller = tmp_path / "machine.toml", tmp_path / "controller.toml"
    machine.write_text(nine().machine)
    controller.write_text(nine().controller)
    text = tmp_path / f"{name}.nc"
    text.write_text("%\n" + "".join(f"{line}\n" for line in lines) + "%\n")
    command = ["check", text, "--machine", machine, "--controller", controller, "--format", "json"]
    return json.loads(CliRunner().invoke(main, [str(word) for word in command]).stdout)


def test_every_slot_sends_the_lines_that_were_proved(simulated, tmp_path):
    for slot in some_of_today(goes().slots, 1, 3):
        each = goes().taken[slot.macro]
        script = fired(slot.position, slot.increment)
        gestures = script[:-4] + again() * (len(each.stages) - 1)
        received = [line for line in simulated(*gestures) if line != STOP]
        assert received == [line for stage in each.stages for line in stage.lines], slot
        if len(each.stages) == 1:
            said = checked(tmp_path, received, slot.macro)
            assert said["verdict"] == each.report.verdict
            assert said["totals"] == json.loads(json.dumps(as_json(each.report)))["totals"]


def again():
    return [
        "wait 300",
        *close("enable", 9),
        "wait 100",
        "wheel 3",
        "wheel -3",
        "wait 3000",
        *open_("enable", 5),
        "wait 100",
    ]


def test_the_wheel_jogs_where_the_selector_drives_an_axis(simulated):
    ready = [*close("X", 5), *close("x10", 5), "wait 700", *close("enable", 9), "wait 100"]
    assert simulated(*ready, "wheel 1", "wait 200", "wheel -2", "wait 300") == [
        "G91 G1 X0.1 F1000", "G90", "G91 G1 X-0.1 F1000", "G90", "G91 G1 X-0.1 F1000", "G90",
    ]  # fmt: skip


def test_nothing_comes_out_for_the_wheel_without_enable_nor_between_two_positions(simulated):
    assert simulated(*close("X"), *close("x1"), "wait 700", "wheel 5", "wait 300") == []
    assert simulated(*close("x1"), "wait 700", *close("enable"), "wait 100", "wheel 5", "wait 300") == []
    both = [*close("X"), *close("Y"), *close("x1"), "wait 700", *close("enable"), "wait 100", "wheel 5", "wait 300"]
    assert simulated(*both) == []


def test_a_stop_in_the_middle_sends_the_stop_line_and_nothing_more(simulated):
    ready = [
        *close("4"),
        *close("x1"),
        "wait 700",
        *close("enable"),
        "wait 100",
        "answer",
        "wheel 3",
        "wheel -3",
        "wait 400",
    ]
    first = goes().taken["present-part"].stages[0].lines[0]
    assert simulated(*ready, *open_("stop"), "answer TAKEN", "wait 3000") == [first, STOP]


def second(group, level):
    return f"pin {SECOND[group][0]} {SECOND[group][1]} {level}"


READY = [*close("X"), *close("x10"), "wait 700", *close("enable"), "wait 100"]
JOGGED = ["G91 G1 X0.1 F1000", "G90"]


@in_turn(0, 2)
def test_of_two_stops_one_that_is_open_is_enough(simulated):
    two = built_with_two("stop")
    jog = [*READY, "wheel 1", "wait 300"]
    assert simulated(second("stop", 0), *jog, program=two) == JOGGED
    assert simulated(second("stop", 0), *jog, second("stop", 1), "wait 100", "wheel 1", program=two) == [*JOGGED, STOP]
    assert simulated(second("stop", 0), *jog, *open_("stop"), "wait 100", "wheel 1", program=two) == [*JOGGED, STOP]
    assert simulated(*jog, program=two) == [STOP]


@in_turn(1, 2)
def test_of_two_enables_both_have_to_be_held(simulated):
    two = built_with_two("enable")
    assert simulated(*READY, "wheel 1", "wait 300", program=two) == []
    both = [*READY, second("enable", 0), "wait 100", "wheel 1", "wait 300"]
    assert simulated(*both, program=two) == JOGGED
    assert simulated(*both, *open_("enable"), "wait 100", "wheel 1", "wait 300", program=two) == [*JOGGED, STOP]
    assert simulated(*both, second("enable", 1), "wait 100", "wheel 1", "wait 300", program=two) == [*JOGGED, STOP]


def test_a_refused_line_is_the_last(simulated):
    ready = [*close("4"), *close("x1"), "wait 700", *close("enable"), "wait 100", "at 2 FAULT out of range"]
    lines = goes().taken["present-part"].stages[0].lines
    assert simulated(*ready, "wheel 3", "wheel -3", "wait 2000") == [*lines[:2], STOP]


def test_the_program_with_nine_slots_and_jogging_is_as_small_as_is_said():
    need("avr-size")
    done = subprocess.run(["avr-size", built()], capture_output=True, text=True, timeout=60)
    text, data, bss, *_ = map(int, done.stdout.splitlines()[1].split()[:3])
    flash, ram = text + data, data + bss
    print(f"program and tables {flash} bytes of flash, {ram} bytes of memory")
    assert flash <= 12 * 1024
    assert ram <= 512
    said = sizes.of(gathering.table(goes()))
    assert flash <= said.flash <= flash * 1.05
    assert ram <= said.ram <= ram + 16
