"""The use cases behind every door: what comes of them, and that they raise nothing a person can cause."""

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from xlsengine import jobs
from xlsengine.outcome import DONE, UNREADABLE
from xlsengine.study.assessment import Assessment
from xlsengine.study.comparison import Comparison
from xlsengine.workbook.reading.reader import read_bench_test

DEMO = Path(__file__).parent.parent / "demo_inputs" / "thimble-2207.xlsx"


@pytest.fixture
def demo(tmp_path: Path) -> Path:
    return Path(shutil.copy(DEMO, tmp_path / "motor.xlsx"))


def test_what_is_checked_has_sentences(demo: Path) -> None:
    outcome = jobs.check(demo)
    assert (outcome.exit_code, outcome.faults, outcome.output) == (DONE, (), None)
    assert outcome.answers is not None
    assert outcome.answers.headlines[0]["label"] == "Highest static thrust"
    assert any("A or larger" in sentence for sentence in outcome.answers.advice)


def test_results_are_written_and_say_where(demo: Path) -> None:
    steps: list[str] = []
    outcome = jobs.make_results(demo, step=steps.append)
    assert outcome.output == str(demo.with_name("motor results.xlsx"))
    assert Path(outcome.output).exists()
    assert steps[:2] == ["reading", "computing"]
    assert steps[-1] == "saving"
    assert outcome.flags == jobs.check(demo).flags
    again = jobs.make_results(demo, overwrite=True)
    assert (again.exit_code, again.kept) == (DONE, None)
    assert json.loads(json.dumps(again.as_dict()))["results"] == outcome.output


def test_what_cannot_be_read_or_written_is_an_outcome(demo: Path) -> None:
    nothing = jobs.make_results(demo.with_name("none.xlsx"))
    assert (nothing.exit_code, nothing.error) == (UNREADABLE, jobs.check(demo.with_name("none.xlsx")).error)
    assert "there is no such file" in (nothing.error or "")
    onto_itself = jobs.make_results(demo, demo, overwrite=True)
    assert onto_itself.exit_code == UNREADABLE
    assert "is the input itself" in (onto_itself.error or "")
    demo.with_name("motor results.xlsx").write_bytes(b"somebody's")
    assert "exists already" in (jobs.make_results(demo).error or "")


def test_a_returned_workbook_says_what_was_changed(demo: Path) -> None:
    assert jobs.make_results(demo).changes is None
    outcome = jobs.make_results(demo.with_name("motor results.xlsx"))
    assert outcome.output == str(demo.with_name("motor results 2.xlsx"))
    assert outcome.changes is not None
    assert next(outcome.changes.lines()) == "nothing that is typed was changed"


def test_a_library_is_asked_for_its_comparison(demo: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    handed: list[Any] = []

    def compare(assessment: Assessment) -> Comparison:
        return Comparison({}, 0, (f"compared with {assessment.test.rows('Readings')} readings",))

    def write(assessment: Assessment, path: Path, *rest: Any) -> Path:
        handed.append(rest[-1])
        return Path(shutil.copy(DEMO, path))

    monkeypatch.setattr(jobs, "write_results", write)
    outcome = jobs.make_results(demo, library=compare)
    jobs.make_results(demo, demo.with_name("other.xlsx"))
    said = f"compared with {read_bench_test(DEMO).rows('Readings')} readings"
    assert handed == [Comparison({}, 0, (said,)), None]
    assert said in outcome.told
