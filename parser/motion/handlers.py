"""What each word does, one small handler for each, and the table that finds them.

Sections are those of NISTIR 6556.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from parser.language.words import G_GROUPS, whole
from parser.machine import LINEAR, MM_PER_INCH, SYSTEMS
from parser.motion import modes
from parser.motion.assumptions import FEED, KEPT, OFFSET, OPTIONAL_STOP, TOOL
from parser.motion.curves import Pace, go_round
from parser.motion.cycles import SECONDS, drill
from parser.motion.faults import fault
from parser.motion.job import Job, unusable
from parser.motion.modal_state import Cycle
from parser.motion.moves import TURNING, EventKind
from parser.motion.parameters import STORED
from parser.motion.places import Place, minus
from parser.motion.probing import probe
from parser.motion.run import Run
from parser.motion.undone import hangs_on_what_is_adrift, leave_undone, lose_offsets
from parser.quantities import sentence_list

Handler = Callable[[Run, Job, str, int], None]
"""What executing one word does: the run, the line, the word as the tables spell it, and its index on the line."""


def _set_mode(run: Run, job: Job, word: str, index: int) -> None:
    """A G word that only puts itself in force (3.5)."""
    run.modes.set(word)


def _length_offset(run: Run, job: Job, word: str, index: int) -> None:
    """G43 (3.5.11): the length of a tool of the tool table, none for H0."""
    at = job.sense.at.get("H")
    if at is None:
        run.modes.cloud(modes.LENGTH_OFFSET)  # that the word is missing has been reported
        return
    number = whole(job.values[at])
    lengths = {0: 0.0} | {tool.number: tool.length for tool in run.machine.tools}
    if number not in lengths:
        known = sentence_list([str(tool.number) for tool in run.machine.tools])
        run.modes.cloud(modes.LENGTH_OFFSET)
        raise unusable(
            at,
            "no such tool",
            value=job.values[at],
            has=f"has no such tool; it has {known}" if known else "is empty",
        )
    run.modes.tool_length = lengths[number]
    run.modes.set(word)
    run.coordinates.forget_zeros()


def _start_cycle(run: Run, job: Job, word: str, index: int) -> None:
    """G81 to G89 (3.5.16): the numbers of a cycle are kept only while it stays in force."""
    if run.modes.words.get(modes.MOTION) != word:
        run.modes.cycle = Cycle(word)
    run.modes.set(word)


def _change_tool(run: Run, job: Job, word: str, index: int) -> None:
    """M6 (3.6.3): afterwards the tool that T named is in the spindle, which stands."""
    run.log.count_on(run.modes.by_hand(TOOL))
    if run.modes.tool is None and run.log.first_blame("T"):
        run.log.assume(TOOL, "left")
        run.log.blame(job, fault(index, "no tool named"))
    text = "M6" if run.modes.tool is None else f"M6 T{run.modes.tool}"
    run.log.happen(EventKind.TOOL_CHANGE, job.line, text, word=job.words[index])
    run.modes.turn_spindle("stopped")
    run.log.change(TOOL, job.line)


def _feed_mode(run: Run, job: Job, word: str, index: int) -> None:
    """G93, G94 (3.5.19): a rate from before inverse time is not taken up again."""
    if run.modes.words.get(modes.FEED_MODE, word) != word:
        run.modes.set_feed(None, None)
    run.modes.set(word)


def _feed(run: Run, job: Job, word: str, index: int) -> None:
    """F (3.7.1): kept as a rate under G94, read by the move itself under G93."""
    value = job.values[index]
    run.modes.set_here(FEED)
    if value < 0:
        run.log.excuse("F")
        raise unusable(index, "negative feed", value=value)
    if run.modes.need(modes.FEED_MODE, job, index) == "G93":
        return
    new = job.sense.new_units
    old = run.modes.words.get(modes.UNITS)
    if new and new != old:
        before = "in units that nothing has set before" if old is None else f"under {old}"
        run.log.blame(job, fault(index, "feed before units", new=new, value=value, before=before))
        millimetres = MM_PER_INCH if new == "G20" else 1.0
    else:
        millimetres = run.modes.scale(job, index)
    run.modes.set_feed(value * millimetres, value)
    run.log.unchange(FEED)


def _speed(run: Run, job: Job, word: str, index: int) -> None:
    """S (3.7.2)."""
    value = job.values[index]
    if value < 0:
        raise unusable(index, "negative speed", value=value)
    run.modes.speed = value


def _tool(run: Run, job: Job, word: str, index: int) -> None:
    """T (3.7.3)."""
    number = whole(job.values[index])
    if number is None or number < 0:
        run.log.excuse("T")
        raise unusable(index, "tool number", value=job.values[index])
    run.modes.tool = number
    run.modes.set_here(TOOL)


def _spindle(run: Run, job: Job, word: str, index: int) -> None:
    """M3, M4, M5 (3.6.2); they do nothing where the operator switches the spindle."""
    run.modes.turn_spindle(TURNING[word])


def _coolant(run: Run, job: Job, word: str, index: int) -> None:
    """M7, M8, M9 (3.6.4): mist and flood may both be on."""
    run.modes.coolant = frozenset() if word == "M9" else (run.modes.coolant or frozenset()) | {word}


def _overrides(run: Run, job: Job, word: str, index: int) -> None:
    """M48, M49 (3.6.5)."""
    run.modes.overrides = word


def _dwell(run: Run, job: Job, word: str, index: int) -> None:
    """G4 (3.5.4); word and unit of the time are the controller's."""
    letter = run.controller.dwell_word
    at = job.sense.at[letter]
    value = job.values[at]
    if value < 0:
        raise unusable(at, "negative dwell", letter=letter, value=value)
    run.position.dwell(job, index, value * SECONDS[run.controller.dwell_unit])


