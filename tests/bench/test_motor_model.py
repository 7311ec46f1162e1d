import math

import numpy as np
import pytest
from scipy import stats

from tests.bench.ideal_bench import MOTOR, PROPELLERS, SWING, full_throttle, reading, scope_of, spins
from xlsengine.bench.inputs.no_load import BRIDGE, PEAK_TO_PEAK

SPIN = [{"driven_speed": 2400.0, "driven_voltage": SWING, "driven_as": PEAK_TO_PEAK}] * 3
ACCURACIES = {"voltage_accuracy": 0.5, "speed_accuracy": 0.2}


def test_line_is_the_fit_of_the_study_layer() -> None:
    rows = [row | {"speed": row["speed"] * (1 + 0.003 * math.sin(5 * n))} for n, row in enumerate(full_throttle())]
    scope = scope_of(rows, {"line_warmth": 0.0, "voltage_accuracy": 0.0, "speed_accuracy": 0.0})
    volts, amps, speeds = (np.array([row[name] for row in rows]) for name in ("voltage", "current", "speed"))
    line = stats.linregress(amps / volts, speeds / volts)
    assert scope.named("line_kv") == pytest.approx(line.intercept, rel=1e-12)
    assert scope.named("line_kv_uncertainty") == pytest.approx(line.intercept_stderr, rel=1e-9)
    assert scope.named("line_resistance") == pytest.approx(-1000 * line.slope / line.intercept, rel=1e-12)


@pytest.mark.parametrize(
    "rows",
    [
        full_throttle()[:3],
        [reading(PROPELLERS[0], 4) for _ in range(6)],
        [row | {"kind": "peak"} for row in full_throttle()],
        [row | {"use": "no"} for row in full_throttle()],
        [row | {"throttle": 80.0} for row in full_throttle()],
        [row | {"speed": None} for row in full_throttle()],
    ],
    ids=["three", "alike", "peaks", "not used", "part throttle", "no speed"],
)
def test_line_is_not_drawn(rows: list[dict[str, object]]) -> None:
    scope = scope_of(rows)
    for name in ("line_kv", "line_kv_uncertainty", "line_resistance", "line_resistance_uncertainty"):
        assert math.isnan(scope.named(name))
    assert scope.named("line_verdict").startswith("not drawn")


def test_a_line_that_rises_is_said() -> None:
    rows = full_throttle()
    kv = [row | {"speed": 1400 * row["voltage"] * (1 + 0.1 * row["current"] / row["voltage"])} for row in rows]
    scope = scope_of(kv)
    assert math.isnan(scope.named("line_kv"))
    assert scope.named("line_verdict").startswith("not falling")


def test_methods_that_agree_and_that_differ() -> None:
    known = {"FreeSpins": spins(), "WindingResistances": [{"resistance": 75.0}]}
    good = scope_of(full_throttle(), ACCURACIES, **known, DrivenSpins=SPIN)
    assert good.named("kv_agreement").count("agree within") == 3
    slow = [row | {"driven_speed": 2200.0} for row in SPIN]
    off = scope_of(full_throttle(), ACCURACIES, **known, DrivenSpins=slow)
    assert off.named("kv_agreement").count("differ by") == 2
    assert "Free spin and loaded readings agree" in off.named("kv_agreement")
    assert scope_of(full_throttle(), ACCURACIES).named("kv_agreement") is None


def test_methods_that_are_too_uncertain_are_not_compared() -> None:
    """A line whose ± exceeds the label tolerance says nothing of another method, of the label or of the poles."""
    rows = [row | {"speed": row["speed"] * (1.05 if n % 2 else 0.95)} for n, row in enumerate(full_throttle())]
    both = scope_of(rows, ACCURACIES, DrivenSpins=SPIN)
    assert both.named("kv_agreement") is None
    assert both.named("whole_poles_doubt") == 0
    line = scope_of(rows, ACCURACIES)
    assert line.named("best_kv_expanded") > 0.05 * line.named("best_kv")
    assert line.named("kv_verdict").startswith("too uncertain to compare with the label: ±")
    wide = scope_of(rows, ACCURACIES | {"kv_tolerance": 50.0})
    assert wide.named("kv_verdict") == "within ±50 % of the label"


