"""What is published of a session, written once."""

from pathlib import Path

import pytest

import xlsengine
from xlsengine.publish.assessed import Published, publish

DEMO = Path(__file__).parent.parent.parent / "demo_inputs" / "thimble-2207.xlsx"


@pytest.fixture(scope="session")
def published(tmp_path_factory: pytest.TempPathFactory) -> Published:
    """Return what is published of a demo, with readings that are left out and flagged."""
    return publish(DEMO, tmp_path_factory.mktemp("published"))


@pytest.fixture(scope="session")
def assessment() -> xlsengine.Assessment:
    return xlsengine.evaluate(xlsengine.read_bench_test(DEMO))
