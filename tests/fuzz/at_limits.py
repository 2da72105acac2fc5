"""What a call of the command takes at each limit: by hand, as most of them want a minute of a quiet computer.

From the project's folder, all of them or those that are named:

    python -m tests.fuzz.at_limits [name ...]

Each line says the seconds of processor time, the peak of memory and what the command answered. Promised are 60 s and
500 MB on two processors.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import zipfile
from collections.abc import Callable, Iterable
from pathlib import Path

from library import documents, limits, pack, starter
from library.pack import write
from library.store import Workshop
from parser.limits import PROGRAM_LINES
from tests.benchmarks.test_pack import workshop as with_slots
from tests.library.share.shops import document, made
from tests.workshops import keep

ROOT = Path(__file__).parents[2]
MODES = "G21 G90 G17 G94 G40 G49 G80 G54\nG53 G0 Z-2\n"
SHEETS = ("--machine", "machine.toml", "--controller", "controller.toml")
Call = tuple[str, ...]
Case = Callable[[], Call]
FIVE = ("x1", "x10", "x50", "x100", "x500")
CASES: dict[str, Case] = {}


def case(made: Case) -> Case:
    CASES[made.__name__.replace("_", "-")] = made
    return made


def program(lines: Iterable[str]) -> Call:
    Path("program.nc").write_text(MODES + "\n".join(lines))
    return ("check", "program.nc", *SHEETS)


@case
def lines_of_many_shapes() -> Call:
    """No two lines alike in their words, so that nothing of one helps with the next."""
    words = "XYZ"
    moves = (
        f"G1 F{100 + n % 900} " + " ".join(f"{words[(n + k) % 3]}[{n % 7 + k + 1}+#{n % 50 + 1}*0]" for k in range(3))
        for n in range(PROGRAM_LINES.most - 54)
    )
    return program((*(f"#{n}=0" for n in range(1, 51)), *moves))


@case
def long_lines_that_all_differ() -> Call:
    return program(f"G0 X{n}." + "".join(f" (n{n} {k})" for k in range(900))[:9_900] for n in range(190))


@case
def long_lines_of_words_that_all_differ() -> Call:
    return program("G4 P1 " + " ".join(f"#{k + 1}={n + k}" for k in range(900))[:9_900] for n in range(190))


@case
def operations_on_every_line() -> Call:
    return program(f"G53 G0 X[{'+'.join(['0.1'] * 120)}+{n % 90}]" for n in range(2_000))


@case
def boxes_and_setups() -> Call:
    boxes = "".join(
        f'[[setup.keep_out]]\nname = "K{n}"\nfrom = [{n}.0, 1.0, -130.0]\nto = [{n + 1}.0, 2.0, -120.0]\n'
        for n in range(limits.COUNTS["machine"]["setup.keep_out"].most)
    )
    setups = "".join(f'[[setup]]\nname = "S{n}"\n{boxes}' for n in range(limits.COUNTS["machine"]["setup"].most))
    Path("machine.toml").write_text(f"{bare_machine()}\n{setups}")
    return program(f"G53 G0 X{20 + n % 100}" for n in range(1_500))


@case
def three_cycles_of_3333_strokes() -> Call:
    """As much as one cycle may ask for, which the two after it do in vain; from any height, so followed in parts."""
    six_boxes()
    return from_anywhere(f"G99 G81 X{n}0 Y10 Z-5 R1 F100 L3333" for n in (1, 2, 3))


@case
def a_relative_cycle_of_1300_strokes() -> Call:
    """Each hole beside the last, from wherever the machine stands."""
    six_boxes()
    return from_anywhere(("G91 G99 G81 X0.01 Y0.01 Z-1 R-0.01 F100 L1300", "G90 G53 G0 Z-2", "G53 G0 X100 Y20"))


def six_boxes() -> None:
    """A machine sheet with six narrow boxes and nothing else in the way."""
    boxes = "".join(
        f'[[keep_out]]\nname = "C{n}"\nfrom = [{20 + 40 * n}.0, 30.0, -130.0]\nto = [{30 + 40 * n}.0, 50.0, -70.0]\n'
        for n in range(6)
    )
    Path("machine.toml").write_text(f"{bare_machine().split('[[keep_out]]')[0]}\n{boxes}")


def from_anywhere(lines: Iterable[str]) -> Call:
    Path("program.nc").write_text("\n".join((MODES.splitlines()[0], *lines)))
    return ("check", "program.nc", *SHEETS)


@case
def relative_moves_beside_all_boxes() -> Call:
    boxes = "".join(
        f'[[keep_out]]\nname = "K{n}"\nfrom = [{n}.0, 1.0, -130.0]\nto = [{n + 1}.0, 2.0, -120.0]\n'
        for n in range(limits.COUNTS["machine"]["keep_out"].most)
    )
    Path("machine.toml").write_text(f"{bare_machine().split('[[keep_out]]')[0]}\n{boxes}")
    return program(("G91", *(f"G0 X{(-1) ** n * (1 + n % 7)}." for n in range(19_000))))


def bare_machine() -> str:
    """The starter's machine without its setups."""
    return starter.text("machine.toml").split("[[setup]]")[0]


