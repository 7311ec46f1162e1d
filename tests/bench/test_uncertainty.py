"""Live uncertainties against two independent ways: numeric derivatives through the core, and Monte Carlo."""

import math
import random
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import pytest

from tests.bench.ideal_bench import MOTOR, PROPELLERS, SWING, Row, bench_of, full_throttle, reading, scope_of, spins
from tests.instruments.propagation import Quantity, combine, coverage_factor
from xlsengine.bench.groups.headline import HEADLINE_LIST
from xlsengine.bench.inputs.no_load import PEAK_TO_PEAK
from xlsengine.bench.inputs.settings import BUDGET_FIGURES
from xlsengine.bench.propagation.terms import INFINITE, Input, change, shares
from xlsengine.bench.uncertainty import budget as b
from xlsengine.bench.uncertainty import group_uncertainty as u
from xlsengine.bench.uncertainty.group_uncertainty import (
    GROUP_UNCERTAINTY,
    UNCERTAINTIES,
    FigureUncertainty,
)
from xlsengine.bench.uncertainty.telling_apart import HEADLINE_EXPANDED
from xlsengine.expression import Constant, Named, evaluate
from xlsengine.study.evaluation import Scope
from xlsengine.units import GRAM_FORCE, INCH

HALF = 1 / math.sqrt(3)
ACCURACIES = {
    "thrust_accuracy": 4.0,
    "voltage_accuracy": 0.4,
    "current_accuracy": 1.2,
    "speed_accuracy": 0.3,
    "air_temperature": 20.0,
    "air_pressure": 1000.0,
    "air_humidity": 40.0,
}


def noisy(seed: int, repeats: int = 4, torque: bool = True) -> list[dict[str, Any]]:
    """Return repeats of every propeller on two packs, with scatter."""
    chance = random.Random(seed)
    rows = []
    for run in range(repeats):
        for propeller in PROPELLERS:
            for cells in (3, 4):
                row = reading(propeller, cells, torque=torque, run=float(run + 1))
                for name in ("voltage", "current", "thrust", "speed", "torque")[: 5 if torque else 4]:
                    row[name] *= 1 + chance.gauss(0, 0.01)
                rows.append(row)
    return rows


def bench(seed: int = 1, torque: bool = True, driven: Sequence[Row] = (), **fields: Any) -> Scope:
    free = spins()
    for row, off in zip(free, (1.03, 0.98, 1.01), strict=True):
        row["free_current"] *= off
    return scope_of(noisy(seed, torque=torque), {**ACCURACIES, **fields}, FreeSpins=free, DrivenSpins=driven)


def means(scope: Scope, row: int) -> dict[str, float]:
    names = ("thrust", "voltage", "current", "speed", "torque", "diameter", "count")
    return {name: float(scope.this_row(getattr(u, name))[row]) for name in names}


def model(figure: str, scope: Scope, row: int) -> Callable[..., float]:
    """Return a figure as a plain function of every error: instruments first, then the scatter of T and I."""
    at = means(scope, row)
    kv, rest, slope = (float(scope.named(name)) for name in ("best_kv", "no_load_at_rest", "no_load_slope"))
    density, meter = float(scope.named("air_density")), float(scope.named("kv_share_of_voltmeter"))

    def value(*errors: float) -> float:
        e_t, e_v, e_i, e_n, e_q, e_d, e_rho, e_model, e_kv, s_t, s_i = errors
        thrust, volts = at["thrust"] * (1 + s_t) + e_t, at["voltage"] * (1 + e_v)
        amps, speed = at["current"] * (1 + s_i) * (1 + e_i), at["speed"] * (1 + e_n)
        constant = (kv + e_kv) * (1 + e_n) * (1 - e_v * meter)
        no_load = rest * (1 + e_i) + slope * (1 + e_i) * (1 - e_n) * speed / 1000
        area = math.pi / 4 * (at["diameter"] * (1 + e_d) * INCH) ** 2
        ideal = (thrust * GRAM_FORCE) ** 1.5 / math.sqrt(2 * density * (1 + e_rho) * area)
        figures: dict[str, float] = {
            "thrust": thrust,
            "current": amps,
            "power": volts * amps,
            "thrust per power": thrust / (volts * amps),
            "thrust per current": thrust / amps,
            "overall static efficiency": ideal / (volts * amps),
            "figure of merit by torque": ideal / (at["torque"] * (1 + e_q) * speed * math.pi / 30),
            "figure of merit": ideal / ((amps - no_load) * speed / constant * (1 + e_model)),
        }
        return figures[figure]

    return value


