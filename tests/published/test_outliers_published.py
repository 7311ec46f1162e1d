"""The outlier tests against printed values; each file in data/ names its source in its first line."""

from pathlib import Path

import numpy as np
import pytest

from xlsengine.study.outliers import FloatArray, generalized_esd, grubbs_critical

DATA = Path(__file__).parent / "data"

# NIST/SEMATECH e-Handbook 1.3.5.17.1: eight uranium isotope ratios, and 1.3.5.17 for the scores of the same.
URANIUM = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]

# The printed tables are partly truncated: n = 8, two-sided 5 % is 2.12665 and printed 2.126.
TRUNCATED = 0.001


def _table(name: str) -> FloatArray:
    return np.loadtxt(DATA / name, delimiter=",", skiprows=2)


def test_grubbs_critical_values_equal_the_printed_tables() -> None:
    # Trap: one open textbook's table (Chem. LibreTexts, appendix 7) has n = 7, 5 % as 2.202 for 2.020 and
    # n = 15, 1 % as 2.755 for 2.806; the values here are those of the other tables.
    table = _table("grubbs_critical.csv")
    assert [int(n) for n in table[:, 0]] == list(range(3, 31))
    for n, one_sided_5, two_sided_5, two_sided_1 in table:
        assert grubbs_critical(int(n), 2 * 0.05) == pytest.approx(one_sided_5, abs=TRUNCATED)
        assert grubbs_critical(int(n), 0.05) == pytest.approx(two_sided_5, abs=TRUNCATED)
        assert grubbs_critical(int(n), 0.01) == pytest.approx(two_sided_1, abs=TRUNCATED)


@pytest.mark.parametrize(("n", "significance", "misprint"), [(7, 0.05, 2.202), (15, 0.01, 2.755)])
def test_the_two_misprints_are_not_reproduced(n: int, significance: float, misprint: float) -> None:
    assert grubbs_critical(n, significance) != pytest.approx(misprint, abs=0.04)


def test_grubbs_handbook_example() -> None:
    # Published: G 2.4687 (truncated), critical value 2.032 for the maximum alone, which is two-sided at 10 %.
    result = generalized_esd(URANIUM, 1, significance=0.10)
    assert result.outliers == (7,)
    assert result.statistics == pytest.approx((2.4687,), abs=1e-4)
    assert result.criticals == pytest.approx((2.032,), abs=5e-4)


def test_rosner_steps() -> None:
    readings, steps = _table("rosner_54.csv"), _table("rosner_steps.csv")
    result = generalized_esd(readings, most=10)
    assert result.statistics == pytest.approx(list(steps[:, 1]), abs=TRUNCATED)
    assert result.criticals == pytest.approx(list(steps[:, 2]), abs=TRUNCATED)
    assert readings[list(result.tried)] == pytest.approx(steps[:, 3])


def test_rosner_finds_three_outliers_that_mask_one_another() -> None:
    readings = _table("rosner_54.csv")
    result = generalized_esd(readings, most=10)
    assert list(readings[list(result.outliers)]) == [6.01, 5.42, 5.34]
    assert generalized_esd(readings, 1).outliers == ()
