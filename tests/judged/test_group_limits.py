"""Checks of readings against each other, of propellers and of the bench, from both sides of each limit.

The readings follow plain laws: thrust as volts to the power 1.6 and current as the power 1/1.5 of thrust, so that nothing
but the reading that was changed is odd. The limits are common practice without a source unless the line says otherwise.
"""

import math
from collections.abc import Sequence

import numpy as np
import pytest
from scipy.stats import linregress
from scipy.stats import t as student

from tests.judged.test_row_limits import CELLS, on_the_line
from tests.judged.worked_benches import SESSION, Row, assessed, column, first, flags


def reading(cells: int = 4, throttle: float = 100.0, prop: str = "6x4", **more: float | str) -> Row:
    """Return a plausible reading: 1400 g at 37 A and 14.8 V on four cells and full throttle."""
    thrust = 1400 * (cells / 4) ** 1.6 * (throttle / 100) ** 1.6
    row: Row = {
        "prop": prop,
        "diameter": 6.0,
        "pitch": 4.0,
        "blades": 2.0,
        "cells": float(cells),
        "kind": "steady",
        "throttle": throttle,
        "voltage": 3.7 * cells,
        "current": 37.0 * (cells / 4) ** 1.6 * (throttle / 100) ** (1.6 * 1.5),
        "thrust": thrust,
    }
    return row | more


def titles(rows: Sequence[Row], row: int, **fields: float) -> dict[str, tuple[str, str]]:
    return flags(assessed(rows, fields), row)


STEADY_VOLTS = {"supply": "bench supply"}
SWEEP = [reading(throttle=throttle) for throttle in (100.0, 85.0, 70.0, 55.0, 40.0)]


def test_the_readings_themselves_raise_nothing() -> None:
    both = [*SWEEP, *(reading(3, throttle) for throttle in (100.0, 85.0, 70.0, 55.0, 40.0))]
    assert assessed(both, STEADY_VOLTS).flag_list() == []


@pytest.mark.parametrize(
    ("part", "factor", "title"),
    [
        ("thrust", 0.951, None),
        ("thrust", 0.949, "Peak thrust below steady"),
        ("current", 0.951, None),
        ("current", 0.949, "Peak current below steady"),
        ("thrust", 1.249, None),
        ("thrust", 1.251, "Peak thrust far above steady"),
        ("current", 1.249, None),
        ("current", 1.251, "Peak current far above steady"),
    ],
)
def test_peaks_within_5_percent_below_and_25_above_steady(part: str, factor: float, title: str | None) -> None:
    peak = reading(kind="peak", voltage=15.0)
    peak[part] *= factor
    found = {name: flag for name, flag in titles([reading(), peak], 2).items() if name.startswith("Peak")}
    assert found == ({} if title is None else {title: ("doubtful", part)})


@pytest.mark.parametrize(("factor", "volts", "odd"), [(0.991, 14.8, False), (0.989, 14.8, True), (0.989, 14.9, False)])
def test_kinds_look_exchanged_from_a_peak_that_is_1_percent_lower_in_all(
    factor: float, volts: float, odd: bool
) -> None:
    """A fifth of the 5 % of the order of readings, in thrust and current, at no more volts."""
    peak = reading(kind="peak", voltage=volts) | {"thrust": 1400 * factor, "current": 37.0 * factor}
    assert ("Peak and steady exchanged" in titles([reading(), peak], 2)) == odd


@pytest.mark.parametrize(("factor", "odd"), [(0.951, False), (0.949, True)])
def test_a_larger_propeller_draws_no_less_than_95_percent(factor: float, odd: bool) -> None:
    larger = reading(prop="7x4.5", diameter=7.0, pitch=4.5)
    larger |= {"current": 37.0 * factor, "thrust": 1400 * factor * 1.05}
    assert ("Larger propeller draws less" in titles([reading(), larger], 2)) == odd


