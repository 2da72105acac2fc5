"""The questions of the second opinion as they leave with a pack: one text in SMT-LIB 2.6 for each macro file."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from library.outgoing import Outgoing, Taken
from parser.opinion import SecondOpinion

FOLDER = "questions"

README = """\
The questions of the second opinion
-----------------------------------
Each macro file was proved, and every straight move of it was put to a solver
over the real numbers as well. These are the questions, for anybody to ask
again: one file for each macro, in SMT-LIB 2.6, which is an open standard.

Each question asks whether there is a start, a tool and a point of the way
that meets something: a box on the sheet, an end of travel, a limit. The line
before it says which move and which thing. "unsat" is the answer wanted: there
is none. Where the answer is "sat", the same is asked again, by more than a
millionth of a mm: touching is not meeting. "sat" to that is a refusal, which
this pack holds only where it was accepted with a reason.

How to ask: give a file to any solver that reads SMT-LIB 2.6 and decides
polynomials over the reals (QF_NRA), with push and pop. For two that can be
had everywhere:

    z3 questions/NAME.smt2
    cvc5 --incremental questions/NAME.smt2

How to read one: the unknowns come first (start.x is where the macro fires,
G54.z a work origin that is a range), then what each box is, from the
definition of a hit on the Help page "What proved means". After that each move
says where a is, from which it is judged, and where p may be, a point of its
way. Every number is exact.

Each file begins with the macro file itself. What the pendant sends by each
gesture and the slow copy for the first run follow, where their questions
differ by more than the numbers of their lines; a line says which it is.

What it does not answer: both proofs trust the same sheets and the same
reading of the lines. Arcs, corners that may be rounded and what hangs on
where a probe trips are not asked, or not in full; the manifest says of which
lines. clickstop verify --second-opinion asks all of it again.
"""


def files(goes: Outgoing) -> dict[str, bytes]:
    """The texts by path, with how to ask them; nothing where no second opinion was asked for."""
    if not goes.bench.second:
        return {}
    found = {f"{FOLDER}/README.txt": README.encode()}
    for id, each in goes.taken.items():
        if each.report.second is not None:
            found[f"{FOLDER}/{id}.smt2"] = "".join(_parts(id, _asked(each))).encode()
    return found


def _asked(taken: Taken) -> Iterator[tuple[str, SecondOpinion]]:
    """What was asked about a macro, by what it is about: its file, what is sent for it, its slow copy."""
    if taken.report.second is not None:
        yield taken.path, taken.report.second
    for number, stage in enumerate(taken.stages, 1):
        if stage.opinion is not None:
            which = f" by gesture {number} of {len(taken.stages)}" if len(taken.stages) > 1 else ""
            yield f"what the pendant sends{which}", stage.opinion
    if not isinstance(taken.slow, str) and taken.slow.report.second is not None:
        yield taken.slow_path, taken.slow.report.second


def _parts(id: str, asked: Iterable[tuple[str, SecondOpinion]]) -> Iterator[str]:
    """The text of a file: each part begins anew, and one that asks what an earlier one asks only says so."""
    known: dict[str, str] = {}
    for number, (what, opinion) in enumerate(asked):
        same = _LINE.sub("line", opinion.text)
        if same in known:
            yield f"; {id}: {what}. The same questions as of {known[same]}, but for the numbers of lines.\n"
            continue
        known[same] = what
        yield ("(reset)\n" if number else "") + f"; {id}: {what}\n{opinion.text}"


_LINE = re.compile(r"line ?\d+")
"""The number of a line, in the label of a move or in the name of an unknown."""
