"""The interpreter: a program followed line by line from a start place, as a trace of moves, events and modal states.

What a program has not set is unknown, never a default: a word that depends on it is reported once, and something is
then taken for it so that the lines after it can still be followed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from math import nan
from typing import Annotated, NamedTuple

from parser.errors import AssumeError
from parser.findings import Number, Trouble
from parser.language.layout import bare
from parser.language.program import Line, Program, Word
from parser.language.reader import read
from parser.language.words import G_GROUPS, M_GROUPS, WORDS, canonical
from parser.limits import MOVES
from parser.machine import HOME_AT_PANEL, Controller, Interval, Machine, Range, Setup
from parser.motion import modes
from parser.motion.arithmetic import set_parameter, setting_values, word_values
from parser.motion.checks import Sense, make_sense
from parser.motion.faults import told
from parser.motion.handlers import EXTRA, HANDLERS
from parser.motion.job import Job, UnusableError
from parser.motion.moves import EventKind, Trace
from parser.motion.origins_here import Found, found_in, set_here
from parser.motion.run import Run
from parser.motion.undone import LEAVES_UNDONE, leave_undone, leave_words_undone, lose_parameters
from parser.progress import Progress, unheard
from parser.question import Assumed, share

_CODE = re.compile(r"([GM])(\d+(?:\.\d+)?)")
_FEED = re.compile(r"F[\d.\[#]")
_MOST_SENSES = 4096
_LINES_PER_PROGRESS = 2_000


def trace(
    program: Program,
    machine: Machine,
    controller: Controller,
    *,
    setup: Setup | None = None,
    start: Mapping[str, Range] | None = None,
    likely: Mapping[str, float] | None = None,
    assume: Assumed = "",
    block_delete: bool = False,
    stays: bool = False,
    trips: Mapping[Number, Annotated[Interval, share]] | None = None,
    progress: Progress = unheard,
) -> Trace:
    """Follow a program word by word.

    ``start`` gives machine coordinates by axis, mm or degrees; an axis it leaves out may be anywhere in its travel.
    ``likely`` is where in it the run begins that is called typical, in the middle for an axis it leaves out.
    ``setup`` is the one whose work origins hold; None takes what all setups of the machine allow. ``assume`` is a line
    of words executed before the program and not part of it. ``block_delete`` skips lines that begin with a slash.
    After a line that is not carried out because something is not known the machine may be anywhere; ``stays`` takes it
    to stand still, for a program that is refused because of that line: then the lines after it are not blamed for it.
    ``trips`` narrows where probes trip: by line, the share of the way from 0 to 1; anywhere on it for any other.
    ``progress`` is told the share done, now and then; what it raises ends the following.
    Raises AssumeError. Source: NISTIR 6556, 3.4 to 3.8.
    """
    run = Run(machine, controller, setup, start or {})
    run.position.usually(likely or {})
    run.stays, run.trips = stays, trips or {}
    follower = _Follower(run)
    if assume.strip():
        follower.assume(assume)
    start_place, before = run.position.place, run.state(0)
    for line in program.lines:
        if run.ended or (program.last and line.number > program.last):
            break
        if line.number % _LINES_PER_PROGRESS == 0:
            progress(line.number / len(program.lines))
        if not (block_delete and line.block_delete):
            follower.follow(line)
        if run.log.full or len(run.log.moves) > MOVES.most:
            run.log.overfill(line, None, "Up to this line the program makes more moves than that")
            break
    follower.close(program)
    return Trace(
        start=start_place,
        moves=tuple(run.log.moves),
        events=tuple(run.log.events),
        states=tuple(run.log.states),
        end=run.position.place,
        troubles=tuple(run.log.troubles),
        forks=tuple(dict.fromkeys(run.position.forks)),
        assumptions=run.log.counted_on,
        before=before,
        assume=assume,
    )


class _Known(NamedTuple):
    """What lines mean on a controller: by its sheet, or by the motion in force, their letters and G and M values."""

    controller: Controller
    axis_names: tuple[str, ...]
    own_lines: Mapping[str, str]
    senses: dict[tuple[str | None, str, tuple[float, ...]], Sense]


_last: _Known | None = None


def _known_of(controller: Controller, axis_names: tuple[str, ...]) -> _Known:
    """What is known already: a program is followed many times in a row, of which only the starts differ."""
    global _last
    last = _last
    if last is None or last.controller is not controller or last.axis_names != axis_names:
        last = _last = _Known(controller, axis_names, _lines_of_the_sheet(controller), {})
    return last


class _Follower:
    """Feeds lines to a run, and keeps what has been worked out about their shapes."""

    def __init__(self, run: Run) -> None:
        self._run = run
        known = _known_of(run.controller, run.axis_names)
        self._senses, self._own_lines = known.senses, known.own_lines
        self._lost_ends = False
        self._last_words: tuple[str, ...] = ()

    def assume(self, text: str) -> None:
        """Execute a line that only says which modes hold already. Raises AssumeError."""
        program = read(text, self._run.controller)
        if len(program.lines) > 1:
            raise AssumeError("the words to assume have to be on one line")
        for line in program.lines:
            self.follow(line)
        run = self._run
        troubles = [
            trouble for trouble in (*program.troubles, *run.log.troubles) if not _means_nothing_here(trouble, text)
        ]
        if troubles:
            raise AssumeError(f"the words to assume cannot be used: {troubles[0].message} {troubles[0].remedy}")
        if run.log.moves or any(event.kind is not EventKind.MESSAGE for event in run.log.events):
            raise AssumeError("the words to assume may only set modes: they must not move, pause, home or end")
        run.all_by_hand()

    def follow(self, line: Line) -> None:
        """Execute one line and note the state after it."""
        run = self._run
        run.log.line = line.number
        said = self._own_lines.get(bare(line.text)) if self._own_lines else None
        returns = (
            said == "homing" and line.readable and any(word[:2] in (("G", 28.0), ("G", 30.0)) for word in line.words)
        )
        if said and not returns:
            self._do_as_the_sheet_says(line, said)
        elif not line.readable:
            self._guess_at(line)
        elif line.says_nothing:
            return
        elif run.controller.origin_here and (found := found_in(line.text, run.controller.origin_here)):
            self._set_origin_here(line, found)
        else:
            self._execute(line, homes=said == "homing")
        run.log.states.append(run.state(line.number))

    def close(self, program: Program) -> None:
        """What can only be said once the whole text has been followed."""
        run = self._run
        run.position.end()
        told = self._lost_ends or any(trouble.rule == "ending-missing" for trouble in program.troubles)
        if told or not run.log.states:
            return
        ending = run.controller.ending
        if ending:
            if ending not in self._last_words:
                self._miss_ending("other ending", ending=ending)
        elif run.controller.percent and not (program.wrapped or run.ended):
            self._miss_ending("no ending")

    def _miss_ending(self, name: str, **values: str) -> None:
        rule, message, remedy = told(name, **values)
        self._run.log.troubles.append(Trouble(rule, None, None, None, message, remedy))

    # Lines that are not followed word by word

    def _do_as_the_sheet_says(self, line: Line, said: str) -> None:
        run, text = self._run, line.text.strip()
        if said == "homing":
            run.log.happen(EventKind.HOMING, line, text, run.axis_names)
            run.position.lose("homed", line, run.axis_names)
        elif said == "pause":
            run.position.wait_for_operator(line, text)

    def _set_origin_here(self, line: Line, found: Found) -> None:
        letters, values, kept, loose = word_values(self._run, line)
        job = Job(line, values, self._sense(letters, values), kept=kept, loose=loose)
        set_here(self._run, job, found)

    def _guess_at(self, line: Line) -> None:
        """Keep the lines after an unreadable one from being blamed for what it may have set."""
        text = bare(line.text)
        for letter, code in _CODE.findall(text):
            word = canonical(letter, float(code))
            if G_GROUPS.get(word):
                self._run.modes.cloud(G_GROUPS[word])
            elif M_GROUPS.get(word) == 4:
                self._lost_ends = True
        if _FEED.search(text):
            self._run.log.excuse("F")

    # Lines that are

    def _execute(self, line: Line, *, homes: bool) -> None:
        run = self._run
        for comment in line.comments if line.form.comments else ():
            if HOME_AT_PANEL in comment.text.upper():
                run.position.asked_to_home = line
            if comment.message is not None:
                run.log.happen(EventKind.MESSAGE, line, comment.message)
        troubles = len(run.log.troubles)
        letters, values, kept, loose = word_values(run, line)
        settings = setting_values(run, line) if line.form.settings else ()
        if kept is not None and not run.stays:
            self._leave_undone(line, values, kept)
        if letters:
            sense = self._sense(letters, values)
            job = Job(line, values, sense, homes, kept, loose)
            self._do(job, whole_line=len(run.log.troubles) == troubles and kept is None)
        if line.form.settings and not run.stays:
            lose_parameters(run, line, {setting.column: number for setting, number, _ in settings})
        for setting, number, value in settings:
            set_parameter(run, line, setting, number, value)

    def _leave_undone(self, line: Line, values: Sequence[float], kept: Sequence[Word]) -> None:
        """Give up what a line would do of which some words have no value; ``kept`` are those that have."""
        known = {word.column: value for word, value in zip(kept, values, strict=True)}
        every = [known.get(word.column, nan) for word in line.words]
        job = Job(line, every, self._sense(line.form.letters, every))
        leave_words_undone(self._run, job, [word for word in line.words if word.column not in known])

    def _do(self, job: Job, *, whole_line: bool) -> None:
        """Execute the words of a line; one that has a fault only sets the modes that are beyond doubt."""
        run = self._run
        sense = job.sense
        self._last_words = sense.words
        for group in sense.clouded:
            run.modes.cloud(group)
        usable = whole_line and not sense.faults
        if whole_line:
            for fault in sense.faults:
                run.log.blame(job, fault)
        extra = run.controller.extra_words
        for stage in sense.stages:
            if stage.acts and not usable:
                continue
            handler = EXTRA[extra[stage.word]] if stage.word in extra else HANDLERS[stage.word]
            try:
                handler(run, job, stage.word, stage.index)
            except UnusableError as error:
                usable = False
                run.log.blame(job, error.fault)
                if error.fault.rule == LEAVES_UNDONE:
                    leave_undone(run, job, job.words[error.fault.index])

    def _sense(self, letters: str, values: Sequence[float]) -> Sense:
        run = self._run
        codes = tuple([value for letter, value in zip(letters, values, strict=True) if letter in "GM"])
        key = (run.modes.words.get(modes.MOTION), letters, codes)
        sense = self._senses.get(key)
        if sense is None:
            if len(self._senses) >= _MOST_SENSES:
                self._senses.clear()
            shape = tuple(
                (letter, value) if letter in "GM" else letter for letter, value in zip(letters, values, strict=True)
            )
            sense = self._senses[key] = make_sense(shape, key[0], run.controller, run.axis_names)
        return sense


def _means_nothing_here(trouble: Trouble, text: str) -> bool:
    """Whether a trouble is none among words to assume: there a motion word needs no point, and nothing has an order."""
    word = "" if trouble.column is None or trouble.end is None else bare(text[trouble.column - 1 : trouble.end - 1])
    moves = not {canonical(letter, float(code)) for letter, code in _CODE.findall(word)}.isdisjoint(modes.PLAIN)
    return trouble.rule == "feed-before-units" or (trouble.rule == "missing-word" and moves)


def _lines_of_the_sheet(controller: Controller) -> dict[str, str]:
    """Lines whose meaning the controller sheet gives, bare, and what they do.

    Pause and settling lines made of published words are followed like any other.
    """
    own = {"pause": (controller.pause,), "settle": (controller.settle,), "homing": controller.homing}
    return {
        bare(line): kind
        for kind, lines in own.items()
        for line in lines
        if bare(line) and (kind == "homing" or not _published(bare(line)))
    }


def _published(bare: str) -> bool:
    codes = [canonical(letter, float(code)) for letter, code in _CODE.findall(bare)]
    return bool(codes) and all(code in WORDS for code in codes)
