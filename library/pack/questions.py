"""The questions of the second opinion as they leave with a pack: one text in SMT-LIB 2.6 for each macro file."""

from __future__ import annotations

from library.outgoing import Outgoing

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

What it does not answer: both proofs trust the same sheets and the same
reading of the lines. Arcs, corners that may be rounded and what hangs on
where a probe trips are not asked, or not in full; the manifest says of which
lines. What the pendant sends part by part, and the slow copies, were asked as
well: clickstop verify --second-opinion asks all of it again.
"""


def files(goes: Outgoing) -> dict[str, bytes]:
    """The texts by path, with how to ask them; nothing where no second opinion was asked for."""
    if not goes.bench.second:
        return {}
    found = {f"{FOLDER}/README.txt": README.encode()}
    for id, each in goes.taken.items():
        if each.report.second is not None:
            found[f"{FOLDER}/{id}.smt2"] = f"; {id}: {each.path}\n{each.report.second.text}".encode()
    return found
