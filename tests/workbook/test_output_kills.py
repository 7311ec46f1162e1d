"""`xlsengine results` killed at any moment: the output is the old one or the whole new one, never something between."""

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

KILLS = int(os.environ.get("XLSENGINE_KILLS", "24"))
"""More of them make a longer search."""
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
    def stamp():
        try:
            held = os.stat(target)
        except FileNotFoundError:
            return None
        return held.st_ino, held.st_size, held.st_mtime_ns
    def run(longest, after):
        target.write_bytes(old)
        before, begin, changed, child = stamp(), time.monotonic(), None, started()
        if child == 0:
            close(book)
            return None, None
        while time.monotonic() < (begin + longest if changed is None else changed + after):
            time.sleep(0.0003)
            if changed is None and stamp() != before:
                changed = time.monotonic()
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        return child, changed and changed - begin

    child, whole = run(60.0, 0.3)
    if child is None:
        return
    assert whole, "the command fails when nobody kills it"
    new, rng, seen = target.read_bytes(), random.Random(1), []
    moments = [rng.uniform(0.1, 1.0) for _ in range(kills)]
    moments[-1] = 0.0  # leaves its folder
    for number, moment in enumerate(moments):  # half of the kills at the first sign of a change, half before
        at_change = number % 2 == 0
        child, changed = run(60.0 if at_change else moment * whole, rng.choice((0.0, rng.uniform(0.0, 0.03))))
        if child is None:
            return
        whole = changed or whole  # as fast as the machine is now
        found = target.read_bytes()
        seen.append("old" if found == old else "new" if found == new else "half")
    print(json.dumps(seen), file=sys.__stderr__, flush=True)
    os._exit(0)

Book.close = close_again_and_again
xlsengine.cli.main(["results", str(source), "-o", str(target), "--overwrite"])
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a system that forks")
def test_results_killed_at_any_moment_never_leaves_a_half(tmp_path: Path) -> None:
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
