"""Margins of single readings: every figure has one, and each is that of numeric derivatives and of Monte Carlo."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from tests.bench.ideal_bench import scope_of, spins
from tests.bench.test_uncertainty import ACCURACIES, HALF, noisy
from xlsengine.bench import readings as r
from xlsengine.bench import row_errors as e
from xlsengine.bench import row_uncertainty as u
from xlsengine.bench import speed_figures as f
from xlsengine.bench import speed_rows as t
from xlsengine.bench.uncertainty import ENDLESS, contribution, scattered, sensitivity
from xlsengine.expression import Column
from xlsengine.study.evaluation import Scope
from xlsengine.study.uncertainty import coverage_factor, welch_satterthwaite
from xlsengine.units import GRAM_FORCE, INCH

MOTOR = {
    "label_kv": 2400.0, "poles": 14.0, "mass_as_supplied": 34.0, "trimmed_mass_measured": 32.0,
    "size_code_means": "stator", "stator_diameter": 22.0, "stator_height": 7.0,
}  # fmt: skip
WITHOUT = {"pitch_ratio", "flight_current_low", "flight_current_high", "flight_power_low", "flight_power_high"}
"""Geometry as named, and estimates that are bands by themselves."""
JUDGED = {"line_ratio", "coefficient_off"}
"""Readings held against others: verdicts come from these, not figures of the motor."""
Row = dict[str, Any]


def bench(change: Callable[[str, float], float] = lambda name, value: value, torque: bool = True, **more: Any) -> Scope:
    """Return a bench whose every reading was changed as told, fields included."""

    def changed(rows: list[Row]) -> list[Row]:
        return [{n: change(n, v) if isinstance(v, float) else v for n, v in row.items()} for row in rows]

    fields = {n: change(n, v) if isinstance(v, float) else v for n, v in {**MOTOR, **ACCURACIES, **more}.items()}
    return scope_of(changed(noisy(3, torque=torque)), fields, FreeSpins=changed(spins()))


def test_every_figure_of_a_reading_has_a_margin() -> None:
    wanted = {
        Column(table.name, name)
        for table in (r.READINGS, t.SPEED_FIGURES)
        for name, quantity in table.quantities.items()
        if not (quantity.helper or quantity.is_text or name in WITHOUT | JUDGED or name.startswith("row_"))
    }
    assert wanted == {Column(figure.table, figure.name) for figure in u.FIGURES}


@pytest.mark.parametrize("torque", [True, False])
def test_figures_spelt_out_by_ideal_power_are_what_the_sheets_show(torque: bool) -> None:
    scope = bench(torque=torque)
    for figure, made in e.MADE.items():
        if figure in u.FIGURES:
            assert np.array(scope.any_value(made), float) == pytest.approx(
                np.array(scope.any_value(figure), float), rel=1e-9, nan_ok=True
            ), figure


SHARED = {
    "thrust_error": ({"thrust"}, 1e-3, False),
    "voltage_error": ({"voltage", "free_voltage"}, 1e-6, True),
    "current_error": ({"current", "free_current"}, 1e-6, True),
    "speed_error": ({"speed", "free_speed"}, 1e-6, True),
    "torque_error": ({"torque"}, 1e-6, True),
    "diameter_error": ({"diameter"}, 1e-6, True),
    "mass_error": ({"trimmed_mass_measured"}, 1e-4, False),
}
"""What each instrument reads, a small error of it, and whether that is a share."""


@pytest.mark.parametrize("name", SHARED)
@pytest.mark.parametrize("torque", [True, False])
def test_sensitivities_are_those_of_the_whole_engine(name: str, torque: bool) -> None:
    """Every reading of the instrument is off by the same error, in spins and under load, and the engine runs anew."""
    cells, small, share = SHARED[name]

    def off(by: float) -> Scope:
        return bench(lambda n, v: v * (1 + by) if n in cells and share else v + by * (n in cells), torque)

    error = next(each for each in e.ERRORS if each.name == name)
    exact, up, down = off(0.0), off(small), off(-small)
    for figure in u.FIGURES:
        slope = sensitivity(figure, error, e.DOWN_TO_LEAVES).otherwise(0.0)
        told = np.broadcast_to(exact.any_value(slope), up.this_row(figure).shape)
        found = (up.this_row(figure) - down.this_row(figure)) / (2 * small)
        there = ~np.isnan(exact.this_row(figure))
        scale = np.abs(exact.this_row(figure)[there]).max(initial=0.0) * (1e-6 if share else 1e-9)
        assert told[there] == pytest.approx(found[there], rel=2e-4, abs=max(scale, 1e-9)), figure


@pytest.mark.parametrize("figure", [f.thrust_coefficient, f.power_coefficient, r.grams_per_watt, f.copper_loss])
def test_margin_is_students_t_of_the_parts(figure: Column) -> None:
    scope, row = bench(torque=False), 2
    felt = [contribution(figure, each, e.DOWN_TO_LEAVES).otherwise(0.0) for each in e.ERRORS]
    parts = [float(np.broadcast_to(scope.any_value(each), scope.rows("Readings"))[row]) for each in felt]
    spread = float(scope.any_value(scattered(figure, e.SCATTER, e.DOWN_TO_LEAVES))[row])
    freedoms = [math.inf if each.freedom is None else float(scope.any_value(each.freedom)) for each in e.ERRORS]
    combined = math.hypot(spread, *parts)
    freedom = min(welch_satterthwaite([spread, *parts], [float(scope.named("scatter_freedom")), *freedoms]), ENDLESS)
    assert scope.this_row(u.MARGINS[figure])[row] == pytest.approx(combined * coverage_factor(freedom), rel=1e-9)


def test_margins_are_those_of_monte_carlo() -> None:
    """As JCGM 101 would, through plain functions of torque, thrust, volts, amps, speed, diameter and density."""
    scope, rng, row, draws = bench(), np.random.default_rng(5), 3, 200_000

    def limits(name: str) -> Any:
        return rng.uniform(-1, 1, draws) * float(scope.named(name)) / 100

    def at(column: Column) -> float:
        return float(scope.this_row(column)[row])

    s = [float(scope.named(f"{name}_scatter")) / 100 for name in ("thrust", "voltage", "current")]
    pairs = [float(scope.named(name)) for name in ("thrust_voltage", "thrust_current", "voltage_current")]
    together = np.array([[1, pairs[0], pairs[1]], [pairs[0], 1, pairs[2]], [pairs[1], pairs[2], 1]])
    off = rng.multivariate_normal(np.zeros(3), together * np.outer(s, s), draws).T
    thrust = at(r.thrust) * (1 + off[0]) + rng.uniform(-1, 1, draws) * ACCURACIES["thrust_accuracy"]
    volts = at(r.voltage) * (1 + off[1]) * (1 + limits("taken_voltage_accuracy"))
    amps = at(r.current) * (1 + off[2]) * (1 + limits("taken_current_accuracy"))
    speed = at(r.speed) * (1 + limits("taken_speed_accuracy")) / 60
    shaft = at(r.torque) * (1 + limits("torque_accuracy")) * 2 * math.pi * speed
    diameter = at(r.diameter) * INCH * (1 + limits("diameter_accuracy"))
    density = float(scope.named("air_density")) * (1 + limits("taken_density_accuracy"))
    plain = {
        r.grams_per_watt: thrust / (volts * amps),
        f.thrust_coefficient: thrust * GRAM_FORCE / (density * speed**2 * diameter**4),
        f.power_coefficient: shaft / (density * speed**3 * diameter**5),
        f.motor_efficiency: shaft / (volts * amps),
        f.ideal_power: (thrust * GRAM_FORCE) ** 1.5 / np.sqrt(density * math.pi / 2) / diameter,
    }
    for figure, drawn in plain.items():
        assert at(Column(e.ROW_UNCERTAINTY.name, f"{figure.name}_u")) == pytest.approx(float(np.std(drawn)), rel=0.01)


def test_speed_alone_knows_no_scatter_of_thrust() -> None:
    scope = bench()
    share = scope.this_row(u.MARGINS[r.electrical_speed])[0] / scope.this_row(r.electrical_speed)[0]
    assert share == pytest.approx(ACCURACIES["speed_accuracy"] / 100 * HALF * coverage_factor(ENDLESS), rel=1e-3)


def test_a_measured_shaft_power_needs_no_kv() -> None:
    scope = scope_of(noisy(3)[:2], {**MOTOR, **ACCURACIES})
    assert math.isnan(float(scope.named("best_kv")))
    for figure in (f.shaft_power, f.power_coefficient, f.figure_of_merit, f.propeller_loss):
        assert scope.this_row(u.MARGINS[figure])[0] > 0
    for figure in u.FIGURES:
        assert (np.isnan(scope.this_row(u.MARGINS[figure])) == np.isnan(scope.this_row(figure))).all(), figure
