"""Intervals of 95 % hold the truth in 93 to 97 of 100 simulated benches whose errors are drawn as the model says."""

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest

from tests.bench.many_benches import ManyBenches, pooled
from xlsengine.bench.uncertainty import group_uncertainty as u
from xlsengine.bench.uncertainty.group_uncertainty import UNCERTAINTIES
from xlsengine.units import GRAM_FORCE, INCH

BENCHES = 4000
TRUE = {"thrust": 1000.0, "voltage": 15.0, "current": 32.0, "speed": 27000.0, "torque": 0.145}
SCATTER = np.array([1.3, 1.1, 0.4, 0.8])  # percent, of thrust, amps, speed and torque, at equal volts
TOGETHER = 0.5  # their correlation: a reading that is high in one is high in all
WITH_VOLTS = {"thrust": 1.0, "current": 1.0, "speed": 0.5, "torque": 1.0}
"""How each goes with volts, over the power that thrust goes with."""
TAKEN = 1.6  # that power, by the speed ratio of 0.75 on Settings
DIAMETER, DENSITY = 5.0, 1.2
KV, RESISTANCE = 1950.0, 0.070


def errors(accuracies: Mapping[str, float], rng: np.random.Generator) -> dict[str, Any]:
    """Draw each bench's instrument errors: anywhere within their limits, in percent (thrust in g)."""
    return {name: rng.uniform(-limit, limit, (BENCHES, 1)) for name, limit in accuracies.items()}


def scattered(repeats: int, rng: np.random.Generator, spread: float, power: float) -> dict[str, Any]:
    """Draw what repeats of a group truly were: one row a bench, one column a reading.

    Their volts differ by `spread` percent, as packs do, and thrust goes with volts to that power.
    """
    correlations = np.full((4, 4), TOGETHER) + (1 - TOGETHER) * np.eye(4)
    drawn = rng.multivariate_normal(np.zeros(4), correlations * np.outer(SCATTER, SCATTER), (BENCHES, repeats)) / 100
    volts = 1 + spread / 100 * rng.standard_normal((BENCHES, repeats))
    true = {
        name: TRUE[name] * volts ** (power * share) * (1 + drawn[..., place])
        for place, (name, share) in enumerate(WITH_VOLTS.items())
    }
    return true | {"voltage": TRUE["voltage"] * volts}


def read(true: Mapping[str, Any], error: Mapping[str, Any]) -> dict[str, Any]:
    """Return what the instruments show."""
    shown = {name: values * (1 + error[name] / 100) for name, values in true.items() if name != "thrust"}
    return shown | {"thrust": true["thrust"] + error["thrust"]}


def merit(values: Mapping[str, Any], diameter: Any, density: Any) -> Any:
    """Return the figure of merit by torque."""
    force, area = values["thrust"] * GRAM_FORCE, math.pi / 4 * (diameter * INCH) ** 2
    return force**1.5 / np.sqrt(2 * density * area) / (values["torque"] * values["speed"] * math.pi / 30)


def simulated(
    accuracies: Mapping[str, float], groups: int, repeats: int, spread: float = 0.3, power: float = TAKEN
) -> tuple[ManyBenches, Any, Any]:
    """Return the engine's values of one group of each bench, its true figure of merit and the true mean of its volts."""
    rng = np.random.default_rng(11)
    error = errors(accuracies, rng)
    true = [scattered(repeats, rng, spread, power) for _ in range(groups)]
    readings = [read(each, error) for each in true]
    off = {
        name: np.concatenate([g[name] / g[name].mean(axis=-1, keepdims=True) - 1 for g in readings], axis=-1) * 100
        for name in ("thrust", "voltage", "current")
    }
    off |= {name: off[name] - TAKEN * off["voltage"] for name in ("thrust", "current")}
    cells = {getattr(u, name).name: readings[0][name].mean(axis=-1) for name in TRUE}
    given = {
        **cells,
        u.diameter.name: np.array(DIAMETER),
        u.count.name: np.array(float(repeats)),
        "air_density": np.array(DENSITY),
        **pooled(off, groups * (repeats - 1)),
        **taken(accuracies),
        "best_kv": np.array(KV),
        "best_kv_part": np.array(0.0),
        "best_kv_freedom": np.array(9.0),
        "hot_part": np.array(0.0),
        "hot_freedom": np.array(9.0),
        "hot_resistance": np.array(RESISTANCE * 1000),
        "no_load_at_rest": np.array(0.5),
        "no_load_slope": np.array(0.02),
    }
    truth = merit(TRUE, DIAMETER * (1 + error["diameter"] / 100), DENSITY * (1 + error["density"] / 100))
    return ManyBenches(given), truth[:, 0], true[0]["voltage"].mean(axis=-1)


def taken(accuracies: Mapping[str, float]) -> dict[str, Any]:
    """Return the accuracies as the workbook holds them."""
    return {
        "taken_thrust_accuracy": accuracies["thrust"],
        "taken_voltage_accuracy": accuracies["voltage"],
        "taken_current_accuracy": accuracies["current"],
        "taken_speed_accuracy": accuracies["speed"],
        "torque_accuracy": accuracies["torque"],
        "diameter_accuracy": accuracies["diameter"],
        "taken_density_accuracy": accuracies["density"],
    }


USUAL = {"thrust": 5.0, "voltage": 0.5, "current": 1.0, "speed": 0.2, "torque": 1.5, "diameter": 0.5, "density": 0.5}
FINE = {"thrust": 1.0, "voltage": 0.1, "current": 0.3, "speed": 0.05, "torque": 0.5, "diameter": 0.2, "density": 0.2}
PLANS = [(USUAL, 2, 4), (USUAL, 7, 2), (FINE, 2, 4), (FINE, 4, 3)]


def share_held(value: Any, margin: Any, truth: Any) -> float:
    return float(np.mean(np.abs(value - truth) <= margin))


@pytest.mark.parametrize(("accuracies", "groups", "repeats"), PLANS)
def test_grams_per_watt_and_figure_of_merit(accuracies: dict[str, float], groups: int, repeats: int) -> None:
    benches, true_merit, volts = simulated(accuracies, groups, repeats)
    per_power, by_torque = UNCERTAINTIES["thrust per power"], UNCERTAINTIES["figure of merit"]
    truth = TRUE["thrust"] / (volts * TRUE["current"])
    held = share_held(benches.this_row(per_power.value), benches.this_row(per_power.expanded), truth)
    assert 0.93 <= held <= 0.97
    held = share_held(benches.this_row(by_torque.value), benches.this_row(by_torque.expanded), true_merit)
    assert 0.93 <= held <= 0.97


@pytest.mark.parametrize("power", [TAKEN, 1.9])
def test_thrust_at_volts_that_differ(power: float) -> None:
    """Volts that differ by 3 % do not widen ± where thrust goes with the power taken, and where not they widen it enough.

    The truth is the thrust at the mean of the volts. 1.9 is the power of a stiff motor: 2/(1 + I·R/V) at 5 % of drop.
    """
    alike, apart = (simulated(USUAL, 4, 3, spread, power) for spread in (0.0, 3.0))
    thrust = UNCERTAINTIES["thrust"]
    truth = TRUE["thrust"] * (apart[2] / TRUE["voltage"]) ** power
    value, margin = (apart[0].this_row(column) for column in (thrust.value, thrust.expanded))
    wider = float(np.mean(margin) / np.mean(alike[0].this_row(thrust.expanded)))
    assert share_held(value, margin, truth) >= 0.93
    assert wider == pytest.approx(1.0, abs=0.03) if power == TAKEN else 1.05 < wider < 1.5
