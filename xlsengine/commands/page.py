"""``xlsengine page``: the page in the browser."""

import click

from xlsengine.commands.printing import LIBRARY, say


@click.command()
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="Port to serve on; else a free one.")
@click.option("--browser/--no-browser", default=True, help="Whether to open it in the browser.")
@LIBRARY
def page(port: int, browser: bool, library: str) -> None:
    """Open a page in the browser to drop workbooks on; it is served to this machine alone."""
    from xlsengine.doors.page.serving import serve
    from xlsengine.library.where import library_place

    serve(port, browser, say, library_place(library))
