"""What the proof does not refuse, no sample may break.

Each thing that may be met, each end of travel on each line and each limit is held to that on its own.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

import numpy as np

from parser.findings import Finding
from tests.parser.proof.scenes.scene import Scene
from tests.parser.proof.simulation.meeting import Key, met, things
from tests.parser.proof.trial.common import ROUNDING, DisagreementError, Fired, fired, left, may


@dataclass
class Broken:
    """How often what is proved was tried, and whether a sample breaks what the proof says may be broken."""

    tried: Counter[str] = field(default_factory=Counter)
    happens: dict[Key, bool] = field(default_factory=dict)


def try_to_break(made: Scene, said: Mapping[Key, list[Finding]], random: np.random.Generator, count: int) -> Broken:
    """Fires a macro from all over its starts. Raises DisagreementError where it breaks what is not refused."""
    found = Broken()
    doubtful = {key for key, findings in said.items() if any(map(may, findings))}
    for each in fired(made, random, made.start, count):
        if not each.run.alive.all():
            raise DisagreementError("not refused, and cannot be carried out", made, **each.one(~each.run.alive))
        breaks_nothing(made, each, "not refused", sparing=said)
        found.tried["proved clear"] += sum(thing.key not in said for thing in things(made.machine, each.setup))
        found.tried["proved in travel"] += sum(key not in said for key in left(made, each.legs))
        for key, happens in happens_in(made, each, doubtful).items():
            found.happens[key] = happens or found.happens.get(key, False)
    return found


def breaks_nothing(made: Scene, each: Fired, what: str, *, sparing: Collection[Key] = (), **facts: object) -> None:
    """Raises DisagreementError where a macro breaks anything but what is to be spared."""
    for thing in things(made.machine, each.setup):
        for meeting in met(thing, each.legs, ROUNDING) if thing.key not in sparing else ():
            if meeting.hit.any():
                line = int(meeting.line[meeting.hit].min())
                about = {"met": thing, "body": meeting.body, "line": line}
                raise DisagreementError(f"{what}, and met", made, **facts, **about, **each.one(meeting.hit))
    for key, over in left(made, each.legs).items():
        if key not in sparing and over.any():
            raise DisagreementError(f"{what}, and left", made, **facts, key=key, **each.one(over))


def happens_in(made: Scene, each: Fired, keys: Collection[Key]) -> dict[Key, bool]:
    """Whether a sample breaks what some keys are about."""
    if not keys:
        return {}
    found = {key: bool(over.any()) for key, over in left(made, each.legs).items() if key in keys}
    for thing in things(made.machine, each.setup):
        if thing.key in keys:
            found[thing.key] = any(meeting.hit.any() for meeting in met(thing, each.legs, ROUNDING))
    return found
