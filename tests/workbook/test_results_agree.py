"""Every formula of a results workbook comes to the same in the engine, in IronCalc, in LibreOffice and in Gnumeric."""

import pytest

from tests.instruments.office_edit import libreoffice_values
from tests.instruments.recalculate import (
    Place,
    Value,
    differences,
    gnumeric_values,
    iron_values,
    requires_gnumeric,
    requires_libreoffice,
    stored_values,
)
from tests.workbook.engine_values import ResultsOf
from tests.workbook.made_tests import ALL, MADE, NOT_FOR_IRONCALC

ASKED_OF_LIBREOFFICE = [
    "nothing at all",
    "no amps, no grams",
    "names that are patterns",
    "names like formulas",
    "signs that XML cannot hold",
    *sorted(NOT_FOR_IRONCALC),
    "gaps among ESC sizes",
    *list(MADE)[:1],
]
"""It also sees demos and another made by chance, each with changed inputs, in `test_results_edits`."""

ASKED_OF_GNUMERIC = [
    "colander-2306",
    "nothing at all",
    "names that are patterns",
    "signs that XML cannot hold",
]
"""The first holds every function that the five demos do. None made by chance: where all points stand above each other,
SLOPE of Gnumeric 1.12 is 0, and an error elsewhere."""
BY_NAME = "hover"


@pytest.fixture(scope="module")
def in_libreoffice(results_of: ResultsOf) -> dict[str, dict[Place, Value]]:
    """Recalculate all of them in one run."""
    paths = [results_of(name).path for name in ASKED_OF_LIBREOFFICE]
    return dict(zip(ASKED_OF_LIBREOFFICE, libreoffice_values(paths, timeout=900), strict=True))


@pytest.mark.parametrize("name", ALL)
def test_stored_values_are_the_engines(results_of: ResultsOf, name: str) -> None:
    written = results_of(name)
    assert differences(stored_values(written.path), written.values(written.assessment.test)) == []


ASKED_OF_IRONCALC = [name for name in ALL if name not in ASKED_OF_LIBREOFFICE and name != BY_NAME]
"""What LibreOffice has seen, it need not see: that costs a second each."""


@pytest.mark.parametrize("name", ASKED_OF_IRONCALC)
def test_ironcalc_comes_to_the_stored_values(results_of: ResultsOf, name: str) -> None:
    path = results_of(name).path
    assert differences(stored_values(path), iron_values(path)) == []


def test_names_mean_the_same_to_ironcalc(results_of: ResultsOf) -> None:
    path = results_of(BY_NAME).path
    assert differences(stored_values(path), iron_values(path, by_name=True)) == []


@requires_libreoffice
@pytest.mark.parametrize("name", ASKED_OF_LIBREOFFICE)
def test_libreoffice_comes_to_the_stored_values(
    results_of: ResultsOf, in_libreoffice: dict[str, dict[Place, Value]], name: str
) -> None:
    assert differences(stored_values(results_of(name).path), in_libreoffice[name]) == []


@requires_gnumeric
@pytest.mark.parametrize("name", ASKED_OF_GNUMERIC)
def test_gnumeric_comes_to_the_stored_values(results_of: ResultsOf, name: str) -> None:
    path = results_of(name).path
    assert differences(stored_values(path), gnumeric_values(path)) == []


def test_every_sheet_of_results_is_live(results_of: ResultsOf) -> None:
    sheets = {sheet for sheet, _ in stored_values(results_of("colander-2306").path)}
    assert {"Report", "Readings", "Summary", "ESC", "Motor figures", "Charts", "Checks"} <= sheets


@pytest.mark.parametrize("name", sorted(NOT_FOR_IRONCALC))
def test_what_ironcalc_is_spared_it_still_cannot_do(results_of: ResultsOf, name: str) -> None:
    path = results_of(name).path
    assert differences(stored_values(path), iron_values(path)) != []