def inputs(scope: Scope, row: int) -> tuple[list[Quantity], np.ndarray[Any, Any]]:
    """Return the same errors as quantities, with the correlations of the scatter."""
    share = HALF / 100
    settings = [float(scope.named(name)) * share for name in ("torque_accuracy", "diameter_accuracy")]
    more = [float(scope.named(name)) * share for name in ("taken_density_accuracy", "model_accuracy")]
    u = [4.0 * HALF, 0.4 * share, 1.2 * share, 0.3 * share, *settings, *more, float(scope.named("best_kv_part"))]
    count = means(scope, row)["count"]
    u += [float(scope.named(f"{name}_scatter")) / 100 / math.sqrt(count) for name in ("thrust", "current")]
    freedoms = [math.inf] * 8 + [float(scope.named("best_kv_freedom"))] + [float(scope.named("repeats_read"))] * 2
    together = np.eye(11)
    together[9, 10] = together[10, 9] = scope.named("thrust_current")
    return [Quantity(0.0, each, nu) for each, nu in zip(u, freedoms, strict=True)], together


def combined_of(scope: Scope, sure: FigureUncertainty, row: int) -> float:
    """Return the combined standard uncertainty of a figure of one group."""
    return float(scope.this_row(sure.value)[row] * scope.this_row(sure.share)[row])


PLAIN = ("thrust", "current", "power", "thrust per power", "thrust per current", "overall static efficiency")


@pytest.mark.parametrize("figure", PLAIN)
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_live_uncertainty_is_that_of_numeric_derivatives(figure: str, seed: int) -> None:
    scope, sure = bench(seed), UNCERTAINTIES[figure]
    for row in (0, 5):
        quantities, together = inputs(scope, row)
        result = combine(model(figure, scope, row), quantities, together)
        assert scope.this_row(sure.value)[row] == pytest.approx(result.value, rel=1e-12)
        assert combined_of(scope, sure, row) == pytest.approx(result.uncertainty, rel=1e-6)
        assert scope.this_row(sure.freedom)[row] == pytest.approx(min(result.freedom, INFINITE), rel=1e-5)
        assert scope.this_row(sure.expanded)[row] == pytest.approx(result.expanded(), rel=1e-6)


DRIVEN = [{"driven_speed": speed, "driven_voltage": SWING, "driven_as": PEAK_TO_PEAK} for speed in (2390, 2400, 2402)]


@pytest.mark.parametrize("driven", [[], DRIVEN], ids=["free", "driven"])
@pytest.mark.parametrize("torque", [True, False])
def test_figure_of_merit_is_that_of_numeric_derivatives_and_scatter(torque: bool, driven: list[Row]) -> None:
    figure = "figure of merit by torque" if torque else "figure of merit"
    scope, sure = bench(driven=driven, torque=torque), UNCERTAINTIES["figure of merit"]
    quantities, _ = inputs(scope, 2)
    result = combine(model(figure, scope, 2), [*quantities[:9], *[Quantity(0.0, 0.0)] * 2])
    scatter = float(scope.named("scatter_of_overall_static_efficiency")) / 100
    own = result.value * scatter / math.sqrt(means(scope, 2)["count"])
    assert scope.this_row(sure.value)[2] == pytest.approx(result.value, rel=1e-12)
    assert combined_of(scope, sure, 2) == pytest.approx(math.hypot(result.uncertainty, own), rel=1e-6)


