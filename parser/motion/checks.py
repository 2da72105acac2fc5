"""The words of one line taken together: what the line asks for, and what the standard forbids about it.

Everything here depends only on the shape of a line (its letters and its G and M words) and on the motion mode in
force, so that it is worked out once for all lines of one shape.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from parser.language.words import AXES, G_GROUPS, M_GROUPS, RANK, UNPUBLISHED, WORDS, canonical, nearest
from parser.machine import LINEAR, Controller
from parser.motion.faults import Fault, fault
from parser.motion.modes import ARCS, LINEAR_ONLY, MOVING, STRAIGHT

Shape = tuple[str | tuple[str, float], ...]
"""One item for each word in the order written: the letter, or letter and value of a G or M word."""

MOST_M_WORDS = 4  # NISTIR 6556, 3.4
MOST_FAULTS_OF_A_LINE = 8  # our choice
NOT_KNOWN = "?"
ONLY_WITH = {
    "D": "G41 or G42",
    "H": "G43",
    "L": "G10 or a canned cycle",
    "P": "G4, G10 or a canned cycle",
    "Q": "G83",
    "R": "an arc (G2 or G3) or a canned cycle",
}


@dataclass(frozen=True, slots=True)
class Action:
    """One thing a line does: the word that does it and where it stands.

    ``acts`` is False for what only sets a mode; that much of a faulty line is still followed, so that the lines after
    it are not blamed for what they cannot help.
    """

    word: str
    index: int
    acts: bool


@dataclass(frozen=True, slots=True)
class Sense:
    """What a line of one shape means.

    ``words`` are its G and M words as the tables spell them, and the letters of the others. ``stages`` are in the order
    of execution. ``axes`` pairs the axes named with the index of their word, ``length`` is the index of the first that
    is not in degrees, ``at`` gives the index of every other letter. ``clouded`` are the modal groups about which the
    line leaves doubt.
    """

    words: tuple[str, ...]
    faults: tuple[Fault, ...]
    stages: tuple[Action, ...]
    axes: tuple[tuple[str, int], ...]
    length: int | None
    at: dict[str, int]
    in_machine_coordinates: bool
    new_units: str | None
    clouded: frozenset[int]

    def index(self, letter: str) -> int | None:
        """Where a letter stands on the line, axes included; None where it does not."""
        return self.at.get(letter, dict(self.axes).get(letter.lower()))


@dataclass(slots=True)
class _Draft:
    """The words of a line while they are being judged."""

    controller: Controller
    axis_names: tuple[str, ...]
    motion: str | None
    words: list[str]
    faults: list[Fault] = field(default_factory=list)
    good: dict[str, int] = field(default_factory=dict)
    letters: dict[str, int] = field(default_factory=dict)
    clouded: set[int] = field(default_factory=set)
    beyond_the_standard: bool = False

    def blame(self, index: int, name: str, /, **values: str) -> None:
        """One fault more, up to what anybody reads of one line: a line of thousands of words would have as many."""
        if len(self.faults) < MOST_FAULTS_OF_A_LINE:
            self.faults.append(fault(index, name, **values))

    def first_axis(self, axes: str = AXES) -> int | None:
        return next((index for letter, index in self.letters.items() if letter in axes), None)

    def has(self, *words: str) -> str | None:
        return next((word for word in words if word in self.good), None)


def make_sense(shape: Shape, motion: str | None, controller: Controller, axis_names: tuple[str, ...]) -> Sense:
    """Judge a line by its shape, under the motion word in force (None where not known).

    The error conditions are those of NISTIR 6556, 3.4, 3.5 and 3.6 that need no value.
    """
    words = [item if isinstance(item, str) else canonical(*item) for item in shape]
    draft = _Draft(controller, axis_names, motion, words)
    _sort_words(draft, shape)
    moves = None if draft.faults else _judge_motion(draft)
    if not draft.faults:
        _judge_companions(draft, moves)
    axes = tuple((letter.lower(), index) for letter, index in draft.letters.items() if letter in AXES)
    others = {letter: index for letter, index in draft.letters.items() if letter not in AXES}
    return Sense(
        words=tuple(words),
        faults=tuple(draft.faults),
        stages=tuple(
            sorted(_stages(draft, moves), key=lambda stage: (RANK[_rank_word(draft, stage.word)], stage.acts))
        ),
        axes=axes,
        length=next((index for axis, index in axes if axis in LINEAR), None),
        at=others,
        in_machine_coordinates="G53" in draft.good,
        new_units=draft.has("G20", "G21"),
        clouded=frozenset(draft.clouded),
    )


def _rank_word(draft: _Draft, word: str) -> str:
    if word == "motion":
        return "G0"
    role = draft.controller.extra_words.get(word)
    return role if role in ("call", "end", "wait") else word


def _only_calls(draft: _Draft, shape: Shape) -> bool:
    """Whether the line does nothing but run another program: then all its letters are what that is given."""
    codes = [word for item, word in zip(shape, draft.words, strict=True) if not isinstance(item, str)]
    return len(codes) == 1 and draft.controller.extra_words.get(codes[0]) == "call"


def _sort_words(draft: _Draft, shape: Shape) -> None:
    if _only_calls(draft, shape):
        shape = tuple(item if not isinstance(item, str) else "" for item in shape)
    seen_groups: dict[tuple[str, int], int] = {}
    m_words = 0
    for index, (item, word) in enumerate(zip(shape, draft.words, strict=True)):
        if isinstance(item, str):
            if item:
                _sort_letter(draft, item, index)
            continue
        letter = item[0]
        m_words += letter == "M"
        if m_words > MOST_M_WORDS and letter == "M":
            draft.blame(index, "fifth M word", word=word)
            continue
        if not _understood(draft, word, index):
            continue
        group = (G_GROUPS if letter == "G" else M_GROUPS)[word]
        before = seen_groups.setdefault((letter, group), index)
        if before != index:
            _blame_twice(draft, letter, group, before, index)
        else:
            draft.good[word] = index


def _sort_letter(draft: _Draft, letter: str, index: int) -> None:
    if letter in draft.letters:
        draft.blame(index, "letter twice", letter=letter)
        return
    draft.letters[letter] = index
    if letter in AXES and letter.lower() not in draft.axis_names:
        there = " ".join(name.upper() for name in draft.axis_names)
        draft.blame(index, "no such axis", letter=letter, there=there)


def _blame_twice(draft: _Draft, letter: str, group: int, before: int, index: int) -> None:
    first, second = draft.words[before], draft.words[index]
    draft.blame(index, "one group twice", first=first, second=second)
    draft.good.pop(first, None)
    if letter == "G" and group:
        draft.clouded.add(group)


def _understood(draft: _Draft, word: str, index: int) -> bool:
    """Whether a G or M word is to be followed as the standard has it; says so where it is not."""
    role = draft.controller.extra_words.get(word)
    if role is not None:
        draft.beyond_the_standard = True
        if role == "refuse":
            _blame_unsupported(draft, word, index, "the controller sheet says that it must not be used")
        elif role != "ignore":
            draft.good[word] = index
        return False
    info = WORDS.get(word)
    if info is None:
        draft.beyond_the_standard = True
        near = " and ".join(nearest(word))
        hint = UNPUBLISHED.get(word, f"The nearest are {near}." if near else "")
        draft.blame(index, "not published", word=word, hint=hint and f" {hint}")
        return False
    reason = why_unsupported(draft.controller, word)
    if reason:
        draft.beyond_the_standard = True
        _blame_unsupported(draft, word, index, reason)
        if info.group and info.letter == "G":
            draft.clouded.add(info.group)
        return False
    return True


def why_unsupported(controller: Controller, word: str) -> str:
    """Why a published word cannot be used on a controller, "" where it can."""
    if word in controller.unsupported:
        return "the controller sheet lists it as unsupported"
    if word == "G53" and not controller.machine_moves:
        return "the controller sheet says that moves in machine coordinates are not understood"
    if word in ("G28", "G30") and controller.g28 == "none":
        return "the controller sheet says that there is no return to a stored point"
    if not WORDS[word].supported:
        return "a pendant macro cuts no contour, and its path would hang on the radius of whatever tool is in"
    return ""


def _blame_unsupported(draft: _Draft, word: str, index: int, reason: str) -> None:
    meaning = WORDS[word].meaning.rstrip(".") if word in WORDS else ""
    about = f" ({meaning[0].lower()}{meaning[1:]})" if meaning else ""
    draft.blame(index, "not supported", word=word, about=about, reason=reason)


def _judge_motion(draft: _Draft) -> str | None:
    """The motion word that moves on this line, NOT_KNOWN where the one in force is not, None where nothing moves."""
    named = draft.has(*MOVING)
    own_axes = draft.has("G10", "G28", "G30", "G92")
    if own_axes:
        if named:
            draft.blame(
                max(draft.good[named], draft.good[own_axes]), "two want the axis words", named=named, own=own_axes
            )
        return None
    axis = draft.first_axis()
    if named and axis is None:
        draft.blame(draft.good[named], "nowhere to go", named=named)
        return None
    motion = named or (draft.has("G80") or draft.motion or NOT_KNOWN)
    if "G53" in draft.good:
        return _judge_machine_move(draft, motion, axis)
    if axis is None:
        return None
    if motion in LINEAR_ONLY and draft.first_axis("XYZ") is None:
        draft.blame(draft.good.get(motion, axis), "no linear axis", motion=motion)
        return None
    if motion == "G80":
        draft.blame(axis, "motion cancelled", axis=draft.words[axis])
        return None
    return motion


def _judge_machine_move(draft: _Draft, motion: str, axis: int | None) -> str | None:
    if motion not in (*STRAIGHT, NOT_KNOWN):
        draft.blame(draft.good["G53"], "G53 with another motion", motion=motion)
        return None
    return motion if axis is not None else None


def _judge_companions(draft: _Draft, moves: str | None) -> None:
    """Words that need others beside them, and letters that no word of the line reads."""
    _judge_needs(draft)
    if draft.faults or draft.beyond_the_standard:
        return
    readers = _letters_read(draft, moves)
    for letter, index in draft.letters.items():
        if letter not in readers:
            _blame_unread(draft, letter, index)
    if moves in ARCS and "R" in draft.letters:
        centre = next((letter for letter in "IJK" if letter in draft.letters), None)
        if centre:
            draft.blame(draft.letters["R"], "two centres", centre=centre)


def _judge_needs(draft: _Draft) -> None:
    dwell = draft.controller.dwell_word
    wanted = (
        ("G4", dwell, "the time to dwell"),
        ("G10", "L", "what is to be set (L2: an origin)"),
        ("G10", "P", "the number of the coordinate system"),
        ("G43", "H", "the number of the tool"),
    )
    for word, letter, what in wanted:
        if word in draft.good and letter not in draft.letters:
            draft.blame(draft.good[word], "letter missing", word=word, letter=letter, what=what)
    if "G92" in draft.good and draft.first_axis() is None:
        draft.blame(draft.good["G92"], "G92 without an axis")


def _letters_read(draft: _Draft, moves: str | None) -> set[str]:
    readers = set("FST")
    if "G4" in draft.good:
        readers.add(draft.controller.dwell_word)
    if "G10" in draft.good:
        readers.update("LP")
    if "G43" in draft.good:
        readers.add("H")
    if moves or draft.has("G10", "G28", "G30", "G92"):
        readers.update(AXES)
    if moves == NOT_KNOWN:
        readers.update("IJKLPQR")
    elif moves:
        readers.update(WORDS[moves].takes)
    return readers


def _blame_unread(draft: _Draft, letter: str, index: int) -> None:
    owner = ONLY_WITH.get(letter, "an arc (G2 or G3)")
    draft.blame(index, "letter not read", letter=letter, owner=owner)


def _stages(draft: _Draft, moves: str | None) -> Iterator[Action]:
    for word, index in draft.good.items():
        if word == "G53":
            continue
        info = WORDS.get(word)
        yield Action(word, index, acts=info is not None and info.letter == "G" and info.group == 0)
    timed = draft.controller.dwell_word if "G4" in draft.good else ""
    for letter in "FST":
        if letter in draft.letters and letter != timed:
            yield Action(letter, draft.letters[letter], acts=False)
    if moves:
        index = draft.good.get(moves, next(index for letter, index in draft.letters.items() if letter in AXES))
        yield Action("motion", index, acts=True)
