"""``xlsengine watch``: a running watcher, files saved by real programs, and the system's own events."""

import os
import queue
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.doors.made_files import THRUST, heed_interrupts, motor, names, typed
from tests.instruments.office_edit import Work, do_in_libreoffice
from tests.instruments.recalculate import cell_values, requires_libreoffice
from tests.workbook.reading.mutations import parts_of
from xlsengine.doors import folders
from xlsengine.doors.folders import WatchedFolder, watch_folder
from xlsengine.jobs import check, make_results
from xlsengine.workbook.output import stamp

PATIENT = 90.0


class Watcher:
    """A running ``xlsengine watch`` and the lines it prints."""

    def __init__(self, folder: Path) -> None:
        command = [sys.executable, "-m", "xlsengine", "watch", str(folder)]
        self.process = subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, preexec_fn=heed_interrupts
        )
        self._lines: queue.Queue[str] = queue.Queue()
        self._last = 0.0
        threading.Thread(target=self._read, daemon=True).start()
        assert "watching" in self.line()

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self._lines.put(line.rstrip("\n").partition(" ")[2])

    def line(self) -> str:
        line = self._lines.get(timeout=PATIENT)
        self._last = time.monotonic()
        return line

    def is_quiet(self, seconds: float = 2.0) -> bool:
        """Tell whether nothing follows the last line in so many seconds."""
        time.sleep(max(0.0, self._last + seconds - time.monotonic()))
        return self._lines.empty()


@contextmanager
def watching(folder: Path) -> Iterator[Watcher]:
    watcher = Watcher(folder)
    try:
        yield watcher
    finally:
        watcher.process.kill()
        watcher.process.wait()
        assert watcher.process.stdout is not None
        watcher.process.stdout.close()


def saved_as_excel_does(source: Path, target: Path) -> None:
    """Write beside under a name without an ending, set the old file aside, and give the new one its name."""
    unfinished, aside = target.with_name("5A6B7C80"), target.with_name("5A6B7C81.tmp")
    shutil.copy(source, unfinished)
    if target.exists():
        target.rename(aside)
    unfinished.rename(target)
    aside.unlink(missing_ok=True)


def desk_and_folder(tmp_path: Path) -> tuple[Path, Path]:
    """Make a place to work at and a folder to watch."""
    desk, folder = tmp_path / "desk", tmp_path / "folder"
    for path in (desk, folder):
        path.mkdir()
    return desk, folder


def thrust_in(path: Path) -> object:
    return cell_values(path, [("Readings", THRUST)])["Readings", THRUST]


def test_faults_come_and_go_and_results_follow(tmp_path: Path) -> None:
    desk, folder = desk_and_folder(tmp_path)
    good, target = motor(desk), folder / "motor.xlsx"
    bad = typed(good, {THRUST: "9..1"}, desk / "bad.xlsx")
    better = typed(good, {THRUST: 901}, desk / "better.xlsx")
    with watching(folder) as watcher:
        saved_as_excel_does(bad, target)
        assert watcher.line() == "motor.xlsx: 1 fault; see motor faults.txt"
        text = (folder / "motor faults.txt").read_text(encoding="utf-8")
        assert 'Readings!K6 Thrust (g): found "9..1"; wanted a number from 0 to 50,000 g' in text
        saved_as_excel_does(good, target)
        assert watcher.line() == "motor.xlsx: wrote motor results.xlsx; flags: 0 impossible, 0 doubtful, 0 notes"
        assert names(folder) == ["motor results.xlsx", "motor.xlsx"]
        saved_as_excel_does(better, target)
        assert "wrote motor results.xlsx" in watcher.line()
        assert thrust_in(folder / "motor results.xlsx") == 901
        by_command = make_results(target, desk / "by command.xlsx").output
        assert parts_of(folder / "motor results.xlsx") == parts_of(Path(str(by_command)))
        assert watcher.is_quiet()
        if sys.platform != "win32":
            watcher.process.send_signal(signal.SIGINT)
            assert watcher.process.wait(PATIENT) == 0, "Ctrl+C ends it"
            assert watcher.is_quiet(0.1)


def test_a_file_that_is_still_being_written_is_waited_for(tmp_path: Path) -> None:
    desk, folder = desk_and_folder(tmp_path)
    whole = motor(desk).read_bytes()
    with watching(folder) as watcher, (folder / "slow.xlsx").open("wb") as stream:
        for part in (whole[:-300], whole[-300:]):
            assert names(folder) == ["slow.xlsx"]
            stream.write(part)
            stream.flush()
            os.fsync(stream.fileno())
            time.sleep(1.0)
        assert "slow.xlsx: wrote slow results.xlsx" in watcher.line()


