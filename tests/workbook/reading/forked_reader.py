"""Files read by a process of their own, for what they cost."""

import atexit
import json
import subprocess
import sys
from functools import cache
from pathlib import Path

# Each file is read by a process of its own, so that its memory is its own: what was said, seconds, peak in MiB. They are
# forked, since a start with all its imports takes longer than the reading.
_READ = """
import json, os, signal, sys, time
from pathlib import Path
from xlsengine.errors import XlsEngineError
from xlsengine.workbook.reading.plain_tables import take_in
from xlsengine.workbook.reading.reader import read_workbook

def read(path, how):
    signal.alarm(60)
    start = time.process_time()
    try:
        if how == "take in":
            said = f"took {take_in(path).test.rows('Readings')}"
        else:
            said = "sent back" if read_workbook(path).faults else "accepted"
    except XlsEngineError as error:
        said = str(error)
    seconds = time.process_time() - start
    held = dict(line.split(":", 1) for line in Path("/proc/self/status").read_text().splitlines())
    return said, seconds, int(held["VmHWM"].split()[0]) / 1024

for line in sys.stdin:
    child = os.fork()
    if child == 0:
        print(json.dumps(read(*json.loads(line))), flush=True)
        os._exit(0)
    if os.waitpid(child, 0)[1]:
        print(json.dumps(("died", 1e9, 0)), flush=True)
"""


@cache
def _reader() -> subprocess.Popen[str]:
    process = subprocess.Popen([sys.executable, "-c", _READ], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    atexit.register(process.communicate)
    return process


def read_apart(path: Path, how: str) -> tuple[str, float, float]:
    """Return what is said of a file that is read, or taken in ("take in"), the seconds that takes, and the peak in MiB."""
    reader = _reader()
    assert reader.stdin is not None
    assert reader.stdout is not None
    print(json.dumps((str(path), how)), file=reader.stdin, flush=True)
    said, seconds, peak = json.loads(reader.stdout.readline())
    return str(said), float(seconds), float(peak)
