"""Reports made by hand for the drawings: the mill of the starter workshop and a few moves on it."""

from parser.findings import Finding, Severity, ToolSize, Witness
from parser.language.program import Line, Program
from parser.machine import Axis, Box, Controller, Interval, Machine, Origin, Setup
from parser.motion.moves import Event, EventKind, Move, State, Trace
from parser.motion.places import Afloat, Name, Unknown
from parser.report import Report, SafeStart
from parser.times.timing import Plan, RunOn, Spread, Timing, Totals

VISE = Box("Vise", (80.0, 35.0, -130.0), (170.0, 105.0, -80.0))
BAR = Box("Bar", (60.0, 60.0, -95.0), (190.0, 80.0, -76.0))
TABLE = Box("Table", (-20.0, -15.0, -1e6), (280.0, 165.0, -130.0))
G54 = Origin({"x": Interval(125.0, 125.0), "y": Interval(70.0, 70.0), "z": Interval(-40.0, -30.0)})


def mill(*, setups=None, **changes):
    """The mill of design section 5."""
    axes = (
        Axis("x", Interval(0.0, 260.0), 2400.0, 220.0, home="max"),
        Axis("y", Interval(0.0, 150.0), 2400.0, 220.0, home="min"),
        Axis("z", Interval(-90.0, 0.0), 1200.0, 120.0, home="max", carried_by="head"),
    )
    given = {
        "name": "Workshop mill",
        "axes": axes,
        "setups": setups or (Setup("Bar in the vise", (TABLE, VISE, BAR), {"G54": G54}),),
        "nose_radius": 30.0,
        "tool_stick_out": 40.0,
        "tool_radius": 6.0,
        "safe_z": -2.0,
    }
    return Machine(**(given | changes))


def anywhere(machine):
    """A start that floats over the whole travel, and the box of it."""
    box = {axis.name: axis.travel for axis in machine.axes}
    place = {name: Afloat(0.0, Unknown(Name("start", name), "start", reach)) for name, reach in box.items()}
    return place, box


def move_on(start, line=1, kind="rapid", **targets):
    """A move from a place to the axes named, and the place it ends at."""
    extras = {key: targets.pop(key) for key in ("arc", "dogleg", "seconds", "feed") if key in targets}
    end = {**start, **targets}
    return Move(line, kind, dict(start), end, **extras), end


def report_of(moves, start, box, *, machine=None, findings=(), steps=None, events=(), seconds=None, sentence=""):
    """A report with the given moves; ``seconds`` is a spread for each move, one second each where it is left out."""
    machine = machine or mill()
    spreads = seconds or [Spread(0.5, 2.0, 1.0)] * len(moves)
    timings = tuple(Timing(Spread(0, 0, 0), spread, Spread(0, 0, 0)) for spread in spreads)
    total = sum(spreads, Spread(0, 0, 0))
    end = moves[-1].end if moves else start
    last = max([move.line for move in moves] + [event.line for event in events], default=0)
    trace = Trace(dict(start), tuple(moves), tuple(events), (State(last, {}),), dict(end))
    plan = Plan(timings, Totals(seconds=total), RunOn(0.0, 0.0, {}, None, False, ""))
    program = Program(tuple(Line(number, "") for number in range(1, last + 1)), last=last)
    safe = SafeStart(None, "", "")
    verdict = "refused" if any(each.severity == "refuse" for each in findings) else "proved"
    return Report(
        machine=machine,
        controller=Controller(),
        program=program,
        trace=trace,
        plan=plan,
        findings=tuple(findings),
        verdict=verdict,
        sentence=sentence,
        claim=sentence,
        assumptions=(),
        start=box,
        safe_start=safe,
        extents={},
        steps=steps or {},
    )


def presenting(machine=None, findings=()):
    """Raise, then bring the table to the front, from anywhere."""
    machine = machine or mill()
    start, box = anywhere(machine)
    raised, place = move_on(start, 3, z=-2.0)
    brought, _ = move_on(place, 4, x=130.0, y=145.0)
    steps = {2: 1, 3: 2, 4: 3}
    spreads = [Spread(0.0, 4.57, 2.32), Spread(0.3, 4.1, 2.6)]
    return report_of([raised, brought], start, box, machine=machine, findings=findings, steps=steps, seconds=spreads)


def crossing():
    """Centre the table without raising first, and the finding about it."""
    machine = mill()
    start, box = anywhere(machine)
    low, _ = move_on(start, 2, x=130.0, y=75.0)
    witness = Witness(
        start={"x": 20.0, "y": 20.0, "z": -60.0},
        at={"x": 75.0, "y": 47.5, "z": -60.0},
        tool=ToolSize(40.0, 6.0),
        body="tool",
        obstacle="Vise",
        setup="Bar in the vise",
    )
    finding = Finding(
        "crosses-keep-out", Severity.REFUSE, "The tool meets the vise.", "Raise first.", line=2, step=1, witness=witness
    )
    return report_of([low], start, box, machine=machine, findings=[finding], steps={2: 1}), finding


def waiting():
    """A move, a pause for the operator, a homing of the controller's own and a dwell."""
    machine = mill()
    start, box = anywhere(machine)
    raised, place = move_on(start, 2, z=-2.0)
    dwell = Move(5, "dwell", dict(place), dict(place), seconds=4.0)
    events = [Event(3, EventKind.PAUSE, 1, "Clear the table"), Event(4, EventKind.HOMING, 1, axes=("z",))]
    spreads = [Spread(0.0, 4.57, 2.32), Spread(4.0, 4.0, 4.0)]
    steps = {2: 1, 3: 2, 4: 3, 5: 4}
    return report_of([raised, dwell], start, box, machine=machine, steps=steps, events=events, seconds=spreads)
