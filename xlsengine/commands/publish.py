"""``xlsengine publish``: pictures, a page, tables and a workbook for readers."""

from pathlib import Path

import click

from xlsengine.commands.printing import FILE, LIBRARY, OVERWRITE, progress, say, say_all, say_noted


@click.command()
@click.argument("file", type=FILE)
@click.option("-o", "--output", type=FILE, help="Folder to write into; else '<name> to publish' beside the input.")
@LIBRARY
@OVERWRITE
def publish(file: Path, output: Path | None, library: str, overwrite: bool) -> None:
    """Write what to publish: two pictures, a page, the table, the readings and a workbook for readers."""
    from xlsengine.jobs import named_library
    from xlsengine.publish.files import publish as write_all

    with progress() as step:
        done = write_all(file, output, overwrite, step, named_library(library))
    say(done.title)
    say_noted(done.told)
    if done.doubts:
        say("  look at these before you publish:")
        say_all(f"  {line}" for line in done.doubts)
    say_all(f"wrote {path}" for path in done.files)