@pytest.mark.parametrize(("rise", "odd"), [(1.0485, False), (1.06, True)])
def test_thrust_per_watt_may_rise_by_5_percent_with_load(rise: float, odd: bool) -> None:
    """The displays' own steps, 0.05 A and 0.5 g here, add about half a percent."""
    low = reading(throttle=60.0) | {"voltage": 14.8, "current": 16.0, "thrust": 700.0}
    high = low | {"throttle": 80.0, "thrust": 1000.0, "current": round(16.0 * 1000 / 700 / rise, 2)}
    assert ("Thrust per watt rises with load" in titles([low, high], 1)) == odd


@pytest.mark.parametrize(("step", "odd"), [(1.049, False), (1.055, True)])
def test_a_rise_counts_from_5_percent_more_thrust(step: float, odd: bool) -> None:
    """Below that, load has not risen but scattered."""
    low = reading(throttle=60.0) | {"current": 16.0, "thrust": 700.0}
    high = low | {"throttle": 62.0, "thrust": 700 * step, "current": 14.0}
    assert ("Thrust per watt rises with load" in titles([low, high], 1)) == odd


@pytest.mark.parametrize(("times", "slipped"), [(10.0, True), (0.1, True), (1.25, False), (100.0, False)])
def test_a_decimal_slip_is_a_factor_of_ten(times: float, slipped: bool) -> None:
    rows = [*SWEEP, *(reading(3, throttle) for throttle in (100.0, 85.0, 70.0, 55.0, 40.0))]
    rows[2] = rows[2] | {"thrust": rows[2]["thrust"] * times}
    found = titles(rows, 3)
    assert ("Decimal slip in thrust" in found) == slipped
    if slipped:  # ten times as much is more than an ideal propeller gives; the sweep tells a tenth as surely
        assert found["Decimal slip in thrust"] == ("impossible", "thrust")


@pytest.mark.parametrize(("typed", "odd"), [(1, True), (2, True), (3, False)])
def test_a_name_typed_up_to_twice_may_be_misspelt(typed: int, odd: bool) -> None:
    right = [reading(throttle=throttle, prop="Bulnose 6x4") for throttle in (100.0, 85.0, 70.0, 55.0, 40.0)]
    wrong = [reading(throttle=throttle, prop="Bullnose 6x4") for throttle in (95.0, 60.0, 30.0)[:typed]]
    found = titles([*right, *wrong], 6)
    assert any("misspelt" in title for title in found) == odd


# --- one propeller across voltages ---------------------------------------------------------------------------------


@pytest.mark.parametrize(("factor", "apart"), [(1.069, False), (1.071, True)])
def test_grams_per_amp_within_7_percent_across_cell_counts(factor: float, apart: bool) -> None:
    """T/I = 2π·Kt·CT/(CP·D) knows no volts."""
    found = assessed([reading(4), reading(3) | {"thrust": reading(3)["thrust"] * factor}])
    assert column(found, "PropellerFigures", "grams_spread")[0] == pytest.approx((factor - 1) * 100)
    assert column(found, "PropellerFigures", "most_grams")[0] == pytest.approx(1400 / 37 * factor)
    assert column(found, "PropellerFigures", "least_grams")[0] == pytest.approx(1400 / 37)
    assert str(first(found, "PropellerFigures", "propeller_verdict")).startswith(
        "Grams per amp differ" if apart else "consistent"
    )


@pytest.mark.parametrize(("factor", "apart"), [(1.149, False), (1.151, True)])
def test_thrust_coefficients_within_15_percent(factor: float, apart: bool) -> None:
    rows = [on_the_line(cells) for cells in CELLS[:3]]
    rows[0]["thrust"] *= factor
    rows[0]["current"] *= factor  # as on another propeller: grams per amp say nothing of it
    found = assessed(rows, {"label_kv": 1000.0})
    table = "PropellerFigures"
    coefficients = sorted(column(found, "SpeedFigures", "thrust_coefficient")[:3])
    assert first(found, table, "median_coefficient") == pytest.approx(coefficients[1])
    assert first(found, table, "coefficient_spread") == pytest.approx((factor - 1) * 100)
    assert ("Thrust coefficients differ" in first(found, table, "propeller_verdict")) == apart
    assert found.figures()["whole_coefficients_doubt"] == float(apart)