def on_a_slot(shop: Workshop, id: str) -> Call:
    """The check of a pendant on which this macro has taken the place of another."""
    pendant = shop.text("pendant", "workshop")
    keep(shop, "pendant", "workshop", documents.write("pendant", {("slots", "4", "x1"): id}, pendant))
    return ("check", "--workshop", "shop")


def runs(others: list[str]) -> list[dict[str, str]]:
    return [{"block": "run-macro", "macro": each} for each in others]


@case
def macros_that_run_others() -> Call:
    """A macro of 499 steps, each of which runs another of one: as many steps in all as there may be, nearly."""
    shop = Workshop.open(Path("shop"))
    keep(shop, "macro", "one", document("one", {"block": "raise"}))
    keep(shop, "macro", "all", document("all", *runs(["one"] * 499)))
    return on_a_slot(shop, "all")


@case
def macros_sixteen_deep() -> Call:
    shop = Workshop.open(Path("shop"))
    keep(shop, "macro", "m0", document("m0", *[{"block": "go-to", "x": f"{20 + n} mm"} for n in range(400)]))
    for level in range(1, limits.MACROS_DEEP.most):
        keep(shop, "macro", f"m{level}", document(f"m{level}", {"block": "raise"}, *runs([f"m{level - 1}"])))
    return on_a_slot(shop, f"m{limits.MACROS_DEEP.most - 1}")


@case
def a_pack_of_all_slots() -> Call:
    gathered = with_slots(120, FIVE)
    shop = Workshop.open(Path("shop"))
    for id, text in gathered.macros.items():
        keep(shop, "macro", id, text)
    keep(shop, "pendant", "workshop", gathered.pendant)
    return ("take", "--workshop", "shop", "--to", "new.zip")


@case
def verifying_a_pack_of_all_slots() -> Call:
    write(pack.make(with_slots(120, FIVE)), Path("pack.zip"))
    return ("verify", "pack.zip")


@case
def a_zip_of_many_files() -> Call:
    zipped({f"f{n}": b"x" for n in range(limits.PACK_ENTRIES.most)})
    return ("verify", "many.zip")


@case
def a_zip_that_unpacks_to_the_limit() -> Call:
    zipped({f"f{n}": bytes(1_000_000) for n in range(63)})
    return ("verify", "many.zip")


def zipped(files: dict[str, bytes]) -> None:
    with zipfile.ZipFile("many.zip", "w", zipfile.ZIP_DEFLATED) as target:
        for name, content in files.items():
            target.writestr(name, content)


def shelf_of(count: int) -> dict[str, str]:
    return {
        f"m{n}": document(f"m{n}", {"block": "raise"}, {"block": "go-to", "x": f"{20 + n % 90} mm"})
        for n in range(count)
    }


@case
def reviewing_a_thousand_macros() -> Call:
    Path("bundle.zip").write_bytes(made(shelf=shelf_of(limits.COMING.most)))
    Workshop.open(Path("shop"))
    return ("shelf", "review", "bundle.zip", "--workshop", "shop")


@case
def taking_in_a_thousand_macros() -> Call:
    reviewing_a_thousand_macros()
    return ("shelf", "take-in", "bundle.zip", "--keep", "both", "--workshop", "shop")


@case
def bundling_a_thousand_macros() -> Call:
    shop = Workshop.open(Path("shop"))
    for id, text in shelf_of(980).items():
        keep(shop, "macro", id, text)
    return ("shelf", "bundle", "--all", "--to", "new.zip", "--workshop", "shop")


@case
def a_second_opinion() -> Call:
    return (*program(f"G53 G0 X{20 + n % 100}" for n in range(1_000)), "--second-opinion")


def tried(name: str) -> str:
    """Run one case in a folder of its own and say what it took."""
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        for kind in ("machine", "controller"):
            Path(f"{kind}.toml").write_text(starter.text(f"{kind}.toml"))
        call = CASES[name]()
        with Path("said").open("wb") as said:
            command = [sys.executable, "-m", "webapp.cli", *call]
            process = subprocess.Popen(command, stdout=said, stderr=said, env={**os.environ, "PYTHONPATH": str(ROOT)})
            _, status, used = os.wait4(process.pid, 0)
        last = (Path("said").read_text(errors="replace").strip().splitlines() or [""])[-1]
        os.chdir(ROOT)
    seconds, peak = used.ru_utime + used.ru_stime, used.ru_maxrss / 1000
    return f"{name}: {seconds:.1f} s, {peak:.0f} MB, exit {os.waitstatus_to_exitcode(status)}: {last[:90]}"


if __name__ == "__main__":
    for name in sys.argv[1:] or CASES:
        print(tried(name), flush=True)
