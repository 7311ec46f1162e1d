"""The simulated bench obeys the motor's and the propeller's equations, and stays where real ones lie."""

import math
from dataclasses import replace

import numpy as np
import pytest

from demo_inputs.bench_simulator import (
    DIODE_V,
    ESC_STANDING_A,
    NEWTON_PER_GRAM,
    Instruments,
    Motor,
    OperatingPoint,
    Propeller,
    Supply,
    air_density,
    battery_current,
    driven_spin_voltage,
    free_spin,
    operating_point,
    read_off,
    shown,
    winding_pairs,
)

AIR = 1.19
MOTOR = Motor(2360, 54, 24, 0.50, 0.035, heating_k_per_w=0.2)
PROPELLER = Propeller("5x4.3x3", 5.0, 4.3, 3)
PACK = Supply(4, 4.15, 3.5, leads_mohm=7.0, hold_loss_per_cell_v=0.07)
STIFF = Supply(4, 3.85, leads_mohm=0.0)
UNERRING = Instruments(*[0.0] * 8)


def point(propeller: Propeller = PROPELLER, supply: Supply = PACK, duty: float = 1.0) -> OperatingPoint:
    return operating_point(MOTOR, propeller, supply, duty, AIR, held=True)


def exponent(first: tuple[float, float], second: tuple[float, float]) -> float:
    """Return a in y ∝ x^a through two points (x, y)."""
    return math.log(second[1] / first[1]) / math.log(second[0] / first[0])


@pytest.mark.parametrize("duty", [0.2, 0.5, 1.0])
def test_a_solved_point_obeys_the_first_order_motor_model(duty: float) -> None:
    # DC motor of constant field (Fitzgerald, Kingsley, Umans, Electric Machinery; from memory): rpm = Kv (U - I R),
    # Q = (I - I0) 60 / (2 pi Kv).
    at = operating_point(MOTOR, PROPELLER, PACK, duty, AIR, held=False)
    motor_current = at.torque_n_m * 2 * math.pi * MOTOR.kv / 60 + MOTOR.no_load_current(at.speed_rpm)
    assert at.speed_rpm == pytest.approx(MOTOR.kv * (duty * at.voltage_v - motor_current * 0.078), rel=1e-9)
    assert at.current_a == pytest.approx(battery_current(motor_current, duty))
    assert at.voltage_v == pytest.approx(4 * 4.15 - at.current_a * 0.021)


def test_the_torque_constant_of_a_published_motor() -> None:
    # Io 3 A, R 0.111 ohm, Kv 256 rpm/V from a Georgia Tech course page, 2002; the torque at 30 A by the
    # same model, recomputed: 1.00715 N·m.
    motor = Motor(256, 111, 0, 3.0, 0.0)
    assert motor.torque_constant * (30 - motor.no_load_current(5291.5)) == pytest.approx(1.00715, abs=5e-6)


def test_air_density_against_cipm_2007() -> None:
    # 20 °C, 1013.25 hPa, 50 %: 1.199314 (CIPM-2007, R package masscor). Ideal gases leave out about 4e-4.
    assert air_density(20.0, 1013.25, 50.0) == pytest.approx(1.199314, rel=6e-4)


@pytest.mark.parametrize(
    ("propeller", "rpm", "ct", "cp"),
    [
        # UIUC Propeller Data Site, static rows: 10x4.7x2 (vol. 1) and 5x4.3x2 (vol. 2).
        (Propeller("", 10.0, 4.7, 2), 6528.0, 0.1299, 0.0531),
        (Propeller("", 5.0, 4.3, 2), 7896.667, 0.149344, 0.074305),
    ],
)
def test_invented_coefficients_lie_near_measured_ones(propeller: Propeller, rpm: float, ct: float, cp: float) -> None:
    # Identical-looking propellers of those data differ by far more than 15 %.
    assert propeller.ct(rpm) == pytest.approx(ct, rel=0.15)
    assert propeller.cp(rpm) == pytest.approx(cp, rel=0.15)


def test_thrust_and_shaft_power_grow_with_speed_as_measured_ones_do() -> None:
    # UIUC 9x6.75: exponents 2.08 and 2.90; small propellers 2.0-2.15 and 2.85-3.05.
    slow, fast = point(duty=0.5), point()
    thrust = exponent((slow.speed_rpm, slow.thrust_g), (fast.speed_rpm, fast.thrust_g))
    torque = exponent((slow.speed_rpm, slow.torque_n_m), (fast.speed_rpm, fast.torque_n_m))
    assert 2.0 <= thrust <= 2.15
    assert 2.85 <= torque + 1 <= 3.05


def test_full_throttle_thrust_follows_the_volts_by_the_speed_ratio() -> None:
    # Thrust ∝ V^(2 / (2 - x)) for one propeller, from rpm = Kv (V - I R) and I ∝ n²; the no-load current
    # and the Reynolds number are left out of that, hence 5 %.
    low = point(supply=STIFF)
    high = point(supply=replace(STIFF, rest_per_cell_v=1.02 * STIFF.rest_per_cell_v))
    ratio = low.speed_rpm / (MOTOR.kv * low.voltage_v)
    found = exponent((low.voltage_v, low.thrust_g), (high.voltage_v, high.thrust_g))
    assert found == pytest.approx(2 / (2 - ratio), rel=0.05)