def by_powers(thrust: float, power: float, current: float) -> list[Row]:
    """Return throttle steps whose thrust and shaft power are these powers of speed, and current one of thrust."""
    rows = []
    for share in (1.0, 0.85, 0.7, 0.6, 0.5):
        grams = 1400 * share**thrust
        watts = 400.0 * share**power
        rows.append(
            reading(throttle=100 * share)
            | {
                "speed": 17_000 * share,
                "thrust": grams,
                "current": 37 * (grams / 1400) ** current,
                "torque": watts / (17_000 * share * math.pi / 30),
            }
        )
    return rows


@pytest.mark.parametrize(
    ("powers", "outside"),
    [
        ((2.06, 2.95, 1.45), ""),
        ((1.91, 2.95, 1.45), ""),
        ((1.89, 2.95, 1.45), "Thrust as a power of speed"),
        ((2.29, 2.95, 1.45), ""),
        ((2.31, 2.95, 1.45), "Thrust as a power of speed"),
        ((2.06, 2.61, 1.45), ""),
        ((2.06, 2.59, 1.45), "Shaft power as a power of speed"),
        ((2.06, 3.29, 1.45), ""),
        ((2.06, 3.31, 1.45), "Shaft power as a power of speed"),
        ((2.06, 2.95, 1.16), ""),
        ((2.06, 2.95, 1.14), "Current as a power of thrust"),
        ((2.06, 2.95, 1.79), ""),
        ((2.06, 2.95, 1.81), "Current as a power of thrust"),
    ],
)
def test_powers_over_the_throttle_steps(powers: tuple[float, float, float], outside: str) -> None:
    """1.9 to 2.3, 2.6 to 3.3 and 1.15 to 1.8."""
    found = assessed(by_powers(*powers), {"label_kv": 1500.0} | STEADY_VOLTS)
    names = ("thrust_exponent", "power_exponent", "current_exponent")
    assert [first(found, "Exponents", name) for name in names] == pytest.approx(list(powers), abs=1e-6)
    said = str(first(found, "Exponents", "exponent_verdict"))
    assert said.startswith(outside or "inside the usual bands")


@pytest.mark.parametrize(
    ("milliohm", "words"), [(39.5, "normal"), (40.5, "soft"), (1.0, "normal"), (-1.0, "volts rise")]
)
def test_sag_of_the_supply_up_to_40_milliohm(milliohm: float, words: str) -> None:
    rows = [row | {"voltage": 15.5 - row["current"] * milliohm / 1000} for row in SWEEP]
    found = assessed(rows)
    assert first(found, "SagLines", "supply_resistance") == pytest.approx(milliohm)
    assert first(found, "SagLines", "sag_rest") == pytest.approx(15.5)
    assert first(found, "SagLines", "sag_rest_cell") == pytest.approx(15.5 / 4)
    assert first(found, "SagLines", "resistance_per_cell") == pytest.approx(milliohm / 4)
    assert str(first(found, "SagLines", "sag_verdict")).startswith(words)
    assert str(first(assessed(rows[:3]), "SagLines", "sag_verdict")).startswith("no line")
    assert math.isfinite(first(assessed(rows[:4]), "SagLines", "supply_resistance"))


