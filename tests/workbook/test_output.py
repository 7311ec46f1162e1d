"""Where an output cannot be put, or is ended midway: the old one stands, it is told why, and nothing is left behind."""

import errno
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.command_line import run
from tests.workbook.made_tests import on_purpose
from xlsengine.errors import OutputRefused
from xlsengine.study.assessment import assess
from xlsengine.workbook.output import LEFT_BEHIND_AFTER, UNFINISHED, before_name, whole_file
from xlsengine.workbook.results import write_results
from xlsengine.workbook.template import write_input_workbook, write_template

OLD, NEW = b"the old output", b"the new output"


def put(target: Path, content: bytes = NEW) -> None:
    with whole_file(target, overwrite=True) as unfinished:
        unfinished.write_bytes(content)


@pytest.fixture
def old(tmp_path: Path) -> Path:
    target = tmp_path / "a results.xlsx"
    target.write_bytes(OLD)
    return target


def refuse_links(*_: object) -> None:
    raise OSError(errno.EPERM, "no links here")


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_the_file_that_is_replaced_is_kept_once(old: Path) -> None:
    put(old)
    assert old.read_bytes() == NEW
    assert before_name(old).read_bytes() == OLD
    put(old, b"a third one")
    assert before_name(old).read_bytes() == NEW
    assert names(old.parent) == ["a results (before).xlsx", "a results.xlsx"]


def test_the_same_content_again_moves_nothing(old: Path) -> None:
    put(old)
    put(old)
    assert before_name(old).read_bytes() == OLD


def test_the_file_that_is_replaced_is_kept_where_links_are_impossible(
    old: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "link", refuse_links)
    put(old)
    assert (before_name(old).read_bytes(), old.read_bytes()) == (OLD, NEW)


def test_a_link_is_followed(old: Path, tmp_path: Path) -> None:
    link = tmp_path / "link.xlsx"
    link.symlink_to(old)
    put(link)
    assert link.is_symlink()
    assert old.read_bytes() == NEW


@pytest.mark.parametrize(
    ("code", "said"),
    [
        (errno.ENOSPC, "the disk is full"),
        (errno.EDQUOT, "your share of the disk"),
        (errno.EROFS, "can only be read from"),
        (errno.EACCES, "open in another program"),
        (errno.EPERM, "open in another program"),
        (errno.ENOMEM, "too much memory"),
        (errno.EIO, "Input/output error"),
    ],
)
@pytest.mark.parametrize("step", ["mkdtemp", "fsync", "replace"])
def test_whatever_the_system_says_the_old_output_stands(
    old: Path, monkeypatch: pytest.MonkeyPatch, step: str, code: int, said: str
) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(tempfile if step == "mkdtemp" else os, step, refuse)
    with pytest.raises(OutputRefused, match=said) as refused:
        put(old)
    assert str(old) in str(refused.value)
    assert names(old.parent) == [old.name]
    assert old.read_bytes() == OLD


