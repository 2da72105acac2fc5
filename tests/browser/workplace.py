"""A workshop to try the bench with: twenty steps among six boxes, and a macro that is refused."""

from __future__ import annotations

from library import documents
from library.store import Workshop
from tests.workshops import keep

CLAMPS = [
    {"name": f"Clamp {number}", "from": [10.0 + 40 * number, 5.0, -130.0], "to": [30.0 + 40 * number, 25.0, -95.0]}
    for number in range(5)
]
VISE = {"name": "Vise", "from": [80.0, 35.0, -130.0], "to": [170.0, 105.0, -80.0]}
TOUR = [
    step
    for x in range(20, 220, 40)
    for step in (
        {"block": "go-to", "x": f"{x} mm", "y": "120 mm"},
        {"block": "dwell", "time": "0.5 s"},
        {"block": "present-table"},
    )
]
TWENTY = [
    {"block": "raise"},
    {"block": "spindle-off"},
    {"block": "coolant-off"},
    *TOUR,
    {"block": "centre-table"},
    {"block": "park"},
]
ACROSS = [{"block": "spindle-off"}, {"block": "own-lines", "lines": "G21 G90\nG53 G0 X120 Y70"}]


def furnish(folder):
    """Put six boxes on the table and the macros "twenty" and "across" on the shelf."""
    shop = Workshop.open(folder)
    machine = documents.write("machine", {("keep_out",): [VISE, *CLAMPS]}, shop.text("machine", "workshop"))
    keep(shop, "machine", "workshop", machine, "six boxes")
    for id, name, steps in (("twenty", "Twenty steps", TWENTY), ("across", "Straight across", ACROSS)):
        made = {("step",): steps, ("id",): id, ("name",): name}
        keep(shop, "macro", id, documents.write("macro", made, shop.text("macro", "park")), "made up")


def macro(folder, id):
    """A macro as it is saved now."""
    return documents.parse("macro", Workshop.open(folder).text("macro", id))
