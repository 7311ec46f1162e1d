"""Every formula of a workbook with the sheet Comparison comes to the same in the engine and in three spreadsheet programs."""

from pathlib import Path

import pytest

from tests.instruments.recalculate import differences, stored_values
from tests.library.made_library import comparison_of, demo, peers_of
from tests.workbook.agreement import AgreesEverywhere
from tests.workbook.engine_values import WrittenResults, write


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory) -> WrittenResults:
    test = demo()
    _, comparison = comparison_of(test, peers_of(test))
    return write(test, tmp_path_factory.mktemp("compared") / "compared.xlsx", comparison)


@pytest.fixture(scope="module")
def written(results: WrittenResults) -> Path:
    return results.path


class TestAgreement(AgreesEverywhere):
    """Of the workbook above."""


def test_stored_values_are_the_engines(results: WrittenResults) -> None:
    assert differences(stored_values(results.path), results.values(results.assessment.test)) == []


def test_comparison_is_live(written: Path) -> None:
    assert sum(sheet == "Comparison" for sheet, _ in stored_values(written)) > 1000
