"""JSON Schemas of what the program reads and writes."""

from __future__ import annotations

import json

import click

from library import documents
from webapp.cli.common import put


@click.command()
@click.argument("kind", type=click.Choice(list(documents.KINDS)))
def schema(kind: str) -> None:
    """Print the JSON Schema of a kind of document."""
    put(json.dumps(documents.schema(kind), indent=2) + "\n")
