"""In flight from physics: the quadratic against a root finder, the band, and what is said where nothing can be."""

from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq

from xlsengine import bench_test
from xlsengine.bench.advice import advance as a
from xlsengine.bench.inputs.craft import HOVER
from xlsengine.study.evaluation import Scope

INCH = 0.0254
ROW = {
    "prop": "A",
    "diameter": 9.0,
    "pitch": 6.75,
    "blades": 2.0,
    "cells": 4.0,
    "kind": "steady",
    "voltage": 15.0,
    "current": 24.0,
    "thrust": 1500.0,
    "speed": 11250.0,
}
"""Speed over Kv times volts is 0.75 at the labelled Kv of 1000."""


def flying(airspeed: float | None = 20.0, fields: dict[str, Any] | None = None, **row: Any) -> dict[str, Any]:
    """Return the first row of the table, by column without its prefix."""
    given = {"label_kv": 1000.0, "airspeed": airspeed} | (fields or {})
    scope = Scope(bench_test(given, {"Readings": [ROW | row]}))
    steps = {"zero_thrust": a.zero_thrust, "shaft_power": a.shaft_power}
    columns = {name.removeprefix("flying_"): scope.column("InFlight", name)[0] for name in a.IN_FLIGHT.columns}
    return columns | {name: np.ravel(scope.any_value(step))[0] for name, step in steps.items()}


def alike(diameter: float = 9.0, speed: float = 11250.0) -> dict[str, Any]:
    """Return ROW's propeller at another size and speed: the same CT, CP, pitch ratio and loading of the motor."""
    larger, faster = diameter / 9, speed / 11250
    return {
        "diameter": diameter,
        "pitch": 0.75 * diameter,
        "speed": speed,
        "current": 24 * larger**5 * faster**3,
        "thrust": 1500 * larger**4 * faster**2,
        "fields": {"label_kv": speed / 11.25},
    }


CARE = 1.25
"""ROW turns faster than the tunnels ran: n·D² 9.80 m²/s."""


def curve(along: tuple[float, float, float], by: float = 0.0) -> tuple[float, float, float]:
    """Return start, slope and bend of a curve, `by` widths of the band away."""
    width = CARE * 0.451
    return along[0] + by * width * 0.15, along[1] + by * width, along[2] - by * width * 0.5


POWER, THRUST = (1.0, -0.014, -0.677), (1.0, -0.628, -0.372)
ZERO_THRUST = 0.8116
"""Worked by hand for ROW: 270 W, 14.710 N, 187.5 /s, 0.2286 m give CP/CT 0.4282; 0.006 + 1.199·0.4282 + 0.128·2.282."""


def share_at(along: tuple[float, float, float], airspeed: float, n: float) -> float:
    """Return a coefficient over its static value at n (rev/s)."""
    x = airspeed / (n * 9 * INCH) / float(flying(20.0)["zero_thrust"])
    return along[0] + along[1] * x + along[2] * x**2


def found_by_search(airspeed: float, by: float) -> tuple[float, float]:
    """Solve motor and propeller for speed (rev/s) and current (A) with a root finder, without no-load current."""
    kv, volts, amps, static = 1000.0, 15.0, 24.0, 11250.0 / 60
    resistance = (volts - 11250.0 / kv) / amps

    def current(n: float) -> float:
        return amps * (n / static) ** 2 * share_at(curve(POWER, by), airspeed, n)

    n = float(brentq(lambda n: kv / 60 * (volts - resistance * current(n)) - n, 100.0, 290.0, xtol=1e-13))
    return n, current(n)


def test_zero_thrust_by_hand() -> None:
    row = flying(20.0)
    assert row["per_thrust"] == pytest.approx(0.4282, abs=5e-5)
    assert row["size"] == pytest.approx(9.798, abs=5e-4)
    assert row["zero_thrust"] == pytest.approx(ZERO_THRUST, abs=1e-4)


