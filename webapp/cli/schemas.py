"""JSON Schemas of what the program reads and writes."""

from __future__ import annotations

import json

import click

from library import documents, written
from webapp.cli.common import put


@click.command()
@click.argument("kind", type=click.Choice([*documents.KINDS, *written.KINDS]))
def schema(kind: str) -> None:
    """Print the JSON Schema of a kind of document, of the report of check, or of the slots or manifest of a pack."""
    made = documents.schema(kind) if kind in documents.KINDS else written.schema(kind)
    put(json.dumps(made, indent=2) + "\n")
