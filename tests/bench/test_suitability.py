"""What is lifted, and hovering the craft: exact on power laws, and blank out of the readings' reach."""

from typing import Any

import numpy as np
import pytest

from demo_inputs import bench_simulator as sim
from tests.instruments.propagation import Quantity, combine, coverage_factor
from xlsengine import bench_test
from xlsengine.bench.advice.suitability import HOVER
from xlsengine.bench.inputs.settings import lift_ratios, wing_ratios
from xlsengine.bench.model import TABLES
from xlsengine.study.evaluation import Scope

FULL, VOLTS = 1000.0, 14.8


def sweep(*throttles: float, watts: float = 250.0, **more: Any) -> list[dict[str, Any]]:
    """Return steady readings whose thrust and power are powers of the throttle; `watts` is at 500 g."""
    rows = []
    for throttle in throttles:
        thrust = FULL * (throttle / 100) ** 1.7
        power = watts * (thrust / 500) ** 1.45
        rows.append(
            {
                "prop": "A",
                "diameter": 5.0,
                "pitch": 4.0,
                "cells": 4.0,
                "kind": "steady",
                "throttle": throttle,
                "voltage": VOLTS,
                "current": power / VOLTS,
                "thrust": thrust,
            }
            | more
        )
    return rows


def evaluated(rows: list[dict[str, Any]], **fields: Any) -> Scope:
    """Return the engine's values."""
    return Scope(bench_test({"label_kv": 2000.0} | fields, {"Readings": rows}))


def table(scope: Scope, name: str, prefix: str) -> list[dict[str, Any]]:
    """Return the used rows of a table, by column without its prefix."""
    columns = {each.removeprefix(f"{prefix}_"): scope.column(name, each) for each in TABLES[name].quantities}
    return [{each: values[row] for each, values in columns.items()} for row in range(scope.used_rows(name))]


def hovering(rows: list[dict[str, Any]], **fields: Any) -> dict[str, Any]:
    """Return the first row of the table of hovering."""
    return table(evaluated(rows, **fields), "Hovering", "hover")[0]


def test_hover_inverts_the_curve() -> None:
    row = hovering(sweep(100, 70, 50, 35, 20), all_up_mass=1200.0, motor_count=4.0)
    power = 250.0 * (300 / 500) ** 1.45
    assert row["thrust"] == 300.0
    assert row["throttle"] == pytest.approx(100 * 0.3 ** (1 / 1.7), rel=1e-9)
    assert row["power"] == pytest.approx(power, rel=1e-9)
    assert row["current"] == pytest.approx(power / VOLTS, rel=1e-9)
    assert row["total"] == pytest.approx(4 * power + 5, rel=1e-9)


def test_a_reading_at_the_thrust_itself() -> None:
    rows = sweep(100, 50) + sweep(40, thrust=200.0, current=9.0)
    row = hovering(rows, all_up_mass=800.0, motor_count=4.0)
    assert (row["throttle"], row["current"]) == (40.0, 9.0)


def test_how_sure_a_reading_at_the_thrust_itself_is() -> None:
    """Scatter 1.5 %, and the stand's 4 g of 200 g at the power of 1.5 that power goes with, as half-width over √3."""
    rows = sweep(100, 50) + sweep(40, thrust=200.0, current=9.0)
    row = hovering(rows, all_up_mass=800.0, motor_count=4.0, **ACCURACIES)
    u = np.hypot(0.015, 1.5 * 4.0 / 200 / 3**0.5)
    freedom = float(8 * (u / 0.015) ** 4)
    assert row["throttle_expanded"] == pytest.approx(40.0 * coverage_factor(freedom) * u)


def test_worked_hover_time() -> None:
    """Worked out: 600 g on four 5 in propellers at 5.7 g/W, 4S 1.5 Ah (22.2 Wh), 0.80 usable, 5 W: 9.7 min."""
    rows = sweep(100, 50) + sweep(35, thrust=150.0, current=150 / 5.7 / VOLTS)
    row = hovering(rows, all_up_mass=600.0, motor_count=4.0, pack_cells=4, pack_capacity=1500.0)
    assert row["time"] == pytest.approx(9.7, abs=0.05)
    assert row["time_expanded"] / row["time"] == pytest.approx(1.96 * 0.15 / 3**0.5, rel=0.08)  # mostly the table's


