"""Where the library is: as asked for, else as the environment says, else as the user's own configuration file does.

A workbook never says it, since that could come from a stranger.
"""

import os
import tomllib
from pathlib import Path

from platformdirs import user_config_path

from xlsengine.errors import LibraryError

VARIABLE = "XLSENGINE_LIBRARY"
SETTING = "library"


def configuration_file() -> Path:
    """Return the user's own configuration file, which need not exist."""
    return user_config_path("xlsengine", appauthor=False) / "config.toml"


def library_place(asked: str | None = None) -> str | None:
    """Return a library's file or address, None where nobody named one.

    Raises `LibraryError` where the configuration file cannot be read, or says something else than a text.
    """
    named = asked or os.environ.get(VARIABLE, "").strip()
    return named or _configured(configuration_file())


def wanted_place(asked: str | None = None) -> str:
    """Return a library's file or address; raises `LibraryError` where nobody named one."""
    place = library_place(asked)
    if place is None:
        raise LibraryError(
            "no library is named; say --library FILE, set the environment variable "
            f'{VARIABLE}, or write {SETTING} = "FILE" into {configuration_file()}'
        )
    return place


def _configured(path: Path) -> str | None:
    try:
        said = tomllib.loads(path.read_text(encoding="utf-8-sig")).get(SETTING)
    except FileNotFoundError:
        return None
    except (OSError, ValueError) as error:
        raise LibraryError(
            f"{path} cannot be read ({error}); correct it, or name the library with --library"
        ) from error
    if said is None or said == "":
        return None
    if not isinstance(said, str):
        raise LibraryError(f'{path}: found {SETTING} = {said!r}; wanted a text; write {SETTING} = "FILE"')
    return said if "://" in said else str(path.parent / Path(said).expanduser())
