"""The line fits against certified and printed values; each file in data/ names its source in its first line."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from xlsengine.study.fits import Line, robust_line, weighted_line
from xlsengine.study.outliers import FloatArray

DATA = Path(__file__).parent / "data"

# Certified to 15 digits. Norris' intercept is 1/1600 of what it is the difference of, so 12 are left of 16.
CERTIFIED = 1e-12


def _columns(name: str) -> tuple[FloatArray, FloatArray]:
    x, y = np.loadtxt(DATA / name, delimiter=",", skiprows=2, unpack=True)
    return x, y


def _certified(dataset: str) -> dict[str, dict[str, float]]:
    with (DATA / "strd_lines.csv").open() as lines:
        next(lines)
        rows = [row for row in csv.DictReader(lines) if row["dataset"] == dataset]
    figures = ("value", "sd", "residual_sd", "r_squared")
    return {row["parameter"]: {name: float(row[name]) for name in figures} for row in rows}


def _fitted(name: str, through_origin: bool) -> Line:
    line = weighted_line(*_columns(name), through_origin=through_origin)
    assert line is not None
    return line


def test_norris() -> None:
    line, certified = _fitted("strd_norris.csv", through_origin=False), _certified("Norris")
    intercept, slope = certified["B0"], certified["B1"]
    assert line.intercept == pytest.approx(intercept["value"], rel=CERTIFIED)
    assert line.intercept_sd == pytest.approx(intercept["sd"], rel=CERTIFIED)
    assert line.slope == pytest.approx(slope["value"], rel=1e-14)
    assert line.slope_sd == pytest.approx(slope["sd"], rel=CERTIFIED)
    assert line.residual_sd == pytest.approx(slope["residual_sd"], rel=CERTIFIED)
    assert line.r_squared == pytest.approx(slope["r_squared"], rel=1e-14)


@pytest.mark.parametrize("dataset", ["NoInt1", "NoInt2"])
def test_through_origin(dataset: str) -> None:
    # R squared is certified about y = 0, not about the mean.
    line = _fitted(f"strd_{dataset.lower()}.csv", through_origin=True)
    certified = _certified(dataset)["B1"]
    assert (line.intercept, line.intercept_sd) == (0.0, 0.0)
    assert line.slope == pytest.approx(certified["value"], rel=1e-14)
    assert line.slope_sd == pytest.approx(certified["sd"], rel=1e-14)
    assert line.residual_sd == pytest.approx(certified["residual_sd"], rel=1e-14)
    assert line.r_squared == pytest.approx(certified["r_squared"], rel=1e-14)


def test_norris_far_from_zero() -> None:
    # The same data moved by 2**26, exactly: the slope keeps its digits, as an uncentred sum would not.
    x, y = _columns("strd_norris.csv")
    moved = weighted_line(np.round(x * 10) + 2.0**26, np.round(y * 10) + 2.0**26)
    assert moved is not None
    assert moved.slope == pytest.approx(_certified("Norris")["B1"]["value"], rel=1e-13)


def test_belgian_calls() -> None:
    # Seven of 24 readings are minutes, not calls. Venables & Ripley, Modern Applied Statistics with S, 2002,
    # section 6.5, print (from memory) -52.302 + 1.098 year for Tukey's bisquare in millions of calls, and
    # 0.044 for the slope's standard deviation. Their scale counts one residual more: 0.02 on the intercept.
    year, calls = _columns("belgian_calls.csv")
    fit = robust_line(year, 10 * calls)
    assert fit is not None
    assert fit.line.intercept == pytest.approx(-52.302, abs=0.02)
    assert fit.line.slope == pytest.approx(1.098, abs=0.0005)
    assert fit.line.slope_sd == pytest.approx(0.044, abs=0.0005)


def test_belgian_calls_by_least_squares() -> None:
    # Rousseeuw & Leroy 1987, page 26 (from memory): 0.504 x - 26.01.
    line = weighted_line(*_columns("belgian_calls.csv"))
    assert line is not None
    assert line.slope == pytest.approx(0.504, abs=5e-4)
    assert line.intercept == pytest.approx(-26.01, abs=5e-3)


def test_cygnus_stars_four_giants_do_not_tip_the_line() -> None:
    # Four giants at the far end of x tip least squares to -0.413 x + 6.793; the bisquare MM line of the R
    # package robustbase is 2.253 x - 4.969 (both from memory). Its scale is held fixed and ours follows the
    # line, so the tolerance is a twentieth of the slope's standard deviation, 0.43.
    x, y = _columns("cygnus_stars.csv")
    plain, fit = weighted_line(x, y), robust_line(x, y)
    assert plain is not None
    assert fit is not None
    assert plain.slope == pytest.approx(-0.413, abs=5e-4)
    assert plain.intercept == pytest.approx(6.793, abs=5e-4)
    assert fit.line.slope == pytest.approx(2.253, abs=0.02)
    assert fit.line.intercept == pytest.approx(-4.969, abs=0.1)