def test_a_restart_does_what_changed_meanwhile_and_nothing_twice(tmp_path: Path) -> None:
    path, same = motor(tmp_path), motor(tmp_path, "same.xlsx")
    with watching(tmp_path) as watcher:
        assert {watcher.line(), watcher.line()} == {
            f"{name}.xlsx: wrote {name} results.xlsx; flags: 0 impossible, 0 doubtful, 0 notes"
            for name in ("motor", "same")
        }
        watcher.process.send_signal(signal.SIGKILL)
    typed(path, {THRUST: 902})
    before = stamp(tmp_path / "same results.xlsx")
    with watching(tmp_path) as watcher:
        lines = {watcher.line(), watcher.line()}
        assert "same.xlsx: nothing was typed since same results.xlsx was written" in lines
        assert any(line.startswith("motor.xlsx: wrote motor results.xlsx") for line in lines)
        assert thrust_in(tmp_path / "motor results.xlsx") == 902
        assert watcher.is_quiet()
    assert stamp(tmp_path / "same results.xlsx") == before, "nothing was written; that it was read is no matter"
    assert same.exists()


@pytest.fixture
def hurried(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have a folder that is watched in this process wait a thirtieth as long; others wait as they do for a person."""
    for name in ("SETTLED_AFTER", "PATIENCE", "_LOOK"):
        monkeypatch.setattr(folders, name, getattr(folders, name) / 30)


def test_what_is_none_of_its_business_is_left_alone(hurried: None, tmp_path: Path) -> None:
    for name in ("~$motor.xlsx", ".~lock.motor.xlsx#", ".motor.xlsx", "a (before).xlsx", "5A6B7C80", "notes.txt"):
        (tmp_path / name).write_bytes(b"not a workbook")
    make_results(motor(tmp_path), tmp_path / "written earlier.xlsx")
    (tmp_path / "motor.xlsx").unlink()
    before = names(tmp_path)
    told: list[str] = []
    watch_folder(tmp_path, told.append, once=True)
    assert (told, names(tmp_path)) == ([], before)


def test_how_entries_were_read_stands_above_the_faults(hurried: None, tmp_path: Path) -> None:
    """By the pound of 453.59237 g: 12 ounces are 340.2 g."""
    path = typed(motor(tmp_path), {THRUST: "12 oz", "J6": "9..1"})
    watch_folder(tmp_path, list[str]().append, once=True)
    lines = (tmp_path / "motor faults.txt").read_text(encoding="utf-8").splitlines()
    read, fault = (next(n for n, line in enumerate(lines) if cell in line) for cell in ("Readings!K6", "Readings!J6"))
    assert lines[read] == 'to know: Readings!K6 Thrust (g): "12 oz" read as 340 g'
    assert read < fault
    assert lines[read : fault + 1] == [line for line in check(path).checked_lines if line]


def test_what_a_person_wrote_into_faults_stays(hurried: None, tmp_path: Path) -> None:
    path, told = typed(motor(tmp_path), {THRUST: "9..1"}), list[str]()
    watch_folder(tmp_path, told.append, once=True)
    text = tmp_path / "motor faults.txt"
    text.write_text(text.read_text() + "asked Invented Tester about it\n")
    typed(path, {THRUST: "9..2"})
    watch_folder(tmp_path, told.append, once=True)
    assert "Invented Tester" in text.read_text()
    typed(path, {THRUST: 903})
    watch_folder(tmp_path, told.append, once=True)
    assert names(tmp_path) == ["motor faults.txt", "motor results.xlsx", "motor.xlsx"]


def test_a_file_that_stays_unreadable_is_told_once_and_forgiven(hurried: None, tmp_path: Path) -> None:
    (tmp_path / "broken.xlsx").write_bytes(b"PK\x03\x04 and no more")
    told: list[str] = []
    watched = WatchedFolder(tmp_path, told.append)
    ends = time.monotonic() + 2.5 * folders.PATIENCE
    while time.monotonic() < ends:
        watched.look()
        time.sleep(0.02)
    assert len(told) == 1
    assert "the file breaks off or is damaged" in told[0]
    assert "breaks off" in (tmp_path / "broken faults.txt").read_text()
    shutil.copy(motor(tmp_path), tmp_path / "broken.xlsx")
    watch_folder(tmp_path, told.append, once=True)
    assert "broken faults.txt" not in names(tmp_path)
    assert "broken results.xlsx" in names(tmp_path)


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "xlsengine", "watch", str(tmp_path / "none")]
    done = subprocess.run(command, capture_output=True, text=True)
    assert (done.returncode, done.stderr.count("\n")) == (2, 1)
    assert "there is no such folder" in done.stderr


@requires_libreoffice
def test_libreoffice_saves_into_a_watched_folder(tmp_path: Path) -> None:
    desk, folder = desk_and_folder(tmp_path)
    with watching(folder) as watcher:
        do_in_libreoffice([Work(str(motor(desk)), str(folder / "motor.xlsx"), [("type", "Readings", THRUST, 904.0)])])
        assert "motor.xlsx: wrote motor results.xlsx" in watcher.line()
        assert thrust_in(folder / "motor results.xlsx") == 904
        assert watcher.is_quiet()
