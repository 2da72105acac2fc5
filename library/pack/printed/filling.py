"""The templates of the printed pages; what is put into them is escaped, and has no letter a document cannot hold."""

from __future__ import annotations

import re

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

_NOT_XML = re.compile("[^\t\n\r -\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
REPLACEMENT = "\ufffd"


def printable(value: object) -> object:
    """``value``, in a text every letter that XML has no place for replaced by the sign for that."""
    return _NOT_XML.sub(REPLACEMENT, value) if isinstance(value, str) and not isinstance(value, Markup) else value


def millimetres(value: float) -> str:
    """A length for an attribute: three decimals at most, no useless zeros."""
    return f"{value:.3f}".rstrip("0").rstrip(".")


def sentence(text: str) -> str:
    """A clause with the full stop that ends it, once."""
    return f"{text.rstrip('.')}."


_ENVIRONMENT = Environment(
    loader=PackageLoader("library.pack.printed"),
    autoescape=True,
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
    keep_trailing_newline=True,
    finalize=printable,
)
_ENVIRONMENT.filters |= {"mm": millimetres, "sentence": sentence}


def render(name: str, **facts: object) -> str:
    """A template with its facts filled in."""
    return _ENVIRONMENT.get_template(name).render(**facts)