@pytest.mark.parametrize("airspeed", [0.5, 5.0, 15.0, 25.0, 32.0])
def test_quadratic_is_the_operating_point(airspeed: float) -> None:
    row = flying(airspeed)
    n, current = found_by_search(airspeed, 0.0)
    assert row["speed"] == pytest.approx(60 * n, rel=1e-9)
    assert row["current"] == pytest.approx(current, rel=1e-9)
    assert row["advance"] == pytest.approx(airspeed / (n * 9 * INCH), rel=1e-9)
    assert row["current_low"] == pytest.approx(found_by_search(airspeed, -1.0)[1], rel=1e-9)
    assert row["current_by_width"] == pytest.approx(found_by_search(airspeed, 1.0)[1], rel=1e-9)
    assert row["current_high"] == min(row["current_by_width"], row["current_by_rise"])
    assert row["width"] == pytest.approx((row["current_high"] - row["current_low"]) / 24 * 100, rel=1e-12)


def test_current_rises_no_more_than_in_any_sweep() -> None:
    """CP 1.1225 of static, 1.25 times the 9.8 % of the sweeps: 0.75·m + 0.25·1.1225·m² = 1 gives 25.690 A."""
    assert flying(10.0)["current_high"] == pytest.approx(25.690, abs=1e-3)
    assert flying(10.0)["current_by_width"] > 25.7
    assert flying(30.0)["current_high"] < 24


def test_at_rest_only_the_floor_is_left() -> None:
    """1 ± 0.15·0.451·1.25 of the static torque: 0.75·m + 0.25·s·m² = 1 gives currents of 25.182 and 22.744 A."""
    row = flying(0.0)
    for name, value in {"current": 24.0, "speed": 11250.0, "thrust": 1500.0}.items():
        assert row[name] == pytest.approx(value, rel=1e-12)
    assert (row["current_low"], row["current_high"]) == pytest.approx((22.744, 25.182), abs=1e-3)
    assert (row["thrust_low"], row["thrust_high"]) == pytest.approx((1500 - 126.84, 1500 + 126.84), abs=0.01)


@pytest.mark.parametrize(
    ("loading", "shares"),
    [
        (0.65, {0.2: 0.97, 0.4: 0.94, 0.6: 0.87, 0.8: 0.74}),
        (0.75, {0.2: 0.97, 0.4: 0.93, 0.6: 0.83, 0.8: 0.66}),
        (0.85, {0.2: 0.96, 0.4: 0.91, 0.6: 0.79, 0.8: 0.57}),
    ],
)
def test_nine_inch_research_propeller(loading: float, shares: dict[float, float]) -> None:
    """Current in flight over static against v/(n0·D), worked out from the UIUC sweep of the 9x6.75 at 5,000 rpm.

    One propeller's own curve must lie within the band, and the fit within 0.1 of it. Static CT 0.138 and CP 0.0787
    at 5,000 rpm are 327 g and 34.8 W.
    """
    static = 5000 / 60
    for advance, share in shares.items():
        row = flying(
            advance * static * 9 * INCH,
            {"label_kv": 5000 / (15 * loading)},
            speed=5000.0,
            thrust=327.0,
            current=34.8 / (15 * loading),
        )
        assert row["per_thrust"] == pytest.approx(0.570, abs=0.002)
        low, middle, high = (row[name] / row["static_current"] for name in ("current_low", "current", "current_high"))
        assert low <= share <= high
        assert middle == pytest.approx(share, abs=0.1)


def test_thrust_and_its_band() -> None:
    row = flying(20.0)
    static, n = 11250.0 / 60, row["speed"] / 60
    for name, by in {"thrust": 0.0, "thrust_low": -1.0, "thrust_high": 1.0}.items():
        expected = 1500.0 * (n / static) ** 2 * share_at(curve(THRUST, by), 20.0, n)
        assert row[name] == pytest.approx(expected, rel=1e-9)


