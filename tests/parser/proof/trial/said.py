"""What a refusal says would happen has to happen in the case it shows; what may happen is counted."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from parser.findings import Finding
from parser.machine import Interval, Setup
from tests.parser.proof.scenes.scene import AXES, Scene
from tests.parser.proof.simulation.legs import Leg
from tests.parser.proof.simulation.meeting import Body, Key, Thing, things
from tests.parser.proof.simulation.program import CLOSES
from tests.parser.proof.simulation.shown import Missing, Shown
from tests.parser.proof.simulation.travel import broken, outside
from tests.parser.proof.simulation.words import Values
from tests.parser.proof.trial.common import ROUNDING, DisagreementError, fired, may
from tests.parser.proof.trial.proved import happens_in

ARC_SLACK = CLOSES["G20"] + ROUNDING
"""mm by which the place shown on an arc may be beside the way that is followed here."""


FEW = 3000
"""Samples from one start."""


def confirm(made: Scene, key: Key, finding: Finding, happens: bool | None) -> str:
    """What to count a refusal as; ``happens`` tells whether a sample breaks it, None where that was not tried.

    Raises DisagreementError where the case that is shown does not break what it is said that it would.
    """
    assert finding.witness is not None
    assert finding.line is not None
    words = made.lines[finding.line - 1].split()
    slack = ROUNDING if {"G2", "G3"}.isdisjoint(words) else ARC_SLACK
    fails = np.inf
    for setup in made.machine.setups:
        if setup.name == finding.witness.setup:
            for missing, axis in _ways_to_break(made, setup, key, finding):
                case = Shown(
                    made.machine, made.controller, setup, made.lines, finding.line, finding.witness, missing, axis
                )
                fails = min(fails, case.fails(slack))
    if fails <= slack:
        return "may, and is shown" if may(finding) else "refused and shown"
    if not may(finding):
        at_all = _breaks_from_there(made, key, finding)
        kind = "would, though not where it is shown" if at_all else "would, and does not from where it is shown"
        raise DisagreementError(kind, made, key=key, finding=finding, by=fails)
    return "may, and does" if happens else "false alarm"


def _breaks_from_there(made: Scene, key: Key, finding: Finding) -> bool:
    """Whether some sample from the start that is shown breaks the rule at all."""
    assert finding.witness is not None
    start = {axis: Interval(at, at) for axis, at in finding.witness.start.items()}
    return any(
        happens_in(made, each, {key}).get(key, False) for each in fired(made, np.random.default_rng(1), start, FEW)
    )


def _ways_to_break(made: Scene, setup: Setup, key: Key, finding: Finding) -> Iterator[tuple[Missing, int | None]]:
    """Each way in which the place shown may break the rule: by how much it does not, and the one axis that matters."""
    witness = finding.witness
    assert witness is not None
    at = np.array([[witness.at[axis]] for axis in AXES])
    if key[0] in AXES:
        index = AXES.index(str(key[0]))
        axis, margin = made.machine.axes[index], made.machine.travel_margin
        yield lambda leg: -outside(axis, margin, at[index], leg.since[index]), index
    elif key[0] == "limit":
        for limit in made.machine.limits:
            yield lambda leg, limit=limit: -broken(limit, at, leg.since), None
    else:
        tool = np.array([[witness.tool.length], [witness.tool.radius]]) if witness.tool else np.zeros((2, 1))
        for thing in things(made.machine, setup):
            for body in thing.met_by if thing.key == key else ():
                if body.name in (witness.body, "rider"):
                    yield _not_met(thing, body, at, tool), None


def _not_met(thing: Thing, body: Body, at: Values, tool: Values) -> Missing:
    def missing(leg: Leg) -> Values:
        count = leg.since.shape[1]
        length, radius = (np.repeat(each, count) for each in body.sized(tool))
        clear = thing.clear(body, leg.since, (length, radius))
        deep = thing.depth(body, leg.since, np.repeat(at, count, axis=1), (length, radius))
        worst: Values = np.maximum(-clear, -deep)
        return worst

    return missing