# --- the bench as a whole ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("shift", "moved"), [(2.79, False), (2.81, True), (-2.79, False), (-2.81, True)])
def test_the_zero_within_0_2_percent_of_the_largest_thrust(shift: float, moved: bool) -> None:
    """0.2 % of 1400 g is 2.8 g."""
    laid = ((0.0, 0.5), (500.0, 505.0), (1000.0, 1010.0), (0.0, 0.5 + shift))
    weights = [{"check_weight": known, "check_reading": shown} for known, shown in laid]
    found = assessed(SWEEP, CheckWeights=weights)
    figures = found.figures()
    assert figures["zero_drift"] == pytest.approx(shift)
    assert figures["zero_share"] == pytest.approx(abs(shift) / 14)
    assert str(figures["zero_verdict"]).startswith("moved" if moved else "stood")
    raised = [flag for flag in found.flag_list() if flag["what"] == "Stand zero drifted"]
    assert [flag["column"] for flag in raised] == (["check_reading"] if moved else [])
    x, y = ([row[name] for row in weights] for name in ("check_weight", "check_reading"))
    assert figures["check_scale"] == pytest.approx((np.polyfit(x, y, 1)[0] - 1) * 100)


def drifting(a_run: float) -> list[Row]:
    noise = (0.1, -0.15, 0.05, 0.11, -0.1, 0.12, -0.08, 0.02)  # no two alike: copies are no repeats
    return [
        SESSION[3] | {"run": float(run), "thrust": 1400 * (1 + a_run * run / 100 + each / 100)}
        for run, each in enumerate(noise, start=1)
    ]


@pytest.mark.parametrize("a_run", [-0.6, -0.25, -0.033, 0.0, 0.033, 1.0])
def test_drift_over_the_runs_by_least_squares(a_run: float) -> None:
    rows = drifting(a_run)
    thrust = np.array([row["thrust"] for row in rows])
    line = linregress(np.arange(1, 9) - 4.5, (thrust / thrust.mean() - 1) * 100)
    # the group's mean takes one degree of freedom as the line's own intercept does: 8 − 1 − 1
    drifts = abs(line.slope / line.stderr) > student.ppf(0.975, 6)
    worth_a_look = (
        drifts and 7 * abs(line.slope) > 2.0
    )  # percent from the first run to the last: common practice, no source
    figures = assessed(rows).figures()
    assert figures["drift"] == pytest.approx(line.slope)
    assert figures["drift_t"] == pytest.approx(line.slope / line.stderr)
    assert figures["whole_drift_doubt"] == float(worth_a_look)
    assert str(figures["drift_verdict"]).startswith("beyond" if drifts else "within")


@pytest.mark.parametrize(("worn", "drifts"), [(0.0, False), (-0.6, True)])
def test_what_a_pack_that_empties_accounts_for_is_no_drift(worn: float, drifts: bool) -> None:
    """Volts that fall by 0.4 % a run take 0.64 % a run off the thrust: it goes as their power 2/(2 − 0.75) = 1.6."""
    rows = [
        row | {"voltage": 14.8 * share, "thrust": float(row["thrust"]) * share**1.6}
        for row, share in zip(drifting(worn), 1 - 0.004 * np.arange(8), strict=True)
    ]
    off_thrust, off_volts = (
        (read / read.mean() - 1) * 100
        for read in (np.array([float(row[name]) for row in rows]) for name in ("thrust", "voltage"))
    )
    figures = assessed(rows).figures()
    assert figures["drift"] == pytest.approx(linregress(np.arange(8), off_thrust - 1.6 * off_volts).slope)
    assert figures["drift"] == pytest.approx(worn, abs=0.05)
    assert figures["whole_drift_doubt"] == float(drifts)


@pytest.mark.parametrize(("rows", "basis"), [(6, "common practice"), (7, "6 repeats in 1 groups")])
def test_six_repeats_replace_the_default_scatter(rows: int, basis: str) -> None:
    figures = assessed(drifting(0.0)[:rows]).figures()
    assert str(figures["scatter_basis"]).startswith(basis)
    assert figures["scatter_freedom"] == (8 if rows == 6 else 6)
