"""``xlsengine guide``: the guide with pictures, in the browser."""

from pathlib import Path

import click

from xlsengine.commands.printing import FILE, OVERWRITE, say


@click.command()
@click.option("-o", "--output", type=FILE, help="Write it to this file instead of opening it.")
@OVERWRITE
def guide(output: Path | None, overwrite: bool) -> None:
    """Open the guide with pictures in the browser."""
    from xlsengine.guide.assemble import open_guide, write_guide

    if output is not None:
        say(f"wrote {write_guide(output, overwrite)}")
        return
    path, opened = open_guide()
    say(f"opened {path}" if opened else f"found no browser to open the guide with; it is {path}")
