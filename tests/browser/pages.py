"""Every page there is, and a workshop in which something is refused."""

from __future__ import annotations

from library import documents
from library.store import Workshop
from tests.workshops import keep
from webapp.pages import start
from webapp.views import help as help_pages

EVERY_PAGE = (
    "/bench/present-part",
    "/bench/home",
    "/bench/home/second-opinion",
    "/pendant",
    *(f"/start/{part.id}" for part in start.STARTS),
    "/sheets/machine",
    "/sheets/controller",
    "/sheets/pendant",
    "/shelf",
    "/shelf/park",
    "/review",
    "/portable/park",
    "/shelf?q=table&sort=verdict",
    "/shelf-on-machines",
    "/sheets/machines",
    "/to-the-machine",
    "/scratch?rule=crosses-keep-out",
    "/help",
    "/help/search?q=keep-out",
    *(f"/help/{name}" for name in help_pages.TOPICS),
    *(f"/help/documents/{kind}" for kind in documents.KINDS),
    "/help/rules/crosses-keep-out",
    "/help/blocks/present-table",
    "/help/blocks/probe-bore",
)
"""All pages; of the many that are alike one."""

THROUGH_THE_VISE = {"block": "go-to", "x": "20 mm", "y": "20 mm"}


def spoil_park(site):
    """Let the macro "park" cross the table before it is raised."""
    shop = Workshop.open(site.folder)
    text = documents.write("macro", {("step",): [THROUGH_THE_VISE]}, shop.text("macro", "park"))
    keep(shop, "macro", "park", text, "spoilt")