def test_no_time_for_another_cell_count() -> None:
    row = hovering(sweep(100, 60, 40, 20), all_up_mass=1200.0, motor_count=4.0, pack_cells=6, pack_capacity=1500.0)
    assert row["time"] != row["time"]
    assert row["power"] > 0


@pytest.mark.parametrize(
    ("said", "mass", "throttles"),
    [
        ("out of reach: at most 1,000 g", 4400.0, (100, 50, 25)),
        ("needs steady readings near", 100.0, (100, 50, 25)),
        ("needs steady readings near", 1200.0, (100, 20)),
        ("names no all-up mass", None, (100, 50)),
    ],
)
def test_out_of_reach_is_blank_and_said(said: str, mass: float | None, throttles: tuple[float, ...]) -> None:
    row = hovering(sweep(*throttles), all_up_mass=mass, motor_count=4.0)
    assert said in row["note"]
    for name in ("throttle", "current", "power", "total", "time"):
        assert row[name] != row[name], name


def lifting(rows: list[dict[str, Any]], **fields: Any) -> dict[str, Any]:
    """Return the first row of the table of what is lifted."""
    return table(evaluated(rows, **fields), "Lift", "lift")[0]


def masses(row: dict[str, Any], craft: str) -> list[float]:
    return [value for name, value in row.items() if name.startswith(craft)]


def test_classes_follow_the_settings() -> None:
    row = lifting(sweep(100, 50), lift_ratio_1=4.0, wing_ratio_2=2.0)
    assert (row["hovering_1"], row["wing_2"]) == (pytest.approx(FULL / 4), pytest.approx(FULL / 2))
    assert row["throttle"] != row["throttle"]  # 250 g lie below all steady readings
    assert (len(masses(row, "hovering")), len(masses(row, "wing"))) == (len(lift_ratios), len(wing_ratios))


def test_flagged_readings_lift_nothing() -> None:
    row = lifting(sweep(100, thrust=200_000.0))
    assert np.isnan(masses(row, "hovering") + masses(row, "wing")).all()
    assert row["note"] == "no unflagged full-throttle reading"


def test_interpolating_across_the_widest_gap() -> None:
    """Between readings a factor of three apart in thrust, a simulated motor hovers within 4 % of the figures given."""
    motor = sim.Motor(2360, 54, 24, 0.50, 0.035, heating_k_per_w=0.2)
    prop, supply = sim.Propeller("A", 5.0, 4.3, 3), sim.Supply(4, 4.15, 3.5, 7.0, 0.07)

    def point(throttle: float) -> sim.OperatingPoint:
        return sim.operating_point(motor, prop, supply, throttle / 100, 1.2, held=True)

    for low, between, high in ((20, 27, 35), (28, 38, 49), (50, 70, 90)):
        rows = [
            sweep(throttle, thrust=p.thrust_g, current=p.current_a, voltage=p.voltage_v)[0]
            for throttle, p in ((t, point(t)) for t in (100, high, low))
        ]
        truth = point(between)
        row = hovering(rows, all_up_mass=4 * truth.thrust_g, motor_count=4.0)
        assert 2.7 < rows[1]["thrust"] / rows[2]["thrust"] <= 3.0
        assert row["power"] == pytest.approx(truth.voltage_v * truth.current_a, rel=0.04)
        assert row["current"] == pytest.approx(truth.current_a, rel=0.04)
        assert row["throttle"] == pytest.approx(between, rel=0.04)


