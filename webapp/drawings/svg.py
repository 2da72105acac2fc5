"""Elements of a drawing: SVG built as a tree, so that every name a user typed is escaped."""

from __future__ import annotations

import re
from collections.abc import Iterable
from xml.etree import ElementTree

from markupsafe import Markup

Element = ElementTree.Element
Child = Element | str | None

NAMESPACE = "http://www.w3.org/2000/svg"
_NOT_XML = re.compile("[^\t\n\r -\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def number(value: float) -> str:
    """A length for an attribute: two decimals at most, no useless zeros, never "-0"."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def element(tag: str, *children: Child | Iterable[Element], **attributes: float | str | None) -> Element:
    """An element with its children; ``class_`` gives class, ``data_line`` data-line, None leaves the attribute out."""
    made = Element(tag)
    for name, value in attributes.items():
        if value is not None:
            text = value if isinstance(value, str) else number(value)
            made.set(name.rstrip("_").replace("_", "-"), _NOT_XML.sub("", text))
    for child in children:
        add(made, child)
    return made


def add(parent: Element, child: Child | Iterable[Element]) -> None:
    """Put text, an element or several elements at the end of ``parent``."""
    if child is None:
        return
    if isinstance(child, str):
        text = _NOT_XML.sub("", child)
        if len(parent):
            parent[-1].tail = (parent[-1].tail or "") + text
        else:
            parent.text = (parent.text or "") + text
    elif isinstance(child, Element):
        parent.append(child)
    else:
        parent.extend(child)


def group(*children: Child | Iterable[Element], **attributes: float | str | None) -> Element:
    """A ``g`` element."""
    return element("g", *children, **attributes)


def line(x1: float, y1: float, x2: float, y2: float, class_: str, **attributes: float | str | None) -> Element:
    """A straight stroke."""
    return element("line", x1=x1, y1=y1, x2=x2, y2=y2, class_=class_, **attributes)


def rectangle(
    x: float, y: float, width: float, height: float, class_: str, **attributes: float | str | None
) -> Element:
    """An upright rectangle, its corner of least x and y first."""
    return element("rect", x=x, y=y, width=width, height=height, class_=class_, **attributes)


def between(
    corner: tuple[float, float], other: tuple[float, float], class_: str, **attributes: float | str | None
) -> Element:
    """The upright rectangle that has two points for opposite corners."""
    (x1, y1), (x2, y2) = corner, other
    return rectangle(min(x1, x2), min(y1, y2), abs(x2 - x1), abs(y2 - y1), class_, **attributes)


def circle(x: float, y: float, radius: float | str, class_: str, **attributes: float | str | None) -> Element:
    """A circle; the radius may be text, to be in em."""
    return element("circle", cx=x, cy=y, r=radius, class_=class_, **attributes)


def polyline(points: Iterable[tuple[float, float]], class_: str, **attributes: float | str | None) -> Element:
    """An open run of straight strokes."""
    return element("path", d=trail(points), class_=class_, **attributes)


def polygon(points: Iterable[tuple[float, float]], class_: str, **attributes: float | str | None) -> Element:
    """A closed run of straight strokes."""
    return element("path", d=trail(points) + "Z", class_=class_, **attributes)


def trail(points: Iterable[tuple[float, float]]) -> str:
    """Path data through the points."""
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points)


def text(x: float, y: float, words: str, class_: str, **attributes: float | str | None) -> Element:
    """Words with their baseline at the point."""
    return element("text", words, x=x, y=y, class_=class_, **attributes)


def picture(
    width: float,
    height: float,
    type_size: float,
    title: str,
    description: str,
    *children: Child | Iterable[Element],
    class_: str,
    prefix: str,
    role: str = "img",
) -> Markup:
    """The whole drawing, to be inserted as it is: an ``svg`` of the given size, its title and the same in words.

    ``type_size`` is the size of ordinary lettering in units of the view box; the style sheet may enlarge it on a narrow
    screen, which is why everything that belongs to lettering is given in em. ``role`` is "group" where it holds
    links.
    """
    root = element(
        "svg",
        element("title", title, id=f"{prefix}-title"),
        element("desc", description, id=f"{prefix}-desc"),
        group(*children, class_="sheet"),
        xmlns=NAMESPACE,
        viewBox=f"0 0 {number(width)} {number(height)}",
        class_=f"drawing {class_}",
        role=role,
        aria_labelledby=f"{prefix}-title {prefix}-desc",
        font_size=type_size,
    )
    return rendered(root)


def rendered(root: Element) -> Markup:
    """A whole drawing as text, to be inserted as it is."""
    return Markup(ElementTree.tostring(root, encoding="unicode"))
