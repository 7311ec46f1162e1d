"""The engine as a process of its own: where it lies, and what it says."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

NAME = "xlsengine"
VARIABLE = "XLSENGINE"
PATIENCE = 600.0
"""Seconds: the largest workbooks take minutes."""
NOT_THERE = (
    "The program xlsengine was not found on this computer. Install it as its README says (in its folder: pipx "
    "install .), or say where it lies: menu xlsengine, Where is the engine."
)
_NOT_THE_ENGINES = ("PYTHONPATH", "PYTHONHOME", "LD_LIBRARY_PATH", "PYTHONEXECUTABLE")


class EngineMissing(Exception):
    """The engine is not there, or cannot be run; the text says so to a person."""


def engine_path(setting: str = "") -> str:
    """Return the program: the one of the setting, the environment, the path, or the usual places.

    Raises `EngineMissing`.
    """
    if setting:
        if Path(setting).is_file():
            return setting
        raise EngineMissing(f"The program xlsengine was set to {setting}, and no file is there. {NOT_THERE}")
    for place in _places():
        if place and Path(place).is_file():
            return place
    raise EngineMissing(NOT_THERE)


def _places() -> Iterator[str]:
    yield os.environ.get(VARIABLE, "")
    yield shutil.which(NAME) or ""
    home, program = Path.home(), f"{NAME}.exe" if os.name == "nt" else NAME
    folders = [
        home / ".local" / "bin",
        home / "bin",
        Path("/usr/local/bin"),
        Path("/opt/homebrew/bin"),
        Path("/usr/bin"),
        home / f".local/share/pipx/venvs/{NAME}/bin",
        home / f".local/share/uv/tools/{NAME}/bin",
        home / f"pipx/venvs/{NAME}/Scripts",
    ]
    patterns = ("Library/Python/*/bin", "AppData/Roaming/Python/*/Scripts", "AppData/Local/Programs/Python/*/Scripts")
    for pattern in patterns:
        folders += sorted(home.glob(pattern), reverse=True)
    yield from (str(folder / program) for folder in folders)


def run(program: str, arguments: Sequence[str]) -> dict[str, Any]:
    """Run a command that prints JSON, and return what it said; raises `EngineMissing` where it said nothing of the kind.

    What went wrong with a file is told in words: under ``error`` where the command prints none itself.
    """
    done = start(program, [*arguments, "--json"])
    if not done.stdout.strip() and done.stderr.strip():
        return {"error": " ".join(done.stderr.split())}
    try:
        said: Any = json.loads(done.stdout)
    except ValueError:
        said = None
    if not isinstance(said, dict):
        raise EngineMissing(f"The program {program} gave no answer that can be read. {NOT_THERE}")
    return said


def start(program: str, arguments: Sequence[str]) -> subprocess.CompletedProcess[str]:
    """Run the engine to its end; raises `EngineMissing` where it cannot be started or takes too long."""
    own = {name: value for name, value in os.environ.items() if name not in _NOT_THE_ENGINES}
    own["PYTHONIOENCODING"] = "utf-8"
    without_window = 0x08000000 if sys.platform == "win32" else 0
    try:
        return subprocess.run(
            [program, *arguments],
            capture_output=True,
            text=True,
            encoding="utf-8",
            errors="replace",
            env=own,
            stdin=subprocess.DEVNULL,
            timeout=PATIENCE,
            check=False,
            creationflags=without_window,
        )
    except subprocess.TimeoutExpired as error:
        raise EngineMissing(
            f"The program {program} took more than {PATIENCE / 60:.0f} minutes and was stopped."
        ) from error
    except OSError as error:
        raise EngineMissing(
            f"The program {program} cannot be started: {error.strerror or error}. {NOT_THERE}"
        ) from error