def test_full_throttle_thrust_follows_the_density() -> None:
    thin = operating_point(MOTOR, PROPELLER, STIFF, 1.0, 0.98 * AIR, held=True)
    dense = point(supply=STIFF)
    ratio = dense.speed_rpm / (MOTOR.kv * dense.voltage_v)
    found = exponent((0.98, thin.thrust_g), (1.0, dense.thrust_g))
    assert found == pytest.approx(ratio / (2 - ratio), rel=0.05)


def test_the_esc_never_makes_power() -> None:
    for duty in (0.1, 0.2, 0.5, 0.8, 1.0):
        assert battery_current(30.0, duty) > duty * 30.0
    assert battery_current(30.0, 1.0) == pytest.approx(30.0 + ESC_STANDING_A)


def test_free_spins_at_two_voltages_give_kv_back() -> None:
    rng = np.random.default_rng(1)
    low, high = (free_spin(MOTOR, volts, UNERRING, rng) for volts in (8.0, 14.0))
    lost = MOTOR.resistance(0.0)
    rise = {name: high[name] - low[name] for name in low}
    # Speeds are shown to 10 rpm, currents to 0.01 A.
    assert rise["speed_rpm"] / (rise["voltage_v"] - rise["current_a"] * lost) == pytest.approx(2360, rel=1e-3)
    expected = MOTOR.no_load_current(low["speed_rpm"]) + ESC_STANDING_A
    assert low["current_a"] == pytest.approx(expected, abs=0.006)


@pytest.mark.parametrize(
    ("measured_as", "volts_per_peak", "lost_v"),
    [
        ("line to line true rms", 1 / math.sqrt(2), 0.0),
        ("line to line peak to peak", 2.0, 0.0),
        ("bridge rectified mean", 3 / math.pi, 2 * DIODE_V),
    ],
)
def test_driven_spins_give_kv_back_by_each_method(measured_as: str, volts_per_peak: float, lost_v: float) -> None:
    """A sine of three phases: an ESC of six steps works against the rectified mean, 3/π of the peak."""
    peak = (driven_spin_voltage(MOTOR, 6000, measured_as) + lost_v) / volts_per_peak
    assert 6000 / (peak * 3 / math.pi) == pytest.approx(MOTOR.kv, rel=5e-4)


def test_windings_are_colder_when_the_air_is() -> None:
    cold, warm = (winding_pairs(MOTOR, degrees, np.random.default_rng(1)) for degrees in (5.0, 45.0))
    assert [row["pair"] for row in cold] == ["1-2", "2-3", "3-1"]
    for below, above in zip(cold, warm, strict=True):
        # 40 K of copper at 0.393 % per K (IACS, 20 °C); shown to 0.1 mΩ.
        rise = float(str(above["resistance_mohm"])) - float(str(below["resistance_mohm"]))
        assert rise == pytest.approx(54 * 40 * 0.00393, abs=0.2)


def test_displays_round_and_scatter_repeatably() -> None:
    assert shown(16.137, 0.0, 0.0, 0.01, np.random.default_rng(1)) == 16.14
    assert shown(24_387.0, 0.0, 0.0, 10.0, np.random.default_rng(1)) == 24_390.0
    many = [shown(1000.0, 0.004, 0.0, 1.0, rng) for rng in [np.random.default_rng(2)] for _ in range(2000)]
    assert np.std(many) == pytest.approx(4.0, rel=0.1)
    first, second = (read_off(point(), Instruments(), np.random.default_rng(3)) for _ in range(2))
    assert first == second != read_off(point(), Instruments(), np.random.default_rng(4))


def test_an_unerring_bench_shows_the_point() -> None:
    at, seen = point(), read_off(point(), UNERRING, np.random.default_rng(1))
    steps = {"voltage_v": 0.01, "current_a": 0.1, "thrust_g": 1.0, "speed_rpm": 10.0, "torque_n_m": 1e-4}
    for name, step in steps.items():
        assert abs(seen[name] - getattr(at, name)) <= step / 2 + 1e-9
        assert seen[name] / step == pytest.approx(round(seen[name] / step))


def test_thrust_and_torque_give_the_figure_of_merit_of_the_propeller() -> None:
    # FM from totals: T v_i / P, v_i = sqrt(T / (2 rho A)); equal to sqrt(2/pi) CT^1.5 / CP.
    at = point()
    thrust, area = at.thrust_g * NEWTON_PER_GRAM, math.pi / 4 * PROPELLER.diameter_m**2
    ideal = thrust * math.sqrt(thrust / (2 * AIR * area))
    shaft = at.torque_n_m * at.speed_rpm * 2 * math.pi / 60
    expected = math.sqrt(2 / math.pi) * math.pow(PROPELLER.ct(at.speed_rpm), 1.5) / PROPELLER.cp(at.speed_rpm)
    assert ideal / shaft == pytest.approx(expected, rel=1e-9)
