"""A plain three-axis mill with a vise, built without documents, for tests of the parser alone."""

from __future__ import annotations

from dataclasses import replace

from parser.machine import Axis, Box, Controller, Interval, Machine, Origin, Setup

TABLE = Box("Table", (-20.0, -15.0, -1000.0), (280.0, 165.0, -130.0))
VISE = Box("Vise", (80.0, 35.0, -130.0), (170.0, 105.0, -80.0))
BAR = Box("Bar", (60.0, 60.0, -95.0), (190.0, 80.0, -76.0))
G54 = Origin({"x": Interval(125.0, 125.0), "y": Interval(70.0, 70.0), "z": Interval(-38.0, -38.0)})

CONTROLLER = Controller()

MILL = Machine(
    name="Plain mill",
    axes=(
        Axis("x", Interval(0.0, 260.0), 2400.0, 220.0, home="max", carried_by="table"),
        Axis("y", Interval(0.0, 150.0), 2400.0, 220.0, home="min", carried_by="table"),
        Axis("z", Interval(-90.0, 0.0), 1200.0, 120.0, home="max", carried_by="head"),
    ),
    setups=(Setup("Bar in the vise", (TABLE, VISE, BAR), {"G54": G54}),),
    nose_radius=30.0,
    tool_stick_out=40.0,
    tool_radius=6.0,
    safe_z=-2.0,
    maximum_rpm=10000.0,
    run_down=5.0,
    stored={"G28": {"x": 0.0, "y": 0.0, "z": 0.0}},
)


def mill(**changes):
    """The plain mill with some fields changed."""
    return replace(MILL, **changes)


def controller(**changes):
    """The published controller with some fields changed."""
    return replace(CONTROLLER, **changes)
