"""Every formula of a workbook with the sheet Comparison comes to the same in the engine and in three spreadsheet programs."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.instruments.recalculate import (
    differences,
    gnumeric_values,
    iron_values,
    libreoffice_values,
    requires_gnumeric,
    requires_libreoffice,
    stored_values,
)
from tests.library.made_library import comparison_of, demo, peers_of
from tests.workbook.engine_values import WrittenResults, write


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> WrittenResults:
    test = demo()
    _, comparison = comparison_of(test, peers_of(test))
    return write(test, tmp_path_factory.mktemp("compared") / "compared.xlsx", comparison)


@pytest.fixture(scope="module")
def path(written: WrittenResults) -> Path:
    return written.path


def test_stored_values_are_the_engines(written: WrittenResults) -> None:
    assert differences(stored_values(written.path), written.values(written.assessment.test)) == []


def test_comparison_is_live(path: Path) -> None:
    assert sum(sheet == "Comparison" for sheet, _ in stored_values(path)) > 1000


def test_ironcalc_comes_to_the_stored_values(path: Path) -> None:
    assert differences(stored_values(path), iron_values(path)) == []


@requires_libreoffice
def test_libreoffice_comes_to_the_stored_values(path: Path) -> None:
    assert differences(stored_values(path), libreoffice_values([path], timeout=600)[0]) == []


@requires_gnumeric
def test_gnumeric_comes_to_the_stored_values(path: Path) -> None:
    assert differences(stored_values(path), gnumeric_values(path)) == []