def test_a_file_open_elsewhere_is_not_replaced(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Windows refuses the move onto a file that a spreadsheet program holds open."""
    really = os.replace

    def refuse(source: Any, target: Any) -> None:
        if Path(target) == old:
            raise PermissionError(errno.EACCES, "The process cannot access the file")
        really(source, target)

    monkeypatch.setattr(os, "replace", refuse)
    with pytest.raises(OutputRefused, match="open in another program"):
        put(old)
    assert old.read_bytes() == OLD
    assert names(old.parent) == ["a results.xlsx"]
    before_name(old).write_bytes(b"the one before")
    with pytest.raises(OutputRefused, match="Nothing was changed"):
        put(old)
    assert names(old.parent) == ["a results (before).xlsx", "a results.xlsx"]
    assert (before_name(old).read_bytes(), old.read_bytes()) == (b"the one before", OLD)


@pytest.mark.parametrize("links", [True, False])
def test_of_two_runs_to_one_new_name_one_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, links: bool
) -> None:
    """The other run finishes while this one writes."""
    if not links:
        monkeypatch.setattr(os, "link", refuse_links)
    target = tmp_path / "a.xlsx"

    def write_while_another_does() -> None:
        with whole_file(target, overwrite=False) as unfinished:
            unfinished.write_bytes(NEW)
            with whole_file(target, overwrite=False) as other:
                other.write_bytes(OLD)

    with pytest.raises(OutputRefused, match="exists already"):
        write_while_another_does()
    assert target.read_bytes() == OLD
    assert names(tmp_path) == ["a.xlsx"]


@pytest.mark.parametrize("name", ["copy", "before", "kept"])
def test_any_name_is_written_and_kept(tmp_path: Path, name: str) -> None:
    for content in (OLD, NEW, b"a third one"):
        put(tmp_path / name, content)
    assert (tmp_path / name).read_bytes() == b"a third one"
    assert before_name(tmp_path / name).read_bytes() == NEW


@pytest.fixture
def plain_person(tmp_path: Path) -> Iterator[None]:
    """Give up the rights of root, which no permission stops, for the length of a test."""
    if os.geteuid() != 0:
        yield
        return
    os.chown(tmp_path, 65534, 65534)
    for folder in tmp_path.parents:
        if folder != Path("/tmp") and folder.stat().st_uid == 0 and str(folder).startswith("/tmp/"):
            folder.chmod(0o755)
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)


def test_a_folder_that_can_only_be_read_is_told(tmp_path: Path, plain_person: None) -> None:
    (tmp_path / "shelf").mkdir()
    (tmp_path / "shelf" / "a.xlsx").write_bytes(OLD)
    (tmp_path / "shelf").chmod(0o555)
    with pytest.raises(OutputRefused, match="no permission to write there"):
        put(tmp_path / "shelf" / "a.xlsx")
    (tmp_path / "shelf").chmod(0o755)
    assert names(tmp_path / "shelf") == ["a.xlsx"]
    assert (tmp_path / "shelf" / "a.xlsx").read_bytes() == OLD


@pytest.mark.parametrize(
    ("name", "said"),
    [
        (".", "is a folder"),
        ("nowhere/a.xlsx", "no such folder"),
        ("a" * 300 + ".xlsx", "the name is too long"),
        ("a results.xlsx/b.xlsx", "no such folder"),
        ("a\0b.xlsx", "no file name can hold"),
        ("pipe", "no ordinary file"),
    ],
)
def test_a_place_where_no_file_can_be_is_told(old: Path, name: str, said: str) -> None:
    os.mkfifo(old.parent / "pipe")
    with pytest.raises(OutputRefused, match=said):
        put(old.parent / name)
    assert names(old.parent) == ["a results.xlsx", "pipe"]


def test_only_our_old_left_behinds_are_swept(tmp_path: Path) -> None:
    long_ago = time.time() - LEFT_BEHIND_AFTER - 60
    for name in (f"{UNFINISHED}old", f"{UNFINISHED}fresh", ".writing-other", "folder"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "part").write_bytes(b"part")
    (tmp_path / f"{UNFINISHED}file").write_bytes(b"a person's own")
    for path in tmp_path.iterdir():
        if not path.name.endswith("fresh"):
            os.utime(path, (long_ago, long_ago))
    put(tmp_path / "a.xlsx")
    assert names(tmp_path) == sorted([f"{UNFINISHED}fresh", f"{UNFINISHED}file", ".writing-other", "folder", "a.xlsx"])


FULL_DISK = """
import resource, sys
import xlsengine.cli, xlsengine.workbook.results, xlsengine.workbook.comparing
resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[1]), resource.RLIM_INFINITY))
xlsengine.cli.main(sys.argv[2:])
"""


@pytest.mark.parametrize("room", [10_000, 200_000])
def test_a_disk_without_room_leaves_the_old_output(tmp_path: Path, room: int) -> None:
    """The system stops the writing in the middle: in the parts of the package, or in the package itself."""
    source = write_input_workbook(on_purpose({}), tmp_path / "in.xlsx")
    target = tmp_path / "out.xlsx"
    target.write_bytes(OLD)
    command = [sys.executable, "-c", FULL_DISK, str(room), "results", str(source), "-o", str(target), "--overwrite"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120)
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert "larger than may be written there" in done.stderr
    assert target.read_bytes() == OLD
    assert names(tmp_path) == ["in.xlsx", "out.xlsx"]


def test_the_command_line_says_what_was_kept(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source = write_input_workbook(on_purpose({}), tmp_path / "in.xlsx")
    target = tmp_path / "out.xlsx"
    target.write_bytes(OLD)
    for times in (1, 0):
        assert run("results", source, "-o", target, "--overwrite") == 0
        assert capsys.readouterr().out.count("out (before).xlsx") == times
    assert (tmp_path / "out (before).xlsx").read_bytes() == OLD


class Interrupted(Exception):
    """Stands for whatever goes wrong midway."""


def put_half(target: Path, error: type[BaseException]) -> None:
    with whole_file(target, overwrite=True) as unfinished:
        unfinished.write_bytes(b"half of")
        raise error


@pytest.mark.parametrize("error", [Interrupted, KeyboardInterrupt, MemoryError, SystemExit])
@pytest.mark.parametrize("before", [OLD, None])
def test_an_error_midway_leaves_things_as_they_were(
    tmp_path: Path, error: type[BaseException], before: bytes | None
) -> None:
    target = tmp_path / "results.xlsx"
    if before is not None:
        target.write_bytes(before)
    with pytest.raises(error):
        put_half(target, error)
    assert [path.read_bytes() for path in tmp_path.iterdir()] == ([] if before is None else [before])


@pytest.mark.parametrize("stage", ["Readings", "results", "saving"])
def test_an_error_at_any_stage_of_results_leaves_the_old_output(tmp_path: Path, stage: str) -> None:
    target = write_template(tmp_path / "results.xlsx")
    before = target.read_bytes()

    def progress(reached: str) -> None:
        if reached == stage:
            raise Interrupted

    with pytest.raises(Interrupted):
        write_results(assess(on_purpose({})), target, overwrite=True, progress=progress)
    assert names(tmp_path) == ["results.xlsx"]
    assert target.read_bytes() == before


def test_an_error_inside_a_sheet_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise Interrupted

    monkeypatch.setattr("xlsengine.workbook.results._write_stale", fail)
    with pytest.raises(Interrupted):
        write_results(assess(on_purpose({})), tmp_path / "results.xlsx")
    assert names(tmp_path) == []


def test_a_finished_output_is_readable_by_others(tmp_path: Path) -> None:
    """The temporary file is private; the output takes the rights that any new file gets."""
    plain = tmp_path / "plain"
    plain.touch()
    assert write_template(tmp_path / "template.xlsx").stat().st_mode == plain.stat().st_mode