def test_ranges_hold_the_truth_in_nine_of_ten() -> None:
    """Simulated readings at throttle steps with the scatter of instruments: throttle, current and power within ±."""
    rng, held = np.random.default_rng(11), []
    for _ in range(60):
        motor = sim.Motor(rng.uniform(1800, 2600), rng.uniform(40, 75), rng.uniform(12, 30), 0.5, 0.035, 0.25)
        prop = sim.Propeller("A", 5.0, rng.uniform(3.0, 4.8), 3)
        supply = sim.Supply(4, 4.15, rng.uniform(2, 5), 7.0, 0.07)
        points = {
            t: sim.operating_point(motor, prop, supply, t / 100, 1.2, held=True) for t in (20, 35, 50, 65, 80, 100)
        }
        seen = {t: sim.read_off(point, sim.Instruments(), rng) for t, point in points.items()}
        rows = [
            sweep(t, thrust=s["thrust_g"], current=s["current_a"], voltage=s["voltage_v"])[0] for t, s in seen.items()
        ]
        throttle = rng.uniform(30, 70)
        truth = sim.operating_point(motor, prop, supply, throttle / 100, 1.2, held=True)
        row = hovering(rows, all_up_mass=4 * truth.thrust_g, motor_count=4.0)
        if row["throttle"] == row["throttle"]:  # blank where two steps lie too far apart in thrust
            truths = {"throttle": throttle, "current": truth.current_a, "power": truth.voltage_v * truth.current_a}
            held.append([abs(row[name] - true) <= row[f"{name}_expanded"] for name, true in truths.items()])
    share = np.mean(held, axis=0)
    print(f"hover: throttle, current and power of {len(held)} held in {share}")
    assert len(held) >= 50
    assert share.min() >= 0.90


def test_peaks_alone_give_masses_but_no_hover() -> None:
    """Thrust over weight 2 of 1000 g: 500 g a motor; a fixed wing at 0.5: 2000 g. No throttle, power or g/W is given."""
    scope = evaluated(sweep(100, kind="peak"), all_up_mass=1200.0, motor_count=4.0)
    hover, lift = table(scope, "Hovering", "hover")[0], table(scope, "Lift", "lift")[0]
    assert hover["note"].startswith("peaks only: needs steady readings near ")
    assert np.isnan([hover["throttle"], hover["power"], hover["time"], lift["throttle"], lift["grams_per_watt"]]).all()
    assert (lift["hovering_1"], lift["wing_1"]) == (pytest.approx(500.0), pytest.approx(2000.0))
    assert lift["note"] == "peak at 14.8 V, less when held; no steady readings near hover"


def test_beyond_the_peaks_is_out_of_reach() -> None:
    row = hovering(sweep(100, kind="peak"), all_up_mass=4400.0, motor_count=4.0)
    assert row["note"] == "out of reach: at most 1,000 g a motor"


def test_a_peak_above_the_steady_steps_is_within_reach() -> None:
    rows = sweep(100, kind="peak") + sweep(50, 35)
    row = hovering(rows, all_up_mass=3600.0, motor_count=4.0)
    assert row["note"].startswith("needs steady readings near ")


# --- ± of hovering, two other ways ---------------------------------------------------------------------------------

ACCURACIES = {"thrust_accuracy": 4.0, "voltage_accuracy": 0.4, "current_accuracy": 1.2, "speed_accuracy": 0.2}
CRAFT = {"all_up_mass": 1000.0, "motor_count": 4.0, "pack_cells": 4, "pack_capacity": 1500.0}
STEPS, RUNS = (100, 70, 50, 35, 20), 3


def repeated(rng: np.random.Generator, scatter: float = 0.01) -> list[dict[str, Any]]:
    """Return repeats of a sweep, with scatter in what is read: mutually independent."""
    rows = []
    for run in range(RUNS):
        for row in sweep(*STEPS, run=float(run + 1)):
            for name in ("thrust", "voltage", "current"):
                row[name] *= 1 + scatter * rng.standard_normal()
            rows.append(row)
    return rows


def read_off(at: dict[str, Any], e: dict[str, Any]) -> dict[str, Any]:
    """Return the figures as plain functions of errors: of the two readings (lower, upper), of meters, of reading off."""
    thrust = [at["T"][k] * (1 + e[f"T{k}"]) + e["stand"] for k in (0, 1)]
    share = np.log(at["hover"] / thrust[0]) / np.log(thrust[1] / thrust[0])

    def between(low: Any, high: Any, bend: Any) -> Any:
        return np.exp(np.log(low) + share * np.log(high / low)) * (1 + bend)

    amps = [at["I"][k] * (1 + e[f"I{k}"]) * (1 + e["amps"]) for k in (0, 1)]
    volts = [at["V"][k] * (1 + e["volts"]) for k in (0, 1)]
    power = between(volts[0] * amps[0], volts[1] * amps[1], e["bend_p"])
    total = CRAFT["motor_count"] * power + 5.0
    return {
        "throttle": between(at["throttle"][0], at["throttle"][1], e["bend_t"]),
        "current": between(amps[0], amps[1], e["bend_i"]),
        "power": power,
        "time": 60 * 1.5 * 4 * 3.7 * 0.8 / total * (1 + e["table"]),
    }


