"""The commands that lead elsewhere: ``page``, ``watch``, ``button``, ``guide``, ``publish``."""

import sys
from contextlib import suppress
from datetime import datetime
from pathlib import Path

import click

from xlsengine.commands.printing import FILE, LIBRARY, OVERWRITE, complain, progress, say, say_all, say_noted
from xlsengine.outcome import UNREADABLE


@click.command(short_help="Open a page in the browser to drop workbooks on.")
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="Port to serve on; else a free one.")
@click.option("--browser/--no-browser", default=True, help="Whether to open it in the browser.")
@LIBRARY
def page(port: int, browser: bool, library: str) -> None:
    """Open a page in the browser to drop workbooks on; it is served to this machine alone."""
    from xlsengine.doors.page.serving import serve
    from xlsengine.library.where import library_place

    serve(port, browser, say, library_place(library))


@click.command(short_help="Write results of whatever is saved in a folder.")
@click.argument("folder", type=FILE)
@click.option("--once", is_flag=True, help="Do what is due there now, and stop.")
@LIBRARY
def watch(folder: Path, once: bool, library: str) -> None:
    """Give each workbook that is saved in a folder its results beside it, or a text of its faults."""
    from xlsengine.doors.folders import watch_folder
    from xlsengine.jobs import named_library

    def tell(line: str) -> None:
        say(f"{datetime.now():%H:%M:%S} {line}")

    if not folder.is_dir():
        complain(f"{folder} cannot be watched: there is no such folder")
        sys.exit(UNREADABLE)
    with suppress(KeyboardInterrupt):
        if not once:
            tell(f"watching {folder}; save a workbook there, Ctrl+C ends")
        watch_folder(folder, tell, once, named_library(library))


@click.command(short_help="Write the extension for LibreOffice.")
@click.option("-o", "--output", type=FILE, default=Path("xlsengine.oxt"), help="File to write; else 'xlsengine.oxt'.")
@OVERWRITE
def button(output: Path, overwrite: bool) -> None:
    """Write the extension for LibreOffice: Check, Results and Empty workbook in its menu and toolbar."""
    from xlsengine.doors.oxt import write_extension

    say(
        f"wrote {write_extension(output, overwrite)}; open it with LibreOffice (Tools, Extension Manager, Add), restart "
        "LibreOffice, and look at the menu xlsengine"
    )


@click.command(short_help="Open the guide with pictures.")
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


@click.command(short_help="Write pictures, a page and tables to publish.")
@click.argument("file", type=FILE)
@click.option("-o", "--output", type=FILE, help="Folder to write into; else '<name> to publish' beside the input.")
@LIBRARY
@OVERWRITE
def publish(file: Path, output: Path | None, library: str, overwrite: bool) -> None:
    """Write what to publish: two pictures, a page, the table, the readings and a workbook for readers."""
    from xlsengine.jobs import named_library
    from xlsengine.publish.assessed import publish as write_all

    with progress() as step:
        done = write_all(file, output, overwrite, step, named_library(library))
    say(done.title)
    say_noted(done.told)
    if done.doubts:
        say("  look at these before you publish:")
        say_all(f"  {line}" for line in done.doubts)
    say_all(f"wrote {path}" for path in done.files)
