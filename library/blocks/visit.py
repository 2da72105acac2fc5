"""Visit: one point after another, raised before each and with a wait at each, as for tramming the head."""

from __future__ import annotations

from library.blocks import sides
from library.blocks.block import Bench, Block, Columns, Parameter, Values, Writer

MOST_POINTS = 12  # our choice
CORNERS = "\n".join(
    f"travel.x.{x} {off_x} 20 mm, travel.y.{y} {off_y} 20 mm"
    for x, off_x, y, off_y in (
        ("min", "+", "min", "+"),
        ("max", "-", "min", "+"),
        ("max", "-", "max", "-"),
        ("min", "+", "max", "-"),
    )
)


def write(values: Values, bench: Bench, out: Writer) -> None:
    points = values.rows("points")
    for number, (x, y, *height) in enumerate(points, start=1):
        out.machine_move({"z": values.number("up")})
        out.machine_move({"x": x, "y": y}, values.maybe("feed"))
        for z in height:
            out.machine_move({"z": z}, values.maybe("feed"))
        if values.text("wait") == "dwell":
            out.dwell(values.number("time"))
        else:
            out.ask(f"POINT {number} OF {len(points)}, THEN RESUME")


BLOCK = Block(
    id="visit",
    title="Visit points",
    sentence="Visit the points {points} at {feed}, raising to {up} before each, at each {wait}, for {time}",
    help="Takes the tool to up to 12 points, one after another, and waits at each: for the operator, or for a time. It "
    "raises before each of them, so that each may be gone to from anywhere: on a pendant that sends the lines each "
    "point has a gesture of its own, and in between the axes may be jogged, as for tramming the head. Where a point "
    "has a height of its own, Z goes down to it there.",
    family="Moves",
    place=75,
    parameters=(
        Parameter(
            "points",
            "lines",
            CORNERS,
            "One point a line: machine X, a comma, machine Y; and, where Z is to go down there, a comma and machine Z.",
            places=("x", "y", "z"),
            columns=Columns(("length", "length", "length"), MOST_POINTS, optional=1),
        ),
        Parameter("feed", "rate", "", "Rate of the moves; left empty they are rapids.", blank="rapid", least=0.001),
        Parameter("up", "length", "safe.z", "Machine Z to raise to before each point.", places=("z",)),
        Parameter("wait", "choice", "pause", "How to wait at a point.", choices=("pause", "dwell")),
        Parameter("time", "time", "5 s", "How long to dwell at a point.", least=0.001),
    ),
    write=write,
    note=sides.across,
)
