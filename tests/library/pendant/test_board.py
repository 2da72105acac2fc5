"""The board file: what is wired so that the program could not do its work is refused by the compiler, and named."""

from __future__ import annotations

import subprocess

import pytest

from tests.library.pendant.compiling import EIGHT_BIT, C, compiled, need, program
from tests.library.pendant.test_simulated import PINS, nine, wiring
from tests.library.test_pack import LIFT

SHEET = nine().pendant.replace("".join(wiring()), "").split("\n[slots.")[0] + '\n[slots."5"]\nx1 = "lift"\n'


def wired(*without, **pins):
    """The program of a pendant with the pins of the tests in the simulator, some of them others or none."""
    rows = [row for row in wiring() if not any(f'is = "{name}"' in row for name in without)]
    text = "".join(rows)
    for name, pin in pins.items():
        text = text.replace(f'pin = "P{PINS[name]}"', f'pin = "{pin}"')
    return program(pendant=SHEET + text, lift=LIFT)


def refused(files, tmp_path, compiler, *options):
    """What the compiler says to a board that it refuses; "" where it takes it."""
    for name, content in files.items():
        (tmp_path / name).write_bytes(content)
    command = [*compiler, *options, "-fsyntax-only", str(tmp_path / "board.c")]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    return done.stderr if done.returncode else ""


@pytest.mark.parametrize("compiler", [EIGHT_BIT, C], ids=["8-bit", "any other"])
def test_a_position_with_macros_and_no_conductor_is_refused_by_its_name(tmp_path, compiler):
    need(compiler[0])
    told = refused(wired("5"), tmp_path, compiler)
    assert "selector 5 has" in told
    assert "no conductor on the pendant sheet: add it under wiring" in told
    assert told.count("error: #error") == 1


@pytest.mark.parametrize("compiler", [EIGHT_BIT, C], ids=["8-bit", "any other"])
def test_a_position_that_holds_no_macro_may_go_without(compiler):
    need(compiler[0])
    compiled(wired("4"), "board.c", compiler=compiler)


@pytest.mark.parametrize("pin", ["PD0", "pd1"])
def test_the_pins_of_the_serial_port_are_refused_unless_it_is_elsewhere(tmp_path, pin):
    need(EIGHT_BIT[0])
    files = wired(Z=pin)
    assert f"pin {pin.upper()} of selector Z belongs to the serial port" in refused(files, tmp_path, EIGHT_BIT)
    assert refused(files, tmp_path, EIGHT_BIT, "-DBOARD_PORT_IS_ELSEWHERE") == ""


def test_without_any_wiring_the_other_board_is_left_to_be_filled_in():
    compiled(program(pendant=SHEET, lift=LIFT), "board.c", compiler=C)


def test_a_contact_that_closes_to_supply_is_told_to_need_a_resistor():
    rows = "".join(wiring()).replace('pin = "PD6"\n', 'pin = "PD6"\nclosed = "high"\n')
    board = program(pendant=SHEET + rows, lift=LIFT)["board.c"].decode()
    told = "closed high: closes to supply, and needs a resistor from its pin to common"
    assert board.count(told) == 2  # once for each board
