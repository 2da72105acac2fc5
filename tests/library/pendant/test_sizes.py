"""What the whole pendant takes of an 8-bit chip, and that the room the pendant sheet is asked for is enough."""

from __future__ import annotations

import re
import subprocess

import pytest

from library import pack, starter
from library.outgoing import Gathered
from library.pendant import gathering, sizes
from library.room import JOG, PROGRAM_FLASH, PROGRAM_RAM
from tests.bulk import some_of_today
from tests.library.pendant.compiling import EIGHT_BIT, need

pytestmark = pytest.mark.long

CONDUCTORS = (
    *(("selector", label) for label in "XYZ456"),
    *(("increments", label) for label in ("x1", "x10", "x100")),
    *(("wheel", label) for label in "AB"),
    *((group, "it") for group in ("enable", "stop", "lamp")),
)
PINS = [f"P{port}{bit}" for port, bits in (("B", range(6)), ("C", range(6)), ("D", range(2, 8))) for bit in bits]
WIRING = "".join(
    f'[[wiring.signal]]\ngroup = "{group}"\nis = "{what}"\nwire = "w"\npin = "{pin}"\n'
    for (group, what), pin in zip(CONDUCTORS, PINS, strict=False)
)
NINE = (
    starter.text("pendant.toml").partition("# Which macro is on")[0]
    + WIRING
    + '[slots."4"]\nx1 = "present-part"\nx10 = "centre-table"\nx100 = "above-work"\n'
    + '[slots."5"]\nx1 = "retract"\nx10 = "park"\nx100 = "measure-part"\n'
    + '[slots."6"]\nx1 = "home"\nx10 = "park"\nx100 = "retract"\n'
)
ON_THEM = {id: text for id, text in starter.macros().items() if f'"{id}"' in NINE}
BY_ASKING = ('idle_ask = ""\nidle_answer = ""', 'idle_ask = "?"\nidle_answer = "REST"')
BY_SETTLING = ('settle = ""', 'settle = "G4 P0"')
BY_ANSWER = ('acknowledge_means = "queued"', 'acknowledge_means = "done"')
HOLDING = (
    'release = "nothing"\nstop_line = ""\nstop_keeps = "dropped"',
    'release = "immediate"\nstop_line = "!"\nstop_keeps = "held"',
)
NOT_ANNOTATED = re.compile(r" +#.*")
VARIANTS = {"by nothing": (), "by asking": (BY_ASKING,), "by the answer": (BY_ANSWER,), "by settling": (BY_SETTLING,)}
VARIANTS |= {f"{name}, held": (*changes, HOLDING) for name, changes in VARIANTS.items()}


@pytest.mark.parametrize("variant", some_of_today([*VARIANTS], 1, 3))
def test_nine_slots_and_jogging_go_on_an_8_bit_chip_within_the_room_that_is_counted(tmp_path, variant):
    need(EIGHT_BIT[0], "avr-size")
    controller = NOT_ANNOTATED.sub("", starter.text("controller.toml"))
    for before, after in VARIANTS[variant]:
        assert before in controller
        controller = controller.replace(before, after)
    goes = pack.make(Gathered(starter.text("machine.toml"), controller, NINE, ON_THEM))
    assert not set(goes.left_out) - {"slot 6 x1"}
    for path, content in goes.files.items():
        if path.startswith("pendant/"):
            (tmp_path / path.removeprefix("pendant/")).write_bytes(content)
    made = tmp_path / "made.elf"
    subprocess.run([*EIGHT_BIT, "-o", made, tmp_path / "board.c"], check=True, timeout=120)
    told = subprocess.run(["avr-size", made], capture_output=True, text=True, check=True, timeout=60).stdout
    text, data, bss, *_ = map(int, told.splitlines()[1].split()[:3])
    assert text + data <= 12 * 1024
    assert data + bss <= 512
    assert text + data <= PROGRAM_FLASH + goes.goes.bytes_used
    assert data + bss <= PROGRAM_RAM + JOG * goes.goes.bench.pendant.jog.in_flight + goes.goes.longest_line
    said = sizes.of(gathering.table(goes.goes))
    assert text + data <= said.flash <= 1.05 * (text + data)
    assert data + bss <= said.ram <= data + bss + 16
