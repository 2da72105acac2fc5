"""The second opinion: the same question as the proof beside it, put to an SMT solver over the reals.

Nothing here is taken from the rest of ``parser.proof``; an import-linter contract keeps it so. ``ways`` says from the
moves what is asked about, ``things`` and ``conditions`` write down what a hit is, ``questions`` puts it all into a text
in SMT-LIB 2.6, and ``solver`` gives that text to the solver, if it is installed. ``parser.twice`` compares.
"""
