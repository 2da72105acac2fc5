"""The printed pages of a pack: the legend card for the pendant and the prove-out sheets for the first run."""

from __future__ import annotations

from collections.abc import Mapping

from library.outgoing import Outgoing
from library.pack.printed import card, prove_out

CARD, CARD_PAGE, PROVE_OUT = "card.svg", "card.html", "prove-out.html"


def files(goes: Outgoing, digest: str) -> Mapping[str, bytes]:
    """The pages by their paths; ``digest`` is the SHA-256 of the manifest."""
    drawn = card.draw(card.legend(goes), goes.printing.card_width, goes.printing.card_height)
    return {
        CARD: drawn.svg().encode(),
        CARD_PAGE: drawn.page().encode(),
        PROVE_OUT: prove_out.page(goes, digest).encode(),
    }
