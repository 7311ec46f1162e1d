"""Results workbooks that several modules look at, each written once."""

import pytest

from tests.workbook.carried_tests import CARRIED
from tests.workbook.engine_values import ResultsOf, WrittenResults, write
from tests.workbook.made_tests import ALL


@pytest.fixture(scope="session")
def results_of(tmp_path_factory: pytest.TempPathFactory) -> ResultsOf:
    """Return a function that gives the results workbook of one of the tests in `ALL` or `CARRIED` by name."""
    folder = tmp_path_factory.mktemp("results")
    tests = ALL | CARRIED
    kept: dict[str, WrittenResults] = {}

    def results(name: str) -> WrittenResults:
        if name not in kept:
            kept[name] = write(tests[name](), folder / f"{len(kept)}.xlsx")
        return kept[name]

    return results
