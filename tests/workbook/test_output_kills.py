"""`xlsengine results` killed at any moment: the output is the old one or the whole new one, never something between."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.instruments.recalculate import stored_values
from tests.workbook.made_tests import on_purpose
from xlsengine.study.assessment import assess
from xlsengine.workbook.output import UNFINISHED
from xlsengine.workbook.results import write_results
from xlsengine.workbook.template import write_input_workbook, write_template

KILLS = 50
# Until a workbook is closed, all is computed and held in memory: each child is forked there, so that the kills hit what
# touches the disk.
KILLED_AGAIN_AND_AGAIN = """
import json, os, random, signal, sys, time
from pathlib import Path
import xlsengine.cli
from xlsengine.workbook.book import Book
source, target, kills = Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3])
old, close = target.read_bytes(), Book.close

def close_again_and_again(book):
    assert target.read_bytes() == old, "something was written before the workbook is closed"
    def started():
        book._path.parent.mkdir(exist_ok=True)
        return os.fork()
    whole = 60.0
    for _ in range(2):
        target.write_bytes(old)
        begin, child = time.monotonic(), started()
        if child == 0:
            return close(book)
        os.waitpid(child, 0)
        whole, new = min(whole, time.monotonic() - begin), target.read_bytes()
        assert new != old, "the command fails when nobody kills it"
    rng, seen = random.Random(1), []
    for moment in sorted((rng.uniform(0, 1.2) for _ in range(kills)), reverse=True):  # the last leaves its folder
        target.write_bytes(old)
        end, child = time.monotonic() + moment * whole, started()
        if child == 0:
            return close(book)
        while time.monotonic() < end and not os.waitid(os.P_PID, child, os.WEXITED | os.WNOHANG | os.WNOWAIT):
            time.sleep(0.002)
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        found = target.read_bytes()
        seen.append("old" if found == old else "new" if found == new else "half")
    print(json.dumps(seen), file=sys.__stderr__, flush=True)
    os._exit(0)

Book.close = close_again_and_again
xlsengine.cli.main(["results", str(source), "-o", str(target), "--overwrite"])
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a system that forks")
def test_results_killed_at_fifty_moments_never_leaves_a_half(tmp_path: Path) -> None:
    """A killed process cannot clean up: its hidden folder stays, which nobody takes for an output."""
    source = write_input_workbook(on_purpose({}), tmp_path / "in.xlsx")
    target = write_template(tmp_path / "out.xlsx")
    old = target.read_bytes()
    command = [sys.executable, "-c", KILLED_AGAIN_AND_AGAIN, str(source), str(target), str(KILLS)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=500, check=True)
    seen = json.loads(done.stderr)
    assert len(seen) == KILLS
    assert set(seen) == {"old", "new"}, "half written, or all kills came before or after the work"
    assert stored_values(target) in (
        stored_values(write_results(assess(on_purpose({})), tmp_path / "again.xlsx")),
        stored_values(write_template(tmp_path / "template.xlsx")),
    )
    assert (tmp_path / "out (before).xlsx").read_bytes() == old
    left = {path.name for path in tmp_path.iterdir()} - {
        "in.xlsx",
        "out.xlsx",
        "out (before).xlsx",
        "again.xlsx",
        "template.xlsx",
    }
    assert left
    assert all(name.startswith(UNFINISHED) for name in left)
