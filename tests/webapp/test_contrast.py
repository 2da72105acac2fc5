"""Lines of the drawings stand out from the paper, and lettering can be read, in light and in dark."""

from __future__ import annotations

import re
from importlib.resources import files

import pytest

LINES, LETTERS = 3.0, 4.5
"""Contrast that WCAG 2.2 asks of what is drawn (1.4.11) and of text (1.4.3)."""
SURFACES = {"band", "step-band", "swept"}
"""Areas of one tint, whose edges are drawn or which repeat what words beside them say."""

STATIC = files("webapp").joinpath("static")
LOOK = STATIC.joinpath("clickstop.css").read_text()
LIGHT, DARK = (
    dict(re.findall(r"--(\w[\w-]*): (#[0-9a-f]{6});", part))
    for part in LOOK.split("@media (prefers-color-scheme: dark)")[:2]
)


def luminance(colour):
    """Relative luminance of sRGB (WCAG 2.2)."""
    parts = [part / 255 for part in colour]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def rgb(text):
    return [int(text[at : at + 2], 16) for at in (1, 3, 5)]


def contrast(ink, paper, opacity=1.0):
    over = [opacity * one + (1 - opacity) * other for one, other in zip(rgb(ink), rgb(paper), strict=True)]
    light, dark = sorted((luminance(over), luminance(rgb(paper))), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def rules():
    """Selectors of the drawings with what they set."""
    text = "".join(STATIC.joinpath(name).read_text() for name in ("drawings.css", "timing.css"))
    text = re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL)
    for selectors, body in re.findall(r"([^{}]+)\{([^{}]*)\}", text):
        yield selectors.strip(), dict(re.findall(r"([\w-]+):\s*([^;]+)", body))


def roles(selectors):
    return set(re.findall(r"\.([\w-]+)", selectors))


def drawn():
    """Every colour that strokes or letters are drawn in: selectors, custom property, opacity, what is asked of it."""
    for selectors, body in rules():
        words = re.search(r"\btext\b|-name|-time|\.(figure|note|place|called|heading|number)\b", selectors)
        for what in ("stroke", "fill") if words else ("stroke",):
            name = re.fullmatch(r"var\(--(\w+)\)", body.get(what, ""))
            halo = words and what == "stroke"
            if name and not halo and not roles(selectors) & SURFACES:
                yield selectors, name[1], float(body.get(f"{what}-opacity", 1)), LETTERS if words else LINES


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("ground", ["paper", "wash"])
def test_what_is_drawn_stands_out(colours, ground):
    found = list(drawn())
    assert len(found) > 30
    faint = {
        selectors: round(contrast(colours[name], colours[ground], opacity), 2)
        for selectors, name, opacity, least in found
        if contrast(colours[name], colours[ground], opacity) < least
    }
    assert faint == {}


def test_the_two_looks_name_the_same_colours():
    assert {"paper", "ink", "faint", "rule", "hatch", "accent"} <= LIGHT.keys()
    assert DARK.keys() == LIGHT.keys()


def test_contrast_is_what_the_standard_says():
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)
