"""Two numbers for each figure of a single reading: held against the full propagation, the whole engine and Monte Carlo."""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from tests.bench.ideal_bench import scope_of, spins
from tests.bench.test_uncertainty import ACCURACIES, HALF, noisy
from tests.instruments.propagation import coverage_factor, welch_satterthwaite
from tests.workbook.made_tests import ALL
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.no_load import no_load_at
from xlsengine.bench.physics import speed_figures as f
from xlsengine.bench.physics import speed_rows as t
from xlsengine.bench.physics.motor_model import best_kv
from xlsengine.bench.propagation.terms import INFINITE, change, relative_change
from xlsengine.bench.uncertainty import row_uncertainty as u
from xlsengine.bench.uncertainty.row_uncertainty import ERRORS, MODELLED
from xlsengine.expression import Column
from xlsengine.study.assessment import assess
from xlsengine.study.evaluation import Scope

MOTOR = {
    "label_kv": 2400.0,
    "poles": 14.0,
    "mass_as_supplied": 34.0,
    "trimmed_mass_measured": 32.0,
    "size_code_means": "stator",
    "stator_diameter": 22.0,
    "stator_height": 7.0,
}
WITHOUT = {"pitch_ratio"}
"""Geometry as named."""
JUDGED = {"line_ratio", "coefficient_off"}
"""Readings held against others, from which verdicts come: no figures of the motor."""
ESTIMATED = {"copper_loss", "iron_loss", "propeller_loss", "unexplained"}
"""Where the watts went, by the motor model."""
FIGURES = tuple(dict.fromkeys(each.figure for each in u.SINGLES))
Row = dict[str, Any]