def one_bench(seed: int) -> tuple[Scope, dict[str, Any], dict[str, float]]:
    """Return a bench, the two readings it hovers between, and the standard uncertainty of every error."""
    scope = evaluated(repeated(np.random.default_rng(seed)), **ACCURACIES, **CRAFT)
    cells = {name: scope.column("Hovering", f"hover_{name}")[0] for name in ("lower", "upper", "thrust", "bend")}
    clean = scope.column("Readings", "sweep_clean").tolist()
    places = [clean.index(cells[name]) for name in ("lower", "upper")]
    names = {"T": "thrust", "V": "voltage", "I": "current", "throttle": "throttle"}
    at = {key: [scope.column("Readings", name)[place] for place in places] for key, name in names.items()}
    scatter = {key: float(scope.named(f"{names[key]}_scatter")) / 100 for key in "TI"}
    half = 3**-0.5
    u = {f"{key}{k}": scatter[key] for key in "TI" for k in (0, 1)}
    u |= {"stand": 4.0 * half, "amps": 0.012 * half, "volts": 0.004 * half, "table": 0.15 * half}
    u |= dict.fromkeys(("bend_t", "bend_i", "bend_p"), float(cells["bend"]))
    return scope, at | {"hover": cells["thrust"]}, u


def correlated(scope: Scope, names: list[str]) -> Any:
    """Return how the errors hang together: within one reading as the repeats do."""
    matrix = np.eye(len(names))
    for k in "01":
        i, j = names.index("T" + k), names.index("I" + k)
        matrix[i, j] = matrix[j, i] = scope.named("thrust_current")
    return matrix


def told(scope: Scope, figure: str) -> tuple[float, float]:
    """Return what the engine says of a figure of hovering, and its relative standard uncertainty."""
    read_off = HOVER[figure]
    return float(scope.any_value(read_off.value)[0]), float(scope.any_value(read_off.variance)[0]) ** 0.5


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_hover_is_as_sure_as_numeric_derivatives_say(seed: int) -> None:
    scope, at, u = one_bench(seed)
    names = list(u)
    for figure in ("throttle", "current", "power", "time"):
        result = combine(
            lambda *errors, figure=figure: float(read_off(at, dict(zip(names, errors, strict=True)))[figure]),
            [Quantity(0.0, u[name]) for name in names],
            correlated(scope, names),
        )
        value, relative = told(scope, figure)
        assert value == pytest.approx(result.value, rel=1e-9)
        assert value * relative == pytest.approx(result.uncertainty, rel=1e-4)


def test_masses_are_as_sure_as_the_full_throttle() -> None:
    scope = evaluated(sweep(100, 50), **ACCURACIES)
    u = np.hypot(1.5, 100 * 4.0 / FULL / 3**0.5)  # one reading with the default scatter, and the stand
    freedom = float(8 * (u / 1.5) ** 4)
    assert scope.column("Lift", "lift_mass_expanded")[0] == pytest.approx(coverage_factor(freedom) * u)


def test_of_repeats_the_scatter_counts_by_how_many_there_are() -> None:
    """Three readings of the full throttle: their own scatter over √3, the stand as often as there are stands: once."""
    scope = evaluated(repeated(np.random.default_rng(6)), **ACCURACIES)
    scatter = float(scope.named("thrust_scatter")) / RUNS**0.5
    thrust = scope.column("MeasuredPoints", "measured_thrust")[0]
    u = np.hypot(scatter, 100 * 4.0 / thrust / 3**0.5)
    repeats = len(STEPS) * (RUNS - 1)
    assert scope.column("Lift", "lift_mass_expanded")[0] == pytest.approx(
        coverage_factor(repeats * (u / scatter) ** 4) * u
    )
