"""``xlsengine button``: the extension that puts the engine into LibreOffice's menu and toolbar."""

from pathlib import Path

import click

from xlsengine.commands.printing import FILE, OVERWRITE, say

HOW_TO = "open it with LibreOffice (Tools, Extension Manager, Add), restart LibreOffice, and look at the menu xlsengine"


@click.command()
@click.option("-o", "--output", type=FILE, default=Path("xlsengine.oxt"), help="File to write; else 'xlsengine.oxt'.")
@OVERWRITE
def button(output: Path, overwrite: bool) -> None:
    """Write the extension for LibreOffice: Check, Results and Template in its menu and toolbar."""
    from xlsengine.doors.oxt import write_extension

    say(f"wrote {write_extension(output, overwrite)}; {HOW_TO}")
