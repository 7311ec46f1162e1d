"""The checks that the demo README names are those that find the planted faults, by their real titles."""

import re
from functools import cache
from pathlib import Path

import pytest

import demo_inputs.scenario
from demo_inputs.make_demo_inputs import bench_test_of
from demo_inputs.scenario import DEMO_TESTS
from xlsengine import Assessment, evaluate

README = Path(demo_inputs.scenario.__file__).with_name("README.md").read_text(encoding="utf-8")
TABLE = README.partition("## The planted faults")[2]
_LINE = re.compile(r"\| (?P<motor>[a-z]+-\d+) \| (?P<run>\d+) \| [^|]* \| [^|]* \| (?P<title>[^|]*) \|")
PLANTED = [(line["motor"], float(line["run"]), line["title"]) for line in _LINE.finditer(TABLE)]


@cache
def _assessed(motor: str) -> Assessment:
    return evaluate(bench_test_of(next(demo for demo in DEMO_TESTS if demo.file_name == motor)))


@pytest.mark.parametrize(("motor", "run", "title"), PLANTED)
def test_the_check_that_finds_it(motor: str, run: float, title: str) -> None:
    assessment = _assessed(motor)
    row = assessment.test.tables["Readings"]["run"].tolist().index(run) + 1
    assert title in {flag["what"] for flag in assessment.flag_list() if flag["row"] == row}


def test_every_fault_of_the_table_is_read() -> None:
    assert len(PLANTED) == TABLE.count("\n| ") - 1
