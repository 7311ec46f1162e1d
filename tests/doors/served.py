"""The page as a person starts it: ``xlsengine page`` in a process of its own, its files in a folder that tests see."""

import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import parse_qs, quote, urlsplit

import httpx

PATIENT = 120.0


@dataclass(frozen=True)
class Served:
    """A page that is served: its whole address with the key, its process, and the folder of its temporary files."""

    address: str
    process: subprocess.Popen[str]
    folder: Path

    @property
    def root(self) -> str:
        return self.address.partition("/?")[0]

    @property
    def key(self) -> str:
        return parse_qs(urlsplit(self.address).query)["key"][0]

    @property
    def headers(self) -> dict[str, str]:
        return {"x-key": self.key, "origin": self.root}

    def get(self, path: str, **headers: str) -> httpx.Response:
        return httpx.get(self.root + path, headers={**self.headers, **headers}, timeout=PATIENT)

    def hand_over(self, name: str, content: bytes, **headers: str) -> httpx.Response:
        sent = {**self.headers, "x-name": quote(name), **headers}
        return httpx.post(f"{self.root}/work", content=content, headers=sent, timeout=PATIENT)

    def files(self) -> list[str]:
        """Return what lies in the temporary folder."""
        return sorted(str(path.relative_to(self.folder)) for path in self.folder.rglob("*"))

    def workers(self) -> list[int]:
        """Return the worker processes that are at work, as the system lists them."""
        found = []
        for place in Path("/proc").glob("[0-9]*"):
            try:
                command, parent = (
                    (place / "cmdline").read_bytes(),
                    (place / "stat").read_text().rpartition(")")[2].split()[1],
                )
            except OSError:
                continue
            if b"multiprocessing-fork" in command and int(parent) == self.process.pid:
                found.append(int(place.name))
        return found


@contextmanager
def serving(folder: Path, *options: str) -> Iterator[Served]:
    """Serve the page until the block ends."""
    command = [sys.executable, "-m", "xlsengine", "page", "--no-browser", *options]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env={**os.environ, "TMPDIR": str(folder)})
    assert process.stdout is not None
    try:
        found = re.search(r"http://\S+", process.stdout.readline())
        assert found
        yield Served(found[0], process, folder)
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(PATIENT)
        process.stdout.close()
