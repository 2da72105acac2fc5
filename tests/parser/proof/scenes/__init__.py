"""Random machines and macros for the proof to be tried on, in families of what may go wrong.

``sheets`` makes machines, ``pen`` writes numbers and words, ``plain`` to ``pairs`` write macros: plain text, which
``tests.parser.proof.simulation`` follows without the parser. ``families`` has them all by name.
"""
