"""Results of more readings than the charts take."""

import re
import zipfile
from pathlib import Path

import pytest

from tests.command_line import run
from tests.instruments.linter import lint
from tests.workbook.made_tests import ALL
from xlsengine.study.assessment import assess
from xlsengine.workbook import chart_data
from xlsengine.workbook.results import write_results


def test_charts_stop_at_their_largest_number_of_rows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(chart_data, "MOST_ROWS", 10)
    assessment = assess(ALL["gherkin-2207"]())
    path = write_results(assessment, tmp_path / "long.xlsx")
    with zipfile.ZipFile(path) as archive:
        charts = [archive.read(name).decode() for name in archive.namelist() if name.startswith("xl/charts/chart")]
    ends = re.findall(r"<c:f>Charts!\$[A-Z]+\$(\d+):\$[A-Z]+\$(\d+)</c:f>", "".join(charts))
    drawn = [int(last) - int(first) + 1 for first, last in ends]
    assert 10 in drawn
    assert assessment.scope.rows("Readings") not in drawn
    assert lint(path) == []


def test_results_too_large_to_come_back_say_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("xlsengine.jobs.MOST_WITH_RESULTS", 5)
    demo = Path(__file__).parents[2] / "demo_inputs" / "thimble-2207.xlsx"
    assert run("results", demo, "-o", tmp_path / "out.xlsx") == 0
    assert "to know: results of more than 5 readings are too large to be sent back" in capsys.readouterr().out
