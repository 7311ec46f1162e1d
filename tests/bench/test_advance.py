"""In flight from physics: the quadratic against a root finder, the band, and what is said where nothing can be."""

from __future__ import annotations

from typing import Any

import pytest
from scipy.optimize import brentq

from xlsengine import bench_test
from xlsengine.bench import advance as a
from xlsengine.bench.craft import HOVER
from xlsengine.study.evaluation import Scope

INCH = 0.0254
ROW = {
    "prop": "A", "diameter": 9.0, "pitch": 6.75, "blades": 2.0, "cells": 4.0, "kind": "steady", "voltage": 15.0,
    "current": 24.0, "thrust": 1500.0, "speed": 11250.0,
}  # fmt: skip
"""Speed over Kv times volts is 0.75 at the labelled Kv of 1000."""


def flying(airspeed: float | None = 20.0, fields: dict[str, Any] | None = None, **row: Any) -> dict[str, Any]:
    """Return the first row of the table, by column without its prefix."""
    given = {"label_kv": 1000.0, "airspeed": airspeed} | (fields or {})
    scope = Scope(bench_test(given, {"Readings": [ROW | row]}))
    return {name.removeprefix("flying_"): scope.column("InFlight", name)[0] for name in a.IN_FLIGHT.columns}


def found_by_search(airspeed: float, slope: float) -> tuple[float, float]:
    """Solve motor and propeller for speed (rev/s) and current (A) with a root finder, without no-load current."""
    kv, volts, amps, static = 1000.0, 15.0, 24.0, 11250.0 / 60
    resistance = (volts - 11250.0 / kv) / amps

    def current(n: float) -> float:
        v = airspeed / (n * 9 * INCH) / (6.75 / 9 + a.PITCH_OFFSET)
        return amps * (n / static) ** 2 * (1 + slope * v + a.POWER_CURVE * v**2)

    n = float(brentq(lambda n: kv / 60 * (volts - resistance * current(n)) - n, 100.0, 250.0, xtol=1e-13))
    return n, current(n)


@pytest.mark.parametrize("airspeed", [5.0, 15.0, 25.0, 32.0])
def test_quadratic_is_the_operating_point(airspeed: float) -> None:
    row = flying(airspeed)
    n, current = found_by_search(airspeed, a.POWER_SLOPE)
    assert row["speed"] == pytest.approx(60 * n, rel=1e-9)
    assert row["current"] == pytest.approx(current, rel=1e-9)
    assert row["advance"] == pytest.approx(airspeed / (n * 9 * INCH), rel=1e-9)
    assert row["current_low"] == pytest.approx(found_by_search(airspeed, a.POWER_SLOPE - a.POWER_BAND)[1], rel=1e-9)
    assert row["current_high"] == pytest.approx(found_by_search(airspeed, a.POWER_SLOPE + a.POWER_BAND)[1], rel=1e-9)


def test_at_rest_nothing_changes() -> None:
    row = flying(0.0)
    for name, value in {"current": 24.0, "current_low": 24.0, "current_high": 24.0, "thrust": 1500.0}.items():
        assert row[name] == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(("loading", "shares"), [
    (0.65, {0.2: 0.97, 0.4: 0.94, 0.6: 0.87, 0.8: 0.74}),
    (0.75, {0.2: 0.97, 0.4: 0.93, 0.6: 0.83, 0.8: 0.66}),
    (0.85, {0.2: 0.96, 0.4: 0.91, 0.6: 0.79, 0.8: 0.57}),
])  # fmt: skip
def test_nine_inch_research_propeller(loading: float, shares: dict[float, float]) -> None:
    """Current in flight over static against v/(n0·D), worked out from the UIUC sweep of the 9x6.75 at 5,000 rpm.

    One propeller's own curve must lie within the band, and the fit within 0.1 of it.
    """
    for advance, share in shares.items():
        speed = loading * 1000 * 15
        row = flying(advance * speed / 60 * 9 * INCH, speed=speed)
        assert row["current_low"] / 24 - 0.01 <= share <= row["current_high"] / 24 + 0.01
        assert row["current"] / 24 == pytest.approx(share, abs=0.1)


def test_thrust_and_its_band() -> None:
    row = flying(20.0)
    v = row["advance"] / (0.75 + a.PITCH_OFFSET)
    share = (row["speed"] / 11250.0) ** 2
    expected = 1500.0 * share * (1 + a.THRUST_SLOPE * v + a.THRUST_CURVE * v**2)
    assert row["thrust"] == pytest.approx(expected, rel=1e-9)
    assert row["thrust_high"] - row["thrust_low"] == pytest.approx(2 * 1500.0 * share * a.THRUST_BAND * v, rel=1e-9)


def test_rule_of_thumb_stands_beside() -> None:
    row = flying(20.0)
    assert (row["rule_low"], row["rule_high"]) == pytest.approx((24 * 0.60, 24 * 0.75))


def test_small_and_no_fall_are_said() -> None:
    assert "a small fall, or none" in flying(8.0)["note"]
    steep = flying(10.0, pitch=8.1)
    assert "% more" in steep["note"]
    assert "partly stalled" in steep["note"]
    assert steep["rule_low"] == steep["rule_high"] == 24.0


@pytest.mark.parametrize(("said", "case"), [
    ("Craft names no airspeed", {"airspeed": None}),
    ("no steady full-throttle speed", {"speed": None}),
    ("pitch was not given", {"pitch": None}),
    ("outside the fit", {"pitch": 2.7}),
    ("outside the fit", {"pitch": 9.0}),
    ("too fast", {"airspeed": 45.0}),
    ("not for hover", {"fields": {"way_of_flying": HOVER}}),
])  # fmt: skip
def test_where_nothing_can_be_said(said: str, case: dict[str, Any]) -> None:
    row = flying(**case)
    assert said in row["note"]
    for name in ("current", "current_low", "current_high", "thrust", "thrust_low", "thrust_high", "fall"):
        assert row[name] != row[name], name