def _set_origin(run: Run, job: Job, word: str, index: int) -> None:
    """G10 L2 (3.5.5): the named axes of one origin, in machine coordinates whatever is in force."""
    what, which = job.sense.at["L"], job.sense.at["P"]
    if whole(job.values[what]) != 2:
        raise unusable(what, "G10 without L2", value=job.values[what])
    number = whole(job.values[which])
    if number is None or not 1 <= number <= len(SYSTEMS):
        raise unusable(which, "no such system", value=job.values[which])
    system = SYSTEMS[number - 1]
    for axis, at in job.sense.axes:
        run.coordinates.set_origin(system, axis, run.modes.said(job, axis, at), job.line)


def _name_point(run: Run, job: Job, word: str, index: int) -> None:
    """G92 (3.5.18): this point gets the coordinates given, whatever it was called before."""
    zeros = {}
    for axis, at in job.sense.axes:
        zeros[axis] = minus(run.position.place[axis], run.modes.said(job, axis, at))
    run.coordinates.name_points(zeros)
    run.coordinates.kept = word
    run.log.change(OFFSET, job.line)
    run.coordinates.note_offsets()


def _clear_g92(run: Run, job: Job, word: str, index: int) -> None:
    """G92.1 and G92.2 (3.5.18)."""
    run.coordinates.offsets.clear_g92(keep=word == "G92.2")
    if word == "G92.1":
        run.coordinates.kept = word
    run.log.unchange(OFFSET)
    run.coordinates.note_offsets()


def _restore_g92(run: Run, job: Job, word: str, index: int) -> None:
    """G92.3 (3.5.18)."""
    if not run.coordinates.offsets.restore_g92():
        if run.log.first_blame("G92.3"):
            run.log.assume(KEPT, "left")
            run.log.blame(job, fault(index, "offsets never set"))
        lose_offsets(run, job.line, run.axis_names)
    if run.coordinates.offsets.named_zeros:
        run.log.change(OFFSET, job.line)
    run.coordinates.note_offsets()


def _go_to_stored(run: Run, job: Job, word: str, index: int) -> None:
    """G28 and G30 (3.5.8): through the point given, if any, to the stored one; or the homing cycle."""
    if job.homes or (word == "G28" and run.controller.g28 == "home"):
        _home(run, job, word, index)
        return
    if word in run.adrift or hangs_on_what_is_adrift(run, job):
        leave_undone(run, job, job.words[index])
        return
    named = tuple(axis for axis, _ in job.sense.axes)
    if named:
        run.position.rapid(job, index, run.target(job))
    going = named if named and run.controller.g28_axes == "named" else run.axis_names
    end: Place = dict(run.position.place)
    for axis in going:
        end[axis], rests = run.coordinates.offsets.stored_point(word, axis)
        run.log.count_on(rests)
    run.position.rapid(job, index, end)


def _home(run: Run, job: Job, word: str, index: int) -> None:
    """The controller's own homing cycle of the axes named, of all where none is."""
    if not job.homes:
        known = " or ".join(run.controller.homing) or "none: the operator homes at the panel"
        run.log.blame(job, fault(index, "homes here", word=word, known=known))
    named = tuple(axis for axis, _ in job.sense.axes)
    axes = tuple(axis for axis in run.axis_names if axis in named or not named)
    run.log.happen(EventKind.HOMING, job.line, job.written(index), axes, job.words[index])
    run.position.lose("homed", job.line, axes)


def _motion(run: Run, job: Job, word: str, index: int) -> None:
    """The motion in force (3.5.1 to 3.5.3), as changed by G53 (3.5.12)."""
    motion = run.modes.words.get(modes.MOTION)
    run.modes.need(modes.MOTION, job, index)
    if motion is None or hangs_on_what_is_adrift(run, job, motion):
        leave_undone(run, job, job.words[index])
        return
    if motion == "G0":
        run.position.rapid(job, index, run.target(job))
        return
    if motion in modes.LINEAR_ONLY:
        _judge_linear_only(run, job, index, motion)
    feed, minutes = _rate(run, job, index, motion)
    if motion == modes.PROBE:
        probe(run, job, index, feed)
        return
    if motion in modes.CYCLES:
        drill(run, job, index, motion, feed)
        if run.modes.cycle is None or run.modes.cycle.plane is None:  # the line that began it was left undone
            leave_undone(run, job, job.words[index])
        return
    if motion == "G1":
        end = run.target(job)
        if (
            run.rotary
            and feed is not None
            and all(run.position.place[axis] == end[axis] for axis in LINEAR if axis in end)
        ):
            feed = run.modes.feed_written
        run.position.go(job, index, "feed", end, feed=feed, minutes=minutes)
        return
    go_round(run, job, index, motion, Pace(feed, minutes))