def test_a_measured_torque_goes_before_the_modelled_power() -> None:
    """0.2 N·m at 187.5 /s are 235.62 W, 0.8727 of the modelled 270 W."""
    row = flying(20.0, torque=0.2)
    assert row["shaft_power"] == pytest.approx(235.62, abs=0.005)
    assert row["per_thrust"] == pytest.approx(0.4282 * 0.8727, abs=1e-4)


@pytest.mark.parametrize(
    ("blades", "speed", "care", "said"),
    [
        (2.0, 8000.0, 1.0, ""),
        (2.0, 11250.0, 1.25, "faster than the tunnels"),
        (3.0, 8000.0, 1.5, "two blades"),
        (None, 8000.0, 1.5, "two blades"),
        (4.0, 11250.0, 1.5, "two blades"),
    ],
)
def test_less_is_claimed_where_nothing_was_swept(blades: float | None, speed: float, care: float, said: str) -> None:
    row = flying(10.0, blades=blades, **alike(speed=speed))
    assert row["care"] == pytest.approx(care)
    assert said in row["note"]
    assert ("wider" in row["note"]) == (care > 1)


def test_rule_of_thumb_stands_beside() -> None:
    row = flying(20.0)
    assert (row["rule_low"], row["rule_high"]) == pytest.approx((24 * 0.60, 24 * 0.75))


def test_small_and_no_fall_are_said() -> None:
    assert "a small fall, or none" in flying(8.0)["note"]
    row = flying(8.0)
    shares = [100 * row[name] / 24 for name in ("current", "current_low", "current_high")]
    assert row["note"].startswith("{:.0f} % of the static current ({:.0f} to {:.0f} %)".format(*shares))
    assert shares[2] > 100
    assert "a small fall" not in flying(25.0)["note"]


@pytest.mark.parametrize(
    ("said", "case"),
    [
        ("Craft names no airspeed", {"airspeed": None}),
        ("no full-throttle speed", {"speed": None}),
        ("pitch was not given", {"pitch": None}),
        ("pitch/diameter outside the fit, 0.40 to 0.96", {"pitch": 3.5}),
        ("pitch/diameter outside the fit, 0.40 to 0.96", {"pitch": 8.7}),
        ("diameter outside the fit, 4 to 12 in", alike(3.9)),
        ("diameter outside the fit, 4 to 12 in", alike(12.1)),
        ("blade count", {"blades": 1.0}),
        ("blade count", {"blades": 5.0}),
        ("Reynolds number 70,000 to 1,000,000 (n·D² 1.0 to 14.6 m²/s)", alike(11.9)),
        ("no Kv that fits speed and volts", {"fields": {"label_kv": None}}),
        ("no Kv that fits speed and volts", {"fields": {"label_kv": None}, "torque": 0.2}),
        ("power and thrust do not fit each other", {"thrust": 700.0}),
        ("power and thrust do not fit each other", {"thrust": 840.0, "current": 9.1}),
        ("too fast", {"airspeed": 53.0}),
        ("not for hover", {"fields": {"way_of_flying": HOVER}}),
    ],
)
def test_where_nothing_can_be_said(said: str, case: dict[str, Any]) -> None:
    row = flying(**case)
    assert said in row["note"]
    for name in ("current", "current_low", "current_high", "thrust", "thrust_low", "thrust_high", "fall", "width"):
        assert row[name] != row[name], name


@pytest.mark.parametrize(
    "case",
    [
        {"pitch": 3.7},
        {"pitch": 8.6},
        alike(4.1, 20000.0),
        alike(11.9, 9500.0),
        alike(speed=16500.0),
        {"thrust": 730.0},
        {"thrust": 840.0, "current": 9.7},
        {"blades": 4.0},
        {"airspeed": 50.0},
    ],
)
def test_just_inside_the_reach_something_is_said(case: dict[str, Any]) -> None:
    row = flying(**case)
    assert row["current_low"] <= row["current"] <= row["current_high"]
