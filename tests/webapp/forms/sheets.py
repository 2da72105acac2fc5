"""Sheets that the tests of the forms fill in: as they come, and one of each kind with every key it may have."""

from importlib.resources import files

from webapp.pages.forms import layout

STARTER = {
    kind: files("library.starter").joinpath(f"{kind}.toml").read_text()
    for kind in layout.documents.KINDS
    if kind != "macro"
}

FULL_MACHINE = (
    STARTER["machine"]
    + """
[axes.a]
travel = [0.0, 360.0]        # turned by hand
rapid = 900.0
acceleration = 300.0
home = "none"
carried_by = "table"

[work."G59.1"]
x = [1.0, 2.0]
a = 90.0

[stored.G30]
z = -1.0

[[enclosure]]
name = "Cable duct"
from = [200.0, 0.0, -20.0]
to = [260.0, 150.0, 0.0]

# The column.
[[limit]]
when = "z < -70 mm"
then = "y <= 140 mm"
"""
)
FULL_CONTROLLER = (
    STARTER["controller"]
    .replace('stop_line = ""', 'stop_line = "\\\\u0018"')
    .replace("extra_words = {}", 'extra_words = { M98 = "call", M150 = "ignore" }')
    .replace("unsupported = []", 'unsupported = ["G38.2", "M7"]')
    .replace("homing = []", 'homing = [\n  "G28", # all\n  "G30",\n]')
)
FULL_PENDANT = (
    STARTER["pendant"]
    + """
[wiring]
supply = { wire = "red", pin = "5V" }
common = { wire = "black", pin = "0V" }
[[wiring.signal]]
group = "selector"
is = "X"
wire = "yellow"
pin = "2"

# the wheel
[[wiring.signal]]
group = "wheel"
is = "A"
wire = "green"
pin = "3"

[numbers]
present-part = 1
"""
)
FULL = {"machine": FULL_MACHINE, "controller": FULL_CONTROLLER, "pendant": FULL_PENDANT}


def cells(kind, text, units=None, part=None):
    """Every cell of a form as a browser would send it."""
    shape = layout.shape(kind, text, units)
    parts = [each for each in shape.parts() if part in (None, each.id)]
    shown = [layout.filled(each, shape.data, {}, {}) for each in parts]
    return {cell.name: cell.value for each in shown for group in each.groups for _, cell in group.every_cell()}
