"""Whatever interrupts the writing, an output is whole or not there, and an old one stays as it was."""

from pathlib import Path

import pytest

from tests.workbook.made_tests import on_purpose
from xlsengine.study.assessment import assess
from xlsengine.workbook.output import whole_file
from xlsengine.workbook.results import write_results
from xlsengine.workbook.template import write_template


class Interrupted(Exception):
    """Stands for whatever goes wrong midway."""


def listing(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def write_half(target: Path, error: type[BaseException]) -> None:
    with whole_file(target, overwrite=True) as unfinished:
        unfinished.write_bytes(b"half of")
        raise error


@pytest.mark.parametrize("error", [Interrupted, KeyboardInterrupt, MemoryError, SystemExit])
@pytest.mark.parametrize("old", [b"the old output", None])
def test_an_error_midway_leaves_things_as_they_were(
    tmp_path: Path, error: type[BaseException], old: bytes | None
) -> None:
    target = tmp_path / "results.xlsx"
    if old is not None:
        target.write_bytes(old)
    with pytest.raises(error):
        write_half(target, error)
    assert listing(tmp_path) == ([] if old is None else ["results.xlsx"])
    assert old is None or target.read_bytes() == old


@pytest.mark.parametrize("stage", ["Readings", "results", "saving"])
def test_an_error_at_any_stage_of_results_leaves_the_old_output(tmp_path: Path, stage: str) -> None:
    target = write_template(tmp_path / "results.xlsx")
    before = target.read_bytes()

    def progress(reached: str) -> None:
        if reached == stage:
            raise Interrupted

    with pytest.raises(Interrupted):
        write_results(assess(on_purpose({})), target, overwrite=True, progress=progress)
    assert listing(tmp_path) == ["results.xlsx"]
    assert target.read_bytes() == before


def test_an_error_inside_a_sheet_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise Interrupted

    monkeypatch.setattr("xlsengine.workbook.results._write_stale", fail)
    with pytest.raises(Interrupted):
        write_results(assess(on_purpose({})), tmp_path / "results.xlsx")
    assert listing(tmp_path) == []


def test_a_finished_output_is_readable_by_others(tmp_path: Path) -> None:
    """The temporary file is private; the output takes the rights that any new file gets."""
    plain = tmp_path / "plain"
    plain.touch()
    assert write_template(tmp_path / "template.xlsx").stat().st_mode == plain.stat().st_mode
