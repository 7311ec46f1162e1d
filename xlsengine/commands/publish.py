"""``xlsengine publish``: pictures, a page, tables and a workbook for readers."""

from pathlib import Path

import click

from xlsengine.commands.printing import FILE, progress, say, say_noted


@click.command()
@click.argument("file", type=FILE)
@click.option("-o", "--output", type=FILE, help="Folder to write into; else '<name> to publish' beside the input.")
@click.option(
    "--library",
    default="",
    help="Library to compare with in the workbook for readers; else as XLSENGINE_LIBRARY or your configuration file says.",
)
@click.option("--overwrite", is_flag=True, help="Replace files that exist.")
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
    for line in done.doubts:
        say(f"  {line}")
    for path in done.files:
        say(f"wrote {path}")
