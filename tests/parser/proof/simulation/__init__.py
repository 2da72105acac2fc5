"""A macro followed by plain arithmetic from many starts at once, with any legal tool: the outside check of the proof.

Written from the published text (NISTIR 6556, beside what it says the section) and from what the design calls a hit;
nothing that the parser computes is used. Arrays are numpy, mm: a place is (3, n), one column a start.

``words`` reads a line, ``running`` carries it out, ``legs`` and ``corners`` are the ways that the axes then go,
``meeting`` and ``travel`` say what is met and left on them, ``chance`` draws starts, tools and whatever else the macro
cannot know, ``shown`` follows the one case that a refusal shows.
"""
