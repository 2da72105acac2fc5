"""Rules of the language: what NISTIR 6556 calls an error. None of them can be accepted: the controller would stop."""

from __future__ import annotations

from parser.findings import Severity
from parser.proof.rules.base import Reported, register


class LanguageRule(Reported):
    """A breach of the published language."""

    severity = Severity.REFUSE
    family = "language"
    assume = "G17 G21 G40 G49 G54 G90 G94"


@register
class UnreadableLine(LanguageRule):
    """The line cannot be read

    What: The characters of the line do not form words, comments and parameter settings (NISTIR 6556, Appendix E).
    Why: A controller that meets such a line stops with an error, or reads something else than was meant.
    Bad:
        G53 G0 Z-2 X?
    Good:
        G53 G0 Z-2
    Remedy: Fix the line at the marked place; the message says what may stand there.
    """

    id = "unreadable-line"


@register
class LineTooLong(LanguageRule):
    """The line is longer than the controller reads

    What: A line has more characters than the line limit of the controller sheet (256 as published, 3.2).
    Why: What lies beyond the limit is lost or refused.
    Bad:
        (a comment of more than two hundred and fifty-six characters ...........................................................................................................................................................................................................................................................)
    Good:
        (a short comment)
    Remedy: Break the line in two, or shorten its comment.
    """  # noqa: E501

    id = "line-too-long"


@register
class RepeatedWord(LanguageRule):
    """A letter stands twice on one line

    What: Any letter but G and M may stand once on a line (3.4).
    Why: One of the two values would be dropped, and nobody can say which.
    Bad:
        G53 G0 Z-2 Z-5
    Good:
        G53 G0 Z-2
    Remedy: Keep the value that is meant.
    """

    id = "repeated-word"


@register
class SameGroupTwice(LanguageRule):
    """Two words of one modal group stand on one line

    What: Words of one group exclude each other (3.4, Table 4), such as G0 and G1, or M3 and M5.
    Why: The controller can obey only one of them.
    Bad:
        G90 G91
    Good:
        G90
    Remedy: Keep one, or put them on two lines.
    """

    id = "same-group-twice"


@register
class TooManyMWords(LanguageRule):
    """More than four M words stand on one line

    What: A line may hold at most four M words (3.4).
    Why: The controller refuses the line.
    Bad:
        M0 M5 M9 M48 M6
    Good:
        M5 M9
    Remedy: Spread them over two lines.
    """

    id = "too-many-m-words"


@register
class MissingWord(LanguageRule):
    """A word that the line needs is missing

    What: G0 and G1 need an axis word, G4 needs P, G10 needs L and P, G43 needs H, an arc its radius or centre, a
        canned cycle its depth, R and numbers of its own (3.5).
    Why: Without it the controller stops, or uses a value from an earlier line.
    Bad:
        G4
    Good:
        G4 P1
    Remedy: Add the word that the message names.
    """

    id = "missing-word"


@register
class WordOutOfRange(LanguageRule):
    """A word has a value that it may not have, or no use on this line

    What: For example a negative F, S, T or dwell, G10 with a system other than 1 to 9, G53 without G0 or G1, a tool
        that is not in the table, R below the depth of a hole, a probe that starts at its target (3.5, 3.7).
    Why: The controller stops in the middle of the macro.
    Bad:
        G4 P-1
    Good:
        G4 P1
    Remedy: Give the word a value within the range that the message states.
    """

    id = "word-out-of-range"


@register
class UnknownWord(LanguageRule):
    """The word is not in the published language

    What: A G or M number that NISTIR 6556 does not define and the controller sheet does not list among its extra
        words.
    Why: Nothing can be said about what it does.
    Bad:
        G5.4
    Good:
        G4 P1
    Remedy: Use a published word, or describe the word under extra_words of the controller sheet.
    """

    id = "unknown-word"


@register
class ArcDoesNotClose(LanguageRule):
    """The arc does not fit its ends

    What: The end lies at another radius than the start (by more than 0.002 mm or 0.0002 inch), a radius is less
        than half the chord, or a radius arc ends where it starts (3.5.3); or so it is from some starts.
    Why: There is no such circle; the controller stops, or makes an arc that nobody drew.
    Bad:
        G53 G0 X100 Y20
        G54 G1 X10 Y10 F100
        G2 X20 Y10 R2
    Good:
        G53 G0 X100 Y20
        G54 G1 X10 Y10 F100
        G2 X20 Y10 R8
    Remedy: Recompute the end, the centre or the radius.
    """

    id = "arc-does-not-close"


@register
class AxisWordsTwice(LanguageRule):
    """Two words of the line both want its axis words

    What: A motion word and a word such as G10, G28, G30 or G92 that uses axis words stand on one line (3.4).
    Why: The axis words can serve only one of them.
    Bad:
        G0 G92 X1
    Good:
        G92 X1
    Remedy: Put them on two lines.
    """

    id = "axis-words-twice"


@register
class NoMotionMode(LanguageRule):
    """Axis words with nothing to use them

    What: The line has axis words, but motion was cancelled with G80 and no word on the line uses them (3.5.15).
    Why: The controller stops; what was meant as a move does not happen.
    Bad:
        G80
        X10
    Good:
        G80
        G53 G0 Z-2
    Remedy: Write G0 or G1 on the line.
    """

    id = "no-motion-mode"


@register
class BadArithmetic(LanguageRule):
    """A calculation has no result

    What: A division by zero, a root or logarithm of what has none, or a parameter number outside 1 to 5399 (3.3).
    Why: The controller stops at that line.
    Bad:
        G53 G0 Z[1/0]
    Good:
        G53 G0 Z[0-4/2]
    Remedy: Fix the expression.
    """

    id = "bad-arithmetic"


@register
class FeedBeforeUnits(LanguageRule):
    """A feed rate on the line that changes the units

    What: F stands on a line with G20 or G21 that changes the units. F is carried out first (3.8, Table 8) and so
        is read in the units that were in force before.
    Why: The feed is wrong by a factor of 25.4.
    Bad:
        G20 G94 F100
    Good:
        G20
        G94 F4
    Remedy: Put G20 or G21 on a line of its own before the feed.
    """

    id = "feed-before-units"
