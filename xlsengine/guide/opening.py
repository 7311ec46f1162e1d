"""Writing the guide to a file, and opening it in the browser."""

import webbrowser
from pathlib import Path

from platformdirs import user_cache_path

from xlsengine.errors import OutputRefused
from xlsengine.guide.assemble import guide
from xlsengine.workbook.output import whole_file


def write_guide(path: Path, overwrite: bool = False) -> Path:
    """Write the guide as one HTML file; returns its path.

    Raises `OutputRefused` when the file exists and `overwrite` is false, or cannot be written.
    """
    with whole_file(path, overwrite) as unfinished:
        unfinished.write_bytes(guide().encode())
    return path


def open_guide() -> tuple[Path, bool]:
    """Write the guide into the user's cache and open it; returns its path, and whether a browser took it.

    Raises `OutputRefused` where it cannot be written.
    """
    folder = user_cache_path("xlsengine", appauthor=False)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / "guide.html"
        path.write_bytes(guide().encode())
    except OSError as error:
        raise OutputRefused(f"cannot write the guide into {folder}: {error.strerror}; name a file with -o") from error
    return path, webbrowser.open(path.as_uri())