def _judge_linear_only(run: Run, job: Job, index: int, motion: str) -> None:
    """What probing and canned cycles cannot do: inverse time, and turning a rotary axis (3.5.9, 3.5.16)."""
    if run.modes.need(modes.FEED_MODE, job, index) == "G93":
        raise unusable(index, "no inverse time", motion=motion)
    turning = [(axis, at) for axis, at in job.sense.axes if axis not in LINEAR]
    end = run.target(job) if turning else run.position.place
    for axis, at in turning:
        if end[axis] != run.position.place[axis]:
            raise unusable(at, "rotary axis would turn", motion=motion, axis=axis.upper())


def _rate(run: Run, job: Job, index: int, motion: str) -> tuple[float | None, float | None]:
    """Feed in mm/min, or minutes under G93; both None where neither is known (3.5.19)."""
    if run.modes.need(modes.FEED_MODE, job, index) == "G93":
        value = job.value("F")
        if value is None:
            raise unusable(index, "no F under G93", motion=motion)
        if value == 0:
            raise unusable(job.sense.at["F"], "F0 under G93")
        return None, 1 / value
    run.log.count_on(run.modes.by_hand(FEED))
    if not run.modes.feed and run.log.first_blame("F"):
        if run.modes.feed is None:
            run.log.assume(FEED, "left")
        said = "nothing has set a feed rate" if run.modes.feed is None else "the feed rate is zero"
        run.log.blame(job, fault(index, "no feed", motion=motion, said=said))
    return run.modes.feed or None, None


def _pause(run: Run, job: Job, word: str, index: int) -> None:
    """M0, M1, M60 (3.6.1). Whether M1 stops is not the macro's to know; the proof takes either (``may_run_on``)."""
    optional = word == "M1"
    if optional:
        run.log.assume(OPTIONAL_STOP, "either")
    run.position.wait_for_operator(job.line, word, job.words[index], optional=optional)


def _end(run: Run, job: Job, word: str, index: int) -> None:
    """M2 and M30 (3.6.1)."""
    if run.controller.call:
        run.log.blame(job, fault(index, "ends the caller", word=word))
    run.log.happen(EventKind.END, job.line, word, word=job.words[index])
    run.modes.reset()
    run.coordinates.offsets.clear_g92(keep=True)
    run.log.unchange(OFFSET)
    run.ended = True


def call(run: Run, job: Job, word: str, index: int) -> None:
    """An extra word that runs another program: afterwards nothing is known."""
    run.log.happen(EventKind.CALL, job.line, word, word=job.words[index])
    run.position.lose("called", job.line, run.axis_names)
    run.modes.forget()
    run.parameters.forget()
    run.coordinates.offsets.forget_g92()
    run.coordinates.forget_zeros()


def end_macro(run: Run, job: Job, word: str, index: int) -> None:
    """An extra word that ends the macro and leaves the modes as they are."""
    run.log.happen(EventKind.RETURN, job.line, word, word=job.words[index])
    run.ended = True


def wait_for_input(run: Run, job: Job, word: str, index: int) -> None:
    """An extra word that waits for something outside; nothing is known of how long, and nothing moves meanwhile."""
    run.log.happen(EventKind.INPUT, job.line, word, word=job.words[index])


EXTRA: Mapping[str, Handler] = {"call": call, "end": end_macro, "wait": wait_for_input}

HANDLERS: Mapping[str, Handler] = {
    **{word: _set_mode for word, group in G_GROUPS.items() if group},
    **dict.fromkeys(modes.CYCLES, _start_cycle),
    "G43": _length_offset,
    "M6": _change_tool,
    **dict.fromkeys(("G93", "G94"), _feed_mode),
    "F": _feed,
    "S": _speed,
    "T": _tool,
    **dict.fromkeys(TURNING, _spindle),
    **dict.fromkeys(("M7", "M8", "M9"), _coolant),
    **dict.fromkeys(("M48", "M49"), _overrides),
    "G4": _dwell,
    "G10": _set_origin,
    **dict.fromkeys(STORED.values(), _go_to_stored),
    "G92": _name_point,
    **dict.fromkeys(("G92.1", "G92.2"), _clear_g92),
    "G92.3": _restore_g92,
    "motion": _motion,
    **dict.fromkeys(("M0", "M1", "M60"), _pause),
    **dict.fromkeys(("M2", "M30"), _end),
}
