"""``xlsengine watch FOLDER``: results beside what is saved there, from any program."""

import sys
from contextlib import suppress
from datetime import datetime
from pathlib import Path

import click

from xlsengine.commands.printing import FILE, LIBRARY, complain, say
from xlsengine.outcome import UNREADABLE


@click.command()
@click.argument("folder", type=FILE)
@click.option("--once", is_flag=True, help="Do what is due there now, and stop.")
@LIBRARY
def watch(folder: Path, once: bool, library: str) -> None:
    """Give each workbook that is saved in a folder its results beside it, or a text of its faults."""
    from xlsengine.doors.watched_folder import watch_folder
    from xlsengine.jobs import named_library

    if not folder.is_dir():
        complain(f"{folder} cannot be watched: there is no such folder")
        sys.exit(UNREADABLE)
    with suppress(KeyboardInterrupt):
        if not once:
            _tell(f"watching {folder}; save a workbook there, Ctrl+C ends")
        watch_folder(folder, _tell, once, named_library(library))


def _tell(line: str) -> None:
    say(f"{datetime.now():%H:%M:%S} {line}")
