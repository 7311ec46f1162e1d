"""LibreOffice with the extension installed, worked in by `button_hands.py` over its UNO bridge."""

import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from xlsengine.doors.oxt import write_extension

HANDS = Path(__file__).with_name("button_hands.py")
ENGINE = Path(sys.executable).with_name("xlsengine")
_UNO_PYTHON = "/usr/bin/python3"
PATIENCE = 300.0


def installed() -> Path:
    """Return a folder with a LibreOffice profile in which the extension is installed; whoever asks removes it.

    `unopkg` refuses root, so there it is run as the user nobody.
    """
    folder = Path(tempfile.mkdtemp(prefix="button-"))
    folder.chmod(0o777)
    package = write_extension(folder / "xlsengine.oxt")
    package.chmod(0o644)
    command = ["unopkg", "add", str(package), f"-env:UserInstallation={(folder / 'profile').as_uri()}"]
    if os.geteuid() == 0:
        command = ["runuser", "-u", "nobody", "--", *command]
    own = {**os.environ, "HOME": str(folder), "TMPDIR": str(folder)}
    done = subprocess.run(command, capture_output=True, text=True, timeout=PATIENCE, env=own, cwd=folder)
    if done.returncode:
        shutil.rmtree(folder, ignore_errors=True)
        raise RuntimeError(f"unopkg did not take the extension: {done.stdout}{done.stderr}")
    return folder


def work(
    profile: Path, book: Path, acts: Sequence[Sequence[Any]], engine: Path = ENGINE, **own: str
) -> list[dict[str, Any]]:
    """Do acts in LibreOffice on a workbook; returns what each look saw. `own` are variables of its environment.

    Its window is shown where one of these is DISPLAY.
    """
    job, options = profile / "job.json", [] if "DISPLAY" in own else ["--headless"]
    told = {"profile": str(profile / "profile"), "engine": str(engine), "book": str(book)}
    job.write_text(json.dumps({**told, "options": options, "acts": acts}))
    done = subprocess.run(
        [_UNO_PYTHON, str(HANDS), str(job)], capture_output=True, text=True, timeout=PATIENCE, env={**os.environ, **own}
    )
    if done.returncode:
        raise RuntimeError(f"the hands failed: {done.stderr}")
    seen: list[dict[str, Any]] = json.loads(done.stdout)
    return seen
