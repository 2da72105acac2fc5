"""Two machines that differ in all that matters to a block, and macros on them, for the tests of this folder."""

from __future__ import annotations

from library import documents
from library.bench import Bench
from library.macros import Macro
from library.sheets import preset_text

MILL = """
format = "clickstop-machine/1"
name = "Mill"
[axes.x]
travel = [0.0, 260.0]
rapid = 2400.0
acceleration = 220.0
home = "max"
carried_by = "table"
[axes.y]
travel = [0.0, 150.0]
rapid = 2400.0
acceleration = 220.0
home = "min"
carried_by = "table"
[axes.z]
travel = [-90.0, 0.0]
rapid = 1200.0
acceleration = 120.0
home = "max"
carried_by = "head"
[operator]
stands_at = "-y"
[spindle]
nose_radius = 30.0
run_down = 5.0
[holder]
radius = 0.0
length = 0.0
[tool]
stick_out = 40.0
radius = 6.0
[safe]
z = -2.0
[table]
from = [-20.0, -15.0]
to = [280.0, 165.0]
top = -130.0
[work.G54]
x = 125.0
y = 70.0
z = -38.0
[[keep_out]]
name = "Vise"
from = [80.0, 35.0, -130.0]
to = [170.0, 105.0, -80.0]
[[setup]]
name = "Bare"
[[setup]]
name = "Bar"
work.G54 = { x = 125.0, y = 70.0, z = -30.0 }
"""

ROUTER = """
format = "clickstop-machine/1"
name = "Router"
units = "inch"
[axes.x]
travel = [-8.0, 0.0]
rapid = 150.0
acceleration = 12.0
home = "max"
carried_by = "table"
[axes.y]
travel = [0.0, 12.0]
rapid = 150.0
acceleration = 12.0
home = "min"
carried_by = "head"
[axes.z]
travel = [-4.0, 0.0]
rapid = 80.0
acceleration = 8.0
home = "max"
carried_by = "head"
[operator]
stands_at = "-y"
[spindle]
nose_radius = 1.2
run_down = 3.0
control = "manual"
[holder]
radius = 0.0
length = 0.0
[tool]
stick_out = 1.5
radius = 0.25
[safe]
z = -0.1
[table]
from = [-9.0, -1.0]
to = [1.0, 13.0]
top = -6.0
[work.G54]
x = -4.0
y = 6.0
z = -3.0
"""

ONE_ZERO = MILL.replace("z = -30.0", "z = -38.0")
"""The mill with the same origin in every setup."""

TURNING = """
[axes.a]
travel = [0.0, 360.0]
rapid = 3600.0
acceleration = 720.0
home = "none"
carried_by = "table"
"""
"""A rotary axis, to be put behind the text of a machine."""

WORDS = {"M64": "ignore", "M65": "ignore", "M66": "wait"}
"""Words of a controller's own that switch an output and wait for an input (common practice, no source)."""

FILLED = {
    "go-to": {"z": "safe.z"},
    "own-lines": {"lines": "G17"},
    "run-macro": {"macro": "lift"},
    "set-work-zero": {"system": "G55", "z": "-40 mm"},
    "output": {"on": "M64 P0", "opposite": "M65 P0"},
    "wait-for-input": {"line": "M66 P0 L3 Q{seconds}"},
    "probe-edge": {"diameter": "10 mm"},
    "probe-corner": {"diameter": "10 mm"},
    "touch-off-tool": {"x": "travel.x.min", "y": "travel.y.max", "limit": "travel.z.min", "height": "50.8 mm"},
}
"""Values of blocks that cannot be written as they come, since nobody else can know them."""

PENDANT = """
format = "clickstop-pendant/1"
name = "Hand pendant"
"""

INCH_RESTING = 'format = "clickstop-controller/1"\nresting = "G17 G20 G40 G80 G90 G94"\n'


def bench(machine: str = MILL, controller: str = "as-published", pendant: str = PENDANT) -> Bench:
    """``controller`` is presets, which then answer TAKEN to each line, or the text of a sheet."""
    chosen = controller if "\n" in controller else preset_text(controller) + 'acknowledge = "TAKEN"\n'
    return documents.bench(machine, chosen, pendant, {"lift": macro(step("raise"), id="lift")})


def able(machine: str = MILL, controller: str = "as-published") -> Bench:
    """A bench with all that any block asks of it: a rotary axis, and words that switch and wait."""
    plain = bench(machine + TURNING, controller)
    sheet = plain.controller_sheet
    sheet = sheet.model_copy(update={"extra_words": {**sheet.extra_words, **WORDS}})
    return Bench.of(plain.machine_sheet, sheet, plain.pendant, plain.shelf)


def controller(**keys: str) -> str:
    """The text of a controller sheet with some keys, each value written as TOML."""
    return 'format = "clickstop-controller/1"\n' + "".join(f"{key} = {value}\n" for key, value in keys.items())


def macro(*steps: dict[str, object], **header: object) -> Macro:
    return Macro.model_validate({"format": "clickstop-macro/1", "name": "Trial", **header, "step": list(steps)})


def step(block: str, **values: object) -> dict[str, object]:
    return {"block": block, **values}
