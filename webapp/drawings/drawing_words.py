"""What a drawing of plan and front view shows, in words: for those who do not see it."""

from __future__ import annotations

from parser.findings import Finding, Witness
from parser.machine import AXES, Corner
from parser.quantities import Units, sentence_list
from parser.report import Report
from webapp.drawings import scene
from webapp.drawings.figures import length, plain_length
from webapp.drawings.scene import Scene


def in_words(shown: Scene, report: Report, focus: Finding | None, units: Units) -> str:
    """The drawing of a report, and of the finding that is shown."""
    sentences = [machine_in_words(shown, units)]
    if shown.path:
        kinds = [stretch.look for stretch in shown.path]
        counts = [f"{kinds.count(look)} {look}" for look in ("rapid", "feed", "dogleg") if look in kinds]
        moves = "move" if len(kinds) == 1 else "moves"
        begins = (
            "a start that may be anywhere in the hatched area" if shown.start_is_open else _place(shown.begin, units)
        )
        sentences.append(f"The path has {len(kinds)} {moves} ({', '.join(counts)}) from {begins}.")
        sentences.append(f"It typically ends at {_place(shown.finish or shown.begin, units)}.")
    else:
        sentences.append("Nothing moves.")
    if focus is not None and focus.witness is not None:
        start, at = (scene.point_of(place) for place in (focus.witness.start, focus.witness.at))
        happens = what_happens(focus.witness)
        sentences.append(f"Shown: {focus.message.rstrip('.')}.")
        sentences.append(f"It starts at {_place(start, units)}; {happens}, at {_place(at, units)}.")
    return " ".join(sentences)


def machine_in_words(shown: Scene, units: Units) -> str:
    """A machine, what stands on its table, and its travel."""
    solid = [box.name for box in ([shown.table] if shown.table else []) + list(shown.boxes)]
    with_what = f" with {sentence_list(solid)}" if solid else ""
    axes = [
        f"{axis.name.upper()} from {plain_length(axis.travel.low, units)} to {length(axis.travel.high, units)}"
        for axis in shown.machine.axes
        if not axis.rotary
    ]
    return f"Plan over front view of {shown.machine.name}{with_what}. Travel: {sentence_list(axes)}."


def _place(point: Corner, units: Units) -> str:
    return " ".join(f"{name} {plain_length(value, units)}" for name, value in zip("XYZ", point, strict=True))


def what_happens(witness: Witness) -> str:
    """What a witness shows, in a few words beside its point."""
    if witness.body in AXES:
        return f"{witness.body.upper()} leaves its travel here"
    if witness.obstacle:
        return f"{witness.body} meets {witness.obstacle} here".lstrip()
    return "breaks the rule here"