@pytest.fixture(autouse=True)
def rows_beside_each_other(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let Speed figures be as long as Readings, spare rows included: here expressions speak of rows of both."""
    monkeypatch.setattr(t.SPEED_FIGURES, "spare", 0)


def bench(change: Callable[[str, float], float] = lambda name, value: value, torque: bool = True, **more: Any) -> Scope:
    """Return a bench whose every reading was changed as told, fields included."""

    def changed(rows: list[Row]) -> list[Row]:
        return [{n: change(n, v) if isinstance(v, float) else v for n, v in row.items()} for row in rows]

    fields = {n: change(n, v) if isinstance(v, float) else v for n, v in {**MOTOR, **ACCURACIES, **more}.items()}
    return scope_of(changed(noisy(3, torque=torque)), fields, FreeSpins=changed(spins()))


def test_every_figure_of_a_reading_has_a_line() -> None:
    wanted = {
        Column(table.name, name)
        for table in (r.READINGS, t.SPEED_FIGURES)
        for name, quantity in table.quantities.items()
        if not (
            quantity.helper
            or quantity.is_text
            or name in WITHOUT | JUDGED | ESTIMATED
            or name.startswith("row_")
            or name.endswith("_margin")
        )
    }
    assert wanted == {Column(figure.table, figure.name) for figure in FIGURES}


@pytest.mark.parametrize("torque", [True, False])
def test_figures_spelt_out_by_ideal_power_are_what_the_sheets_show(torque: bool) -> None:
    scope = bench(torque=torque)
    for figure, made in u.MADE.items():
        if figure in FIGURES:
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
}
"""What each instrument reads, a small error of it, and whether that is a share."""


@pytest.mark.parametrize("name", SHARED)
@pytest.mark.parametrize("torque", [True, False])
def test_sensitivities_are_those_of_the_whole_engine(name: str, torque: bool) -> None:
    """Every reading of the instrument is off by the same error, in spins and under load, and the engine runs again."""
    cells, small, share = SHARED[name]

    def off(by: float) -> Scope:
        return bench(lambda n, v: v * (1 + by) if n in cells and share else v + by * (n in cells), torque)

    error = next(each for each in ERRORS if each.name == name)
    exact, up, down = off(0.0), off(small), off(-small)
    for figure in FIGURES:
        slope = change(figure, error, u.MADE).otherwise(0.0)
        told = np.broadcast_to(exact.any_value(slope), up.this_row(figure).shape)
        found = (up.this_row(figure) - down.this_row(figure)) / (2 * small)
        there = ~np.isnan(exact.this_row(figure))
        scale = np.abs(exact.this_row(figure)[there]).max(initial=0.0) * (1e-6 if share else 1e-9)
        assert told[there] == pytest.approx(found[there], rel=2e-4, abs=max(scale, 1e-9)), figure


def of_rows(scope: Scope, node: Any) -> Any:
    return np.broadcast_to(np.asarray(scope.any_value(node), float), scope.rows("Readings"))


def propagated(scope: Scope, single: u.Single) -> tuple[Any, Any]:
    """Return relative standard uncertainty and degrees of freedom row by row, each error's part found in that row.

    Shaft power by the motor model is that of the current above the no-load current.
    """
    made = {**single.made, MODELLED: (r.current - no_load_at(r.speed)) * r.speed / best_kv}
    parts, freedoms = [of_rows(scope, single.scatter)], [float(scope.named("scatter_freedom"))]
    for error in ERRORS:
        part = relative_change(single.figure, error, made) * error.uncertainty
        parts.append(of_rows(scope, part.otherwise(0.0)))
        freedoms.append(math.inf if error.freedom is None else float(scope.any_value(error.freedom.otherwise(1.0))))
    combined = np.sqrt(sum(part**2 for part in parts))
    rows = [min(welch_satterthwaite(list(row), freedoms), INFINITE) for row in np.array(parts).T]
    return combined, np.array(rows)


def rows_of(scope: Scope, single: u.Single) -> Any:
    """Return which rows count and have the figure, found in the line's way."""
    torque = ~np.isnan(scope.this_row(r.torque))
    ways = {"by torque": torque, "by motor model": ~torque}
    value = scope.this_row(single.figure)
    there = ~np.isnan(value) & (value != 0) & (scope.this_row(r.thrust) > 0) & (scope.this_row(t.standing) > 0)
    return there & ways.get(single.words, there)


def told(scope: Scope, single: u.Single) -> Any:
    """Return √(share² + (p·u(T)/T)²) row by row."""
    stand = float(scope.named("taken_thrust_accuracy")) * HALF / scope.this_row(r.thrust)
    return np.hypot(float(scope.named(single.share.name)), float(scope.any_value(single.power)) * stand)


@pytest.mark.parametrize("name", ["colander-2306", "gherkin-2207", "thimble-2207", "doorstop-2207", "marmalade-2826"])
def test_two_numbers_are_the_full_propagation(name: str) -> None:
    """Within 0.1 % in every row; by the motor model, whose no-load current is passed over, within 1 %."""
    scope, compared = assess(ALL[name]()).scope, 0
    for single in u.SINGLES:
        rows = rows_of(scope, single)
        if rows.any():
            whole = propagated(scope, single)[0]
            ratio = told(scope, single)[rows] / whole[rows]
            compared += 1
            assert ratio == pytest.approx(1.0, abs=0.01 if "model" in single.words else 0.001), single.label
    assert compared >= 5


@pytest.mark.parametrize("torque", [True, False])
@pytest.mark.parametrize("figure", u.MARGIN_OF)
def test_margin_is_students_t_of_the_parts(figure: Column, torque: bool) -> None:
    scope = bench(torque=torque)
    ways = [each for each in u.SINGLES if each.figure == figure and ("torque" in each.words) is torque]
    (single,) = ways or [u.PLAIN[r.hover_efficiency if figure == f.hover_efficiency else figure]]
    combined, freedom = propagated(scope, single)
    rows, shown = np.flatnonzero(rows_of(scope, single)), scope.this_row(u.MARGIN_OF[figure])
    assert len(rows) >= 3
    for row in rows:
        worked = scope.this_row(figure)[row] * combined[row] * coverage_factor(freedom[row])
        assert shown[row] == pytest.approx(worked, rel=1e-3), row


def test_a_measured_shaft_power_needs_no_kv() -> None:
    scope = scope_of(noisy(3)[:2], {**MOTOR, **ACCURACIES})
    assert math.isnan(float(scope.named("best_kv")))
    for by_torque, by_model in u.OF_SHAFT.values():
        assert float(scope.named(by_torque.share.name)) > 0
        assert math.isnan(float(scope.named(by_model.share.name)))
    for figure, margin in u.MARGIN_OF.items():
        assert (np.isnan(scope.this_row(margin)) == np.isnan(scope.this_row(figure))).all(), figure


def test_lines_of_what_no_reading_has_are_blank() -> None:
    scope = assess(ALL["thimble-2207"]()).scope
    assert np.isnan(scope.this_row(r.speed)).all()
    blank = {each.figure for each in u.SINGLES if math.isnan(float(scope.named(each.share.name)))}
    assert {f.thrust_coefficient, f.shaft_power, f.figure_of_merit, r.tip_mach} <= blank
    assert not blank & {r.power, r.grams_per_watt, r.hover_efficiency, r.cell_voltage}


def test_exact_instruments_leave_the_thrust_stand_alone() -> None:
    """Without scatter and with exact volts and amps, g/W is as sure as the grams, with a normal factor."""
    exact = {"default_scatter": 0.0, "voltage_accuracy": 0.0, "current_accuracy": 0.0, "thrust_accuracy": 4.0}
    scope, line = scope_of(noisy(3)[:2], {**MOTOR, **ACCURACIES, **exact}), u.PLAIN[r.grams_per_watt]
    assert float(scope.named(line.share.name)) == 0
    whole = of_rows(scope, line.expanded(u.stand_share))[0]
    assert whole == pytest.approx(4.0 * HALF / scope.this_row(r.thrust)[0] * coverage_factor(INFINITE), rel=1e-6)
