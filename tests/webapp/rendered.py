"""What a browser sends with a form beside what a person does in it: the hidden fields of the page."""

from __future__ import annotations

import html
import re

HIDDEN = re.compile(r'<input (?:id="[^"]*" )?type="hidden" name="([^"]+)" value="([^"]*)"')


def hidden(client, path, action=""):
    """The hidden fields of a page, or those of the first form of it that goes to ``action``."""
    text = client.get(path).text
    if action:
        own = re.compile(f'action="{re.escape(action)}["#]')
        text = next(form for form in text.split("<form")[1:] if own.search(form)).split("</form>")[0]
    return {name: html.unescape(value) for name, value in reversed(HIDDEN.findall(text))}
