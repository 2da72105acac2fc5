"""What a check found, in the three severities a machinist acts on."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import Annotated, NoReturn, Self

from parser.checking import check_fields, one_among, refused, whole_number
from parser.quantities import Figures, Quantity, Readout, Said, as_sentence, joined


class Severity(StrEnum):
    """How much a finding matters: a refusal blocks export, a caution wants reading, a note informs."""

    REFUSE = "refuse"
    CAUTION = "caution"
    NOTE = "note"

    @classmethod
    def _missing_(cls, value: object) -> NoReturn:
        one_among(each.value for each in cls)("a severity", value)
        raise AssertionError(value)  # the check lets no other value pass


@dataclass(frozen=True, slots=True)
class Trouble:
    """Something that reading or tracing could not accept, before a rule has given it its severity.

    ``rule`` is the id of the rule that owns it. ``line`` and ``column`` count from 1, ``end`` is the column after
    the last character concerned; all three are None where the whole file is meant. ``from_some_starts`` says that it
    is met from some of the starts that were followed, perhaps not from others.
    """

    rule: str
    line: int | None
    column: int | None
    end: int | None
    message: str
    remedy: str
    from_some_starts: bool = False


@dataclass(frozen=True, slots=True)
class ToolSize:
    """A tool that may be in the spindle: stick-out and radius in mm."""

    length: float
    radius: float


@dataclass(frozen=True, slots=True)
class Witness:
    """A concrete case that shows why a finding is true.

    ``start`` and ``at`` are machine coordinates by axis (mm, degrees): where the machine stood when the macro fired and
    the point of the path where the rule breaks. ``tool`` is the tool in the spindle, None where none is needed.
    ``body`` says what meets ``obstacle``: "tool", "holder", "nose", an axis, or where it ``rides`` a box on the table,
    which may well be called one of these; ``setup`` names the setup it happens in.
    """

    start: Mapping[str, float]
    at: Mapping[str, float]
    tool: ToolSize | None = None
    body: str = ""
    obstacle: str = ""
    setup: str = ""
    rides: bool = False


def _figure(what: str, value: object) -> None:
    """A number; how large it is makes no difference to what was found."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise refused(what, value, "It has to be a number.", "Write one, such as 12.5.")


Number = Annotated[int, whole_number(1)]


@dataclass(frozen=True, slots=True)
class Finding:
    """One result of a check: a rule, a severity, a place, a reason, a remedy. Reason and remedy are whole sentences.

    ``line``, ``column`` (from 1) and ``end`` are None for a finding on the whole file. ``step`` counts the steps of the
    macro from 1, None for a hand-written file. ``case`` says in which case it holds, None for every case. ``figures``
    carries the numbers the message mentions, by name with the unit in it (``up_to_mm``, ``mm_s``, ``seconds``).
    ``undecided`` marks what could not be decided: the message says what it would need, and nothing is proved of it.
    ``runners`` names the two macros of a sequence, the first first; None for any other finding.
    ``cause`` tells apart what one rule may find, as that rule names it, and ``axis`` is the one it is about, if any.
    ``because`` is the reason with which a macro accepts what is a refusal by right, a caution then.
    """

    rule: str
    severity: Severity
    message: str
    remedy: str
    line: Number | None = None
    column: Number | None = None
    end: Number | None = None
    step: Number | None = None
    case: str | None = None
    witness: Witness | None = None
    figures: Mapping[str, Annotated[float, _figure]] = field(default_factory=dict)
    undecided: bool = False
    runners: tuple[str, str] | None = None
    because: str = ""
    cause: str = ""
    axis: str = ""

    def __post_init__(self) -> None:
        check_fields(self, "a finding")
        for name in ("message", "remedy"):
            text = getattr(self, name)
            if text:
                object.__setattr__(self, name, as_sentence(text))

    @property
    def lowered(self) -> bool:
        """Whether it is a refusal that the macro accepts with a reason."""
        return bool(self.because)

    @property
    def told(self) -> str:
        """The message, and why it is accepted where it is."""
        why = [as_sentence(f"Accepted because {self.because}")] if self.because else []
        return joined(" ", [self.message, *why])

    @property
    def quantities(self) -> Mapping[str, Quantity]:
        """The lengths, speeds and places that the message mentions, by the name they have in it."""
        values = self.message.values if isinstance(self.message, Said) else {}
        return {name: each for name, each in values.items() if not isinstance(each, str | float | int)}

    @property
    def shows_case(self) -> bool:
        """Whether the message itself says from where it happens."""
        return any(isinstance(each, Readout) for each in self.quantities.values())

    def worded(self, figures: Figures) -> Self:
        """The same with its texts in some units."""
        return replace(self, message=figures.said(self.message), remedy=figures.said(self.remedy))
