"""A workshop kept in one file, and put back from it."""

from __future__ import annotations

from pathlib import Path

import click

from library import backup as backups
from webapp.cli.common import A_PATH, put
from webapp.cli.inputs import kept_workshop


@click.command()
@click.option("--workshop", type=A_PATH, metavar="DIR", help="Folder of the workshop; else your own.")
@click.option("--to", required=True, type=A_PATH, metavar="FILE.zip", help="File to write; it must not be there yet.")
def backup(workshop: Path | None, to: Path) -> int:
    """Write all of a workshop, every revision of every document, to one file."""
    backups.write(kept_workshop(workshop), to)
    put(f"Written to {to} and read back.\n")
    return 0


@click.command()
@click.argument("file", metavar="FILE.zip", type=A_PATH)
@click.option("--workshop", required=True, type=A_PATH, metavar="DIR", help="Folder to put it in; it may be empty.")
def restore(file: Path, workshop: Path) -> int:
    """Put a workshop back from its backup. Stop the program on it first; what was there is kept under another name."""
    kept = backups.restore(file, workshop)
    put(f"The workshop is in {workshop}.\n" + (f"What was there before is kept as {kept}.\n" if kept else ""))
    return 0