def test_instruments_are_shared_and_scatter_is_averaged() -> None:
    few, many = (scope_of(noisy(4, n), ACCURACIES) for n in (2, 8))
    sure = UNCERTAINTIES["thrust"]
    instrument = 4.0 * HALF
    for scope in (few, many):
        scatter, combined = scope.any_value(sure.scatter)[0], combined_of(scope, sure, 0)
        assert combined == pytest.approx(math.hypot(scatter, instrument))
    assert few.any_value(sure.scatter)[0] / many.any_value(sure.scatter)[0] == pytest.approx(2.0, rel=0.35)


def test_a_speed_error_drops_out_of_the_modelled_figure_of_merit() -> None:
    """Kv and the speed of the row come from the same instrument, and their ratio knows nothing of its error."""
    fine, coarse = (bench(torque=False, speed_accuracy=a, budget_figure="figure of merit") for a in (0.1, 5.0))
    for scope in (fine, coarse):
        assert abs(float(scope.named("budget_speed_error"))) < 1e-12
    assert combined_of(fine, UNCERTAINTIES["figure of merit"], 0) == pytest.approx(
        combined_of(coarse, UNCERTAINTIES["figure of merit"], 0), rel=1e-9
    )


@pytest.mark.parametrize("figure", BUDGET_FIGURES)
@pytest.mark.parametrize("torque", [True, False])
def test_budget_adds_up_to_the_figure_in_the_table(figure: str, torque: bool) -> None:
    scope = bench(torque=torque, budget_figure=figure, budget_row=3.0)
    parts = [float(scope.named(part.name)) for part in (*b.PARTS.values(), b.budget_scatter)]
    combined = float(scope.named("budget_combined"))
    assert math.sqrt(sum(part**2 for part in parts)) == pytest.approx(combined)
    if figure in UNCERTAINTIES:
        sure = UNCERTAINTIES[figure]
    else:
        named = {"Kv": ("best_kv", "best_kv_expanded"), "resistance under load": ("hot_resistance", "hot_expanded")}
        assert scope.named("budget_value") == pytest.approx(scope.named(named[figure][0]))
        assert scope.named("budget_expanded") == pytest.approx(scope.named(named[figure][1]))
        return
    assert scope.named("budget_value") == pytest.approx(scope.this_row(sure.value)[2])
    assert combined == pytest.approx(combined_of(scope, sure, 2))
    assert scope.named("budget_expanded") == pytest.approx(scope.this_row(sure.expanded)[2])
    assert scope.named("budget_label") == "5.1x4.6x3 on 3S"


def test_a_row_that_is_not_there_leaves_the_budget_blank() -> None:
    scope = bench(budget_row=99.0)
    assert math.isnan(float(scope.named("budget_combined")))
    assert scope.named("budget_label") == "no such row on Summary"


def test_default_scatter_stands_until_there_are_six_repeats() -> None:
    one_each = scope_of(full_throttle(), ACCURACIES)
    assert one_each.named("repeats_read") == 0.0
    power = UNCERTAINTIES["power"]
    value, scatter = (one_each.any_value(node)[0] for node in (power.value, power.scatter))
    assert scatter == pytest.approx(value * 0.015)
    assert one_each.named("scatter_freedom") == 8.0
    assert "common practice" in str(one_each.named("scatter_basis"))
    assert bench().named("scatter_freedom") == 24.0
    assert bench().named("scatter_basis") == "24 repeats in 8 groups"


def test_kv_expanded_is_students_t_of_few_spins() -> None:
    rows = spins()
    rows[0]["free_speed"] *= 1.01
    winding = {"WindingResistances": [{"resistance": 50.0}] * 3}
    scope = scope_of([], {"voltage_accuracy": 0.0, "speed_accuracy": 0.0}, FreeSpins=rows, **winding)
    u = float(scope.named("free_uncertainty"))
    assert scope.named("free_kv_expanded") == pytest.approx(coverage_factor(2) * u)
    assert scope.named("best_kv_expanded") == pytest.approx(scope.named("free_kv_expanded"))
    sure = scope_of([], {"voltage_accuracy": 10.0, "speed_accuracy": 0.0}, FreeSpins=rows, **winding)
    assert float(sure.named("free_kv_expanded")) / float(sure.named("free_uncertainty")) < 2.05


