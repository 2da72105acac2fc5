"""The printed pages of a pack: legend card, prove-out sheets for the first run, commissioning sheet for the wiring."""

from __future__ import annotations

from collections.abc import Mapping

from library.outgoing import Outgoing
from library.pack.printed import card, commissioning, legend, prove_out

CARD, CARD_PAGE, PROVE_OUT, COMMISSIONING = "card.svg", "card.html", "prove-out.html", "commissioning.html"


def files(goes: Outgoing, digest: str) -> Mapping[str, bytes]:
    """The pages by their paths; ``digest`` is the SHA-256 of the manifest.

    Where the pendant may send nothing there is no card: it would say what is on slots that hold nothing.
    """
    sheets = {PROVE_OUT: prove_out.page(goes, digest).encode(), COMMISSIONING: commissioning.page(goes).encode()}
    if goes.blind:
        return sheets
    drawn = card.draw(legend.legend(goes), goes.printing.card_width, goes.printing.card_height)
    return {CARD: drawn.svg().encode(), CARD_PAGE: drawn.page().encode(), **sheets}
