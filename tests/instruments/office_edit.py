"""A person's work in LibreOffice Calc: open, insert, delete and sort rows, type into cells, save.

`office_hands.py` does it over LibreOffice's UNO bridge, in a Python that has `uno`.
"""

import json
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from functools import cache
from pathlib import Path

from tests.instruments.recalculate import Test, requires_libreoffice, requires_program, run_program

HANDS = Path(__file__).with_name("office_hands.py")
EXCEL = "Calc MS Excel 2007 XML"
Act = tuple[str | float | bool | None, ...]
"""A verb of `office_hands.py`, the sheet, and what it takes."""


@dataclass(frozen=True)
class Work:
    """What is done to one workbook; `filter` is the kind of file it is saved as, `secret` a password."""

    source: str
    target: str
    acts: Sequence[Act] = ()
    filter: str = EXCEL
    secret: str | None = None


@cache
def python_with_uno() -> str | None:
    """Return a Python that can talk to LibreOffice, or None: the system's, where Debian puts the bridge."""
    for candidate in ("/usr/bin/python3", shutil.which("python3"), sys.executable):
        if candidate and subprocess.run([candidate, "-c", "import uno"], capture_output=True).returncode == 0:
            return candidate
    return None


def requires_bridge(test: Test) -> Test:
    """Mark a test that works in LibreOffice over its bridge: skipped where it is missing, failed where demanded."""
    missing = None if python_with_uno() else "no Python has uno; Debian: python3-uno"
    return requires_libreoffice(requires_program(missing)(test))


def do_in_libreoffice(works: Sequence[Work], timeout: float = 300.0) -> None:
    """Do all the work in one run of LibreOffice; RuntimeError when it fails.

    Formulas that follow from what was done are recalculated by LibreOffice as they are at a desk.
    """
    python = python_with_uno()
    if python is None:
        raise RuntimeError("no Python has uno; Debian: python3-uno")
    with tempfile.TemporaryDirectory() as folder:
        jobs = Path(folder, "jobs.json")
        jobs.write_text(json.dumps([asdict(work) for work in works]), encoding="utf-8")
        told = run_program([python, str(HANDS), str(jobs)], timeout)
    absent = [work.target for work in works if not Path(work.target).exists()]
    if absent:
        raise RuntimeError(f"LibreOffice saved no {absent}: {told}")
