"""Find the starts from which a refused macro is safe, and prove it from there."""

from parser import Axis, Box, Controller, Interval, Machine, Question, Setup, examine

MILL = Machine(
    name="Workshop mill",
    axes=(
        Axis("x", Interval(0.0, 260.0), rapid=2400.0, acceleration=220.0, carried_by="table"),
        Axis("y", Interval(0.0, 150.0), rapid=2400.0, acceleration=220.0, carried_by="table"),
        Axis("z", Interval(-90.0, 0.0), rapid=1200.0, acceleration=120.0, carried_by="head"),
    ),
    setups=(Setup("Vise", (Box("Vise", (80.0, 35.0, -130.0), (170.0, 105.0, -80.0)),)),),
    tool_stick_out=40.0,
    tool_radius=6.0,
)
ACROSS = "G17 G21 G40 G80 G90 G94\nM5\nG53 G0 X250 Y75\n"  # at whatever height it stands
CONTROLLER = Controller(percent=False)

report = examine(ACROSS, MILL, CONTROLLER)
safe = report.safe_start
print(f"From anywhere: {report.verdict}.")
print(f"It is {safe.sentence}.")

again = examine(ACROSS, MILL, CONTROLLER, Question(start=safe.box, condition=safe.condition))
print(again.sentence)
