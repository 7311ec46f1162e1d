import math

import numpy as np
import pytest

from tests.bench.ideal_bench import SWING, Row, scope_of, spins
from xlsengine.bench.inputs.no_load import BRIDGE, PEAK_TO_PEAK, TRUE_RMS


def phases() -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Return the three line-to-line volts of a sine motor with a peak of 1, over one turn."""
    angle = np.linspace(0, 2 * math.pi, 36_001)[:-1]
    return np.array([np.sin(angle + turn) for turn in (0, 2 * math.pi / 3, 4 * math.pi / 3)])


SHOWN = {
    TRUE_RMS: float(np.sqrt(np.mean(phases()[0] ** 2))),
    PEAK_TO_PEAK: float(np.ptp(phases()[0])),
    BRIDGE: float(np.mean(np.abs(phases()).max(axis=0))),
}


def driven(words: str, peak: float) -> Row:
    lost = 1.2 if words == BRIDGE else 0.0
    mean = SHOWN[BRIDGE] * peak
    return {"driven_speed": 2400 * mean, "driven_voltage": SHOWN[words] * peak - lost, "driven_as": words}


@pytest.mark.parametrize("words", SHOWN)
def test_each_way_comes_to_the_volts_that_an_esc_of_six_steps_works_against(words: str) -> None:
    """It has each pair of leads while that is the highest of the six, as a bridge has."""
    assert scope_of([], DrivenSpins=[driven(words, 2.0)]).named("driven_kv") == pytest.approx(2400, rel=1e-6)


def test_an_unknown_way_is_left_blank() -> None:
    scope = scope_of([], DrivenSpins=[driven(TRUE_RMS, 2.0) | {"driven_as": "dc meter"}])
    assert math.isnan(scope.named("driven_kv"))


def test_uncertainty_is_scatter_and_instruments() -> None:
    rows = [{"driven_speed": speed, "driven_voltage": SWING, "driven_as": PEAK_TO_PEAK} for speed in (2380, 2400, 2420)]
    accuracies = {"voltage_accuracy": 0.5, "speed_accuracy": 0.2}
    exact = {"voltage_accuracy": 0.0, "speed_accuracy": 0.0}
    scatter, instruments = 20 / math.sqrt(3), 2400 * math.hypot(0.005, 0.002) / math.sqrt(3)
    assert scope_of([], exact, DrivenSpins=rows).named("driven_uncertainty") == pytest.approx(scatter)
    both = scope_of([], accuracies, DrivenSpins=rows).named("driven_uncertainty")
    assert both == pytest.approx(math.hypot(scatter, instruments))
    few = scope_of([], accuracies, DrivenSpins=rows[:2]).named("driven_uncertainty")
    assert few == pytest.approx(math.hypot(2390 * 0.015 / math.sqrt(2), instruments * 2390 / 2400))  # 1.5 % a spin
    assert math.isnan(scope_of([], exact).named("driven_uncertainty"))


def test_scatter_of_free_and_driven_spins_is_pooled() -> None:
    driven = [{"driven_speed": speed, "driven_voltage": SWING, "driven_as": PEAK_TO_PEAK} for speed in (2380, 2420)]
    free = [{"free_voltage": 10.0, "free_current": 0.0, "free_speed": speed} for speed in (23900.0, 24000.0, 24130.0)]
    scope = scope_of([], DrivenSpins=driven, FreeSpins=free)
    squares = [np.sum((kv / kv.mean() - 1) ** 2) for kv in (np.array([2380.0, 2420.0]), np.array([2390, 2400, 2413.0]))]
    assert scope.named("spin_freedom") == 3
    assert scope.named("spin_scatter") == pytest.approx(100 * math.sqrt(sum(squares) / 3))


def test_a_bridge_adds_the_doubt_in_its_diodes() -> None:
    """A tenth of a volt each, of 4.2 V and two drops of 0.6 V; and the meter's error counts for less."""
    rows = [{"driven_speed": 9000.0, "driven_voltage": 4.2, "driven_as": BRIDGE}] * 3
    scope = scope_of([], {"voltage_accuracy": 0.5, "speed_accuracy": 0.0}, DrivenSpins=rows)
    share = math.hypot(0.2 / 5.4, 0.005 * 4.2 / 5.4) / math.sqrt(3)
    assert scope.named("driven_uncertainty") == pytest.approx(scope.named("driven_kv") * share)


def test_a_winding_that_was_not_read_is_a_doubt() -> None:
    exact = {"voltage_accuracy": 0.0, "speed_accuracy": 0.0}
    unread = scope_of([], exact, FreeSpins=spins())
    assert unread.named("free_uncertainty") == pytest.approx(
        math.hypot(unread.named("measured_kv") * 0.01 / math.sqrt(3), unread_scatter()), rel=1e-6
    )
    read = scope_of([], exact, FreeSpins=spins(), WindingResistances=[{"resistance": 75.0}])
    assert read.named("free_uncertainty") < 0.1 * unread.named("free_uncertainty")


def unread_scatter() -> float:
    """Return the standard deviation of the mean of speed over volts of the ideal spins."""
    kv = [row["free_speed"] / row["free_voltage"] for row in spins()]
    return float(np.std(kv, ddof=1)) / math.sqrt(3)


def test_scatter_of_the_no_load_line() -> None:
    """As a least-squares fit gives it: of the height at the mean speed."""
    rows = [
        row | {"free_current": row["free_current"] + off} for row, off in zip(spins(), (0.02, -0.03, 0.01), strict=True)
    ]
    speed, amps = (np.array([row[name] for row in rows]) for name in ("free_speed", "free_current"))
    _, covariance = np.polyfit(speed - speed.mean(), amps, 1, cov="unscaled")
    rest = float(np.polyfit(speed, amps, 1, full=True)[1][0])
    scope = scope_of([], FreeSpins=rows)
    assert scope.named("no_load_scatter") == pytest.approx(math.sqrt(rest))  # one degree of freedom
    assert scope.named("no_load_freedom") == 1
    assert scope.named("no_load_level") == pytest.approx(math.sqrt(rest * covariance[1, 1]))


def test_scatter_of_a_no_load_current_without_a_slope() -> None:
    alike = scope_of([], FreeSpins=[{"free_current": value} for value in (1.0, 1.1, 1.2)])
    assert (alike.named("no_load_scatter"), alike.named("no_load_freedom")) == (pytest.approx(0.1), 2)
    assert alike.named("no_load_level") == pytest.approx(0.1 / math.sqrt(3))
    two = scope_of([], FreeSpins=spins(volts=(8.0, 14.0)))
    assert two.named("no_load_freedom") == 8  # the default on Settings: two spins leave a line no scatter
    assert two.named("no_load_scatter") == pytest.approx(0.015 * two.named("no_load_current"))


@pytest.mark.parametrize("rows", [spins(volts=(10.0,)), spins(volts=(10.0, 10.5)), [{"free_current": 1.2}]])
def test_no_load_current_is_constant_without_a_second_speed(rows: list[Row]) -> None:
    scope = scope_of([], FreeSpins=rows)
    assert scope.named("no_load_slope") == 0
    assert scope.named("no_load_at_rest") == pytest.approx(np.mean([row["free_current"] for row in rows]))


def test_nothing_measured_is_blank() -> None:
    scope = scope_of([])
    for name in ("no_load_slope", "no_load_at_rest", "measured_kv", "driven_kv", "resistance_at_20"):
        assert math.isnan(scope.named(name))
