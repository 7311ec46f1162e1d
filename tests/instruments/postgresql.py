"""A private PostgreSQL server for the tests, in a folder of its own, with nothing listening on the network.

It runs as whoever runs the tests; where that is root, which PostgreSQL refuses, as the user `postgres` that Debian's package
makes. Its programs are found on the path, or where Debian keeps them.
"""

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

_DEBIAN = "/usr/lib/postgresql"
_STAND_IN = "postgres"


def server_programs() -> Path | None:
    """Return the folder of `initdb` and `postgres`, the newest there is, None where none is installed."""
    found = shutil.which("initdb")
    folders = [Path(found).parent] if found else []
    folders += sorted(Path(_DEBIAN).glob("*/bin"), key=lambda folder: int(folder.parent.name), reverse=True)
    return next((folder for folder in folders if (folder / "initdb").exists() and (folder / "pg_ctl").exists()), None)


@contextmanager
def private_server() -> Iterator[str]:
    """Start a server and give its address; skips where no server is installed, which under CI is a failure."""
    programs = server_programs()
    if programs is None:
        if os.environ.get("CI"):
            pytest.fail("PostgreSQL's server is not installed; .ci/run installs Debian's package postgresql")
        pytest.skip("PostgreSQL's server is not installed")
    folder = Path(tempfile.mkdtemp(prefix="xlsengine-pg-"))
    user = _own(folder)
    data, log = folder / "data", folder / "log"
    try:
        _run(
            user,
            folder,
            programs / "initdb",
            "-D",
            data,
            "-A",
            "trust",
            "-U",
            "tests",
            "-E",
            "UTF8",
            "--locale=C.UTF-8",
        )
        options = f"-k {folder} -c listen_addresses='' -c fsync=off"
        _run(user, folder, programs / "pg_ctl", "-D", data, "-l", log, "-w", "-o", options, "start")
        try:
            yield f"postgresql://tests@/postgres?host={folder}"
        finally:
            _run(user, folder, programs / "pg_ctl", "-D", data, "-m", "immediate", "-w", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _own(folder: Path) -> str | None:
    """Give a folder to the user that stands in for root; returns that user's name, None where nobody need stand in."""
    if not hasattr(os, "geteuid") or os.geteuid() != 0:
        return None
    shutil.chown(folder, _STAND_IN, _STAND_IN)
    return _STAND_IN


def _run(user: str | None, folder: Path, *command: object) -> None:
    words = [str(word) for word in command]
    whole = words if user is None else ["runuser", "-u", user, "--", *words]
    done = subprocess.run(
        whole,
        cwd=folder,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        timeout=120,
        stdin=subprocess.DEVNULL,
    )
    assert done.returncode == 0, done.stdout