def test_without_a_method_there_is_no_kv() -> None:
    none = scope_of([])
    assert math.isnan(none.named("best_kv"))
    assert none.named("best_kv_basis") == "no method"


def test_a_driven_spin_that_is_too_unsure_is_not_taken() -> None:
    """Behind a bridge at 2 V, a tenth of a volt in each diode is 6 %; a free spin is then surer."""
    bridge = [{"driven_speed": 4800.0, "driven_voltage": 0.7, "driven_as": BRIDGE}] * 3
    both = scope_of(full_throttle(), ACCURACIES, FreeSpins=spins(), DrivenSpins=bridge)
    assert both.named("best_kv_basis") == "free spin"
    assert both.named("best_kv_expanded") == both.named("free_kv_expanded")
    assert both.named("kv_share_of_voltmeter") == 1
    alone = scope_of([], ACCURACIES, DrivenSpins=bridge)
    assert alone.named("best_kv_basis") == "driven spin"
    assert str(alone.named("kv_verdict")).startswith("too uncertain to compare with the label")


@pytest.mark.parametrize(
    ("label", "words"),
    [
        (2500.0, "within ±5 % of the label"),
        (2600.0, "outside ±5 % of the label"),
        (2400 * 7 / 6, "outside ±5 % of the label; near 7/6 or 6/7: was the pole count right?"),
        (2400 * 6 / 7, "outside ±5 % of the label; near 7/6 or 6/7: was the pole count right?"),
    ],
)
def test_label_verdict(label: float, words: str) -> None:
    assert scope_of([], {"label_kv": label}, DrivenSpins=SPIN).named("kv_verdict") == words


@pytest.mark.parametrize(("factor", "doubt"), [(1.0, 0), (7 / 6, 1), (6 / 7, 1)])
def test_wrong_pole_count_in_all_speeds(factor: float, doubt: int) -> None:
    rows = [row | {"speed": row["speed"] * factor} for row in full_throttle()]
    scope = scope_of(rows, {"speed_ratio_high": 1.5}, DrivenSpins=SPIN)
    assert scope.named("whole_poles_doubt") == doubt
    assert scope_of(rows).named("whole_poles_doubt") == 0


def test_resistance_for_the_losses() -> None:
    """Under load with Kv from a spin, else from the line, else of the winding."""
    winding = [{"resistance": 50.0}]
    loaded = scope_of(full_throttle(), DrivenSpins=SPIN, WindingResistances=winding)
    assert loaded.named("model_resistance") == pytest.approx(1000 * MOTOR.resistance(0.0), rel=0.01)
    assert loaded.named("loaded_resistance") == loaded.named("model_resistance")
    line = scope_of(full_throttle(), WindingResistances=winding)
    assert line.named("model_resistance") == line.named("line_resistance")
    assert scope_of([], DrivenSpins=SPIN, WindingResistances=winding).named("model_resistance") == 50


def test_less_under_load_than_the_winding_is_impossible() -> None:
    """A driven spin whose Kv is 8 % low leaves some 40 mΩ, beside a winding of 75."""
    low = [spin | {"driven_voltage": SWING * 1.08} for spin in SPIN]
    scope = scope_of(full_throttle(), DrivenSpins=low, WindingResistances=[{"resistance": 75.0}])
    assert scope.named("loaded_resistance") < 67
    assert (scope.named("model_resistance"), scope.named("whole_resistance_doubt")) == (75.0, 1.0)
    sound = scope_of(full_throttle(), DrivenSpins=SPIN, WindingResistances=[{"resistance": 75.0}])
    assert sound.named("whole_resistance_doubt") == 0
