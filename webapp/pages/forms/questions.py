"""The controller as questions in plain words, each with how to find the answer out at the machine.

How to find out is common practice; the program talks to no controller, so each is tried at its own panel or terminal,
drives on, tool out, a hand at the emergency stop.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ControllerQuestion:
    """What is asked, and how the answer is found."""

    asks: str
    find: str


_MANUAL = "Look in the controller's manual"

QUESTIONS: Mapping[tuple[str, ...], ControllerQuestion] = {
    ("name",): ControllerQuestion("What do you call it?", "Any name; it stands in verdicts and on prints."),
    ("g28",): ControllerQuestion(
        "What does G28 do?",
        "Home, move each axis away by hand, then enter G91 G28 Z0 at reduced rates: does it drive to a point and "
        "stop, or look for the home switch?",
    ),
    ("g28_axes",): ControllerQuestion(
        "Which axes does G28 Z0 move?", "Enter G91 G28 Z0 with X and Y away from their stored point: do they move too?"
    ),
    ("homing",): ControllerQuestion(
        "Which lines home the machine?", f"{_MANUAL} under homing; one line each. Empty: home at the panel."
    ),
    ("refuses_unhomed",): ControllerQuestion(
        "Does it refuse to move before homing?", "After power-on, before homing, enter G91 G0 Z-1: is it refused?"
    ),
    ("machine_moves",): ControllerQuestion(
        "Does it understand G53?",
        "Home, raise the tool, enter G53 G0 Z and the height where it stands: is the line taken, without a move?",
    ),
    ("machine_system",): ControllerQuestion(
        "Without G53: which work system is kept at 0, 0, 0?",
        "Only where G53 is not understood. Look at the offsets page.",
    ),
    ("origin_here",): ControllerQuestion(
        "Which line makes the place where an axis stands read a value?",
        f"{_MANUAL} under work offsets, such as G10 L20 P{{system}} {{axis}}{{value}} (common practice). "
        "Empty: G92 does.",
    ),
    ("rapid",): ControllerQuestion(
        "How does a rapid with two axes go?",
        "Enter a G0 with a long X and a short Y, tool high: does it run in a line, or bend where the shorter "
        "axis arrives?",
    ),
    ("dwell", "word"): ControllerQuestion(
        "Which letter is the time of a dwell?", "Enter G4 P2, then G4 S2: which one is taken?"
    ),
    ("dwell", "unit"): ControllerQuestion(
        "What is the time of a dwell in?", "Enter G4 P2 and look at your watch: two seconds, or next to nothing?"
    ),
    ("pause",): ControllerQuestion(
        "Which line waits for the operator?",
        "Enter M0 between two short moves: does it wait? Empty where nothing does.",
    ),
    ("settle",): ControllerQuestion(
        "Which line waits until all motion has ended?",
        f"{_MANUAL} under buffering; G4 with a short time often does. Empty: none.",
    ),
    ("comments",): ControllerQuestion(
        "How are comments written?", "Enter a line with a comment in parentheses: is it taken?"
    ),
    ("message",): ControllerQuestion(
        "Which line shows a text to the operator?",
        "Enter (MSG, TRY) and look at its display. Empty where there is none.",
    ),
    ("resting",): ControllerQuestion(
        "Which modes is it in between programs?",
        "Read the modes at its panel after power-on and after M30. G21 is mm, G20 inches.",
    ),
    ("expressions",): ControllerQuestion(
        "Does it calculate?", "Enter #1=1 and then G4 P[#1]: is it taken, and does it wait for a second?"
    ),
    ("line_limit",): ControllerQuestion("How long may a line be?", f"{_MANUAL}; characters, 256 as published."),
    ("decimals", "mm"): ControllerQuestion("How many decimals in mm?", "As many as its display shows, or more."),
    ("decimals", "inch"): ControllerQuestion("How many decimals in inches?", "As many as its display shows, or more."),
    ("extra_words",): ControllerQuestion(
        "Which words does it have beyond the standard?", f"{_MANUAL}; leave empty unless you use them."
    ),
    ("unsupported",): ControllerQuestion(
        "Which standard words does it lack?", f"{_MANUAL}, or try: a refused word is one. One a line."
    ),
    ("call",): ControllerQuestion(
        "What runs a stored macro?", f"{_MANUAL} under subprograms. Empty: the pendant sends macros line by line."
    ),
    ("file_name",): ControllerQuestion(
        "How are macro files named?", "As its memory wants them, with {slug} or {number} in it."
    ),
    ("first_number",): ControllerQuestion(
        "What is the first number of a macro file?", "One that no file of its own has."
    ),
    ("program_head",): ControllerQuestion(
        "Does a stored program begin with a line?",
        "Look at a program that it stored itself; {number} or {slug} is filled in.",
    ),
    ("ending",): ControllerQuestion(
        "How does a macro end?", "Empty, M2, M30, or the word that goes back to the caller."
    ),
    ("percent",): ControllerQuestion("Is a file wrapped in % lines?", "Look at a program that it stored itself."),
    ("line_ending",): ControllerQuestion(
        "How do lines of a file end?", "If a file arrives as one long line, choose the other."
    ),
    ("acknowledge",): ControllerQuestion(
        "What does it answer to a good line?", "Send one line from a terminal and read the answer. Empty: nothing."
    ),
    ("acknowledge_match",): ControllerQuestion(
        "Is that the whole answer?", "Look whether more stands on the same line."
    ),
    ("acknowledge_means",): ControllerQuestion(
        "What does the answer say?", "Send a slow move of five seconds: does the answer come at once, or at its end?"
    ),
    ("error_starts",): ControllerQuestion(
        "How does the answer to a wrong line begin?", "Send a word it cannot know, such as G999, and read. One a line."
    ),
    ("queue_depth",): ControllerQuestion(
        "How many lines does it hold?",
        "Send slow moves one after the other and count the answers before the first ends.",
    ),
    ("idle_ask",): ControllerQuestion(
        "What may it be asked to tell whether it is idle?",
        f"{_MANUAL} under status. \\u0018 and the like are control bytes.",
    ),
    ("idle_answer",): ControllerQuestion(
        "How does the answer begin when it is idle?", "Ask at rest, and once while it moves."
    ),
    ("release",): ControllerQuestion(
        "What does letting go of the button stop?",
        "Send a slow move and then the stop line: does it stop at once, after its queue, or not? Choose nothing if "
        "unsure.",
    ),
    ("stop_line",): ControllerQuestion(
        "What is sent to stop it?", f"{_MANUAL} under stop or reset; \\u0018 and the like are control bytes."
    ),
    ("stop_keeps",): ControllerQuestion(
        "What becomes of a stopped move?", "Stop a slow move, then press resume at its panel."
    ),
    ("jog",): ControllerQuestion(
        "What does one click of the wheel send?",
        "Lines from {axis}, {step} and {rate}; one a line. Empty: it does not jog.",
    ),
    ("first_run_rate",): ControllerQuestion("How fast is the first run?", "A rate at which you can stop it by hand."),
}