def test_what_both_groups_share_does_not_blur_their_lead() -> None:
    exact, blurred = (bench(voltage_accuracy=a, current_accuracy=a) for a in (0.0, 10.0))
    assert exact.named("efficiency_lead_u") == pytest.approx(float(blurred.named("efficiency_lead_u")), rel=1e-9)
    assert combined_of(blurred, UNCERTAINTIES["thrust per power"], 0) > 3 * combined_of(
        exact, UNCERTAINTIES["thrust per power"], 0
    )


def test_every_headline_has_its_margin() -> None:
    scope = Scope(bench_of(noisy(1) + [reading(PROPELLERS[0], 4, duty) for duty in (0.8, 0.6, 0.4)], ACCURACIES))
    for headline in HEADLINE_LIST:
        value, margin = scope.named(headline.value.name), scope.named(HEADLINE_EXPANDED[headline.value.name].name)
        if not math.isnan(float(value)):
            assert 0.005 < float(margin) / float(value) < 0.15, headline.value.name
    row = int(float(scope.named("best_efficiency_full_row"))) - 1
    of_row = scope.this_row(UNCERTAINTIES["thrust per power"].expanded)[row]
    assert scope.named(HEADLINE_EXPANDED["best_efficiency_full"].name) == pytest.approx(of_row, rel=1e-4)


def test_an_input_that_acts_on_two_cells_is_counted_once() -> None:
    one, other = Named("budget_row"), Named("coverage")
    shared = Input("shared", "Shared", Constant(0.01), shares(one, other))
    scope = scope_of([])
    assert float(evaluate(change(one / other, shared), scope)) == pytest.approx(0.0, abs=1e-15)
    assert float(evaluate(change(one * other, shared) * shared.uncertainty, scope)) == pytest.approx(0.02 * 95.0)


def test_table_speaks_of_every_group() -> None:
    scope = bench()
    assert scope.used_rows(GROUP_UNCERTAINTY.name) == 8
    assert MOTOR.kv == pytest.approx(float(scope.named("best_kv")), rel=0.02)


def test_the_mass_has_its_margin() -> None:
    """By hand: 16 AWG, 120 mm cut to 30 mm; a scale of ±0.2 g, wire mass within 15 %."""
    leads = {"lead_length_as_supplied": 120.0, "trimmed_lead_length": 30.0, "lead_gauge": 16, "mass_as_supplied": 34.0}
    cut = scope_of([], leads)
    removed = float(cut.named("lead_mass_removed"))
    normal = coverage_factor(1e6)
    assert cut.named("trimmed_mass_expanded") == pytest.approx(
        normal * HALF * math.hypot(0.2, 0.15 * removed), rel=1e-3
    )
    weighed = scope_of([], leads | {"trimmed_mass_measured": 30.0})
    assert weighed.named("trimmed_mass_expanded") == pytest.approx(normal * HALF * 0.2, rel=1e-3)
    assert math.isnan(float(scope_of([]).named("trimmed_mass_expanded")))


def test_one_free_spin_leaves_the_figure_of_merit_its_margin() -> None:
    """One spin gives no slope of the no-load current; that slope is 0 then, and nothing is divided by it."""
    sure = UNCERTAINTIES["figure of merit"]
    one = scope_of(noisy(1, torque=False), ACCURACIES, FreeSpins=spins()[:1])
    assert one.named("no_load_slope") == 0.0
    margins = (one.this_row(sure.expanded) / one.this_row(sure.value))[: one.used_rows(GROUP_UNCERTAINTY.name)]
    assert ((margins > 0.03) & (margins < 0.2)).all()
